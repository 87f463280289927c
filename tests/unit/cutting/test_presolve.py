"""Making a problem smaller, by hand: nothing changes but the numbers."""

from __future__ import annotations

from solver.cutting import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.presolve import fits, reduce

STICK = Stick(100, 10)


def test_kerf_is_folded_into_pieces_and_sticks() -> None:
    """Two pieces of 49 with a kerf of 2 fill a stick of 100: 51 + 51 in 102, and all of it divided by 51."""
    reduced = reduce(CuttingProblem((STICK,), (Piece(49, 2),), kerf=2))
    assert reduced.problem.pieces == (Piece(1, 2),)
    assert reduced.problem.sticks == (Stick(2, 1),)
    assert reduced.cost_step == 10


def test_equal_pieces_are_one_kind() -> None:
    """Two items of 40 are one piece wanted five times; an end that must be lapped is another piece."""
    reduced = reduce(CuttingProblem((STICK,), (Piece(40, 2), Piece(40, 3), Piece(40, 1, left=True))))
    assert sorted(reduced.kinds) == [(0, 1), (2,)]


def test_offcuts_alike_are_one_stick_with_both_limits() -> None:
    """Two offcuts of 60 are one kind of stick of which there are two."""
    reduced = reduce(CuttingProblem((STICK, Stick(60, 0, 1), Stick(60, 0, 1)), (Piece(30, 9),)))
    assert Stick(2, 0, 2) in reduced.problem.sticks
    assert (1, 2) in reduced.origins


def test_a_stick_shrinks_to_what_its_pieces_can_fill() -> None:
    """Pieces of 40 and 30 reach 100 as 40 + 30 + 30, but never 95."""
    reduced = reduce(CuttingProblem((Stick(95, 1),), (Piece(40, 3), Piece(30, 3))))
    assert reduced.problem.sticks == (Stick(9, 1),)


def test_a_stick_outdone_is_dropped() -> None:
    """Nobody buys 80 at 12 where 100 costs 10, unless 100 runs out."""
    pieces = (Piece(33, 9), Piece(79, 2))
    assert len(reduce(CuttingProblem((STICK, Stick(80, 12)), pieces)).problem.sticks) == 1
    limited = reduce(CuttingProblem((Stick(100, 10, 3), Stick(80, 12)), pieces))
    assert sum(stick.cost < limited.penalty for stick in limited.problem.sticks) == 2


def test_a_whole_stick_is_a_pattern_given() -> None:
    """A piece lapped at both ends is a stick of its own length, cut nowhere."""
    reduced = reduce(CuttingProblem((STICK,), (Piece(100, 2, left=True, right=True), Piece(30, 1))))
    assert reduced.given == (Pattern(0, (0,)),)
    assert reduced.whole == {0}


def test_a_whole_stick_of_no_length_in_stock_fits_nothing() -> None:
    """99 lapped at both ends can't be had from 100: it is left out, and so left uncut."""
    assert reduce(CuttingProblem((STICK,), (Piece(99, 2, left=True, right=True),))).problem.pieces == ()


def test_a_piece_that_may_run_out_can_be_left_uncut_at_a_price_above_all_sticks() -> None:
    """Three pieces of 90 in two sticks: leaving one uncut costs more than both sticks together."""
    reduced = reduce(CuttingProblem((Stick(100, 10, 2),), (Piece(90, 3),)))
    assert reduced.given == (Pattern(1, (0,)),)
    assert reduced.problem.sticks[1].cost > 2 * reduced.problem.sticks[0].cost


def test_what_fits_a_stick_that_is_free_and_endless_is_done() -> None:
    """Pieces of 30 come from the pile that costs nothing, each from a stick of its own."""
    reduced = reduce(CuttingProblem((STICK, Stick(40, 0)), (Piece(30, 7), Piece(60, 1))))
    assert reduced.free == ((Pattern(1, (0,)), 7),)
    assert len(reduced.problem.pieces) == 1


def test_a_longer_piece_would_do_for_the_next_shorter_of_the_same_ends() -> None:
    """50 does for 30, not for the lapped 40; the lapped 40 does for the lapped 20."""
    pieces = (Piece(50, 1), Piece(40, 1, left=True), Piece(30, 1), Piece(20, 1, left=True))
    assert reduce(CuttingProblem((STICK,), pieces)).shorter == (2, 3, None, None)


def test_a_field_end_is_no_factory_end() -> None:
    """An offcut with no factory end holds no piece that must be lapped."""
    assert not fits(Piece(20, 1, left=True), Stick(60, 0, 1, left=False, right=False))
    assert fits(Piece(20, 1), Stick(60, 0, 1, left=False, right=False))
