"""Odd cuts, by hand: which sets are broken by which fractions, and which patterns they leave."""

from __future__ import annotations

import numpy as np

from solver.cutting.arcflow.enumerated import Enumerated, Task, tightened, zero_half_sets
from solver.cutting.arcflow.graph import Node, Space
from solver.cutting.bounds import Counts
from solver.cutting.presolve import reduce
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.watch import Watch

ENDLESS = Watch(lambda: 0.0, 1.0)

STOPPED = Watch(lambda: 1.0, 0.0)

# Any two of the three pieces fit a stick of 10, all three don't: half of each pair comes to one and a half sticks.
THREE = CuttingProblem((Stick(10, 1),), (Piece(5, 1), Piece(4, 1), Piece(3, 1)))
PAIRS = [Pattern(0, (0, 1)), Pattern(0, (0, 2)), Pattern(0, (1, 2))]
ALONE = [Pattern(0, (0,)), Pattern(0, (1,)), Pattern(0, (2,))]


def task(problem: CuttingProblem, patterns: list[Pattern], target: int) -> Task:
    """Return the task of finding a plan among patterns, whatever arcs they take."""
    space = Space.of(reduce(problem))
    return Task(space, Node((), (), Counts.of(space.reduced.problem.sticks)), patterns, target)


def test_half_of_each_pair_breaks_the_cut_of_all_three() -> None:
    """Three pieces wanted once each are an odd number, and no pair holds an odd number of them."""
    held = np.array([[1, 1, 0], [1, 0, 1], [0, 1, 1]])
    assert zero_half_sets(held, np.full(3, 0.5), [1, 1, 1], 10) == [(0, 1, 2)]


def test_a_set_wanted_an_even_number_of_times_breaks_nothing() -> None:
    """With three of the last piece, all three come to five and break it; with two of it they come to four and don't."""
    held = np.array([[1, 1, 0], [1, 0, 1], [0, 1, 1]])
    assert (0, 1, 2) in zero_half_sets(held, np.full(3, 0.5), [1, 1, 3], 10)
    assert zero_half_sets(held, np.full(3, 0.5), [1, 1, 2], 10) == []


def test_whole_plans_break_no_cut() -> None:
    """A pair and the third piece alone hold an odd number of every odd set somewhere."""
    held = np.array([[1, 0], [1, 0], [0, 1]])
    assert zero_half_sets(held, np.ones(2), [1, 1, 1], 10) == []


def test_a_kind_may_be_an_odd_set_by_itself() -> None:
    """Three pieces out of sticks that hold two or none: somewhere one is cut alone, or three are."""
    assert zero_half_sets(np.array([[2]]), np.array([1.5]), [3], 10) == [(0,)]


def test_where_nothing_is_cut_every_odd_set_is_broken() -> None:
    """The patterns that the program used may all have been left out: what is left holds none of either piece."""
    assert zero_half_sets(np.array([[1, 1], [1, 0]]), np.zeros(2), [1, 2], 10) == [(0,), (0, 1)]


def test_a_cut_raises_the_linear_program() -> None:
    """One and a half sticks without the cut, two with it."""
    one = task(THREE, [*PAIRS, *ALONE], 2)
    program = Enumerated(one.space, one.node.counts, one.patterns)
    before = program.solve(ENDLESS)
    assert before is not None
    assert sum(before.amounts) == 1.5
    assert program.cut([(0, 1, 2)]) == 1
    after = program.solve(ENDLESS)
    assert after is not None
    assert abs(sum(after.amounts) - 2) < 1e-9


def test_tightening_sees_what_the_linear_program_does_not() -> None:
    """Twice the three pieces, made unlike by a hair: a linear program of three sticks, and no plan of three.

    The long pieces are held apart from the short ones: a stick takes two of one trio or one of each.
    """
    pairs = [*PAIRS, *(Pattern(0, tuple(i + 3 for i in pattern.pieces)) for pattern in PAIRS)]
    six = CuttingProblem((Stick(12, 1),), tuple(Piece(n, 1) for n in (11, 10, 9, 8, 7, 6)))
    assert tightened(task(six, pairs, 3), ENDLESS) is None


def test_tightening_keeps_what_a_plan_may_hold() -> None:
    """For two sticks each pair goes with the third piece alone, and so all six patterns stay."""
    kept = tightened(task(THREE, [*PAIRS, *ALONE], 2), ENDLESS)
    assert kept is not None
    assert sorted(kept.patterns) == sorted([*PAIRS, *ALONE])


def test_tightening_stopped_leaves_all_as_it_is() -> None:
    """It proves nothing then, and leaves nothing out."""
    kept = tightened(task(THREE, PAIRS, 1), STOPPED)
    assert kept is not None
    assert list(kept.patterns) == PAIRS
