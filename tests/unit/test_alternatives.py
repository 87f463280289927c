"""What may make another plan of a plan's list, and what is not worth planning."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

from service.alternatives import MOST_LENGTHS, Alternative, Change, alternatives_of
from solver import plan_job
from solver.job import FromRack, Job
from solver.materials import Material
from tests import scenario
from tests.unit.walls.test_lap_price import job as laid


def of(job: Job) -> list[Alternative]:
    """Return the alternatives of a job, once it is planned."""
    return list(alternatives_of(job, plan_job(job, time.monotonic)))


def panel(alternative: Alternative) -> Material:
    """Return the one material of an alternative."""
    return alternative.job.materials[0]


def test_of_one_length_without_limit_there_is_none() -> None:
    """And of several each alone; one that is out is none."""
    assert of(scenario.shed()) == []
    both = of(scenario.with_two_lengths())
    assert [(one.change, one.material, one.stock) for one in both] == [
        (Change.ONE_LENGTH, "panel-sand", "12-6"), (Change.ONE_LENGTH, "panel-sand", "16-8"),
    ]  # fmt: skip
    assert [row.available for row in panel(both[0]).stock] == [None, 0]
    assert both[0].words == "Only 12'-6\" of panel-sand, double 4 in panel, sand"


def test_what_is_limited_is_planned_without_limit() -> None:
    """The five panels that are there against as many as it takes."""
    (other,) = of(scenario.with_limited_stock())
    assert (other.change, other.job) == (Change.NO_LIMIT, scenario.shed())


def test_laps_that_count_may_count_nothing() -> None:
    """A run of three laps may have one; where it has no more than it must for their price, it may have them."""
    (fewest,) = of(laid("0"))
    assert (fewest.change, panel(fewest).settings.extra_laps) == (Change.FEWEST_LAPS, 0)
    (cheapest,) = of(laid("10"))
    assert (cheapest.change, panel(cheapest).settings.lap_price) == (Change.CHEAPEST, Decimal(0))


def test_what_lies_on_the_rack_is_held_for_one_plan() -> None:
    """So there is none where it may be used."""
    assert of(replace(scenario.with_two_lengths(), rack=FromRack())) == []


def test_a_length_too_short_for_what_has_no_laps_is_not_planned_alone() -> None:
    """B of 50 in can't come from 40 in, nor be made of two where nothing is lapped."""
    short = replace(scenario.PANEL_12_6, id="short", length=scenario.inches(40))
    bare = scenario.with_panel(
        stock=(scenario.PANEL_12_6, short), settings=replace(scenario.PANEL.settings, lap=None)
    )
    assert [one.stock for one in of(replace(bare, required=(scenario.B,)))] == ["12-6"]


def test_so_many_lengths_are_enough() -> None:
    """In the order of the request."""
    rows = tuple(replace(scenario.PANEL_12_6, id=str(n)) for n in range(MOST_LENGTHS + 1))
    assert [one.stock for one in of(scenario.with_panel(stock=rows))] == [str(n) for n in range(MOST_LENGTHS)]
