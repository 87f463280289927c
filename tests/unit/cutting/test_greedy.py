"""Plans in a moment, by hand."""

from __future__ import annotations

import time

from solver.cutting import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.greedy import Left, alike, fullest, greedy, scan
from solver.cutting.presolve import reduce
from solver.watch import Watch

PATIENT = Watch(time.monotonic, float("inf"))
STICK = Stick(100, 1)
PIECES = (Piece(55, 2), Piece(35, 2), Piece(33, 2), Piece(12, 2))


def test_scanning_takes_the_longest_first() -> None:
    """55, then 35; 10 are left, and 12 is too long."""
    assert scan(Left(PIECES, [2, 2, 2, 2]), STICK) == [0, 1]


def test_the_fullest_takes_the_longest_and_fills_the_rest_best() -> None:
    """Beside 55 go 33 + 12, which is all of it."""
    assert sorted(fullest(Left(PIECES, [2, 2, 2, 2]), STICK)) == [0, 2, 3]


def test_pieces_all_alike_are_the_last_resort() -> None:
    """Three of 33 where nothing longer is wanted; no more than wanted."""
    assert alike(Left(PIECES, [0, 0, 2, 9]), STICK) == [2, 2]


def test_a_stick_has_one_left_end() -> None:
    """Of two lapped 30s only one has the factory end; the plain 20s fill up."""
    pieces = (Piece(30, 4, left=True), Piece(20, 9))
    assert scan(Left(pieces, [4, 9]), STICK) == [0, 1, 1, 1]
    assert sorted(fullest(Left(pieces, [4, 9]), STICK)) == [0, 1, 1, 1]


def test_both_ends_are_used_where_that_fills_best() -> None:
    """60 left, 40 right: the stick is full."""
    pieces = (Piece(60, 1, left=True), Piece(40, 1, right=True), Piece(39, 1))
    assert sorted(fullest(Left(pieces, [1, 1, 1]), STICK)) == [0, 1]


def test_a_pattern_is_cut_as_often_as_it_can_be() -> None:
    """Four halves are one pattern, twice."""
    reduced = reduce(CuttingProblem((STICK,), (Piece(50, 4),)))
    assert greedy(reduced, scan, PATIENT) == {Pattern(0, (0, 0)): 2}


def test_offcuts_on_hand_come_first() -> None:
    """What costs nothing for its length is cut first, as far as it goes."""
    reduced = reduce(CuttingProblem((STICK, Stick(50, 0, 1)), (Piece(50, 3),)))
    assert sum(reduced.problem.sticks[p.stick].cost * n for p, n in greedy(reduced, scan, PATIENT).items()) == 1


def test_what_limited_sticks_do_not_suffice_for_is_left_uncut() -> None:
    """Three pieces, two sticks: one pattern stands for leaving one uncut."""
    reduced = reduce(CuttingProblem((Stick(100, 1, 2),), (Piece(90, 3),)))
    assert sorted(n for p, n in greedy(reduced, scan, PATIENT).items() if p.stick >= reduced.priced) == [1]


def test_stopped_at_once_it_still_cuts_everything() -> None:
    """A watch that has stopped leaves a poor plan, never half a plan."""
    reduced = reduce(CuttingProblem((STICK,), PIECES))
    uses = greedy(reduced, fullest, Watch(time.monotonic, 0.0))
    assert [sum(p.pieces.count(i) * n for p, n in uses.items()) for i in range(4)] == [2, 2, 2, 2]
