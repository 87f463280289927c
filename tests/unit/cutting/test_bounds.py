"""Lower bounds by hand: certificates, and values that need no linear program."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from solver.cutting import CuttingProblem, Piece, Stick
from solver.cutting.bounds import Asked, Counts, certify, instant, stairs, threshold
from solver.cutting.presolve import reduce

STICK = Stick(100, 1)


def bound(*pieces: Piece, stick: Stick = STICK) -> int:
    """Return the instant bound of a problem with one kind of stick."""
    certificate = instant(reduce(CuttingProblem((stick,), pieces)))
    assert certificate is not None
    return certificate.bound


def test_worth_of_pieces_against_worth_of_sticks() -> None:
    """Seven pieces worth 4 each, at most 10 to a stick: 28 / 10, so three sticks."""
    certificate = certify(Asked([7], [1], Counts((0,), (None,))), [4], [10], 10)
    assert certificate is not None
    assert certificate.bound == 3


def test_too_fine_a_scale_is_raised_until_no_stick_is_worth_more_than_it_costs() -> None:
    """The same values at a scale of 5 would make a stick worth two: the scale becomes 10 (Farley 1990)."""
    certificate = certify(Asked([7], [1], Counts((0,), (None,))), [4], [10], 5)
    assert certificate is not None
    assert (certificate.scale, certificate.bound) == (10, 3)


def test_a_limited_stick_may_be_worth_more_than_it_costs() -> None:
    """Two offcuts that cost nothing are worth 10 each; the eight left of 28 are one stick."""
    certificate = certify(Asked([7], [1, 0], Counts((0, 0), (None, 2))), [4], [10, 10], 10)
    assert certificate is not None
    assert certificate.bound == 1


def test_a_least_count_adds_what_those_sticks_are_not_worth() -> None:
    """Three sticks that must be used cost three, though the pieces are worth but 28 / 10."""
    certificate = certify(Asked([7], [1], Counts((4,), (None,))), [4], [5], 10)
    assert certificate is not None
    assert certificate.net == 28 + 4 * 5
    assert certificate.bound == 5


def test_an_endless_stick_for_nothing_proves_nothing() -> None:
    """Where pieces of worth come from sticks without price or limit, there is no bound."""
    assert certify(Asked([7], [0], Counts((0,), (None,))), [4], [10], 10) is None


def test_length_alone() -> None:
    """Nine pieces of 34 are 306 long: four sticks of 100."""
    assert bound(Piece(34, 9), Piece(2, 0)) >= 4


def test_pieces_of_more_than_half_do_not_share() -> None:
    """Five pieces of 51 are 255 long but take five sticks (Martello and Toth 1990, L2)."""
    assert bound(Piece(51, 5)) == 5


def test_thirds() -> None:
    """Seven pieces of 34 go two to a stick: four sticks, though 238 long; stairs of 34 say so."""
    assert bound(Piece(34, 7), Piece(33, 1)) == 4


def test_what_is_longer_than_the_stick_less_a_step_counts_whole() -> None:
    """Beside 71 nothing of 30 or more fits; 29 is left out."""
    values, most = threshold(np.array([71, 70, 30, 29]), 100, 30)
    assert (values.tolist(), most) == ([100, 70, 30, 0], 100)


def test_stairs_count_in_half_steps() -> None:
    """In a stick of 100 and steps of 30: 30 is two halves, 50 three of six, and 71 leaves room for none."""
    values, most = stairs(np.array([71, 50, 30, 29]), 100, 30)
    assert (values.tolist(), most) == ([6, 3, 2, 0], 6)


def test_sticks_of_two_prices_are_bounded_by_the_better_bargain() -> None:
    """300 of pieces at 1 per 100 or 3 per 250 costs at least 3."""
    certificate = instant(reduce(CuttingProblem((STICK, Stick(250, 3)), (Piece(25, 12),))))
    assert certificate is not None
    assert certificate.bound == 3


def test_a_bargain_that_runs_out_is_not_the_bound() -> None:
    """Only one stick at 1 per 100; the 200 left at 3 per 100 costs 6 more."""
    certificate = instant(reduce(CuttingProblem((replace(STICK, limit=1), Stick(100, 3)), (Piece(25, 12),))))
    assert certificate is not None
    assert certificate.bound == 7
