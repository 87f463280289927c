"""``/v1/plan-checks`` says of the service's own plan that it is right, and of a changed one what is wrong."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from tests.support.porch import PORCH, WALL
from tests.support.stack import Stack


@pytest.fixture(scope="module")
def result(serving: Stack) -> Any:  # noqa: ANN401
    """Return the porch's result."""
    return serving.post(PORCH, Prefer="wait=30").json["result"]


def checked(serving: Stack, plan: object, request: object = PORCH) -> Any:  # noqa: ANN401
    """Return the answer to a plan check."""
    return serving.client.post("/v1/plan-checks", json={"request": request, "plan": plan})


def test_the_services_own_plan_is_right(serving: Stack, result: Any) -> None:  # noqa: ANN401
    """A result can be handed back as it came."""
    assert checked(serving, result).json == {"right": True, "faults": [], "waste_percent": 0.22}


def test_the_services_own_plan_of_a_wall_is_right(serving: Stack) -> None:
    """Runs with their laps and cut-outs can be handed back too."""
    answer = serving.post(WALL, Prefer="wait=30").json
    assert len(answer["result"]["materials"][0]["runs"]) == 3
    assert checked(serving, answer["result"], WALL).json["right"] is True


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
    ("materials/0/patterns/0/cuts/0/length", 120), ("materials/0/patterns/0/cuts/0/left", "field"),
    ("materials/0/patterns/1/from/length", 149), ("materials/0/patterns/0/offcut/length", 1),
    ("materials/0/patterns/1/sticks/0/pieces/0/item", 2), ("materials/0/patterns/1/sticks/0/stick", "S1"),
    ("materials/0/cost", 49), ("materials/0/bound", 60), ("order/0/sticks", 5), ("order/0/amount", "49.00"),
    ("not_cut", [{"item": 0, "quantity": 1, "code": "stock_exhausted"}]), ("materials/0/patterns/1/from/stock", "none"),
])  # fmt: skip
def test_a_changed_plan_is_wrong(serving: Stack, result: Any, path: str, value: object) -> None:  # noqa: ANN401
    """Whatever is changed, a fault points into the body."""
    plan = deepcopy(result)
    *above, last = (int(step) if step.isdigit() else step for step in path.split("/"))
    place = plan
    for step in above:
        place = place[step]
    place[last] = value
    answer = checked(serving, plan)
    assert answer.status_code == 200, answer.json
    assert answer.json["right"] is False
    assert all(fault["pointer"].startswith(("#/plan", "#/request")) for fault in answer.json["faults"])


@pytest.mark.parametrize(("body", "pointers"), [
    ({}, ["#/plan", "#/request"]), ({"request": PORCH, "plan": {}}, ["#/plan/materials"]),
    ({"request": PORCH | {"units": "hand"}, "plan": {}}, ["#/request/units"]),
    ({"request": PORCH, "plan": {"materials": []}, "x": 1}, ["#/x"]),
    ({"request": PORCH, "plan": {"materials": [{"material": "none", "patterns": []}]}}, ["#/plan"]),
    ({"request": PORCH, "plan": {"materials": [{"material": "panel-sand", "patterns": 7}]}},
     ["#/plan/materials/0/patterns"]),
])  # fmt: skip
def test_what_can_not_be_checked_is_named(serving: Stack, body: object, pointers: list[str]) -> None:
    """Bodies that are no request and plan get 422 with pointers."""
    answer = serving.client.post("/v1/plan-checks", json=body)
    assert answer.status_code == 422
    assert sorted(error["pointer"] for error in answer.json["errors"]) == pointers
