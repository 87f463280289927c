"""Each day cut by itself, and what is carried for nothing: small weeks to check by hand."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import replace

import pytest

from solver.cutting import Pattern
from solver.plan import StoppedBy
from solver.watch import Watch
from solver.weekly.day_cutting import DayCutting
from solver.weekly.material_week import weeks_of
from solver.weekly.pooling import pool
from solver.weekly.state import snapshot
from solver.weekly.timed import Supply, TimedPiece, TimedProblem
from tests.support.weeks import BEFORE, week

PANEL = Supply(150, 98, None, True, True, 0)
HUNDRED, FIFTY = TimedPiece(100, 3, False, False, 0), TimedPiece(50, 3, False, False, 3)


def cutting(*pieces: TimedPiece, supplies: tuple[Supply, ...] = (PANEL,)) -> DayCutting:
    """Return the days of a problem without kerf, offcuts kept from 36 on."""
    return DayCutting(TimedProblem(supplies, pieces, 0, 36), Watch(time.monotonic, time.monotonic() + 60))


def test_each_day_by_itself() -> None:
    """Three panels on Monday, and one for all three on Thursday."""
    assert cutting(HUNDRED, FIFTY).filled({}) == {Pattern(0, (0,)): 3, Pattern(0, (1, 1, 1)): 1}


def test_only_what_is_left_open_is_cut() -> None:
    """Two of Thursday's come out of Monday's offcuts already: one panel more on each day."""
    carried = Pattern(0, (0, 1))
    assert cutting(HUNDRED, FIFTY).filled({carried: 2}) == {carried: 2, Pattern(0, (0,)): 1, Pattern(0, (1,)): 1}


def test_what_saves_a_panel_is_carried_on() -> None:
    """With all three carried Thursday needs no panel: none of them is for nothing."""
    plan = {Pattern(0, (0, 1)): 3}
    assert cutting(HUNDRED, FIFTY).without_useless_carries(plan) == plan


def test_what_saves_nothing_is_not_carried() -> None:
    """Two carried leave Thursday a panel for one piece, and it holds all three."""
    plan = Counter({Pattern(0, (0, 1)): 2, Pattern(0, (0,)): 1, Pattern(0, (1,)): 1})
    assert cutting(HUNDRED, FIFTY).without_useless_carries(plan) == {Pattern(0, (0,)): 3, Pattern(0, (1, 1, 1)): 1}


def test_a_stick_of_which_there_is_one_is_used_once() -> None:
    """The one offcut that costs nothing goes to Monday; Thursday's three come out of a panel."""
    offcut = Supply(100, 0, 1, False, False, 0)
    plan = cutting(HUNDRED, FIFTY, supplies=(PANEL, offcut)).filled({})
    assert sum(times for pattern, times in plan.items() if pattern.stick == 1) == 1


def test_what_lies_in_the_van_is_no_stick_of_a_day() -> None:
    """An offcut that has been carried is given out by the plan alone, which counts the nights."""
    opened = Supply(100, 0, 1, False, False, 0, opened=-1)
    plan = cutting(HUNDRED, supplies=(PANEL, opened)).filled({})
    assert plan == {Pattern(0, (0,)): 3}


def test_what_was_announced_is_kept_where_it_costs_nothing() -> None:
    """Two of 70 and two of 75 come out of two panels either way: as they were announced."""
    pieces = TimedPiece(70, 2, False, False, 0), TimedPiece(75, 2, False, False, 0)
    announced = {Pattern(0, (0, 0)): 1, Pattern(0, (1, 1)): 1}
    assert cutting(*pieces).keeping_announced({Pattern(0, (0, 1)): 2}, announced) == announced


def test_what_was_announced_is_given_up_where_it_costs_a_panel() -> None:
    """Thursday's three come out of one panel; two and one, as announced, would take two."""
    plan = {Pattern(0, (0,)): 3, Pattern(0, (1, 1, 1)): 1}
    announced = {Pattern(0, (1, 1)): 1, Pattern(0, (1,)): 1}
    assert cutting(HUNDRED, FIFTY).keeping_announced(plan, announced) == plan


@pytest.mark.parametrize(("came_to_its_end", "ended"), [(True, StoppedBy.EFFORT), (False, StoppedBy.TIME)])
def test_a_job_cut_short_by_the_clock_is_said_of_its_week(*, came_to_its_end: bool, ended: StoppedBy) -> None:
    """What a job planned alone found in the time it had goes into the week's plan: with more, that may be another."""
    watch = Watch(lambda: 0.0, 60.0)
    (own,) = weeks_of(snapshot(week(), BEFORE), watch, keep_runs=False)
    filled = replace(own.baselines[0].filled, bound=0, exhausted=came_to_its_end)
    baselines = replace(own.baselines[0], filled=filled), own.baselines[1]
    unproven = replace(own, baselines=baselines, fixed=True)
    (pooled,) = pool([unproven], None, watch).parts
    assert pooled.stopped_by is ended
