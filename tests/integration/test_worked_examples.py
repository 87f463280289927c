"""Worked examples through the API, the queue and a worker process: their optimum, proven and checked."""

from __future__ import annotations

from typing import Any

import pytest

from tests.outside.worked_examples import ALL, Example
from tests.support.stack import Stack


def request_of(example: Example) -> dict[str, Any]:
    """Return an example as a request in millimetres, with what a stick costs as its price."""
    stock = [{"id": str(length), "length": length, "price": cost} for length, cost in example.sticks]
    return {
        "name": example.name,
        "units": "mm",
        "materials": [{"id": "stick", "category": "other", "stock": stock}],
        "required": [{"material": "stick", "length": length, "quantity": wanted} for length, wanted in example.pieces],
        "limits": {"seconds": 20},
    }


@pytest.mark.parametrize("example", ALL, ids=lambda example: example.name)
def test_a_worked_example_is_served_at_its_optimum(serving: Stack, example: Example) -> None:
    """Cost and bound are the optimum that the source states, or an independent model finds."""
    plan_id = serving.posted(request_of(example), Prefer="wait=30")
    serving.settled(plan_id)
    result = serving.client.get(f"/v1/cut-plans/{plan_id}").json["result"]
    (part,) = result["materials"]
    assert part["cost"] == example.optimum
    assert part["bound"] == example.optimum
    assert part["proven"]
