"""Runs on buying terms: the bill is that of the order, and no bound is above it."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

from solver import plan_job
from solver.materials import PriceBreak
from tests import scenario


def test_runs_are_billed_by_the_carton() -> None:
    """The north wall of the shed with panels in cartons of four alone: whole cartons, and a bound by what they cost."""
    job = scenario.north_wall()
    (material,) = job.materials
    stock = tuple(replace(row, carton=4, singles=False) for row in material.stock)
    plan = plan_job(replace(job, materials=(replace(material, stock=stock),)), time.monotonic)
    (line,), (part,) = plan.order, plan.materials
    assert (line.cartons * 4, line.loose) == (line.sticks + line.spares, 0)
    assert plan.order_total == part.cost * part.cost_step == line.cartons * 4 * Decimal("9.80")
    assert part.bound <= part.cost


def test_a_run_takes_a_break_that_its_panels_reach() -> None:
    """One panel more than the run takes makes all of them cheaper by half: it is bought, and is a spare."""
    job = scenario.north_wall()
    (material,) = job.materials
    taken = plan_job(job, time.monotonic).materials[0].new_sticks
    stock = tuple(
        replace(row, breaks=(PriceBreak(taken + 1, Decimal("4.90")),)) for row in material.stock
    )
    plan = plan_job(replace(job, materials=(replace(material, stock=stock),)), time.monotonic)
    (line,), (part,) = plan.order, plan.materials
    assert (line.sticks, line.spares, line.unit_price) == (taken, 1, Decimal("4.90"))
    assert part.proven
