"""What may make another plan of a plan's list, and what is not worth planning."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

from service.alternatives import MOST_LENGTHS, Alternative, Change, Row, alternatives_of, measured
from service.counter.plan.plan_result import charts_of, words_of
from service.wire.plans.alternatives import render_alternatives
from solver import plan_job
from solver.job import FromRack, Job, Notice
from solver.materials import Material, Offcut
from solver.plan import NotCut
from tests import scenario
from tests.unit.walls.test_lap_price import job as laid
from workers.plans.record import record_of


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
        (Change.FEWEST_PATTERNS, None, None),
    ]  # fmt: skip
    assert [row.available for row in panel(both[0]).stock] == [None, 0]
    assert both[0].words == "Only 12'-6\" of panel-sand, double 4 in panel, sand"


def test_what_is_limited_is_planned_without_limit() -> None:
    """The five panels that are there against as many as it takes."""
    (other,) = of(scenario.with_limited_stock())
    assert (other.change, other.job) == (Change.NO_LIMIT, scenario.shed())


def test_what_has_to_be_waited_for_is_done_without() -> None:
    """The longer panels take ten days: once as asked, once with those in stock alone; who can't wait has no other."""
    job = scenario.with_two_lengths()
    held, late = job.materials[0].stock
    job = replace(job, materials=(replace(job.materials[0], stock=(held, replace(late, wait_days=10))),))
    (other,) = (one for one in of(job) if one.change is Change.IN_STOCK)
    assert [row.available for row in other.job.in_time.materials[0].stock] == [None, 0]
    assert Change.IN_STOCK not in {one.change for one in of(replace(job, within_days=3))}


def test_laps_that_count_may_count_nothing() -> None:
    """A run of three laps may have one; where it has no more than it must for their price, it may have them."""
    (fewest,) = of(laid("0"))
    assert (fewest.change, panel(fewest).settings.extra_laps) == (Change.FEWEST_LAPS, 0)
    (cheapest,) = of(laid("10"))
    assert (cheapest.change, panel(cheapest).settings.lap_price) == (Change.CHEAPEST, Decimal(0))


def test_what_lies_on_the_rack_is_held_for_one_plan() -> None:
    """So all others leave it alone: new sticks only, and of those each length by itself."""
    lying = Offcut("R-17", "panel-sand", scenario.inches(60), on_rack=True)
    found = of(replace(scenario.with_two_lengths(), rack=FromRack(), offcuts=(lying,)))
    assert [one.change for one in found] == [Change.NO_RACK, *[Change.ONE_LENGTH] * 2, Change.FEWEST_PATTERNS]
    assert {(one.job.rack, one.job.offcuts) for one in found} == {(None, ())}


def test_fewer_ways_of_cutting_are_worth_as_much_as_sticks() -> None:
    """Three lengths of more than half a panel are cut in three ways; without prices there is nothing to weigh."""
    items = tuple(replace(scenario.B, mark=str(n), length=scenario.inches(n)) for n in (80, 90, 100))
    (fewest,) = of(replace(scenario.shed(), required=items))
    assert (fewest.change, panel(fewest).settings.pattern_price) == (Change.FEWEST_PATTERNS, Decimal("9.80"))
    bare = scenario.with_panel(stock=(replace(scenario.PANEL_12_6, price=None),))
    assert of(replace(bare, required=items)) == []


def test_one_that_is_worse_by_what_it_is_named_for_says_so() -> None:
    """Two ways of cutting as asked, three in what was to have the fewest; as many or fewer need no words."""
    items = tuple(replace(scenario.B, mark=str(n), length=scenario.inches(n)) for n in (80, 90, 100))
    shed = scenario.shed()
    two, three = (plan_job(each, time.monotonic) for each in (shed, replace(shed, required=items)))
    fewest = Alternative(Change.FEWEST_PATTERNS, shed, "Fewest ways of cutting")
    worse = measured(fewest, two, three).words
    assert worse == "Fewest ways of cutting: none better was found in its time than as asked"
    assert [measured(fewest, *pair) for pair in ((three, two), (two, two), (two, None))] == [fewest] * 3
    assert measured(fewest, two, replace(three, not_cut=(NotCut(0, "80", 1, "", ""),))) == fewest
    cheapest = replace(fewest, change=Change.CHEAPEST)
    assert [measured(cheapest, *pair) == cheapest for pair in ((two, three), (three, two))] == [False, True]


def test_what_is_cheaper_because_it_breaks_rules_is_told_of_and_not_drawn_beside_the_plan() -> None:
    """60 for one lap, 40 for three of which one is nearer to another than it should be."""
    job = laid("0")
    fewest, plan = (plan_job(each, time.monotonic) for each in (laid("10"), job))
    near = replace(plan, warnings=(Notice("lap_spacing", "2 in", material="panel-sand"), Notice("over_stock", "")))
    kept = record_of("", {})
    rows = [Row(Alternative(change, job, ""), replace(kept, number=number), one) for change, number, one in (
        (Change.AS_ASKED, "1", fewest), (Change.CHEAPEST, "2", near), (Change.NO_LIMIT, "3", plan),
    )]  # fmt: skip
    told = render_alternatives(job.units, rows)["alternatives"]
    assert [row["broken_rules"] for row in told] == [0, 1, 0]
    assert [words_of(row) for row in told] == ["", "breaks 1 rule of laps", ""]
    left = told[1] | {"status": "partial"}
    assert words_of(left) == "not all of it can be cut, breaks 1 rule of laps"
    (chart,) = charts_of(rows)
    assert "plan 3, laps 3: 40.00" in chart
    assert "plan 2" not in chart


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
