"""Which lap and gap count where stock rows set their own: figures by hand on panels of 12'-6" and 16'-8"."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.allowances import differ
from solver.categories import DEFAULTS, Category, LapEnds
from solver.checking import check
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.required import End, KeepClear, Meets, Required
from solver.validation import find_problems
from tests.scenario import inches

SHORT = StockLength("12-6", inches(150), price=Decimal("9.80"), lap=inches(1), end_gap=inches("0.25"))
LONG = StockLength("16-8", inches(200), price=Decimal("12.00"), lap=inches("1.25"), end_gap=inches("0.375"))
CHANNEL, LAP = End(Meets.CHANNEL), End(Meets.LAP)


def planned(*required: Required, stock: tuple[StockLength, ...] = (SHORT, LONG), **settings: object) -> CutPlan:
    """Plan items of one panel; ``plan_job`` hands out only what the checker has accepted."""
    panel = Material("panel", Category.SIDING, stock, replace(DEFAULTS[Category.SIDING], **settings))  # type: ignore[arg-type]
    return plan_job(Job("the lean-to", Unit("in"), (panel,), required), time.monotonic)


@pytest.mark.parametrize(
    ("ends", "cut"),
    [((CHANNEL, CHANNEL), "99.25"), ((LAP, End()), "101.25"), ((LAP, CHANNEL), "100.875")],
    ids=["two channels", "one lap", "a lap and a channel"],
)
def test_the_largest_allowance_of_the_rows_holds_for_every_piece(ends: tuple[End, End], cut: str) -> None:
    """Which panel a piece of 100 in comes from is open, so 3/8 in of gap and 1 1/4 in of lap are safe on both.

    With the smaller a piece from the long panel would be a lap of 1/4 in too short, or buckle in the heat. Common
    practice, no source; the figures of the rows are a maker's by length of panel.
    """
    plan = planned(Required("A", "panel", inches(100), left_end=ends[0], right_end=ends[1]))
    (pattern,) = plan.materials[0].patterns
    assert [piece.length for piece in pattern.cuts] == [inches(cut)]


def test_a_row_that_can_not_be_had_asks_for_nothing() -> None:
    """With none of the long panels left, the short one's own 1/4 in is taken off at each channel."""
    item = Required("A", "panel", inches(100), left_end=CHANNEL, right_end=CHANNEL)
    plan = planned(item, stock=(SHORT, replace(LONG, available=0)))
    (pattern,) = plan.materials[0].patterns
    assert [piece.length for piece in pattern.cuts] == [inches("99.5")]


@pytest.mark.parametrize(("clear_from", "panels"), [("149.75", 2), ("149.5", 3)])
def test_a_lap_may_not_reach_into_what_is_kept_clear_from_its_left(clear_from: str, panels: int) -> None:
    """A lap of 1 in that begins left of a window's edge and ends beyond it shows over the window all the same.

    299 in between channels: 298 1/2 and the lap are two panels of 150 less 1/2 in, so the lap begins 148 3/4 to
    149 1/4 in along. It ends at 149 3/4 at the earliest: what is clear from there lets it be, what is clear from
    149 1/2 does not, and a third panel is needed.
    """
    clear = KeepClear(inches(clear_from), inches(180), 1, 1)
    item = Required("N", "panel", inches(299), left_end=CHANNEL, right_end=CHANNEL, wall="north", first_course=1)
    plan = planned(replace(item, keep_clear=(clear,)), stock=(replace(SHORT, lap=None, end_gap=None),), extra_laps=1)
    (run,) = plan.materials[0].runs
    assert (len(run.pieces), plan.warnings) == (panels, ())
    assert all(lap + inches(1) <= clear.start or lap >= clear.end for lap in run.laps_at)


LAPLESS = replace(LONG, lap=None, end_gap=None)
"""A row that names no lap, of a material that has none: it may not be lapped."""


def run_of_two_rows(available: int | None = None) -> Job:
    """A run of 380 in: the long panels may not be lapped, the short ones with 1 in."""
    panel = Material(
        "panel", Category.SOFFIT, (replace(SHORT, available=available), LAPLESS), DEFAULTS[Category.SOFFIT]
    )
    return Job("the lean-to", Unit("in"), (panel,), (Required("N", "panel", inches(380)),))


def test_a_panel_that_may_not_be_lapped_is_in_no_run() -> None:
    """Two long panels butted end to end would reach 380 in, which nobody allowed: three short ones lapped do, 382."""
    (part,) = plan_job(run_of_two_rows(), time.monotonic).materials
    assert [use.stock for use in part.patterns] == ["12-6", "12-6"]
    assert (part.used_length, part.runs[0].lap) == (inches(382), inches(1))


def test_a_run_that_only_lapless_panels_could_cover_is_not_cut() -> None:
    """With two short panels left there are 299 in of lapped panel, however many long ones lie beside them."""
    plan = plan_job(run_of_two_rows(available=2), time.monotonic)
    assert [(entry.mark, entry.code) for entry in plan.not_cut] == [("N", "stock_exhausted")]


def test_the_checker_refuses_a_run_on_panels_that_may_not_be_lapped() -> None:
    """The plan that is right where the long panels may be butted (a lap of 0) is refused where they may not."""
    job = run_of_two_rows()
    butted = replace(job.materials[0], stock=(SHORT, replace(LAPLESS, lap=0)))
    plan = plan_job(replace(job, materials=(butted,)), time.monotonic)
    assert [use.stock for use in plan.materials[0].patterns] == ["16-8", "16-8"]
    assert "sticks that may be lapped" in " ".join(fault.detail for fault in check(job, plan))


def test_a_run_says_the_lap_the_gap_and_the_start_that_it_was_cut_by() -> None:
    """Of a long and a short panel the long one's 1 1/4 and 3/8 in hold; of two short ones 1 and 1/4 in.

    380 in between channels are 379 1/4 and a lap of 1 1/4, 380 1/2 in of 200 and 180 1/2; 280 are 279 1/2 and 1 in.
    """
    item = Required("N", "panel", inches(380), left_end=CHANNEL, right_end=CHANNEL)
    dear = replace(LONG, price=Decimal(20))
    for length, stock, said in ((380, (dear,), ("1.25", "0.375")), (280, (SHORT, dear), ("1", "0.25"))):
        (part,) = planned(
            replace(item, length=inches(length), start=inches(10)), stock=stock, lap_ends=LapEnds.ANY
        ).materials
        (run,) = part.runs
        lap, gap = map(inches, said)
        assert (run.lap, run.end_gap, run.starts_at) == (lap, gap, inches(10) + gap)
        assert part.used_length == inches(length) - 2 * gap + lap


def test_which_stick_a_run_comes_from_matters_where_rows_or_offcuts_ask_otherwise() -> None:
    """A row with a lap of its own differs from an offcut on hand, which goes by the material's 1 in; one with 1 in not.

    A week leaves such runs to their own jobs, for another stick would move their laps.
    """
    for lap, other in ((None, False), (inches(1), False), (inches("1.25"), True)):
        stock = (replace(SHORT, lap=lap, end_gap=None),)
        assert differ(Material("panel", Category.SIDING, stock, DEFAULTS[Category.SIDING])) is other


@pytest.mark.parametrize(("lap", "refused"), [("0", []), ("-0.25", ["gap_between_factory_ends"])])
def test_a_butt_joint_may_have_factory_ends_and_a_gap_may_not(lap: str, refused: list[str]) -> None:
    """A lap of 0 is two ends set against each other, factory-made or not; a gap between notched ends would show."""
    panel = Material(
        "panel", Category.SIDING, (replace(SHORT, lap=None),), replace(DEFAULTS[Category.SIDING], lap=inches(lap))
    )
    job = Job("the lean-to", Unit("in"), (panel,), (Required("N", "panel", inches(290)),))
    assert [problem.code for problem in find_problems(job)] == refused


@pytest.mark.parametrize(("start", "refused"), [("290", []), ("289", ["runs_overlap"])])
def test_two_runs_of_one_course_may_meet_and_may_not_overlap(start: str, refused: list[str]) -> None:
    """The first reaches from 0 to 290 in: a second may begin there, and an inch before it would hang twice."""
    one = Required("N", "panel", inches(290), wall="north", first_course=1)
    other = replace(one, mark="M", start=inches(start))
    panel = Material("panel", Category.SIDING, (SHORT,), DEFAULTS[Category.SIDING])
    problems = find_problems(Job("the lean-to", Unit("in"), (panel,), (one, other)))
    assert [problem.code for problem in problems] == refused
    assert all("course 1, by 1" in problem.detail for problem in problems)


def test_a_run_of_both_panels_goes_by_the_larger_lap_and_gap() -> None:
    """One short and one long panel left for 340 in between channels: 339 1/4 and a lap of 1 1/4 are 340 1/2 in.

    By the short one's 1/4 and 1 in the long panel would have no room to grow, and its lap would open in the cold.
    """
    stock = (replace(SHORT, available=1), replace(LONG, available=1))
    item = Required("N", "panel", inches(340), left_end=CHANNEL, right_end=CHANNEL)
    (part,) = planned(item, stock=stock, lap_ends=LapEnds.ANY).materials
    (run,) = part.runs
    assert (run.lap, run.end_gap, part.used_length) == (inches("1.25"), inches("0.375"), inches("340.5"))


@pytest.mark.parametrize(("length", "codes"), [("200", []), ("200.125", ["longer_than_stock"])])
def test_a_piece_as_long_as_the_longest_panel_is_cut_in_one(length: str, codes: list[str]) -> None:
    """200 in fill the long panel; 1/8 in more is longer than every panel, and these may not be lapped."""
    rows = (replace(SHORT, lap=None, end_gap=None), LAPLESS)
    panel = Material("panel", Category.SOFFIT, rows, DEFAULTS[Category.SOFFIT])
    job = Job("the lean-to", Unit("in"), (panel,), (Required("A", "panel", inches(length)),))
    assert [problem.code for problem in find_problems(job)] == codes
    if not codes:
        (part,) = plan_job(job, time.monotonic).materials
        assert ([use.stock for use in part.patterns], len(part.runs)) == (["16-8"], 0)
