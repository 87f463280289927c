"""Crowds of splits by hand: runs of 15 out of tens, with a lap anywhere from 5 to 10."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import restricted
from solver.laps.bounds.columns import NONE, RunColumn, StickColumn, classes_of
from solver.laps.crowding import Crowds, Stagger, crowding, staggered
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.restricted import Aim, restricted_master
from solver.required import Meets
from solver.watch import Watch

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
SPACING = LapRules(ends=LapEnds.FACTORY, spacing=4)


def wall(rules: LapRules, *lengths: int) -> LapModel:
    """Return one wall of courses of these lengths; a piece of 1 makes cells of 1."""
    runs = tuple(
        LapRun(item=n, length=length, left=Meets.PLAIN, right=Meets.PLAIN, wall="n", course=n + 1)
        for n, length in enumerate(lengths)
    )
    return model_of(LapProblem(sticks=(TEN,), pieces=(Piece(1, 1),), runs=runs, rules=rules))


def split(a: int, alike: int = 0, length: int = 15) -> RunColumn:
    """Return the split with a first piece of ``a``."""
    return RunColumn(alike, (), 0, a, 0, length - a)


def test_every_other_course_may_be_lapped_in_one_place() -> None:
    """Of five courses the first, third and fifth keep no distance; in line two courses apart, the first and fourth."""
    rules = LapRules(ends=LapEnds.FACTORY, spacing=4, repeat=2, in_line_within=2)
    assert list(crowding(wall(rules, 15, 15, 15, 15, 15), 0)) == [(4, 3), (2, 2)]


def test_more_columns_than_courses_that_may_be_lapped_there_crowd() -> None:
    """Three courses, two of which may be lapped within 4: no three of 5, 7 and 8, or of 7 to 10."""
    columns: list[StickColumn | RunColumn] = [
        StickColumn(0, (0,), NONE, 0, NONE, 0),
        *(split(a) for a in (5, 7, 8, 9, 10)),
    ]
    found = list(staggered(wall(SPACING, 15, 15, 15), columns, Stagger.ALIKE))
    assert found == [([1, 2, 3], 2), ([2, 3, 4, 5], 2)]


def test_a_column_that_is_taken_for_more_than_may_be_lapped_there_crowds_alone() -> None:
    """Two courses, and 5 and 9 are 4 apart: either may be taken once. Of one course there is nothing to say."""
    columns = [split(5), split(9)]
    assert list(staggered(wall(SPACING, 15, 15), columns, Stagger.ALIKE)) == [([0], 1), ([1], 1)]
    assert list(staggered(wall(SPACING, 15), columns, Stagger.ALIKE)) == []


def test_no_whole_plan_takes_a_column_for_two_courses_that_are_to_keep_their_distance() -> None:
    """Two courses, both lapped at 5: 5 and 10 from a stick each. There is no other way among these columns."""
    model, column = wall(SPACING, 15, 15), split(5)
    cuts = [StickColumn(0, (0,), 0, 5, NONE, 0), StickColumn(0, (), NONE, 0, 0, 10)]

    def counts(stagger: Stagger) -> dict[StickColumn | RunColumn, int] | None:
        watch = Watch(lambda: 0.0, 60.0)
        return restricted_master(
            model, classes_of(model, (0,)), [column, *cuts], Aim(40, 0, stagger), Crowds(model), watch
        )

    assert counts(Stagger.NONE) == {column: 2, cuts[0]: 2, cuts[1]: 2}
    assert counts(Stagger.ALIKE) is None


def test_laps_of_neighbours_unlike_each_other_count_only_if_asked() -> None:
    """A run of 15 lapped at 5 and one of 16 above it lapped at 6 or 10: 5 and 6 are too near, 5 and 10 are not."""
    model = wall(SPACING, 15, 16)
    columns = [split(5), split(6, 1, 16), split(10, 1, 16)]
    assert list(staggered(model, columns, Stagger.ALIKE)) == []
    assert list(staggered(model, columns, Stagger.ALL)) == [([0, 1], 1)]
    assert list(staggered(model, columns, Stagger.NONE)) == []


def test_classes_crowd_each_other_where_a_solution_had_too_many_of_them() -> None:
    """Runs of 15, 16 and 15 on top of each other: of laps within 4 two may be taken, in the first and third course.

    Two at 5 and one at 6 are too many, and are kept once. Two at 5 and one at 10 are not.
    """
    model = wall(SPACING, 15, 16, 15)
    low, near, far = split(5), split(6, 1, 16), split(10, 1, 16)
    crowds = Crowds(model)
    assert not crowds.look({low: 2, far: 1})
    assert crowds.look({low: 2, near: 1})
    assert not crowds.look({low: 2, near: 1})
    assert list(crowds.rows([far, low, near])) == [([1, 2], 2)]


def test_runs_of_one_class_that_begin_at_different_places_are_left_out() -> None:
    """A split says where a lap lies from the run's beginning; 5 along the wall is not 5 from 40 on."""
    model = wall(SPACING, 15, 15)
    runs = (model.problem.runs[0], replace(model.problem.runs[1], start=40))
    assert not Crowds(model_of(replace(model.problem, runs=runs))).look({split(5): 2})
    assert Crowds(model).look({split(5): 2})


def test_without_a_rule_nothing_crowds() -> None:
    """Laps may all lie in one place."""
    model = wall(LapRules(ends=LapEnds.FACTORY), 15, 15, 15)
    assert list(staggered(model, [split(n) for n in range(5, 11)], Stagger.ALL)) == []


def test_a_kind_that_no_good_column_takes_is_looked_at_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three pieces of 6: three tens at 10, or a twenty at 21. Only the first column is near enough to be taken."""
    monkeypatch.setattr(restricted, "POOL", 1)
    twenty = replace(TEN, length=20, cost=21)
    rules = LapRules(ends=LapEnds.FACTORY)
    model = model_of(LapProblem(sticks=(TEN, twenty), pieces=(Piece(6, 3),), runs=(), rules=rules))
    alone = StickColumn(0, (0,), NONE, 0, NONE, 0)
    together = StickColumn(1, (0, 0, 0), NONE, 0, NONE, 0)
    aim = Aim(30, 0, Stagger.NONE)
    watch = Watch(lambda: 0.0, 60.0)
    found = restricted_master(model, classes_of(model, ()), [alone, together], aim, Crowds(model), watch)
    assert found == {together: 1}
