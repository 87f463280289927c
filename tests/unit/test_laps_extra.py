"""Runs of any ends made of more pieces than need be, so that each is short: what is left beside plain pieces serves."""

from __future__ import annotations

import pytest

from solver.cutting.problem import Piece
from solver.laps import plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick
from solver.materials import LapEnds
from solver.required import Meets
from solver.watch import Watch
from tests.lap_plans import complaints

HUNDRED = LapStick(100, 100, None, left=True, right=True, lap=1, end_gap=0)
FREE = (LapEnds.ANY, LapEnds.RENOTCHED)


def planned(ends: LapEnds, extra_laps: int, pieces: Piece, run: int) -> LapPlan:
    """Return the plan of plain pieces and one run out of hundreds, held against the problem piece by piece."""
    runs = (LapRun(0, run, Meets.PLAIN, Meets.PLAIN),)
    problem = LapProblem((HUNDRED,), (pieces,), runs, LapRules(ends, extra_laps=extra_laps))
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    return plan


@pytest.mark.parametrize("ends", FREE)
def test_four_short_pieces_cover_a_run_of_150(ends: LapEnds) -> None:
    """Four sixties leave 40 each: 40 + 40 + 40 + 33 is 150 and three laps, so no more than four sticks are proven."""
    assert planned(ends, 2, Piece(60, 4), 150).bound <= 400


@pytest.mark.parametrize("ends", FREE)
def test_five_short_pieces_cover_a_run_of_140(ends: LapEnds) -> None:
    """Five seventies leave 30 each, 150 together, and 140 with four laps is 144."""
    assert planned(ends, 3, Piece(70, 5), 140).bound <= 500
