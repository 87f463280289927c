"""A length that the yard orders in: taken by whoever can wait for it, and by nobody else. By hand.

The figures and the arithmetic are our own; that a special order has days to wait is common practice, no source.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from service.views.facts import packed
from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.checking import check
from solver.errors import Unplannable
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.required import Required
from tests.scenario import inches

HELD = StockLength("12-6", inches(150), price=Decimal("9.80"))
ORDERED = StockLength("16-8", inches(200), price=Decimal("10.40"), wait_days=10)


def job(length: int, quantity: int, within_days: int | None, *stock: StockLength) -> Job:
    """Return the shed's job for so many pieces of panel, without kerf, so many inches long."""
    settings = replace(DEFAULTS[Category.OTHER], kerf=0)
    panel = Material("panel-sand", Category.OTHER, stock or (HELD, ORDERED), settings)
    items = (Required("D", "panel-sand", inches(length), quantity),)
    return Job("Tern Cottage, boat shed", Unit.IN, (panel,), items, within_days=within_days)


def planned(asked: Job) -> CutPlan:
    """Plan a job."""
    return plan_job(asked, time.monotonic)


@pytest.mark.parametrize("within_days", [None, 10, 11])
def test_who_can_wait_takes_the_length_that_costs_less(within_days: int | None) -> None:
    """Six of 100: three of 200 at 10.40 give two each, 31.20; six of 150 at 9.80 one each, 58.80."""
    plan = planned(job(100, 6, within_days))
    (line,) = plan.order
    assert (line.stock, line.sticks, line.wait_days, plan.order_total) == ("16-8", 3, 10, Decimal("31.20"))
    assert plan.materials[0].proven
    assert packed(line) == "3 loose; special order, 10 days"


@pytest.mark.parametrize("within_days", [0, 3, 9])
def test_who_cannot_wait_takes_what_is_held(within_days: int) -> None:
    """Six of 150 at 9.80 are 58.80, and no order that comes in time costs less."""
    plan = planned(job(100, 6, within_days))
    (line,) = plan.order
    assert (line.stock, line.sticks, line.wait_days, plan.order_total) == ("12-6", 6, 0, Decimal("58.80"))
    assert plan.materials[0].proven
    assert packed(line) == "6 loose"


def test_what_too_little_is_held_for_is_said_with_what_would_do() -> None:
    """Two of 12-6 are held: 19.60 gives two of six in time, and the rest stays uncut with what would do for it."""
    plan = planned(job(100, 6, 3, replace(HELD, available=2), ORDERED))
    assert plan.order_total == Decimal("19.60")
    (short,) = plan.not_cut
    assert (short.quantity, short.code) == (4, "stock_exhausted")
    assert short.enough is not None
    assert (short.enough.stock, short.enough.sticks) == ("16-8", 2)
    assert "2 more of 16'-8\", which comes in 10 days, would do for these" in short.detail


def test_what_only_a_late_length_could_give_is_refused_with_the_remedy() -> None:
    """No held stick gives 160; one of 16-8 does for whoever waits."""
    assert planned(job(160, 1, 10)).order_total == Decimal("10.40")
    with pytest.raises(Unplannable) as refused:
        planned(job(160, 1, 9))
    (problem,) = refused.value.problems
    assert (problem.pointer, problem.code) == ("#/required/0/length", "longer_than_stock")
    words = "longer than every stick of panel-sand that comes in time, which may not be lapped; raise within_days, add"
    assert words in problem.detail


def test_where_nothing_comes_in_time_nothing_is_cut() -> None:
    """All of the stock is a special order: six stay uncut, and three of it would do."""
    plan = planned(job(100, 6, 3, ORDERED))
    assert (plan.order, plan.order_total) == ((), Decimal(0))
    (short,) = plan.not_cut
    assert (short.quantity, short.enough and short.enough.sticks) == (6, 3)


def test_the_checker_refuses_what_comes_too_late() -> None:
    """A plan of whoever waits is no answer to whoever can't, and a line says how long it takes."""
    waiting = job(100, 6, None)
    plan = planned(waiting)
    assert not check(waiting, plan)
    faults = check(replace(waiting, within_days=9), plan)
    assert ("stock", "needed at most 0 of 16-8, found 3") in [(fault.code, fault.detail) for fault in faults]
    told = replace(plan, order=(replace(plan.order[0], wait_days=0),))
    assert [fault.detail for fault in check(waiting, told)] == ["needed 10 days until it comes, found 0"]


def test_a_run_of_what_comes_too_late_is_refused_with_the_remedy() -> None:
    """A run of 300 with laps of 1 takes three of 12-6; where that is a special order it is refused, with why."""
    asked = job(300, 1, 10, replace(HELD, wait_days=10))
    lapped = replace(asked.materials[0], category=Category.SIDING, settings=DEFAULTS[Category.SIDING])
    asked = replace(asked, materials=(lapped,))
    assert planned(asked).order_total == Decimal("29.40")
    with pytest.raises(Unplannable) as refused:
        planned(replace(asked, within_days=3))
    assert "every stick of panel-sand that comes in time; raise within_days" in refused.value.problems[0].detail
