"""What a lap counts beside sticks, by hand: a run of 150 in and four pieces of 60 in out of sticks of 100 in at 10.00.

With a lap of 1 in it is 100 + 51, which takes two sticks more than the four of the pieces; with three laps it is made
of the 40 in that each of the four has left, 40 + 40 + 40 + 33.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.categories import LapEnds
from solver.job import Job
from solver.materials import StockLength
from solver.required import End, Meets, Required
from tests.scenario import PANEL, inches, shed
from tests.support.plans import codes, with_part

PLAIN = End(Meets.PLAIN)


def job(lap_price: str, price: str | None = "10") -> Job:
    """Return the job, its laps of this price."""
    rules = replace(PANEL.settings, lap=inches(1), lap_ends=LapEnds.ANY, shortest_piece=None)
    settings = replace(rules, extra_laps=2, lap_price=Decimal(lap_price))
    stock = (StockLength("8-4", inches(100), price=None if price is None else Decimal(price)),)
    items = (Required("R", PANEL.id, inches(150), left_end=PLAIN, right_end=PLAIN),
             Required("P", PANEL.id, inches(60), quantity=4, left_end=PLAIN, right_end=PLAIN))  # fmt: skip
    return replace(shed(), materials=(replace(PANEL, stock=stock, settings=settings),), required=items, offcuts=())


@pytest.mark.parametrize(
    ("lap_price", "total", "laps", "counted"), [("0", 40, 3, "0"), ("9.99", 40, 3, "29.97"), ("10", 60, 1, "10")]
)
def test_a_stick_is_saved_only_by_laps_that_come_to_less(lap_price: str, total: int, laps: int, counted: str) -> None:
    """Two sticks are 20.00 and save two laps. What laps count is told by itself: cost, bound and order are of goods."""
    plan = plan_job(job(lap_price), time.monotonic)
    (part,) = plan.materials
    figures = (plan.order_total, part.cost * part.cost_step, part.bound * part.cost_step)
    assert figures == (Decimal(total), Decimal(total), Decimal(40))
    assert sum(len(run.laps_at) for run in part.runs) == laps
    assert part.lap_cost == Decimal(counted)


def test_the_checker_works_out_what_laps_count() -> None:
    """Three laps of 9.99 are 29.97."""
    asked = job("9.99")
    plan = plan_job(asked, time.monotonic)
    assert codes(asked, plan) == set()
    assert codes(asked, with_part(plan, lap_cost=Decimal("29.96"))) == {"lap_cost"}


def test_what_is_left_uncut_beside_a_run_is_not_cut_as_well() -> None:
    """Two sticks give a run of 150 (100 and 51, lapped by 1) and one of two pieces of 40: the first, the other not."""
    asked = job("0")
    panel, (run, piece) = asked.materials[0], asked.required
    short = replace(panel, stock=(replace(panel.stock[0], available=2),))
    pieces = (replace(piece, mark=mark, length=inches(40), quantity=1) for mark in ("A", "B"))
    plan = plan_job(replace(asked, materials=(short,), required=(*pieces, run)), time.monotonic)
    assert [(entry.mark, entry.quantity) for entry in plan.not_cut] == [("B", 1)]
