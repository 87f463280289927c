"""A whole plan from a whole job: what it says besides its patterns, and what no plan can do."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from importlib import import_module

import pytest

from solver import plan_job, planning
from solver.assignment import Filled
from solver.demand import Demand
from solver.errors import Unplannable
from solver.job import Job
from solver.laps import solve
from solver.plan import CutPlan, StoppedBy
from solver.progress import Phase, Progress
from solver.required import End, Meets
from solver.walls.otherwise import cover_and_compare
from solver.watch import Watch
from tests import scenario
from tests.scenario import PANEL, PANEL_12_6, inches


def planned(job: Job) -> CutPlan:
    """Plan a job on the wall clock."""
    return plan_job(job, time.monotonic)


@pytest.mark.parametrize(
    ("job", "sticks", "total"),
    [
        (scenario.shed(), 6, "58.80"),
        (scenario.with_kerf(), 7, "68.60"),
        (scenario.with_offcuts(), 5, "49.00"),
        (scenario.with_two_lengths(), 5, "55.60"),
        (scenario.with_limited_stock(), 5, "49.00"),
        (scenario.with_spares(), 6, "68.60"),
        (scenario.with_cartons(), 6, "78.40"),
        (scenario.with_metric(), 6, "58.80"),
    ],
    ids=["shed", "kerf", "offcuts", "two lengths", "limited stock", "spares", "cartons", "metric"],
)
def test_each_variant_comes_to_what_its_reader_works_out(job: Job, sticks: int, total: str) -> None:
    """The figures stand in the docstrings of the scenario, where each can be checked by hand."""
    plan = planned(job)
    assert plan.materials[0].proven
    assert (plan.materials[0].new_sticks, plan.order_total) == (sticks, Decimal(total))


def test_a_carton_is_taken_where_it_is_no_dearer_than_loose_panels() -> None:
    """Six panels at 9.80 come to 58.80 loose; a carton of eight at 55.00 is cheaper."""
    plan = planned(scenario.with_panel(stock=(replace(PANEL_12_6, carton=8, carton_price=Decimal(55)),)))
    assert [(line.cartons, line.loose, line.amount) for line in plan.order] == [(1, 0, Decimal(55))]


def test_an_order_beyond_what_is_available_says_so() -> None:
    """Six panels are there and six are cut, but a tenth of them spare makes the order seven."""
    settings = replace(PANEL.settings, spare_percent=Decimal(10))
    plan = planned(scenario.with_panel(stock=(replace(PANEL_12_6, available=6),), settings=settings))
    assert [(notice.code, notice.material) for notice in plan.warnings] == [("order_over_stock", "panel-sand")]


@pytest.mark.parametrize(("there", "one_lot", "said"), [(5, True, True), (5, False, False), (6, True, False)])
def test_a_second_lot_is_told_of_where_one_is_asked_for(there: int, one_lot: bool, said: bool) -> None:
    """Six panels are wanted: of five the rest must come later, and may be of another colour."""
    settings = replace(PANEL.settings, one_lot=one_lot)
    plan = planned(scenario.with_panel(stock=(replace(PANEL_12_6, available=there),), settings=settings))
    assert ("second_lot" in {notice.code for notice in plan.warnings}) is said


def test_spares_by_the_stick_come_on_top_of_those_by_percent() -> None:
    """Six panels, five percent of them spare, rounded up to one, and two more: nine at 9.80 are 88.20."""
    settings = replace(PANEL.settings, spare_percent=Decimal(5), spare_sticks=2)
    plan = planned(scenario.with_panel(settings=settings))
    assert [(line.sticks, line.spares, line.amount) for line in plan.order] == [(6, 3, Decimal("88.20"))]
    assert plan.materials[0].proven


def test_a_plan_that_ends_at_its_limit_says_so() -> None:
    """With no time at all there is a plan, and it says that more time may better it."""
    plan = planned(replace(scenario.shed(), seconds=0.0))
    assert "planning_cut_short" in [notice.code for notice in plan.warnings]
    assert plan.materials[0].patterns
    assert plan.stopped_by is StoppedBy.TIME


ONE_MORE_THAN_ITS_LENGTH = replace(
    scenario.with_panel(stock=(replace(PANEL_12_6, length=inches(132)),)),
    required=tuple(
        replace(scenario.B, mark=str(length), length=inches(length), quantity=quantity)
        for length, quantity in ((44, 5), (33, 7), (12, 17))
    ),
)
"""5 x 44 + 7 x 33 + 17 x 12 are 655 in, less than five panels of 132, and yet take six: two steps up from an instance
of the literature on the integer round-up property, given here from memory."""


def test_a_plan_whose_work_was_used_up_blames_no_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without what proves it, planning ends unproven and long before its time, and says so."""
    assert planned(ONE_MORE_THAN_ITS_LENGTH).stopped_by is StoppedBy.PROOF
    way = import_module("solver.cutting.solve")
    monkeypatch.setattr(way.CountSearch, "run", lambda *_: None)
    monkeypatch.setattr(way.Closing, "on", lambda *_: None)
    monkeypatch.setattr(way, "HARDEST", 2)
    plan = planned(ONE_MORE_THAN_ITS_LENGTH)
    assert (plan.materials[0].new_sticks, plan.materials[0].proven) == (6, False)
    assert plan.stopped_by is StoppedBy.EFFORT
    assert "planning_cut_short" not in [notice.code for notice in plan.warnings]


def test_runs_whose_work_was_used_up_blame_no_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """The north wall with no rounds of bettering allowed: six panels' length, seven panels, nothing shown."""
    monkeypatch.setattr(solve, "ROUNDS", 0)
    assert planned(scenario.north_wall()).stopped_by is StoppedBy.EFFORT


def test_progress_says_when_only_tidying_goes_on() -> None:
    """The shed's cost is settled at 58.80 first, and told as settled before what costs as little is gone through."""
    told: list[Progress] = []
    plan_job(scenario.shed(), time.monotonic, report=told.append)
    assert told[-1] == Progress(Decimal("58.80"), Decimal("58.80"), Phase.TIDYING)
    assert [progress.phase for progress in told[:-1]] == [Phase.SEARCHING] * (len(told) - 1)


def test_a_cancel_is_said_before_the_clock() -> None:
    """Whoever cancels is told so, in the plan and in the notice."""
    plan = plan_job(scenario.shed(), time.monotonic, cancelled=lambda: True)
    assert plan.stopped_by is StoppedBy.CANCEL
    assert "was cancelled" in next(n.detail for n in plan.warnings if n.code == "planning_cut_short")


def test_a_lapped_end_needs_a_material_that_may_be_lapped() -> None:
    """Where a material has no lap, a lapped end is refused by its place, not planned without one."""
    job = scenario.with_panel(settings=replace(PANEL.settings, lap=None))
    with pytest.raises(Unplannable) as refused:
        planned(job)
    assert [problem.pointer for problem in refused.value.problems] == ["#/required/0/left_end"]


def test_a_piece_longer_than_every_stick_that_may_not_be_lapped_is_refused() -> None:
    """13 ft can't come from 12'-6" panels without a lap; the item is named."""
    settings = replace(PANEL.settings, lap=None)
    long = replace(scenario.B, length=inches(156), left_end=End(Meets.PLAIN))
    with pytest.raises(Unplannable) as refused:
        planned(replace(scenario.with_panel(settings=settings), required=(long,)))
    assert [(p.code, p.pointer) for p in refused.value.problems] == [("longer_than_stock", "#/required/0/length")]


def test_pieces_of_a_row_sold_out_are_not_cut_rather_than_refused() -> None:
    """With no panel available the plan is empty and says that the stock is exhausted."""
    plan = planned(scenario.with_panel(stock=(replace(PANEL_12_6, available=0),)))
    assert {entry.code for entry in plan.not_cut} == {"stock_exhausted"}
    assert sum(entry.quantity for entry in plan.not_cut) == 14


def test_a_piece_that_no_panel_gives_leaves_the_run_beside_it_proven() -> None:
    """118 lapped at both ends is no panel's length. A run of 258 takes two panels, and none but that is lapped."""
    both = replace(scenario.A, length=inches(118), quantity=1, left_end=End(Meets.LAP), right_end=End(Meets.LAP))
    run = replace(scenario.B, mark="R", length=inches(258), quantity=1)
    plan = planned(replace(scenario.shed(), required=(both, run)))
    (material,) = plan.materials
    assert [(entry.item, entry.code) for entry in plan.not_cut] == [(0, "ends_impossible")]
    assert (material.new_sticks, material.cost, material.stopped_by) == (2, material.bound, StoppedBy.PROOF)


def test_what_is_hard_has_all_the_time_that_the_rest_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall of runs is planned after the trim that is listed behind it; sticks are still named in the job's order.

    On a clock that stands still ten seconds are left for whoever comes last, and five for whoever comes first.
    """
    heard: list[float] = []
    real = cover_and_compare

    def listening(demand: Demand, watch: Watch) -> Filled:
        heard.append(watch.left)
        return real(demand, watch)

    monkeypatch.setattr(planning, "cover_and_compare", listening)
    trim = replace(PANEL, id="trim")
    job = scenario.north_wall()
    job = replace(
        job,
        materials=(PANEL, trim),
        required=(*job.required, replace(scenario.B, material="trim")),
        seconds=10.0,
    )
    plan = plan_job(job, lambda: 0.0)
    assert heard == [10.0]
    assert [part.material for part in plan.materials] == ["panel-sand", "trim"]
    assert plan.materials[0].patterns[0].sticks[0].stick == "S1"
