"""Pricing over every length, by hand."""

from __future__ import annotations

import time

import numpy as np

from solver.cutting import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.pricing.protocol import Prices
from solver.cutting.pricing.table import TablePricer
from solver.watch import Watch

PATIENT = Watch(time.monotonic, float("inf"))


def priced(problem: CuttingProblem, values: list[int], floors: list[int]) -> Prices:
    """Price with as many copies as are wanted."""
    copies = np.array([piece.demand for piece in problem.pieces])
    return TablePricer(problem, len(problem.sticks)).price(np.array(values), copies, floors, PATIENT)


def test_the_best_pattern_and_what_it_is_worth() -> None:
    """In 10: 6 + 4 is worth 11, 4 + 3 + 3 is worth 11 too, three 3s 9."""
    problem = CuttingProblem((Stick(10, 1),), (Piece(6, 1), Piece(4, 2), Piece(3, 3)))
    prices = priced(problem, [7, 4, 3], [10])
    assert prices.ceilings == (11,)
    assert Pattern(0, (0, 1)) in prices.patterns


def test_no_more_copies_than_wanted() -> None:
    """Two 5s would be worth 20, but only one is wanted: beside it goes a 4."""
    problem = CuttingProblem((Stick(10, 1),), (Piece(5, 1), Piece(4, 9)))
    assert priced(problem, [10, 1], [0]).ceilings == (11,)


def test_every_stick_is_priced_in_one_pass() -> None:
    """The same values over sticks of 10 and 6."""
    problem = CuttingProblem((Stick(10, 1), Stick(6, 1)), (Piece(6, 9), Piece(4, 9)))
    assert priced(problem, [7, 4], [0, 0]).ceilings == (11, 7)


def test_every_piece_gets_the_best_pattern_that_holds_it() -> None:
    """The 3 is in no best pattern, but the best one that holds it is worth more than the floor."""
    problem = CuttingProblem((Stick(10, 1),), (Piece(5, 9), Piece(3, 9)))
    assert set(priced(problem, [10, 5], [12]).patterns) == {Pattern(0, (0, 0)), Pattern(0, (0, 1))}


def test_nothing_worth_its_floor_is_no_pattern() -> None:
    """The ceiling is told all the same."""
    problem = CuttingProblem((Stick(10, 1),), (Piece(5, 9),))
    assert priced(problem, [10], [20]) == Prices((20,), ())


def test_one_piece_at_each_factory_end() -> None:
    """One left, one right, and 20 of the plain between; an offcut without ends holds plain pieces only."""
    pieces = (Piece(40, 9, left=True), Piece(40, 9, right=True), Piece(10, 9))
    problem = CuttingProblem((Stick(100, 1), Stick(100, 0, 1, left=False, right=False)), pieces)
    prices = priced(problem, [50, 50, 1], [100, 0])
    assert prices.ceilings == (102, 9)
    assert Pattern(0, (0, 1, 2, 2)) in prices.patterns


def test_whole_sticks_are_not_priced() -> None:
    """A piece lapped at both ends is a pattern given, whatever it is worth."""
    problem = CuttingProblem((Stick(100, 1),), (Piece(100, 9, left=True, right=True), Piece(60, 1)))
    assert priced(problem, [99, 5], [0]) == Prices((5,), (Pattern(0, (1,)),))
