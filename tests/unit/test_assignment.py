"""How a filled stick is written down: what lies at its ends, and which way its left-over lies."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from solver import plan_job
from solver.categories import DEFAULTS, Category, LapEnds
from solver.job import Job
from solver.lengths import Unit
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutEnd, LeftOver
from solver.required import End, Meets, Required
from tests.scenario import inches

PANEL = Material("panel", Category.SIDING, (StockLength("12-6", inches(150)),), DEFAULTS[Category.SIDING])


@pytest.mark.parametrize(
    ("end", "after", "cut"),
    [
        (FactoryEnd.LEFT, 0, (CutEnd.FIELD, CutEnd.FIELD)),
        (FactoryEnd.RIGHT, 1, (CutEnd.FIELD, CutEnd.FIELD)),
    ],
)
def test_a_left_over_keeps_the_factory_end_that_there_is(
    end: FactoryEnd, after: int, cut: tuple[CutEnd, CutEnd]
) -> None:
    """A plain 100 in out of an offcut of 150 with one factory end: the 50 left keep it, and can be lapped there.

    A field end may not be lapped, so a left-over without its factory end serves fewer pieces. Common practice, no
    source.
    """
    offcut = Offcut("R-2", "panel", inches(150), 1, end)
    job = Job("the lean-to", Unit("in"), (PANEL,), (Required("A", "panel", inches(100)),), (offcut,))
    (pattern,) = plan_job(job, time.monotonic).materials[0].patterns
    assert pattern.left_over == LeftOver(inches(50), keep=True, factory_end=end, after=after)
    assert [(piece.left, piece.right) for piece in pattern.cuts] == [cut]


def test_two_pieces_and_the_cut_between_them_fill_a_stick() -> None:
    """Two of 74 15/16 in and one cut of 1/8 in are 150 in: one panel, and the checker counts one cut, not two."""
    sawn = replace(PANEL, settings=replace(PANEL.settings, kerf=inches("0.125")))
    job = Job("the lean-to", Unit("in"), (sawn,), (Required("A", "panel", inches("74.9375"), 2),))
    (part,) = plan_job(job, time.monotonic).materials
    assert (part.new_sticks, part.proven, part.scrap_length) == (1, True, inches("0.125"))


def test_what_is_sawn_off_is_no_factory_end_any_more() -> None:
    """149 15/16 in out of 150: 1/16 in is less than the saw takes, nothing is left over, and the right end is cut."""
    sawn = replace(PANEL, settings=replace(PANEL.settings, kerf=inches("0.125")))
    job = Job("the lean-to", Unit("in"), (sawn,), (Required("A", "panel", inches("149.9375")),))
    (pattern,) = plan_job(job, time.monotonic).materials[0].patterns
    assert pattern.left_over == LeftOver(0, keep=False, factory_end=FactoryEnd.NONE, after=1)
    assert [(piece.left, piece.right) for piece in pattern.cuts] == [(CutEnd.FACTORY, CutEnd.FIELD)]


@pytest.mark.parametrize(
    ("left", "right", "ends"),
    [
        (Meets.LAP, Meets.PLAIN, (CutEnd.FACTORY, CutEnd.FIELD)),
        (Meets.PLAIN, Meets.LAP, (CutEnd.FIELD, CutEnd.FACTORY)),
    ],
)
def test_a_piece_cut_on_the_day_keeps_the_factory_end_that_is_lapped(
    left: Meets, right: Meets, ends: tuple[CutEnd, CutEnd]
) -> None:
    """149 in and 1 in of room fill a panel of 150: the room comes off one end, and that is not the one to be lapped."""
    factory = replace(PANEL, settings=replace(PANEL.settings, lap=0, lap_ends=LapEnds.FACTORY))
    item = Required("A", "panel", inches(149), left_end=End(left), right_end=End(right), room=inches(1))
    job = Job("the lean-to", Unit("in"), (factory,), (item,))
    (pattern,) = plan_job(job, time.monotonic).materials[0].patterns
    assert [(piece.left, piece.right) for piece in pattern.cuts] == [ends]
