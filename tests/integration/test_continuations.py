"""A plan gone on with: the boat shed of which something was cut, miscut, broken, or did not come."""

from __future__ import annotations

import json
from typing import Any

import pytest

from service import plans
from service.http.access import ANYBODY
from tests.support.shed import SHED, Json
from tests.support.stack import Stack
from workers.plans.record import Record
from workers.plans.store import Ask
from workers.rack.store import Rack

AS_CUT = [{"piece": "S1-1", "before": "to_cut", "state": "cut"}, {"piece": "S1-2", "before": "to_cut", "state": "hung"},
          {"piece": "S2-1", "before": "to_cut", "state": "miscut"}]  # fmt: skip
"""The first panel is cut, and A of the second is spoiled."""


@pytest.fixture
def plan(serving: Stack) -> str:
    """Return the id of a plan of the shed."""
    return serving.posted(SHED, Prefer="wait=30")


def gone_on(serving: Stack, plan_id: str, body: Json) -> Any:  # noqa: ANN401 - answers are JSON
    """Return the answer to going on with a plan, once that is planned."""
    address = f"/v1/cut-plans/{plan_id}/continuation"
    return serving.client.post(address, json=body, headers={"Prefer": "wait=30"})


def wanted(answer: Any) -> dict[str, int]:  # noqa: ANN401
    """Return how many pieces of each mark a plan cuts."""
    found: dict[str, int] = {}
    for pattern in answer.json["result"]["materials"][0]["patterns"]:
        for stick in pattern["sticks"]:
            for piece in stick["pieces"]:
                found[piece["mark"]] = found.get(piece["mark"], 0) + 1
    return found


def test_what_is_ticked_stays_and_the_rest_is_planned_from_what_is_left(serving: Stack, plan: str) -> None:
    """One A and one C are done, one A is spoiled: the rest takes one panel more than the four that are whole."""
    serving.client.post(f"/v1/cut-plans/{plan}/ticks", json={"ticks": AS_CUT})
    answer = gone_on(serving, plan, {})
    before = serving.client.get(f"/v1/cut-plans/{plan}").json
    assert (answer.status_code, answer.json["made_from"]) == (200, before["number"])
    assert wanted(answer) == {"A": 3, "B": 6, "C": 3}
    assert answer.json["result"]["order_total"] == "9.80"
    assert before["replaced_by"] == answer.json["number"]
    assert answer.json["name"] == SHED["name"]


def test_what_is_told_is_ticked_and_what_can_be_used_is(serving: Stack, plan: str) -> None:
    """A of S2 came out at 9'-6" and does two B; S5 broke and has 50 in; one panel of six did not come."""
    body = {"cut": ["S1-1", "S1-2"], "miscut": [{"piece": "S2-1", "usable": ["9' 6\""]}],
            "broken": [{"stick": "S5", "usable": [50]}],
            "not_delivered": [{"material": "panel-sand", "stock": "12-6", "count": 1}]}  # fmt: skip
    answer = gone_on(serving, plan, body)
    assert wanted(answer) == {"A": 3, "B": 6, "C": 3}
    # 748 1/2 in are wanted; two whole panels, 35, 114 and 50 in are there, 499 in: one panel more is not enough
    assert answer.json["result"]["order_total"] == "19.60"
    listed = serving.client.get(f"/v1/cut-plans/{plan}/pieces").json["pieces"]
    states = {piece["piece"]: piece["state"] for piece in listed}
    assert (states["S1-1"], states["S1-2"], states["S2-1"], states["S2-2"]) == ("cut", "cut", "miscut", "to_cut")


def test_asked_again_it_is_the_same_plan_and_asked_otherwise_it_is_refused(serving: Stack, plan: str) -> None:
    """Nobody plans the same rest twice: who comes later is led to the plan that took its place."""
    first = gone_on(serving, plan, {"cut": ["S1-1"]})
    assert gone_on(serving, plan, {"cut": ["S1-1"]}).json["id"] == first.json["id"]
    other = gone_on(serving, plan, {"cut": ["S1-1", "S1-2"]})
    assert (other.status_code, other.json["type"]) == (409, "/problems/continued")
    assert first.json["number"] in other.json["detail"]
    assert wanted(gone_on(serving, first.json["id"], {"cut": ["S1-1"]}))["A"] < 4


@pytest.mark.parametrize(("body", "fault"), [
    ({"cut": ["S9-1"]}, ("#/cut/0", "id_unknown")),
    ({"cut": ["S1-1", "S1-1"]}, ("#/cut/1", "id_twice")),
    ({"cut": ["S1-1"], "miscut": [{"piece": "S1-1"}]}, ("#/miscut/0/piece", "id_twice")),
    ({"miscut": [{"piece": "S1-1", "usable": ["9' 8\""]}]}, ("#/miscut/0/usable", "offcut_too_long")),
    ({"broken": [{"stick": "S7"}]}, ("#/broken/0/stick", "id_unknown")),
    ({"broken": [{"stick": "S5"}, {"stick": "S5"}]}, ("#/broken/1/stick", "id_twice")),
    ({"cut": ["S5-1"], "broken": [{"stick": "S5", "usable": [60, 41]}]}, ("#/broken/0/usable", "offcut_too_long")),
    ({"cut": ["S1-1"], "not_delivered": [{"material": "panel-sand", "stock": "12-6", "count": 6}]},
     ("#/not_delivered/0/count", "missing_too_many")),
    ({"not_delivered": [{"material": "panel-sand", "stock": "16-8", "count": 1}]},
     ("#/not_delivered/0/stock", "stock_unknown")),
    ({"rack": ["no such label"]}, ("#/rack/0", "rack_unknown")),
])  # fmt: skip
def test_reports_of_more_than_there_was_are_refused(
    serving: Stack, shared: str, body: Json, fault: tuple[str, str]
) -> None:
    """Each in its place; nothing is ticked and nothing planned."""
    answer = gone_on(serving, shared, body)
    assert answer.status_code == 422
    assert [(error["pointer"], error["code"]) for error in answer.json["errors"]] == [fault]
    now = serving.client.get(f"/v1/cut-plans/{shared}").json
    assert now["replaced_by"] == ""
    pieces = serving.client.get(f"/v1/cut-plans/{shared}/pieces").json["pieces"]
    assert {piece["state"] for piece in pieces} == {"to_cut"}


@pytest.fixture(scope="module")
def shared(serving: Stack) -> str:
    """Return the id of a plan with which nobody goes on."""
    return serving.posted(SHED, Prefer="wait=30")


def test_of_what_is_all_cut_nothing_is_left(serving: Stack, plan: str) -> None:
    """Every piece reported cut: there is nothing to plan."""
    pieces = serving.client.get(f"/v1/cut-plans/{plan}/pieces").json["pieces"]
    answer = gone_on(serving, plan, {"cut": [piece["piece"] for piece in pieces]})
    assert (answer.status_code, answer.json["type"]) == (409, "/problems/nothing-left")


def from_two_offcuts(serving: Stack, material: str) -> str:
    """Return the id of a plan of two B, each from an offcut of 61 1/2" on the rack, G-MATERIAL."""
    body = {"units": "in", "materials": [SHED["materials"][0] | {"id": material}], "rack": True,
            "required": [{"mark": "B", "material": material, "length": "4' 2\"", "quantity": 2}]}  # fmt: skip
    pieces = [{"label": f"G-{material}", "material": material, "length": "61 1/2", "count": 2}]
    serving.client.post("/v1/rack", json={"units": "in", "pieces": pieces})
    return serving.posted(body, Prefer="wait=30")


@pytest.fixture
def planned_at_once(serving: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a plan made by the time that it is accepted."""
    accept = plans.accept

    def made(asked: Ask) -> Record:
        accepted = accept(asked)
        serving.settled(accepted.id)
        return accepted

    monkeypatch.setattr(plans, "accept", made)


@pytest.mark.usefixtures("planned_at_once")
def test_what_it_held_on_the_rack_goes_on_with_it(serving: Stack) -> None:
    """Two offcuts for two B: one is cut and used up, the other is held by the plan of the rest, however soon made."""
    first = from_two_offcuts(serving, "gone-on")
    answer = gone_on(serving, first, {"cut": ["S1-1"]})
    assert answer.json["result"]["order_total"] == "0.00"
    (piece,) = serving.client.get("/v1/rack/G-gone-on").json["pieces"]
    numbers = [serving.client.get(f"/v1/cut-plans/{plan_id}").json["number"] for plan_id in (first, answer.json["id"])]
    assert (piece["count"], piece["free"]) == (1, 0)
    assert {hold["by"]: (hold["count"], hold["used"]) for hold in piece["held"]} == {
        f"plan {numbers[0]}": (1, 1), f"plan {numbers[1]}": (1, 0),
    }  # fmt: skip


@pytest.mark.usefixtures("planned_at_once")
def test_what_broke_lies_on_the_rack_no_more(serving: Stack) -> None:
    """One of the two offcuts broke before anything was cut of it: the other does one B alone, so a panel is bought."""
    answer = gone_on(serving, from_two_offcuts(serving, "broke"), {"broken": [{"stick": "S1"}]})
    assert answer.json["result"]["order_total"] == "9.80"
    (piece,) = serving.client.get("/v1/rack/G-broke").json["pieces"]
    assert piece["count"] == 1


def test_what_was_put_on_the_rack_too_early_comes_off_it(serving: Stack) -> None:
    """What a panel not cut yet was to leave lies nowhere: it is the panel's again, and not there twice.

    Where going on is refused it stays on the rack.
    """
    panel = SHED["materials"][0] | {"id": "early"}
    body = {"units": "in", "materials": [panel],
            "required": [{"mark": "B", "material": "early", "length": "4' 2\"", "quantity": 2}]}  # fmt: skip
    plan_id = serving.posted(body, Prefer="wait=30")
    serving.client.post("/v1/rack/kept", json={"from": plan_id})
    (label,) = (piece["label"] for piece in serving.client.get("/v1/rack?material=early").json["pieces"])
    rack = Rack(serving.store.redis, ANYBODY)
    kept = json.loads(serving.store.redis.hget(rack.name, label) or "")
    serving.store.redis.hset(rack.name, label, json.dumps(kept | {"at": 1_700_000_000}))
    lying = serving.client.get("/v1/rack?material=early").json["pieces"]
    assert gone_on(serving, plan_id, {"rack": ["no such label"]}).status_code == 422
    assert serving.client.get("/v1/rack?material=early").json["pieces"] == lying
    answer = gone_on(serving, plan_id, {})
    assert answer.json["result"]["materials"][0]["patterns"][0]["from"]["length"] == 150
    assert serving.client.get("/v1/rack?material=early").json["count"] == 0
