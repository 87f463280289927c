"""The numbers of the lap rules beside what is printed about them: each acts at the figure its source gives.

Sources: the installation manual of the Polymeric Exteriors Association, horizontal siding; "Metal and vinyl sidings"
(oncodes.ca, from the handbook of Canada's housing agency); "Installing vinyl siding" (yourepair.com, a repair guide);
"How to order vinyl siding" (boulderlibrary.net, a housing charity's handbook). What no source gives is marked so.
"""

from __future__ import annotations

import time
from dataclasses import replace
from itertools import combinations

import pytest

from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.lengths import TICKS_PER_INCH
from solver.materials import Material
from solver.required import Required
from solver.runs import Run
from solver.takeoff.cold import ROWS
from tests.scenario import PANEL, N, inches, shed

SIDING = DEFAULTS[Category.SIDING]
MILLIMETRE = TICKS_PER_INCH / 25.4


def runs(length: str, courses: int = 1, panel: Material = PANEL) -> tuple[Run, ...]:
    """Return the runs of a plain wall of panels of 150 in, proven or not, as the checker has accepted them."""
    item = replace(N, length=inches(length), courses=courses, keep_clear=(), cut_outs=())
    plan = plan_job(replace(shed(), materials=(panel,), required=(item,)), time.monotonic)
    assert plan.warnings == ()
    return plan.materials[0].runs


@pytest.mark.parametrize(("opening", "cut"), [(100, "99.5"), (120, "119.5")])
def test_a_piece_between_two_channels_is_half_an_inch_short(opening: int, cut: str) -> None:
    """1/4 in at each end (association's manual, installation basics)."""
    item = Required("A", "panel-sand", inches(opening), left_end=N.left_end, right_end=N.right_end)
    plan = plan_job(replace(shed(), materials=(PANEL,), required=(item,)), time.monotonic)
    (pattern,) = plan.materials[0].patterns
    assert [piece.length for piece in pattern.cuts] == [inches(cut)]


def test_cold_asks_for_three_eighths() -> None:
    """3/8 in below 40 degrees Fahrenheit (association's manual)."""
    assert ROWS[-1].cold_gap == inches("0.375")


@pytest.mark.parametrize(("length", "pieces"), [("299.5", 2), ("299.75", 3)])
def test_a_lap_of_one_inch_makes_two_panels_cover_two_inches_less_than_their_length(length: str, pieces: int) -> None:
    """Half the factory notch, about 1 in (association's manual): 150 + 150 - 1 in, and 1/4 in at each end."""
    (run,) = runs(length)
    assert len(run.pieces) == pieces


def test_the_stagger_is_no_less_than_the_handbook_asks() -> None:
    """Laps of adjacent strips more than 600 mm (24 in) apart (housing agency handbook): 24 in are 609.6 mm."""
    assert SIDING.lap_spacing is not None
    assert 600 * MILLIMETRE < SIDING.lap_spacing == inches(24)


def test_laps_of_adjacent_courses_are_staggered_by_that_much() -> None:
    """The handbook's 600 mm hold in a plan of eight courses."""
    for lower, upper in combinations(runs("260", courses=8), 2):
        if abs((lower.course or 0) - (upper.course or 0)) == 1:
            assert min(abs(a - b) for a in lower.laps_at for b in upper.laps_at) > 600 * MILLIMETRE


def test_no_laps_in_line_unless_three_courses_lie_between() -> None:
    """Separated by at least three courses (association's manual, installation basics).

    That laps nearer than 2 in look in line is common practice, no source.
    """
    assert (SIDING.lap_repeat, SIDING.in_line_within) == (3, inches(2))
    for lower, upper in combinations(runs("260", courses=8), 2):
        if abs((lower.course or 0) - (upper.course or 0)) <= 3:
            assert all(abs(a - b) >= inches(2) for a in lower.laps_at for b in upper.laps_at)


@pytest.mark.parametrize(("other", "told"), [(5, []), (4, ["lap_in_line"])])
def test_with_three_courses_between_laps_may_fall_in_line(other: int, told: list[str]) -> None:
    """Two panels that must both be whole can be lapped in one place only (same manual), where no lap is extra."""
    first = replace(N, mark="1", length=inches("299.5"), courses=1, keep_clear=(), cut_outs=())
    again = replace(first, mark="2", first_course=other)
    fewest = replace(PANEL, settings=replace(PANEL.settings, extra_laps=0))
    plan = plan_job(replace(shed(), materials=(fewest,), required=(first, again)), time.monotonic)
    assert [notice.code for notice in plan.warnings] == told


def test_no_lap_lies_above_or_below_an_opening() -> None:
    """No lap directly over or under a window or door (a repair guide; a housing charity's handbook)."""
    item = replace(N, length=inches(260), courses=4, cut_outs=())
    plan = plan_job(replace(shed(), materials=(PANEL,), required=(item,)), time.monotonic)
    for run in plan.materials[0].runs:
        for clear in item.keep_clear:
            if clear.first <= (run.course or 0) <= clear.last:
                assert all(lap + SIDING.lap <= clear.start or lap >= clear.end for lap in run.laps_at if SIDING.lap)


def test_the_shortest_piece_follows_from_the_stagger() -> None:
    """No figure is published; 24 in follow from the handbook's stagger (common practice, no source)."""
    for run in runs("260", courses=8):
        assert min(piece.length for piece in run.pieces) >= inches(24)
