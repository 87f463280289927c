"""The bound where ends don't matter, by hand: one run out of tens."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from solver.laps.freely import freely_bounded
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.site import site_of
from solver.laps.valuing import Values
from solver.materials import LapEnds
from solver.required import Meets

TEN = LapStick(10, 10, None, left=True, right=True, lap=0, end_gap=0)


def bound(length: int, extra_laps: int, *worth: int) -> tuple[int, Fraction]:
    """Return the cell of the site with one run, and the bound when slots of 0, 1, ... cells are worth so much."""
    runs = (LapRun(0, length, Meets.PLAIN, Meets.PLAIN),)
    site = site_of(LapProblem((TEN,), (), runs, LapRules(LapEnds.ANY, extra_laps=extra_laps)))
    first, last = ((np.array(worth, np.int64),) * len(side) for side in site.sides)
    return site.cell, freely_bounded(site, Values((first, last), np.zeros(0, np.int64), {}, 1))


def test_two_pieces_take_a_cell_each_where_a_stick_is_one() -> None:
    """20 out of tens is two whole tens, in cells of 10; rounding down leaves no fewer than two cells."""
    assert bound(20, 0, 0, 10) == (10, Fraction(20))


@pytest.mark.parametrize(("extra_laps", "least"), [(0, 10), (1, 5)])
def test_pieces_shorter_than_a_cell_are_worth_nothing(extra_laps: int, least: int) -> None:
    """15 in cells of 5: two pieces are one cell each at least, worth 5; three may be 4, 4 and 7, and only 7 is one."""
    assert bound(15, extra_laps, 0, 5, 10) == (5, Fraction(least))
