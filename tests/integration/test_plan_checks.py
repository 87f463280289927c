"""``/v1/plan-checks`` says of the service's own plan that it is right, and of a changed one what is wrong."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from tests.support.shed import SHED, WALL
from tests.support.stack import Stack


@pytest.fixture(scope="module")
def result(serving: Stack) -> Any:  # noqa: ANN401
    """Return the shed's result."""
    return serving.post(SHED, Prefer="wait=30").json["result"]


def checked(serving: Stack, plan: object, request: object = SHED) -> Any:  # noqa: ANN401
    """Return the answer to a plan check."""
    return serving.client.post("/v1/plan-checks", json={"request": request, "plan": plan})


def steps(path: str) -> list[str | int]:
    """Return the steps of a path such as ``order/0/sticks``."""
    return [int(step) if step.isdigit() else step for step in path.split("/")]


def at(body: Any, path: str) -> Any:  # noqa: ANN401
    """Return what is at a path. Raises LookupError where there is nothing."""
    for step in steps(path):
        body = body[step]
    return body


def changed(plan: Any, path: str, value: object) -> Any:  # noqa: ANN401
    """Return a plan with one value set."""
    other = deepcopy(plan)
    *above, last = steps(path)
    place = other
    for step in above:
        place = place[step]
    place[last] = value
    return other


def test_the_services_own_plan_is_right(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """A result can be handed back as it came."""
    answer = checked(serving, result).json
    assert (answer["right"], answer["faults"], answer["unverified"], answer["waste_percent"]) == (True, [], [], 0.22)
    assert [entry["pointer"] for entry in answer["verified"]] == ["#/plan", "#/plan/materials/0/bound"]


def test_the_services_own_plan_of_a_wall_is_right(serving: Stack) -> None:
    """Runs with their laps and cut-outs can be handed back too; their length alone takes that many panels."""
    answer = serving.post(WALL, Prefer="wait=30").json
    assert len(answer["result"]["materials"][0]["runs"]) == 3
    found = checked(serving, answer["result"], WALL).json
    assert (found["right"], found["faults"], found["unverified"]) == (True, [], [])


def test_an_order_under_a_minimum_is_added_up_again_but_for_its_bound(serving: Stack) -> None:
    """Six panels at 9.80 are 58.80, and below 70 five are charged on top: 63.80. Its bound is not sought again."""
    request = SHED | {"minimum_order": {"amount": 70, "below": "fee", "fee": 5}}
    result = serving.post(request, Prefer="wait=30").json["result"]
    assert (result["bill"]["small_order"], result["bill"]["total"], result["order_total"]) == ("5.00", "63.80", "63.80")
    answer = checked(serving, result, request).json
    assert (answer["right"], answer["faults"]) == (None, [])
    assert [entry["pointer"] for entry in answer["unverified"]] == ["#/plan/bill/bound"]
    wrong = checked(serving, changed(result, "bill/small_order", "0.00"), request).json
    assert [fault["pointer"] for fault in wrong["faults"]] == ["#/plan/bill/small_order"]


TWO_PANELS: Any = {
    "units": "in",
    "materials": [{"id": "p", "category": "siding", "stock": [{"id": "a", "length": 150, "price": "9.80"}]}],
    "required": [
        {"mark": "L", "material": "p", "length": 100, "quantity": 1},
        {"mark": "S", "material": "p", "length": 50, "quantity": 1},
    ],
}


def two_panels(serving: Stack, proof: object) -> Any:  # noqa: ANN401
    """Return the check of a plan that cuts 100 in and 50 in from a panel each and claims that none costs less."""
    plan = serving.post(TWO_PANELS, Prefer="wait=30").json["result"]["materials"][0]
    (use,) = plan["patterns"]
    (stick,) = use["sticks"]
    (long, short), (of_long, of_short) = use["cuts"], stick["pieces"]
    apart = [
        {"count": 1, "from": use["from"], "cuts": [{**long, "left": "factory", "right": "field"}],
         "offcut": {"length": 50, "keep": True, "factory_end": "right", "after": 1},
         "sticks": [{"stick": "S1", "offcut_id": None, "pieces": [of_long]}]},
        {"count": 1, "from": use["from"], "cuts": [{**short, "left": "factory", "right": "field"}],
         "offcut": {"length": 100, "keep": True, "factory_end": "right", "after": 1},
         "sticks": [{"stick": "S2", "offcut_id": None, "pieces": [of_short]}]},
    ]  # fmt: skip
    claimed = {"material": "p", "patterns": apart, "cost": 19.6, "bound": 19.6} | ({"proof": proof} if proof else {})
    return checked(serving, {"materials": [claimed]}, TWO_PANELS).json


def test_a_bound_that_nobody_can_verify_is_not_called_right(serving: Stack) -> None:
    """One panel gives both: that two are needed is false, and no text makes it right."""
    answer = two_panels(serving, {"kind": "search", "text": "all plans were tried"})
    assert (answer["right"], answer["faults"]) == (None, [])
    assert [entry["pointer"] for entry in answer["verified"]] == ["#/plan"]
    assert [entry["pointer"] for entry in answer["unverified"]] == ["#/plan/materials/0/bound"]


def test_a_bound_without_a_proof_is_what_length_proves(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """The shed's 898 in take six panels whoever says so; that two panels are needed for 150 in nobody can verify."""
    (panel,) = result["materials"]
    stated = {name: panel[name] for name in ("material", "patterns", "bound")}
    found = checked(serving, {"materials": [stated]}).json
    assert (found["right"], found["faults"], found["unverified"]) == (True, [], [])
    answer = two_panels(serving, None)
    assert (answer["right"], answer["faults"]) == (None, [])
    assert [entry["pointer"] for entry in answer["unverified"]] == ["#/plan/materials/0/bound"]


def test_a_search_called_a_certificate_is_a_fault(serving: Stack) -> None:
    """What a proof rests on is the checker's word, not the caller's."""
    answer = two_panels(serving, {"kind": "search", "text": "all plans were tried", "basis": "certified"})
    fault = {"code": "misstated", "pointer": "#/plan/materials/0/proof/basis",
             "detail": "needed searched, found certified"}  # fmt: skip
    assert (answer["right"], answer["faults"]) == (False, [fault])


def test_a_moved_lap_is_noticed(serving: Stack) -> None:
    """A lap that is not where the pieces put it is a fault of its run."""
    result = serving.post(WALL, Prefer="wait=30").json["result"]
    result["materials"][0]["runs"][0]["laps_at"][0] += 1
    assert checked(serving, result, WALL).json["right"] is False


def test_a_plan_without_claims_is_right_too(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """Somebody's plan need not state cost, bound or order: patterns and whom the pieces are for are enough."""
    panel = result["materials"][0]
    plan = {"materials": [{"material": "panel-sand", "patterns": panel["patterns"]}]}
    assert checked(serving, plan).json["right"] is True


@pytest.mark.parametrize(("path", "value"), [
    ("materials/0/patterns/0/cuts/0/length", 114), ("materials/0/patterns/0/cuts/0/left", "field"),
    ("materials/0/patterns/1/from/length", 149), ("materials/0/patterns/0/offcut/length", 1),
    ("materials/0/patterns/1/sticks/0/pieces/0/item", 2), ("materials/0/patterns/1/sticks/0/stick", "S1"),
    ("materials/0/cost", 49), ("materials/0/bound", 60), ("order/0/sticks", 5), ("order/0/amount", "49.00"),
    ("not_cut", [{"item": 0, "quantity": 1, "code": "stock_exhausted"}]), ("materials/0/patterns/1/from/stock", "none"),
])  # fmt: skip
def test_a_changed_plan_is_wrong(serving: Stack, result: Any, path: str, value: object) -> None:  # noqa: ANN401
    """Whatever is changed, every fault points at something that is in the body."""
    plan = changed(result, path, value)
    answer = checked(serving, plan)
    assert answer.status_code == 200, answer.json
    assert answer.json["right"] is False
    for fault in answer.json["faults"]:
        assert at({"request": SHED, "plan": plan}, fault["pointer"].removeprefix("#/")) is not None


@pytest.mark.parametrize(("path", "value", "told"), [
    ("order_total", "49.00", "needed 58.80, found 49.00"), ("waste_percent", 0.21, "needed 0.22, found 0.21"),
    ("materials/0/patterns/0/count", 3, "needed 4, found 3"), ("materials/0/sticks", 5, "needed 6, found 5"),
    ("materials/0/bought_length", 899, "needed 900, found 899"),
    ("materials/0/used_length", 899, "needed 898, found 899"),
    ("materials/0/kept_length", 2, "needed 0, found 2"), ("materials/0/scrap_length", 0, "needed 2, found 0"),
    ("materials/0/lap_length", 0, "needed 4, found 0"), ("materials/0/waste_percent", 0, "needed 0.22, found 0"),
    ("materials/0/proven", False, "needed true, found false"), ("status", "feasible", "needed optimal, found feasible"),
    ("materials/0/settings/lap", 2, "needed 1, found 2"), ("order/0/unit_price", "9.90", "needed 9.80, found 9.90"),
    ("order/0/text", "12'", "needed 12'-6\", found 12'"), ("materials/0/patterns/0/cuts/1/text", "34\"",
     "needed 34 1/2\", found 34\""), ("progress/bound", 60, "needed 58.8, found 60"),
])  # fmt: skip
def test_whatever_is_stated_must_be_so(serving: Stack, result: Any, path: str, value: object, told: str) -> None:  # noqa: ANN401
    """A figure that nothing depends on, stated falsely, is the one fault, at its own place."""
    plan = changed({**result, "progress": {"cost": 58.8, "bound": 58.8}}, path, value)
    fault = {"code": "misstated", "pointer": f"#/plan/{path}", "detail": told}
    assert checked(serving, plan).json["faults"] == [fault]


@pytest.mark.parametrize(("path", "value"), [
    ("order_total", "58.8"), ("order_total", 58.8), ("waste_percent", 0.2222), ("order/0/text", "12' 6\""),
    ("materials/0/bought_length", "75'"), ("materials/0/patterns/0/cuts/0/length", "9' 7\""),
    ("materials/0/patterns/0/cuts/0/length", 115.00001), ("cautions", []), ("order", None),
])  # fmt: skip
def test_the_same_may_be_stated_otherwise(serving: Stack, result: Any, path: str, value: object) -> None:  # noqa: ANN401
    """Another way of writing the same amount or length is as right, and so is what differs by less than a tick."""
    assert checked(serving, changed(result, path, value)).json["faults"] == []


def test_faults_speak_in_the_units_of_the_request(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """Lengths are said as on the sheet and money in decimals, never in what this program counts in."""
    short = checked(serving, changed(result, "materials/0/patterns/1/cuts/0/length", 49)).json["faults"]
    assert short[0]["detail"] == "needed 4'-2\", found 4'-1\""
    cheap = checked(serving, changed(result, "materials/0/cost", 49)).json["faults"]
    assert "needed 58.80, found 49.00" in [fault["detail"] for fault in cheap]
    order = checked(serving, changed(result, "order/0/amount", "49.00")).json["faults"]
    assert order[0]["pointer"] == "#/plan/order/0"


@pytest.mark.parametrize(("body", "pointers"), [
    ({}, ["#/plan", "#/request"]), ({"request": SHED, "plan": {}}, ["#/plan/materials"]),
    ({"request": SHED | {"units": "hand"}, "plan": {}}, ["#/request/units"]),
    ({"request": SHED, "plan": {"materials": []}, "x": 1}, ["#/x"]),
    ({"request": SHED, "plan": {"materials": [{"material": "none", "patterns": []}]}}, ["#/plan"]),
    ({"request": SHED, "plan": {"materials": [{"material": "panel-sand", "patterns": 7}]}},
     ["#/plan/materials/0/patterns"]),
])  # fmt: skip
def test_what_can_not_be_checked_is_named(serving: Stack, body: object, pointers: list[str]) -> None:
    """Bodies that are no request and plan get 422 with pointers."""
    answer = serving.client.post("/v1/plan-checks", json=body)
    assert answer.status_code == 422
    assert sorted(error["pointer"] for error in answer.json["errors"]) == pointers


def test_a_plan_is_told_how_far_it_is_from_a_bound(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """Six panels and no fewer: the length of all pieces takes more than five. A seventh is 16.67 per cent more.

    That is known though the plan claims nothing, and whatever else it claims.
    """
    (found,) = checked(serving, result).json["distances"]
    assert found == {
        "material": "panel-sand", "cost": 58.8, "cost_unit": "money", "bound": 58.8, "above": 0, "above_percent": 0,
    }  # fmt: skip
    claiming = deepcopy(result)
    del claiming["materials"][0]["bound"], claiming["materials"][0]["proof"]
    claiming["materials"][0]["cost"] = 68.6
    (dearer,) = checked(serving, claiming).json["distances"]
    assert (dearer["bound"], dearer["above"], dearer["above_percent"]) == (58.8, 9.8, 16.67)
