"""A cancel is heard in the middle of the work: between strides of a linear program, and in whole problems."""

from __future__ import annotations

import time
from random import Random

import pytest

from solver.cutting import CuttingProblem, solve, tidy
from solver.lp.glop import LinearProgram, solved_anew
from solver.watch import Watch
from tests.benchmarks.siding import big
from tests.outside.triplets import triplets

HEARD = 1.0
"""Seconds of this process's time within which the answer comes after a cancel."""


class Asked:
    """Cancels at the so many-th time that it is asked, and counts how often it is."""

    def __init__(self, most: int) -> None:
        self.times, self._most = 0, most

    def __call__(self) -> bool:
        """Count, and cancel once asked too often."""
        self.times += 1
        return self.times > self._most

    def watch(self) -> Watch:
        """Return a watch that nothing but this stops."""
        return Watch(lambda: 0.0, 1e6, self)


def assignment(size: int) -> LinearProgram:
    """Return the program of giving each of ``size`` rows a column of its own, at random prices."""
    random, program = Random(size), LinearProgram()
    rows, columns = ([program.row(1, 1) for _ in range(size)] for _ in range(2))
    for row in rows:
        for column in columns:
            variable = program.column(random.randint(1, 1000))
            row.SetCoefficient(variable, 1)
            column.SetCoefficient(variable, 1)
    return program


def test_strides_come_to_the_optimum_of_one_go() -> None:
    """An assignment of 40 in strides of 20 steps costs the same as without strides."""
    asked, strided, whole = Asked(1000), assignment(40), assignment(40)
    assert strided.optimal(asked.watch(), work=80 * 20)
    assert asked.times > 2, "one stride was enough: the test shows nothing"
    assert whole.solved()
    assert strided.value == pytest.approx(whole.value)


def test_a_cancel_is_heard_between_strides() -> None:
    """Cancelled after the first stride, the linear program has no optimum to tell."""
    assert not assignment(40).optimal(Asked(2).watch(), work=80 * 20)


def test_a_program_that_fails_is_written_anew_once() -> None:
    """What can't be solved from an old basis may be from none; what can't be then either is given up."""
    tries = iter((False, True))
    written: list[int] = []
    assert solved_anew(lambda: next(tries), lambda: written.append(1))
    assert not solved_anew(lambda: False, lambda: written.append(2))
    assert written == [1, 2]


def _big() -> CuttingProblem:
    return next(big(1)).problem


@pytest.mark.parametrize("at", [0.1, 0.7, 2.0])
@pytest.mark.parametrize("problem", [_big(), triplets(333, 80_000, 1)], ids=["long list", "wide triplets"])
def test_a_cancel_is_heard_within_a_second(problem: CuttingProblem, at: float) -> None:
    """Lists too long to be done by then: the plan comes within a second, whole, with a bound, tidied or not."""
    begun = time.process_time()
    watch = Watch(time.process_time, begun + 60, lambda: time.process_time() - begun >= at)
    cutting = solve(problem, watch)
    late = time.process_time() - begun - at
    assert late > 0, "done before it was cancelled: the test shows nothing"
    cutting = tidy(problem, cutting, watch)
    assert time.process_time() - begun - at < HEARD
    assert not any(cutting.uncut)
    assert 0 <= cutting.bound <= cutting.cost
