"""Plans found again by what people remember of them, a page at a time, by their own client alone."""

from __future__ import annotations

import time
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from tests.support.shed import SHED, Json
from tests.support.stack import Stack, stack
from workers.orders.particulars import Act
from workers.plans.index import ENTRIES, LEAVING, PlanIndex
from workers.plans.record import State
from workers.plans.store import PLAN

MARSH = {"customer": "A. Marsh", "phone": "(503) 555-0142", "purchase_order": "4471-B", "wanted_by": "2026-12-04"}
BOHM = {"customer": "Böhm & Söhne", "phone": "555 0199", "purchase_order": "PO 1881", "ref": "quote 17"}
NORTH = {"name": "Tern Cottage, north wall", "particulars": {"customer": "Henderson", "wanted_by": "2026-12-11"}}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers that keeps three plans: of Marsh, of Böhm, and of Henderson's wall."""
    with stack(tmp_path_factory.mktemp("shelf") / "data") as running:
        for change in ({"particulars": MARSH}, {"particulars": BOHM}, NORTH):
            running.posted(SHED | change)
        yield running


def customers(installation: Stack, **sought: object) -> list[str]:
    """Return whose plans are found, newest first."""
    answer = installation.client.get("/v1/cut-plans", query_string=sought)
    assert answer.status_code == 200, answer.text
    return [plan["particulars"]["customer"] for plan in answer.json["plans"]]


@pytest.mark.parametrize(("sought", "found"), [
    ({}, ["Henderson", "Böhm & Söhne", "A. Marsh"]),
    ({"q": "marsh"}, ["A. Marsh"]),
    ({"q": "hend"}, ["Henderson"]),
    ({"q": "bohm"}, ["Böhm & Söhne"]),
    ({"q": "BÖHM cottage"}, ["Böhm & Söhne"]),
    ({"q": "marsh north"}, []),
    ({"q": "4471b"}, ["A. Marsh"]),
    ({"q": "555-0199"}, ["Böhm & Söhne"]),
    ({"q": "0142"}, ["A. Marsh"]),
    ({"q": "!!!"}, []),
    ({"customer": "&"}, []),
    ({"phone": "none"}, []),
    ({"name": "north"}, ["Henderson"]),
    ({"customer": "north"}, []),
    ({"purchase_order": "1881"}, ["Böhm & Söhne"]),
    ({"ref": "quote 17"}, ["Böhm & Söhne"]),
    ({"phone": "503 555 0142"}, ["A. Marsh"]),
    ({"wanted_from": "2026-12-04", "wanted_to": "2026-12-04"}, ["A. Marsh"]),
    ({"wanted_from": "2026-12-05"}, ["Henderson"]),
    ({"created_from": "2020-01-01", "created_until": "2020-01-02"}, []),
    ({"created_from": "2020-01-01T08:00:00+02:00", "q": "cottage", "limit": 2}, ["Henderson", "Böhm & Söhne"]),
    ({"state": "queued"}, ["Henderson", "Böhm & Söhne", "A. Marsh"]),
    ({"state": "succeeded,failed"}, []),
])  # fmt: skip
def test_plans_are_found_by_what_is_known_of_them(shelf: Stack, sought: Json, found: list[str]) -> None:
    """Words or their beginnings whatever their accents, ends of telephone numbers, dates, and all of them at once."""
    assert customers(shelf, **sought) == found


def test_a_plan_is_found_by_its_number(shelf: Stack) -> None:
    """As the answer said it, in any field or in its own; with a digit wrong it is said that it can't be one."""
    number = shelf.client.get("/v1/cut-plans?limit=1").json["plans"][0]["number"]
    assert customers(shelf, q=f"{number[:3]} {number[3:]}") == customers(shelf, number=number) == ["Henderson"]
    wrong = shelf.client.get(f"/v1/cut-plans?number={number[:-1]}{(int(number[-1]) + 1) % 10}")
    assert (wrong.status_code, "a digit is wrong" in wrong.json["detail"]) == (400, True)


@pytest.mark.parametrize("sought", [{}, {"q": "cottage"}])
def test_a_list_goes_on_where_its_page_ended(shelf: Stack, sought: Json) -> None:
    """One plan a page: three pages, each leading to the next, and the last to none."""
    seen, cursor = [], None
    for _ in range(3):
        answer = shelf.client.get(
            "/v1/cut-plans", query_string=sought | {"limit": 1} | ({"cursor": cursor} if cursor else {})
        )
        seen += [plan["particulars"]["customer"] for plan in answer.json["plans"]]
        cursor = answer.json["next"]
        assert ("Link" in answer.headers) == (cursor is not None)
    assert (seen, cursor) == (["Henderson", "Böhm & Söhne", "A. Marsh"], None)


@pytest.mark.parametrize(
    "query", ["state=lost", "created_from=soon", "wanted_to=12/4", "cursor=2", "limit=0", "page=2", f"q={'x' * 201}"]
)
def test_a_list_that_cant_be_asked_for_is_refused(shelf: Stack, query: str) -> None:
    """The parameter is named."""
    answer = shelf.client.get(f"/v1/cut-plans?{query}")
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-query")


def test_particulars_are_put_anew_and_found_by(alone: Stack) -> None:
    """What was there before finds the plan no more; the history says who changed what from what."""
    plan_id = alone.posted(SHED | {"particulars": MARSH})
    before = alone.client.get(f"/v1/cut-plans/{plan_id}").headers["ETag"]
    put = alone.client.put(
        f"/v1/cut-plans/{plan_id}/particulars", json=MARSH | {"customer": "Ann Marsh", "called_off": True}
    )
    assert (put.status_code, put.json["particulars"]["customer"]) == (200, "Ann Marsh")
    assert put.headers["ETag"] != before
    assert [deed["act"] for deed in put.json["history"]] == ["asked", "called_off", "amended"]
    assert put.json["history"][2]["detail"] == "customer: A. Marsh -> Ann Marsh"
    assert customers(alone, q="ann") == ["Ann Marsh"]
    stale = alone.client.put(f"/v1/cut-plans/{plan_id}/particulars", json={}, headers={"If-Match": before})
    assert stale.status_code == 412
    assert customers(alone, q="ann") == ["Ann Marsh"]


def test_particulars_with_faults_are_refused_with_all_of_them(alone: Stack) -> None:
    """Beside a request as in it, each fault has its place."""
    wrong = {"customer": 5, "wanted_by": "Friday", "note": "x" * 1001, "colour": "clay"}
    told = alone.post(SHED | {"particulars": wrong})
    assert told.status_code == 422
    assert {error["pointer"] for error in told.json["errors"]} == {f"#/particulars/{name}" for name in wrong}


def test_a_rare_state_is_looked_for_in_few_looks(alone: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """One plan of forty was cancelled, the first: a page of one plan finds it in few looks."""
    ids = [alone.posted(SHED) for _ in range(40)]
    alone.client.post(f"/v1/cut-plans/{ids[0]}/cancel")
    looks, look_up = [], PlanIndex.look_up

    def counted(index: PlanIndex, *asked: Any) -> list[tuple[str, str]]:  # noqa: ANN401
        looks.append(asked)
        return look_up(index, *asked)

    monkeypatch.setattr(PlanIndex, "look_up", counted)
    found = alone.client.get("/v1/cut-plans?q=tern&state=cancelled&limit=1").json["plans"]
    assert [plan["id"] for plan in found] == [ids[0]]
    assert len(looks) <= 5


def test_who_did_what_is_kept(serving: Stack) -> None:
    """Asked for, planned; what is stopped says so."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    assert [deed.act for deed in serving.record(plan_id).history] == [Act.ASKED, Act.PLANNED]


def test_a_plan_that_is_stopped_says_who_stopped_it(tmp_path: Path) -> None:
    """The name of the caller's key stands in the history; another client finds none of it."""
    keys = {sha256(b"harbour-key").hexdigest(): "harbour", sha256(b"quay-key").hexdigest(): "quay"}
    with stack(tmp_path / "data", api_keys=keys) as locked:
        harbour, quay = ({"Authorization": f"Bearer {name}-key"} for name in ("harbour", "quay"))
        plan_id = locked.posted(SHED | {"particulars": MARSH}, **harbour)
        locked.client.post(f"/v1/cut-plans/{plan_id}/cancel", headers=harbour)
        history = locked.record(plan_id).history
        assert [(deed.client, deed.act) for deed in history] == [
            ("harbour", Act.ASKED), ("", Act.CANCELLED), ("harbour", Act.STOPPED),
        ]  # fmt: skip
        lists = [locked.client.get("/v1/cut-plans?q=marsh", headers=who).json["plans"] for who in (harbour, quay)]
        assert [len(found) for found in lists] == [1, 0]
        theirs = locked.client.put(f"/v1/cut-plans/{plan_id}/particulars", json={}, headers=quay)
        assert theirs.status_code == 404


def test_numbers_count_on_over_clients_and_repeats(alone: Stack) -> None:
    """A request repeated under its key keeps its number, and no number is left out by it."""
    numbers = [alone.post(SHED, Idempotency_Key="once").json["number"] for _ in range(2)]
    following = alone.post(SHED).json["number"]
    assert (numbers, following) == (["100009", "100009"], "100014")


def test_what_is_forgotten_or_expired_is_found_no_more(tmp_path: Path) -> None:
    """Nothing of a plan stays in the index: not when it is forgotten, and not when its time is over."""
    with stack(tmp_path / "data") as running:
        forgotten, expired = (running.posted(SHED | {"particulars": MARSH}) for _ in range(2))
        running.client.post(f"/v1/cut-plans/{forgotten}/cancel")
        running.client.delete(f"/v1/cut-plans/{forgotten}")
        assert customers(running) == ["A. Marsh"]
        record = running.record(expired)
        running.store._keep = 1
        assert running.store.give_up(record, State.CANCELLED)
        time.sleep(1.1)
        assert customers(running) == []
        running.store.prune()
        redis: Any = running.store.redis
        assert (redis.exists(PLAN + expired), redis.zcard(ENTRIES), redis.zcard(LEAVING)) == (0, 0, 0)
