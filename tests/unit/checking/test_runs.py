"""The checker accepts right lap plans of the north wall, broken rules that are declared, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from solver.categories import LapEnds
from solver.checking import check
from solver.job import Job, Wall
from solver.materials import StockLength
from solver.plan import CutPlan, NotCut
from solver.required import End, Meets, Side
from solver.runs import Run
from tests import scenario
from tests.scenario import inches
from tests.support import wall_plans
from tests.support.plans import codes, with_part
from tests.support.wall_plans import breach, north_wall, with_settings

BROKEN = (
    wall_plans.spacing_of_40,
    wall_plans.in_line_within_43,
    wall_plans.shortest_of_30,
    wall_plans.wider_window,
    wall_plans.field_end,
)


def with_run(plan: CutPlan, index: int, **changes: object) -> CutPlan:
    """Return the plan with one run changed."""
    runs = list(plan.materials[0].runs)
    runs[index] = replace(runs[index], **changes)  # type: ignore[arg-type]
    return with_part(plan, runs=tuple(runs))


def seen_from(viewed: Side | int | None) -> Job:
    """Return the north wall seen from elsewhere."""
    return replace(scenario.north_wall(), walls=(Wall("north", viewed),))


def test_accepts_a_right_lap_plan() -> None:
    """The three courses cover the wall, are staggered and clear of the window."""
    assert check(scenario.north_wall(), north_wall()) == ()


@pytest.mark.parametrize("variant", BROKEN)
def test_a_declared_breach_is_accepted(variant: Callable[[], tuple[Job, CutPlan]]) -> None:
    """A rule broken and declared at its place with needed and got is no fault."""
    assert check(*variant()) == ()


@pytest.mark.parametrize("variant", BROKEN)
def test_an_undeclared_breach_is_refused(variant: Callable[[], tuple[Job, CutPlan]]) -> None:
    """The same plans without their warnings are refused for just that."""
    job, plan = variant()
    assert codes(job, replace(plan, warnings=())) == {"undeclared_breach"}


@pytest.mark.parametrize("variant", BROKEN)
def test_a_false_declaration_is_refused(variant: Callable[[], tuple[Job, CutPlan]]) -> None:
    """The same warnings on the plan that breaks nothing are refused for just that."""
    _, plan = variant()
    assert codes(scenario.north_wall(), replace(north_wall(), warnings=plan.warnings)) == {"false_breach"}


def test_a_lap_that_touches_the_window_is_clear_of_it() -> None:
    """The window may reach to 135 1/4 in, where the lap of course 3 begins."""
    item = replace(scenario.N, keep_clear=(replace(scenario.N.keep_clear[0], end=inches("135.25")),))
    assert check(replace(scenario.north_wall(), required=(item,)), north_wall()) == ()


@pytest.mark.parametrize(("clear_from", "found"), [("285.25", set()), ("285", {"undeclared_breach"})])
def test_a_lap_that_reaches_into_a_window_from_its_left_is_over_it(clear_from: str, found: set[str]) -> None:
    """The last lap of course 3 lies from 284 1/4 to 285 1/4 in: a window from there is clear, one from 285 is not."""
    window = replace(scenario.N.keep_clear[0], start=inches(clear_from), end=inches(310))
    item = replace(scenario.N, keep_clear=(window,))
    assert codes(replace(scenario.north_wall(), required=(item,)), north_wall()) == found


def test_field_ends_are_no_breach_where_they_are_renotched() -> None:
    """With ``renotched`` the same plan needs no warning, and one is false."""
    _, plan = wall_plans.field_end()
    renotched = with_settings(lap_ends=LapEnds.RENOTCHED)
    plan = with_part(plan, settings=renotched.materials[0].settings)
    assert codes(renotched, plan) == {"false_breach"}
    assert check(renotched, replace(plan, warnings=())) == ()


def test_a_wall_without_name_has_no_neighbours() -> None:
    """Rules between courses hold on a named wall; each run's own rules hold without one."""
    job, plan = wall_plans.spacing_of_40()
    job = replace(job, required=(replace(job.required[0], wall=None),))
    runs = tuple(replace(run, wall=None) for run in plan.materials[0].runs)
    plan = with_part(plan, runs=runs)
    assert check(job, replace(plan, warnings=())) == ()


def test_laps_face_away_from_the_eye() -> None:
    """Seen from the right, or from a door at 300 in, the right panel lies on top of every lap."""
    assert codes(seen_from(Side.RIGHT), north_wall()) == {"coverage"}
    right = with_part(north_wall(), runs=tuple(map(_right_on_top, north_wall().materials[0].runs)))
    assert check(seen_from(Side.RIGHT), right) == ()
    assert check(seen_from(inches(300)), right) == ()
    assert codes(seen_from(inches(200)), right) == {"coverage"}


def test_laps_on_both_sides_of_a_door_face_away_from_it() -> None:
    """Seen from a door at 150 in, the right panel is on top of laps left of it and the left panel right of it."""
    both = (Side.RIGHT, Side.LEFT)
    plan = with_part(north_wall(), runs=tuple(replace(run, on_top=both) for run in north_wall().materials[0].runs))
    assert check(seen_from(inches(150)), plan) == ()


@pytest.mark.parametrize(("extra_laps", "faults"), [(0, {"coverage"}), (1, set()), (None, set())])
def test_a_run_with_a_piece_too_many_is_refused(extra_laps: int | None, faults: set[str]) -> None:
    """Three panels reach: four pieces are refused where no lap may be extra; left out, one more may be."""
    job, plan = wall_plans.four_pieces()
    own = replace(job.materials[0], settings=replace(job.materials[0].settings, extra_laps=extra_laps))
    plan = with_part(plan, settings=own.settings)
    assert codes(replace(job, materials=(own,)), plan) == faults


def test_pieces_are_counted_by_the_longest_length_sold_without_limit() -> None:
    """Four pieces where panels of 16'-8" would take two; but not where there are ten of those only."""
    job, plan = wall_plans.four_pieces()
    for available, faults in ((None, {"coverage"}), (10, set())):
        longer = StockLength("16-8", inches(200), price=Decimal(13), available=available)
        more = replace(job.materials[0], stock=(*job.materials[0].stock, longer))
        assert codes(replace(job, materials=(more,)), plan) == faults


def test_a_stick_that_asks_for_more_lap_sets_it_for_its_run() -> None:
    """Panels that ask for 1 1/4 in of lap make the pieces add up to 1/2 in more."""
    stock = replace(scenario.PANEL_12_6, lap=inches("1.25"))
    job = replace(scenario.north_wall(), materials=(replace(scenario.PANEL, stock=(stock,)),))
    assert "coverage" in codes(job, north_wall())


def test_a_run_cut_short_is_refused() -> None:
    """A piece 1 in shorter than the wall asks for leaves a gap or half a lap."""
    item = replace(scenario.N, length=scenario.N.length + inches(1))
    assert codes(replace(scenario.north_wall(), required=(item,)), north_wall()) >= {"coverage"}


def test_a_lapped_outer_end_adds_its_lap() -> None:
    """With plain ends the wall of 327 1/2 in takes the same pieces; lapped at the right it takes 1 in less."""
    plain = replace(scenario.N, length=inches("327.5"), start=inches("0.25"), left_end=End(), right_end=End())
    assert check(replace(scenario.north_wall(), required=(plain,)), north_wall()) == ()
    lapped = replace(plain, length=inches("326.5"), right_end=End(Meets.LAP))
    job = replace(scenario.north_wall(), required=(lapped,))
    assert codes(job, north_wall()) == {"undeclared_breach"}
    lengths = {2: inches("114.5"), 3: inches("43.5")}
    notices = [breach("field_end_lapped", n, "326.75", length, inches(150)) for n, length in lengths.items()]
    assert check(job, replace(north_wall(), warnings=tuple(notices))) == ()


def test_runs_may_not_overlap() -> None:
    """The same courses asked for twice in one place can't both be there."""
    job, plan = wall_plans.two_in_one_place()
    assert codes(job, plan) == {"run"}


def test_a_missing_run_is_refused_unless_declared_for_want_of_stock() -> None:
    """A course left out must be declared, and sticks without limit are never wanting."""
    runs = north_wall().materials[0].runs
    assert "run" in codes(scenario.north_wall(), with_part(north_wall(), runs=runs[:2]))
    plan = replace(north_wall(), not_cut=(NotCut(0, "N", 1, "stock_exhausted", ""),))
    assert "not_cut" in codes(scenario.north_wall(), plan)


def test_a_cut_serves_one_run_only() -> None:
    """Two courses may not both claim S1."""
    first, second, third = north_wall().materials[0].runs
    stolen = (second.pieces[0], replace(second.pieces[1], stick="S1"), second.pieces[2])
    assert codes(scenario.north_wall(), with_part(north_wall(), runs=(first, replace(second, pieces=stolen), third)))


def test_a_run_of_no_such_stick_is_a_fault_and_no_crash() -> None:
    """Somebody's plan may name any stick and any cut."""
    lost = tuple(replace(piece, stick="S99", cut=-1) for piece in north_wall().materials[0].runs[0].pieces)
    assert codes(scenario.north_wall(), with_run(north_wall(), 0, pieces=lost)) >= {"run"}
    assert codes(scenario.north_wall(), with_run(north_wall(), 0, pieces=())) >= {"run"}


def _right_on_top(run: Run) -> Run:
    return replace(run, on_top=(Side.RIGHT, Side.RIGHT))
