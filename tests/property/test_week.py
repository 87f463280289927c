"""Random small weeks, held against a whole integer program by another solver, and against the jobs planned alone."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver import plan_job
from solver.categories import LapEnds
from solver.checking.week import check_week
from solver.job import Job, Wall
from solver.materials import FactoryEnd, Offcut
from solver.required import End, Meets, Required, Side
from solver.weekly.patterns import column_pool
from solver.weekly.problems import find_report_problems
from solver.weekly.week import DatedJob, Delivery, Done, Kept, Report, Sticks, Week, WeekLimits
from tests.outside.week_program import least_bill
from tests.scenario import PANEL, PANEL_12_6, PANEL_16_8, inches
from tests.support.weeks import BEFORE, MONDAY, planned, week

_LENGTHS = st.sampled_from([31, 38, 45, 52, 60, 74, 90, 104, 115])
_ENDS = st.sampled_from([("plain", "plain")] * 4 + [("lap", "plain"), ("plain", "lap")])


@st.composite
def items(draw: st.DrawFn) -> Required:
    """One line of a job: one or two pieces, seldom lapped at an end."""
    left, right = draw(_ENDS)
    return Required(
        "A", "panel-sand", inches(draw(_LENGTHS)), draw(st.integers(1, 2)), End(Meets(left)), End(Meets(right))
    )


@st.composite
def weeks(draw: st.DrawFn, most_jobs: int = 3) -> Week:
    """Up to three jobs of one or two lines, one or two stock lengths, a small rack, kerf or none, deliveries."""
    days = draw(st.lists(st.integers(0, 4), min_size=1, max_size=most_jobs, unique=True))
    jobs = tuple(
        DatedJob(f"j{day}", MONDAY + timedelta(days=day), tuple(draw(st.lists(items(), min_size=1, max_size=2))))
        for day in sorted(days)
    )
    rack = tuple(
        Offcut(f"R{n}", "panel-sand", inches(length), 1, draw(st.sampled_from(FactoryEnd)))
        for n, length in enumerate(draw(st.lists(st.sampled_from([40, 61, 80]), max_size=2)))
    )
    panel = replace(
        PANEL,
        stock=draw(st.sampled_from([(PANEL_12_6,), (PANEL_12_6, PANEL_16_8)])),
        settings=replace(PANEL.settings, kerf=inches(draw(st.sampled_from([0, 1]))), lap=inches(1)),
    )
    deliveries = draw(st.sampled_from([(0,), (min(days),), (0, 3)])) if min(days) >= 0 else (0,)
    return replace(
        week(), materials=(panel,), jobs=jobs, rack=rack,
        deliveries=tuple(Delivery(MONDAY + timedelta(days=day)) for day in deliveries),
        limits=WeekLimits(carry=draw(st.sampled_from([None, None, 0, 1, 2]))),
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_the_bill_is_the_least_and_carries_the_fewest(asked: Week) -> None:
    """HiGHS, told nothing of patterns, finds the same bill and the same number of offcuts carried."""
    plan = planned(asked)
    (only,) = plan.compared
    assert (only.pooled.cost, plan.carried) == least_bill(asked)
    assert plan.proven
    assert not check_week(asked, MONDAY, plan)
    reported = replace(asked, reports=tuple(day.as_planned() for day in plan.days))
    assert not list(find_report_problems(reported, plan.orders))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from([0, 1]), st.lists(st.integers(1, 120), max_size=5)), max_size=6))
def test_what_was_cut_of_what_was_used_is_no_fault(cut: list[tuple[int, list[int]]]) -> None:
    """Each stick, of 150 or 200 in, is cut as long as it lasts, and its rest kept; 40 in more are too much."""
    panel = replace(PANEL, stock=(PANEL_12_6, PANEL_16_8))
    lengths, kept = list[int](), list[Kept]()
    for number, (row, wanted) in enumerate(cut):
        left = panel.stock[row].length
        for length in map(inches, wanted):
            lengths += [length] * (length <= left)
            left -= length * (length <= left)
        kept += [Kept(Offcut(f"K{number}", panel.id, left))] * (left > 0)
    job = DatedJob("j", MONDAY, tuple(Required("A", panel.id, length) for length in lengths))
    sticks = tuple(Sticks(panel.id, panel.stock[row].id, [kind for kind, _ in cut].count(row)) for row in (0, 1))
    report = Report(MONDAY, tuple(Done("j", item, 1) for item in range(len(lengths))), sticks, (), tuple(kept))
    reported = replace(week(), materials=(panel,), jobs=(job,), reports=(report,))
    assert not list(find_report_problems(reported, None))
    if kept:
        more = (*report.kept, replace(kept[0], offcut=replace(kept[0].offcut, id="K", length=inches(40))))
        short = replace(reported, reports=(replace(report, kept=more),))
        assert list(find_report_problems(short, None))


@st.composite
def two_material_weeks(draw: st.DrawFn) -> Week:
    """A week of which some lines are of another material, in a van that is small for both."""
    asked = draw(weeks())
    (panel,) = asked.materials
    other = replace(panel, id="panel-clay", stock=(PANEL_16_8,))
    jobs = tuple(
        replace(
            job, required=tuple(replace(r, material=draw(st.sampled_from([panel.id, other.id]))) for r in job.required)
        )
        for job in asked.jobs
    )
    return replace(asked, materials=(panel, other), jobs=jobs, limits=WeekLimits(carry=draw(st.integers(0, 2))))


@settings(max_examples=25, deadline=None)
@given(two_material_weeks())
def test_two_materials_share_the_van(asked: Week) -> None:
    """HiGHS finds the same bill and the same number carried, whichever material the room in the van goes to."""
    plan = planned(asked)
    assert (sum(entry.pooled.cost for entry in plan.compared), plan.carried) == least_bill(asked)


@settings(max_examples=25, deadline=None)
@given(weeks(most_jobs=4))
def test_pooled_is_never_dearer_than_alone(asked: Week) -> None:
    """With proofs on both sides and no limit on what is carried; alone, the rack is served first come first served."""
    asked = replace(asked, limits=WeekLimits())
    alone = Decimal(0)
    rack = asked.rack
    for job in asked.jobs:
        plan = plan_job(Job(job.id, asked.units, asked.materials, job.required, rack), time.monotonic)
        assert all(part.proven for part in plan.materials)
        used = {stick.offcut_id for part in plan.materials for _, stick in part.sticks()}
        rack = tuple(offcut for offcut in rack if offcut.id not in used)
        alone += plan.order_total or 0
    pooled = planned(asked)
    assert pooled.proven
    assert pooled.compared[0].pooled.cost <= alone
    assert pooled.compared[0].pooled.cost <= pooled.compared[0].alone.cost


@settings(max_examples=15, deadline=None)
@given(weeks(), st.data())
def test_withdrawn_and_added_again(asked: Week, data: st.DataObject) -> None:
    """The same plan if nothing was announced in between, else the same bill."""
    job = data.draw(st.sampled_from(asked.jobs))
    before = planned(asked)
    rest = tuple(other for other in asked.jobs if other is not job)
    assert planned(replace(asked, jobs=(*rest, job))) == before
    announced = planned(replace(asked, jobs=rest))
    after = planned(asked, replace(BEFORE, announced=announced))
    assert (after.bill, after.carried) == (before.bill, before.carried)


@st.composite
def walled_weeks(draw: st.DrawFn) -> Week:
    """Two or three jobs, each a wall of runs longer than a panel and some pieces, on three days."""
    jobs = tuple(
        DatedJob(
            f"j{n}", MONDAY + timedelta(days=draw(st.integers(0, 2))), _walled(draw), walls=(Wall("w", Side.LEFT),)
        )
        for n in range(draw(st.integers(2, 3)))
    )
    stock = draw(st.sampled_from([(PANEL_12_6,), (PANEL_12_6, PANEL_16_8), (replace(PANEL_12_6, lap=inches(2)),)]))
    panel = replace(PANEL, stock=stock, settings=replace(PANEL.settings, lap_ends=draw(st.sampled_from(LapEnds))))
    return replace(week(), materials=(panel,), jobs=jobs, limits=WeekLimits(carry=draw(st.sampled_from([None, 1]))))


def _walled(draw: st.DrawFn) -> tuple[Required, ...]:
    channel = End(Meets.CHANNEL)
    length, courses = inches(draw(st.integers(160, 420))), draw(st.integers(1, 4))
    run = Required("N", "panel-sand", length, 1, channel, channel, wall="w", first_course=1, courses=courses)
    return (run, *draw(st.lists(items(), max_size=3)))


@settings(max_examples=12, deadline=None)
@given(walled_weeks())
def test_weeks_with_runs_pass_the_checker_and_never_cost_more(asked: Week) -> None:
    """Laps stay as each job laid them alone; where even a stick of theirs must stay, the job keeps its own plan."""
    (only,) = planned(asked, seconds=20).compared
    assert only.pooled.cost <= only.alone.cost
    assert only.bound is None or only.bound.cost <= only.pooled.cost


@settings(max_examples=20, deadline=None)
@given(weeks(most_jobs=4))
def test_where_patterns_are_too_many_to_list(asked: Week) -> None:
    """Generated ones give no bill below the least and none above that of each job alone."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(column_pool, "ENUMERATION_STEPS", 0)
        plan = planned(asked)
    (only,) = plan.compared
    least, _ = least_bill(asked)
    assert least <= only.pooled.cost <= only.alone.cost
    assert only.bound is None or only.bound.cost <= least
    assert plan.bound is not None
    assert plan.bound <= least


@settings(max_examples=40, deadline=None)
@given(two_material_weeks())
def test_no_plan_is_below_the_bound_of_the_week(asked: Week) -> None:
    """With patterns generated for two materials in one van, the bound is not above the least bill of all."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(column_pool, "ENUMERATION_STEPS", 0)
        plan = planned(asked)
    least, _ = least_bill(asked)
    assert plan.bound is not None
    assert plan.bound <= least <= plan.cost
