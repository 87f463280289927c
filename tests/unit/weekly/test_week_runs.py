"""Runs of a week: where their laps fall beside what other jobs and days cut. By hand from ``tests.support.weeks``.

A run of 230 in takes 231 of panels of 150, one of 270 in 271, with a lap of 1 in each.
"""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from solver.categories import LapEnds
from solver.checking.week import CheckedWeek, examine_week
from solver.job import Job, Wall
from solver.materials import FactoryEnd, Offcut, PriceBreak, StockLength
from solver.planning import plan_job
from solver.proof import SEARCHED, Basis
from solver.required import CutOut, Edge, KeepClear, Required, Side
from solver.weekly import planning
from solver.weekly.moment import Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.state import WeekState, notes_of, snapshot
from solver.weekly.summary import pieces_cut
from solver.weekly.week import DatedJob, Delivery, Done, Kept, Report, Sticks, Week, WeekLimits
from tests.scenario import PANEL, inches
from tests.support.weeks import BEFORE, MONDAY, THURSDAY, TUESDAY, planned, week

SHORT = Required("N", "panel-sand", inches(230))
LONG = (replace(SHORT, length=inches(270)), Required("P", "panel-sand", inches(90)))


def sticks(plan: WeekPlan) -> tuple[int, int]:
    """Count the sticks of the jobs alone and of the week."""
    return plan.compared[0].alone.sticks, plan.compared[0].pooled.sticks


def two_jobs(*days: date, carry: int | None) -> Week:
    """On each day a job with the short run, and another with the long one and the 90."""
    jobs = (DatedJob(f"{n}-{day}", day, items) for day in days for n, items in enumerate(((SHORT,), LONG)))
    return replace(week(), jobs=tuple(jobs), limits=WeekLimits(carry=carry))


def test_runs_are_laid_on_their_own_day_and_their_offcuts_used_later() -> None:
    """A run of 200 in is a whole panel and a last piece of 51 in; what is left of 99 in does Thursday's 50."""
    run = Required("N", "panel-sand", inches(200), wall="north", first_course=1)
    jobs = (DatedJob("m", MONDAY, (run,)), DatedJob("t", THURSDAY, (Required("B", "panel-sand", inches(50)),)))
    plan = planned(replace(week(), jobs=jobs))
    assert (sticks(plan), plan.carried) == ((3, 2), 1)
    assert len(plan.days[0].plan.materials[0].runs) == 1
    assert list(map(pieces_cut, plan.days)) == [{"m": 2}, {"t": 1}]
    assert (plan.bill, plan.bound) == (Decimal("19.60"), Decimal("19.60"))


@pytest.mark.parametrize(("lap", "gap"), [(inches(1), -inches(3)), (-inches(3), None)])
def test_what_a_run_takes_is_by_the_sticks_that_ask_for_least(lap: int, gap: int | None) -> None:
    """Three panels of 151 in, butted with gaps of 3 in, reach over 459 in; a length that laps by an inch is dear."""
    lapped = StockLength("12-6", inches(150), price=Decimal("100.00"), lap=inches(1))
    butted = StockLength("12-7", inches(151), price=Decimal("9.80"), lap=gap)
    material = replace(PANEL, stock=(lapped, butted), settings=replace(PANEL.settings, lap=lap, end_gap=0))
    jobs = (DatedJob("m", MONDAY, (Required("N", "panel-sand", inches(459)),)),)
    plan = planned(replace(week(), materials=(material,), jobs=jobs))
    assert (plan.bill, plan.proven) == (Decimal("29.40"), True)


def test_beside_a_length_that_is_used_up_no_bound_of_runs_is_certified() -> None:
    """The run's sheet still allows pieces for the short length: five with four gaps do with one panel of five less."""
    short = StockLength("8-4", inches(100), price=Decimal("5.00"), available=2)
    long = StockLength("16-8", inches(200), price=Decimal("9.80"), available=9)
    loose = replace(PANEL.settings, lap_ends=LapEnds.ANY, lap_spacing=None, lap_repeat=None, in_line_within=None)
    butted = replace(PANEL, stock=(short, long), settings=replace(loose, lap=-inches(3), shortest_piece=None))
    run = (Required("N", "panel-sand", inches(600)), Required("P", "panel-sand", inches(105), 2))
    both = Sticks("panel-sand", "8-4", 2)
    asked = replace(
        week(),
        materials=(butted,),
        jobs=(DatedJob("m", MONDAY, (Required("A", "panel-sand", inches(90), 2),)), DatedJob("t", TUESDAY, run)),
        deliveries=(Delivery(MONDAY, received=(both,)), Delivery(TUESDAY)),
        reports=(Report(MONDAY, (Done("m", 0, 2),), (both,)),),
    )
    (found,) = planned(asked, Moment(TUESDAY, TUESDAY)).compared
    assert (found.pooled.sticks, found.proof.basis) == (5, Basis.SEARCHED)


def test_a_stick_that_costs_nothing_is_in_no_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two runs of 160 in on one day are a panel each, and a strip of 60 that is given away: 19.60, and no less.

    Strips count a little where runs are laid, so that no more are cut than need be: the first plan is found right.
    """
    given = StockLength("5-0", inches(60), price=Decimal(0))
    material = replace(PANEL, stock=(*PANEL.stock, given), settings=replace(PANEL.settings, extra_laps=0))
    run, found = Required("N", "panel-sand", inches(160)), list[CheckedWeek]()

    def examined(*asked: Any) -> CheckedWeek:  # noqa: ANN401
        found.append(examine_week(*asked))
        return found[-1]

    monkeypatch.setattr(planning, "examine_week", examined)
    jobs = tuple(DatedJob(name, MONDAY, (run,)) for name in ("m", "n"))
    plan = planned(replace(week(), materials=(material,), jobs=jobs, limits=WeekLimits(carry=0)))
    assert [each.faults for each in found] == [()]
    assert plan.bill == Decimal("19.60")


def test_runs_of_two_jobs_are_laid_together() -> None:
    """Runs of 230 and 270 in, a lap of 1 in each, and a 90: 592 in, and four panels hold 600.

    Alone they take two and three: 271 of the second run leave 29 of two panels. With what Monday leaves in one piece,
    69 in, Thursday's run is made of a panel, of 60 beside the 90, and of 62: one lap more. Announced, so it stays.
    """
    run = Required("N", "panel-sand", inches(230))
    thursdays = (replace(run, length=inches(270)), Required("P", "panel-sand", inches(90)))
    asked = replace(week(), jobs=(DatedJob("m", MONDAY, (run,)), DatedJob("t", THURSDAY, thursdays)))
    plan = planned(asked)
    assert (sticks(plan), plan.bill, plan.proven, plan.nights[0]) == ((5, 4), Decimal("39.20"), True, 1)
    again = planned(asked, replace(BEFORE, announced=plan))
    assert (again.bill, again.changes) == (plan.bill, 0)


@pytest.mark.parametrize(("days", "panels"), [((MONDAY,), 4), ((MONDAY, THURSDAY), 8)])
def test_where_nothing_is_carried_the_runs_of_a_day_are_laid_together(days: tuple[date, ...], panels: int) -> None:
    """231 + 271 + 90 are 592 in, and four panels hold 600; each job alone takes five. No day has offcuts of another."""
    plan = planned(two_jobs(*days, carry=0))
    assert (sticks(plan), plan.proven) == ((panels // 4 * 5, panels), True)


@pytest.mark.parametrize("carry", [None, 0])
def test_one_day_comes_to_what_all_its_pieces_come_to_as_one_request(carry: int | None) -> None:
    """Nothing dates the pieces, so the bill is that of one plan."""
    asked = two_jobs(MONDAY, carry=carry)
    items = tuple(item for job in asked.jobs for item in job.required)
    whole = plan_job(Job("all", asked.units, asked.materials, items), time.monotonic)
    assert (planned(asked).bill, whole.order_total) == (Decimal("39.20"), Decimal("39.20"))


@pytest.mark.parametrize("there", ["offcuts", "sticks"])
def test_a_bound_of_runs_is_certified_beside_what_is_there(there: str) -> None:
    """Two runs of 230 and two of 130 in: 20 left of the 130s do for no piece of a run, so two panels each, six in all.

    One is there whole, or as an offcut with one factory end. By length five would do: values say that they don't.
    """
    rack = (Offcut("R-1", "panel-sand", inches(150), 1, FactoryEnd.RIGHT),) if there == "offcuts" else ()
    came = (Delivery(MONDAY, (Sticks("panel-sand", "12-6", 1),)),) if there == "sticks" else ()
    pair = tuple(replace(each, quantity=2) for each in (SHORT, replace(LONG[1], length=inches(130))))
    jobs = (DatedJob("m", TUESDAY, pair),)
    asked = replace(week(), jobs=jobs, rack=rack, deliveries=(*came, Delivery(TUESDAY)))
    plan = planned(asked)
    assert (plan.compared[0].pooled.sticks, plan.proven, plan.basis) == (5, True, Basis.CERTIFIED)
    bare = replace(plan, compared=(replace(plan.compared[0], proof=SEARCHED),))
    assert examine_week(asked, MONDAY, bare).plan.basis is Basis.SEARCHED


def test_a_run_is_laid_to_what_another_day_leaves() -> None:
    """Monday's 100 leaves 50 in of a panel; Thursday wants a run, a 130 and a 100: 461 in, by themselves four panels.

    With a lap more the run is a panel, 50 in of Monday's and 32 in of the panel that gives the 100: three panels do,
    with Monday's four, where the jobs alone take five.
    """
    pieces = (Required(mark, "panel-sand", inches(length)) for mark, length in (("A", 130), ("B", 100)))
    jobs = (
        DatedJob("m", MONDAY, (Required("M", "panel-sand", inches(100)),)),
        DatedJob("t", THURSDAY, (SHORT, *pieces)),
    )
    plan = planned(replace(week(), jobs=jobs, limits=WeekLimits(carry=1)))
    assert (sticks(plan), plan.nights[0]) == ((5, 4), 1)


def test_an_offcut_is_left_to_the_day_that_saves_a_panel_by_it() -> None:
    """Monday's run takes 221 in of two panels, and its 60 finds room in them: the 61 1/2 on the rack is Thursday's.

    Thursday wants three of 61, of which a panel gives two.
    """
    jobs = (
        DatedJob("m", MONDAY, (replace(SHORT, length=inches(220)), Required("A", "panel-sand", inches(60)))),
        DatedJob("t", THURSDAY, (Required("D", "panel-sand", inches(61), 3),)),
    )
    rack = (Offcut("R-17", "panel-sand", inches("61.5"), 1, FactoryEnd.LEFT),)
    plan = planned(replace(week(), jobs=jobs, rack=rack, limits=WeekLimits(carry=0)))
    assert (plan.bill, plan.proven) == (Decimal("29.40"), True)


BOUGHT = replace(PANEL.stock[0], price=Decimal("9.80"))
CAME = Sticks("panel-sand", "12-6", 1)
RULED = {
    "breaks": (replace(BOUGHT, breaks=(PriceBreak(9, Decimal("8.90")),)), "97.90"),
    "fixed": (replace(BOUGHT, fixed_cost=Decimal("5.00")), "112.80"),
    "cartons": (replace(BOUGHT, carton=4, carton_price=Decimal("34.00")), "97.40"),
}


@pytest.mark.parametrize("terms", RULED)
def test_runs_sold_by_rules_are_laid_to_what_other_days_leave(terms: str) -> None:
    """1614 in are eleven panels of 150: three of 100, four courses of 241, and seven of 50. So many are a bill.

    Eleven at 8.90, at 9.80 with 5.00, or two cartons of four and three at 9.80. Alone the jobs take more.
    """
    row, least = RULED[terms]
    wall = Required("N", "panel-sand", inches(240), wall="north", first_course=1, courses=4)
    wanted = ((Required("A", "panel-sand", inches(100), 3),), (wall, Required("B", "panel-sand", inches(50), 3)))
    items = (*wanted, (Required("D", "panel-sand", inches(50), 4),))
    jobs = (DatedJob(day.isoformat(), day, own) for day, own in zip((MONDAY, TUESDAY, THURSDAY), items, strict=True))
    material = replace(PANEL, stock=(row,))
    plan = planned(replace(week(), materials=(material,), jobs=tuple(jobs), limits=WeekLimits(carry=4)))
    assert (plan.bill, plan.bound, plan.days[1].plan.warnings) == (Decimal(least), Decimal(least), ())


@pytest.mark.parametrize(("terms", "bill"), [("fixed", "24.60"), ("cartons", "19.60")])
def test_a_run_sold_by_rules_is_proven_by_its_bill(terms: str, bill: str) -> None:
    """A run of 200 in is two panels, and 5.00 or no carton with them."""
    jobs = (DatedJob("m", MONDAY, (replace(SHORT, length=inches(200)),)),)
    plan = planned(replace(week(), materials=(replace(PANEL, stock=(RULED[terms][0],)),), jobs=jobs))
    assert (plan.bill, plan.proven) == (Decimal(bill), True)


def test_a_run_is_laid_from_what_lies_in_the_van() -> None:
    """Monday's 40 was cut of a panel, and 100 in of it lie in the van: a run of 231 in takes a panel and 82 of them."""
    panel = replace(PANEL, settings=replace(PANEL.settings, lap_ends=LapEnds.ANY))
    jobs = (DatedJob("m", MONDAY, (Required("A", "panel-sand", inches(40)),)), DatedJob("t", TUESDAY, (SHORT,)))
    left = Kept(Offcut("K-1", "panel-sand", inches(100), 1, FactoryEnd.RIGHT))
    report = Report(MONDAY, (Done("m", 0, 1),), (CAME,), kept=(left,))
    deliveries = (Delivery(MONDAY, received=(CAME,)), Delivery(TUESDAY))
    asked = replace(week(), materials=(panel,), jobs=jobs, deliveries=deliveries, reports=(report,))
    plan = planned(asked, Moment(TUESDAY, TUESDAY))
    assert (plan.bill, plan.bound) == (Decimal("19.60"), Decimal("19.60"))


def wall_begun(quantity: int, done: int, wall: str | None = "north") -> WeekState:
    """Five courses along an opening in the third and one above it in the fifth; so many pieces were cut on Monday."""
    clear = (KeepClear(inches(100), inches(130), 3, 3), KeepClear(inches(40), inches(60), 5, 5))
    cut_outs = tuple(CutOut(inches(98), inches(132), Edge.TOP, inches(2), course) for course in (2, 5))
    run = replace(SHORT, wall=wall, first_course=1, courses=5, quantity=quantity, keep_clear=clear, cut_outs=cut_outs)
    job = DatedJob("m", THURSDAY, (run,), walls=(Wall("north", Side.LEFT),))
    reports = (Report(MONDAY, (Done("m", 0, done),)),)
    return snapshot(
        replace(week(), jobs=(job,), deliveries=(Delivery(THURSDAY),), reports=reports), Moment(MONDAY, TUESDAY)
    )


def test_what_is_left_of_a_wall_is_its_uppermost_courses() -> None:
    """Two of five were cut: courses 3 to 5 are left on their wall, with its side, its openings and their cut-outs."""
    state = wall_begun(1, 2)
    (job,) = (job.job for job in state.jobs)
    (left,) = job.required
    assert (left.wall, left.course_numbers, left.quantity) == ("north", (3, 4, 5), 1)
    assert [(clear.first, clear.last) for clear in left.keep_clear] == [(3, 3), (5, 5)]
    assert [cut_out.course for cut_out in left.cut_outs] == [5]
    assert [wall.viewed_from for wall in job.walls] == [Side.LEFT]
    (note,) = notes_of(state)
    assert note.startswith("m: 3 of 5 pieces of N are left, which are taken to be its uppermost courses")


def test_courses_left_in_part_keep_clear_of_what_any_has_to() -> None:
    """Of two in each of five courses, on no wall, seven are cut: three are left of courses 4 and 5, clear of 5's."""
    ((left,),) = (job.job.required for job in wall_begun(2, 7, None).jobs)
    assert (left.course_numbers, left.quantity) == ((None,), 3)
    assert [clear.first for clear in left.keep_clear] == [5]


def test_laps_of_the_courses_left_are_not_in_line() -> None:
    """Three courses of 230 in: no lap of one stands over a lap of another, the lowest stays clear of 100 to 130 in."""
    state = wall_begun(1, 2)
    (day,) = planned(state.week, state.moment).days
    (part,) = day.plan.materials
    assert [(run.wall, run.course) for run in part.runs] == [("north", 3), ("north", 4), ("north", 5)]
    assert {side for run in part.runs for side in run.on_top} == {Side.LEFT}
    laps = [lap for run in part.runs for lap in run.laps_at]
    assert len(set(laps)) == len(laps)
    assert all(lap + inches(1) <= inches(100) or lap >= inches(130) for lap in part.runs[0].laps_at)
    assert day.plan.warnings == ()
