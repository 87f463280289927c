"""Pieces ticked at the saw and on the wall: by several people, again and again, and only what the plan has."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from pypdf import PdfReader

from tests.support.shed import SHED, Json
from tests.support.stack import Stack
from workers import PREFIX
from workers.plans.store import PLAN


@pytest.fixture(scope="module")
def plan(serving: Stack) -> str:
    """Return the id of the shed's plan, with what the customer wrote of its pieces B."""
    a, b, c = SHED["required"]
    told = SHED | {"required": [a, b | {"words": "6 @ 50 bath window"}, c]}
    return serving.posted(told, Prefer="wait=30")


def tick(serving: Stack, plan_id: str, *ticks: tuple[str, str, str]) -> Any:  # noqa: ANN401 - answers are JSON
    """Return the answer to ticks, each a piece, what it was and what it is."""
    told = [{"piece": piece, "before": before, "state": state} for piece, before, state in ticks]
    return serving.client.post(f"/v1/cut-plans/{plan_id}/ticks", json={"ticks": told})


def states(serving: Stack, plan_id: str) -> dict[str, str]:
    """Return how far each piece is."""
    answer = serving.client.get(f"/v1/cut-plans/{plan_id}/pieces")
    return {piece["piece"]: piece["state"] for piece in answer.json["pieces"]}


def test_a_plan_lists_its_pieces(serving: Stack, plan: str) -> None:
    """Four sticks of two pieces and two of three: fourteen, each with name, length and stick, none cut yet."""
    answer = serving.client.get(f"/v1/cut-plans/{plan}/pieces")
    first = answer.json["pieces"][0]
    assert (answer.json["count"], len(answer.json["pieces"])) == (14, 14)
    assert (first["piece"], first["name"], first["length"], first["text"]) == ("S1-1", "A", 115, "9'-7\"")
    assert {piece["state"] for piece in answer.json["pieces"]} == {"to_cut"}
    assert (first["at"], first["by"]) == (None, "")


def test_a_tick_stays_and_is_seen_by_others(serving: Stack, plan: str) -> None:
    """Cut, then hung; sent again it does no harm; an unchanged list costs no bytes."""
    answer = tick(serving, plan, ("S1-1", "to_cut", "cut"), ("S1-2", "to_cut", "miscut"))
    assert [piece["state"] for piece in answer.json["pieces"]] == ["cut", "miscut"]
    assert tick(serving, plan, ("S1-1", "to_cut", "cut"), ("S1-1", "cut", "hung")).json["pieces"][0]["state"] == "hung"
    seen = states(serving, plan)
    assert (seen["S1-1"], seen["S1-2"], seen["S2-1"]) == ("hung", "miscut", "to_cut")
    address = f"/v1/cut-plans/{plan}/pieces"
    etag = serving.client.get(address).headers["ETag"]
    assert serving.client.get(address, headers={"If-None-Match": etag}).status_code == 304


def test_nobody_undoes_what_somebody_else_ticked(serving: Stack, plan: str) -> None:
    """Two took S3-1 to be uncut: the first is heard, the second is told what it is by now."""
    tick(serving, plan, ("S3-1", "to_cut", "cut"))
    answer = tick(serving, plan, ("S3-1", "to_cut", "miscut"))
    assert (answer.status_code, answer.json["pieces"][0]["state"]) == (200, "cut")


def test_pages_of_pieces_lead_on(serving: Stack, plan: str) -> None:
    """Ten of fourteen, then four."""
    first = serving.client.get(f"/v1/cut-plans/{plan}/pieces?limit=10")
    following = first.headers["Link"].partition(">")[0].lstrip("<")
    assert len(serving.client.get(following).json["pieces"]) == 4


@pytest.mark.parametrize(("body", "pointer"), [
    ({"ticks": [{"piece": "S1-1", "before": "to_cut", "state": "lost"}]}, "#/ticks/0/state"),
    ({"ticks": [{"piece": "S99-1", "before": "to_cut", "state": "cut"}]}, "#/ticks/0/piece"),
    ({"ticks": []}, "#/ticks"),
    ({}, "#/ticks"),
])  # fmt: skip
def test_a_tick_that_can_t_be_is_refused_and_none_with_it_is_kept(
    serving: Stack,
    plan: str,
    body: Json,
    pointer: str,
) -> None:
    """The problem names the place."""
    before = states(serving, plan)
    answer = serving.client.post(f"/v1/cut-plans/{plan}/ticks", json=body)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == [pointer]
    assert states(serving, plan) == before


def test_ticks_leave_with_their_plan(serving: Stack) -> None:
    """They are kept no longer than the plan, and are gone with it."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    tick(serving, plan_id, ("S1-1", "to_cut", "cut"))
    redis = serving.store.redis
    assert 0 < redis.ttl(f"{PREFIX}ticks:{plan_id}") <= redis.ttl(PLAN + plan_id)
    assert serving.client.delete(f"/v1/cut-plans/{plan_id}").status_code == 204
    assert not redis.exists(f"{PREFIX}ticks:{plan_id}")
    assert tick(serving, plan_id, ("S1-1", "cut", "hung")).status_code == 404


def test_a_piece_has_a_page_of_its_own(serving: Stack, plan: str) -> None:
    """By the plan's number too: what it is, where from, and a button for each state it may come to."""
    number = serving.client.get(f"/v1/cut-plans/{plan}").json["number"]
    answer = serving.client.get(f"/plans/{number}/pieces/S4-2", follow_redirects=True)
    assert answer.status_code == 200
    for words in ("C", "34 1/2", "S4", "to cut", 'value="miscut"'):
        assert words.replace(" ", "\N{NO-BREAK SPACE}") in answer.text or words in answer.text
    ticked = serving.client.post(f"/plans/{plan}/pieces/S4-2", data={"before": "to_cut", "state": "cut"})
    assert (ticked.status_code, states(serving, plan)["S4-2"]) == (303, "cut")
    assert serving.client.get(f"/plans/{plan}/pieces/S4-3").status_code == 404


def test_labels_lead_to_the_pages_of_what_they_stick_on(serving: Stack, plan: str) -> None:
    """The address on the first label opens; sizes may be set, and what does not fit is refused."""
    answer = serving.client.get(f"/v1/cut-plans/{plan}/labels.pdf?stock=a4-24")
    assert answer.content_type == "application/pdf"
    tree = PdfReader(io.BytesIO(answer.data)).trailer["/Root"]["/StructTreeRoot"]["/K"][0].get_object()  # type: ignore[index]
    address = str(tree["/K"][0].get_object()["/Alt"]).removeprefix("QR code of http://localhost")
    opened = serving.client.get(address, follow_redirects=True)
    assert (opened.status_code, "9&#39;-7" in opened.text) == (200, True)
    roll = serving.client.get(f"/v1/cut-plans/{plan}/labels.pdf?stock=roll&width=50&height=25&of=pieces")
    assert len(PdfReader(io.BytesIO(roll.data)).pages) == 14
    for query in ("stock=legal", "of=boards", "width=80&stock=letter-30", "height=3", "skip=-1", "across=9"):
        assert serving.client.get(f"/v1/cut-plans/{plan}/labels.pdf?{query}").status_code == 400


def test_labels_of_a_very_large_plan_come_a_part_at_a_time(serving: Stack) -> None:
    """Of 5,004 pieces all at once would hold the server; the last four stand on one sheet of thirty."""
    pieces = [SHED["required"][1] | {"quantity": 5_004}]
    plan_id = serving.posted(SHED | {"required": pieces}, Prefer="wait=60")
    serving.settled(plan_id)
    address = f"/v1/cut-plans/{plan_id}/labels.pdf?of=pieces"
    refused = serving.client.get(address)
    assert (refused.status_code, refused.json["type"]) == (400, "/problems/malformed-query")
    assert "after and limit" in refused.json["detail"]
    last = serving.client.get(f"{address}&after=5000&limit=30")
    (page,) = PdfReader(io.BytesIO(last.data)).pages
    assert page.extract_text().count("4'-2\"") == 4


def test_the_list_of_a_large_plan_comes_in_pages(
    serving: Stack, plan: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With six pieces on a page, as if fourteen were many: the saw's on three pages, each list with an address.

    Where all of them are on one, by the saw and for the wall, none is skipped, and the six that the customer wrote
    of have these words in both.
    """
    page = serving.client.get(f"/plans/{plan}/list?after=3").text
    assert (page.count("data-piece="), page.count("“6 @ 50 bath window”")) == (28, 12)
    monkeypatch.setattr("service.counter.plan.ticking.MOST", 6)
    whole = [piece["piece"] for piece in serving.client.get(f"/v1/cut-plans/{plan}/pieces").json["pieces"]]
    seen, address = list[str](), f"/plans/{plan}/list"
    for leads in (True, True, False):
        page = serving.client.get(address).text
        seen += re.findall('data-piece="([^"]+)"', page)
        assert ('href="?part=wall-0"' in page, 'rel="next"' in page) == (True, leads)
        address = f"/plans/{plan}/list?part=saw&after={len(seen)}"
    # all of A and C lie on four panels, whose stop is the longest
    assert seen == whole
    loose = serving.client.get(f"/plans/{plan}/list?part=wall-0&after=6").text
    assert 'data-looks="0 6 12"' in loose
    assert "Pieces 7 to 12 of 14" in loose
    assert serving.client.get(f"/plans/{plan}/list?part=attic").status_code == 404
