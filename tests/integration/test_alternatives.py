"""The boat shed planned other ways, beside each other, by hand.

One panel of 150 in at 9.80 is there, and any number of 200 in at 12.00; 898 in are wanted, and four A of 115 in lie in
four panels. So one short and four long: 57.80. Of those plans, one of least scrap has B, B, B in the short panel, A, B,
C (199 1/2) in three long ones and A, C in the fourth, of which 50 1/2 are kept.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.support.shed import SHED, shed_with
from tests.support.stack import Stack

STOCK = [
    {"id": "12-6", "length": 150, "price": "9.80", "available": 1}, {"id": "16-8", "length": 200, "price": "12.00"},
]  # fmt: skip
FIGURES = ("change", "stock", "status", "order_total", "bought_length", "waste_percent", "sticks", "laps", "patterns")


@pytest.fixture(scope="module")
def plan(serving: Stack) -> Iterator[str]:
    """Return the id of a plan of the shed, whose supplier charged nothing when it was made and does now."""
    material = {**SHED["materials"][0], "stock": STOCK, "supplier": "North"}
    plan_id = serving.posted({**SHED, "materials": [material]}, Prefer="wait=30")
    serving.client.put("/v1/company", json={"suppliers": [{"name": "North", "order_cost": "5", "delivery": "12.50"}]})
    yield plan_id
    serving.client.put("/v1/company", json={})


def compared(serving: Stack, plan_id: str) -> list[dict[str, Any]]:
    """Ask for a plan's alternatives and return all rows once they are over."""
    address = f"/v1/cut-plans/{plan_id}/alternatives"
    asked = serving.client.post(address)
    assert asked.status_code in (200, 202), asked.text
    for row in asked.json["alternatives"]:
        serving.settled(row["id"])
    answer = serving.client.get(address)
    assert answer.status_code == 200
    rows: list[dict[str, Any]] = answer.json["alternatives"]
    assert [row["id"] for row in asked.json["alternatives"]] == [row["id"] for row in rows]
    return rows


def test_each_with_bill_waste_sticks_and_laps(serving: Stack, plan: str) -> None:
    """By each change.

    Of one short panel not everything can be cut; the most is three B. Of long ones alone five, least scrap in A, B, C
    twice, A, C twice and B four times. In two ways: A, B, C from four long ones, two B from the short one. Without a
    limit, A, B, C from three long ones, and A, C and B three times from two short ones.
    """
    rows = compared(serving, plan)
    assert [tuple(row[name] for name in FIGURES) for row in rows] == [
        ("as_asked", None, "optimal", "57.80", 950, 5.47, 5, 0, 3),
        ("one_length", "12-6", "partial", "9.80", 150, 0, 1, 0, 1),
        ("one_length", "16-8", "optimal", "60.00", 1000, 10.2, 5, 0, 3),
        ("fewest_patterns", None, "optimal", "57.80", 950, 5.47, 5, 0, 2),
        ("no_limit", None, "optimal", "55.60", 900, 0.22, 5, 0, 3),
    ]
    assert rows[0]["id"] == plan
    jobs = [serving.store.job(row["id"]) for row in rows]
    assert [job and job.suppliers for job in jobs] == [()] * len(rows)


def test_they_are_plans_made_from_it_and_asked_for_once(serving: Stack, plan: str) -> None:
    """What the page plans with one length only is the same plan."""
    rows = compared(serving, plan)
    assert [row["id"] for row in compared(serving, plan)] == [row["id"] for row in rows]
    other = serving.client.get(f"/v1/cut-plans/{rows[2]['id']}").json
    assert other["made_from"] == rows[0]["number"]
    form = {"do": "alone:0:16-8", "there": ""}
    assert serving.client.post(f"/plans/{plan}", data=form).headers["Location"] == f"/plans/{rows[2]['id']}"


def test_none_but_the_plan_until_they_are_asked_for(serving: Stack) -> None:
    """And one that is forgotten is planned anew."""
    plan_id = serving.posted(shed_with("materials/0/stock", STOCK), Prefer="wait=30")
    assert [row["id"] for row in serving.client.get(f"/v1/cut-plans/{plan_id}/alternatives").json["alternatives"]] == [
        plan_id
    ]
    before = compared(serving, plan_id)
    serving.client.delete(f"/v1/cut-plans/{before[4]['id']}")
    after = compared(serving, plan_id)
    assert [row["change"] for row in after] == [row["change"] for row in before]
    assert after[4]["id"] != before[4]["id"]


def test_the_page_shows_them(serving: Stack) -> None:
    """A button, then a table; none where nothing can be changed. Of them the plan alone is among the last plans."""
    plan_id = serving.posted(shed_with("materials/0/stock", STOCK), Prefer="wait=30")
    assert "Plan it other ways" in serving.client.get(f"/plans/{plan_id}").text
    answer = serving.client.post(f"/plans/{plan_id}", data={"do": "alternatives"})
    assert answer.headers["Location"] == f"/plans/{plan_id}#alternatives"
    rows = compared(serving, plan_id)
    page = serving.client.get(f"/plans/{plan_id}").text
    assert "Plan it other ways" not in page
    begun = serving.client.get("/").text
    assert [f'href="/plans/{row["id"]}"' in begun for row in rows] == [True, *[False] * 4]
    assert all(f"<b>{bill}</b>" in page for bill in ("57.80", "9.80", "60.00", "55.60"))
    one = serving.posted(SHED, Prefer="wait=30")
    assert "Side by side" not in serving.client.get(f"/plans/{one}").text


def test_fewer_laps_against_the_bill(serving: Stack) -> None:
    """150 in and four of 60 in out of sticks of 100 in: four with three laps of 1 in, or six with one."""
    panel = {"id": "panel-sand", "category": "siding", "stock": [{"id": "8-4", "length": 100, "price": "10"}],
             "lap": 1, "lap_ends": "any", "shortest_piece": None, "extra_laps": 2}  # fmt: skip
    ends = {"material": "panel-sand", "left_end": "plain", "right_end": "plain"}
    items = [{**ends, "mark": "R", "length": 150}, {**ends, "mark": "P", "length": 60, "quantity": 4}]
    body = {"units": "in", "materials": [panel], "required": items}
    plan_id = serving.posted(body, Prefer="wait=30")
    rows = compared(serving, plan_id)
    assert [(row["change"], row["order_total"], row["sticks"], row["laps"]) for row in rows] == [
        ("as_asked", "40.00", 4, 3), ("fewest_laps", "60.00", 6, 1),
    ]  # fmt: skip
    asked, fewest = (row["number"] for row in rows)
    page = serving.client.get(f"/plans/{plan_id}").text
    assert f"plan {fewest}, laps 1: 60.00; plan {asked}, laps 3: 40.00." in page
