"""Walls kept to themselves, by hand: three pieces of 100 in on one wall, three of 50 in on another, panels of 150."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from math import inf

import pytest

from solver import plan_job
from solver.assignment import Filled
from solver.categories import PanelsServe
from solver.demand import Demand, demand_of
from solver.job import Job, Notice, Wall
from solver.planning import cut
from solver.required import Required
from solver.runs import BreachCode
from solver.walls.otherwise import planned_by_settings
from solver.watch import Watch
from tests.scenario import PANEL, inches, shed
from tests.support.plans import codes, with_part

NORTH = Required("N", "panel-sand", inches(100), wall="north", first_course=1, courses=3)
SOUTH = Required("S", "panel-sand", inches(50), wall="south", first_course=1, courses=3)


def two_walls(*items: Required, serve: PanelsServe = PanelsServe.JOB, most_put_aside: int | None = None) -> Job:
    """Return a job of two walls."""
    panel = replace(PANEL, settings=replace(PANEL.settings, panels_serve=serve, most_put_aside=most_put_aside))
    return replace(shed(), materials=(panel,), required=items or (NORTH, SOUTH), walls=(Wall("north"), Wall("south")))


def panels(job: Job) -> int:
    """Return how many panels the plan buys; the checker has gone over it."""
    return plan_job(job, time.monotonic).materials[0].new_sticks


def test_together_the_walls_take_three_panels_and_apart_four() -> None:
    """Three times 100 + 50 is three panels, with three pieces for the south lying about; apart 3 + 1."""
    (part,) = plan_job(two_walls(), time.monotonic).materials
    assert part.looks is not None
    assert (part.new_sticks, part.looks.put_aside, part.looks.for_other_walls) == (3, 3, 3)
    plan = plan_job(two_walls(serve=PanelsServe.WALL), time.monotonic)
    (part,) = plan.materials
    assert part.looks is not None
    assert (part.new_sticks, part.bound * part.cost_step, part.looks.for_other_walls) == (
        4,
        part.cost * part.cost_step,
        0,
    )
    (notice,) = plan.warnings
    assert notice.code == "walls_apart"
    assert "takes 4 panels, 1 panel more than the 3" in notice.detail


@pytest.mark.parametrize(
    ("most", "bought", "said"), [(3, 3, []), (2, 4, ["walls_apart"]), (1, 4, ["walls_apart", "put_aside"])]
)
def test_a_limit_on_pieces_put_aside_keeps_walls_apart_if_need_be(most: int, bought: int, said: list[str]) -> None:
    """Together three lie about. Apart the panel of the south gives its second and third course two to put aside."""
    plan = plan_job(two_walls(most_put_aside=most), time.monotonic)
    assert (plan.materials[0].new_sticks, [notice.code for notice in plan.warnings]) == (bought, said)


def test_walls_share_what_there_is_little_of() -> None:
    """Two panels are to be had: the north takes both, and what it leaves is not for the south. That is said."""
    job = two_walls(serve=PanelsServe.WALL)
    few = replace(job.materials[0], stock=(replace(PANEL.stock[0], available=2),))
    plan = plan_job(replace(job, materials=(few,)), time.monotonic)
    assert [(entry.mark, entry.quantity) for entry in plan.not_cut] == [("N", 1), ("S", 3)]


def test_a_bound_for_fewer_broken_rules_is_none_for_walls_that_break_more() -> None:
    """Walls apart take four panels, which is proven; as one the job keeps a rule that they break, and takes five."""
    job = two_walls(serve=PanelsServe.WALL)
    demand = demand_of(job, job.materials[0], [0, 1])

    def plan(asked: Demand, watch: Watch) -> Filled:
        filled = cut(asked, watch)
        if len(asked.kinds) > 1:
            return replace(filled, cost=filled.cost // 3 * 5, bound=filled.cost // 3 * 5)
        return replace(filled, notices=(Notice(BreachCode.LAP_SPACING, "two laps too near"),))

    apart = planned_by_settings(demand, Watch(time.monotonic, inf), plan)
    assert [each * demand.cost_step for each in (apart.cost, apart.bound)] == [Decimal("39.20"), Decimal("39.20")]


def test_a_bound_of_the_job_proves_no_walls_that_may_break_too_much() -> None:
    """Apart each breaks a rule, for 39.20 and unproven. As one the job breaks two, costs more and is not proven either.

    No plan that breaks as few rules as can be costs less than 39.20, but nothing shows that two must be broken.
    """
    job = two_walls(serve=PanelsServe.WALL)
    demand = demand_of(job, job.materials[0], [0, 1])

    def plan(asked: Demand, watch: Watch) -> Filled:
        filled = cut(asked, watch)
        broken = (Notice(BreachCode.LAP_SPACING, "two laps too near"),)
        if len(asked.kinds) > 1:
            stick = filled.cost // 3
            return replace(filled, cost=5 * stick, bound=4 * stick, notices=2 * broken)
        return replace(filled, bound=filled.cost - 1, notices=broken)

    apart = planned_by_settings(demand, Watch(time.monotonic, inf), plan)
    assert apart.cost * demand.cost_step == Decimal("39.20")
    assert apart.bound < apart.cost


def test_runs_of_both_walls_are_covered_each_from_sticks_of_its_own() -> None:
    """200 in takes a panel and 51 in of another: two panels a wall apart, three for both together."""
    runs = [Required(m, "panel-sand", inches(200), wall=w, first_course=1) for m, w in (("N", "north"), ("S", "south"))]
    assert panels(two_walls(*runs)) == 3
    assert panels(two_walls(*runs, serve=PanelsServe.WALL)) == 4


def test_a_stick_for_two_walls_is_refused_where_each_is_kept_to_itself() -> None:
    """The plan of the job as one, handed in as one of walls apart."""
    job = two_walls(serve=PanelsServe.WALL)
    together = plan_job(two_walls(), time.monotonic)
    assert codes(job, with_part(together, settings=job.materials[0].settings)) == {"walls_apart"}
