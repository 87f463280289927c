"""Crowds of splits by hand: runs of 15 out of tens, with a lap anywhere from 5 to 10.

And how many laps rules ask for: runs of 18 out of tens that lap by 1 are two pieces of 9 and 10, lapped at 8 or 9, or
with a whole ten between them two that are 10 together. Three courses whose laps keep 4 apart have four laps: no two
adjacent ones can be of two pieces.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import restricted
from solver.laps.bounds.columns import NONE, RunColumn, StickColumn, classes_of
from solver.laps.bounds.dual_values import DualValues
from solver.laps.bounds.pricing import PriceList, Pricer, by_length
from solver.laps.crowding import Crowds, Stagger, crowding, staggered
from solver.laps.fewer import lap_rows
from solver.laps.improve import lay_anew
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.restricted import Aim, restricted_master
from solver.laps.violations import Unavoidable, Wall
from solver.required import Meets
from solver.watch import Watch

TEN = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
PATIENT = Watch(lambda: 0.0, 60.0)
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


def eighteens(courses: int, *walls: str) -> LapModel:
    """Return so many courses of 18 on each of the walls."""
    runs = tuple(
        LapRun(item=n, length=18, left=Meets.PLAIN, right=Meets.PLAIN, wall=on, course=n + 1)
        for on in walls
        for n in range(courses)
    )
    rules = replace(SPACING, extra_laps=1)
    return model_of(LapProblem(sticks=(replace(TEN, lap=1),), pieces=(Piece(1, 1),), runs=runs, rules=rules))


@pytest.mark.parametrize(("courses", "laps"), [(1, []), (2, [3]), (3, [4]), (4, [6]), (5, [7])])
def test_every_other_course_has_a_lap_more(courses: int, laps: list[int]) -> None:
    """Where one is wanted at all."""
    model = eighteens(courses, "n")
    found = Unavoidable((Wall(tuple(range(courses)), 0, 0, 0),), ())
    assert lap_rows(model, found, [], 0, PATIENT) == tuple((frozenset({0}), n) for n in laps)


def test_walls_of_runs_alike_are_asked_together() -> None:
    """Which wall a split is for it does not say."""
    model = eighteens(3, "n", "s")
    found = Unavoidable((Wall((0, 1, 2), 0, 0, 0), Wall((3, 4, 5), 0, 0, 0)), ())
    assert lap_rows(model, found, [], 0, PATIENT) == ((frozenset({0}), 8),)


def test_no_more_laps_are_asked_for_where_rules_may_be_broken_or_a_plan_keeps_them() -> None:
    """Laid in two pieces each, three courses break two rules. Without rules any plan of those keeps them."""
    broken = Unavoidable((Wall((0, 1, 2), 0, 0, 2),), ())
    assert lap_rows(eighteens(3, "n"), broken, [], 2, PATIENT) == ()
    free = model_of(replace(eighteens(3, "n").problem, rules=LapRules(ends=LapEnds.FACTORY, extra_laps=1)))
    plan = lay_anew(free, PriceList(free, by_length(free)), 0, 0.0)
    assert lap_rows(free, Unavoidable((Wall((0, 1, 2), 0, 0, 0),), ()), [plan], 0, PATIENT.within(0.0)) == ()


def test_laps_that_are_asked_for_have_a_value_of_their_own() -> None:
    """By length three runs in two pieces are 57; each lap takes 1 more, so that with four laps they are 58."""
    model = eighteens(3, "n")
    slot = np.arange(11, dtype=np.int64)
    pricer = Pricer(model, classes_of(model, (0,), ((frozenset({0}), 4),)))
    values = DualValues(((slot,), (slot,)), np.array([0]), np.array([10]), 1)
    assert pricer.value(values, 1, 1).row.worth == 57
    assert pricer.value(replace(values, laps=(1,)), 1, 1).row.worth == 58


def test_whole_plans_have_the_laps_that_are_asked_for() -> None:
    """Two courses out of five tens: both in 9 and 10, or for as much one of them in 4, a whole one and 6."""
    model = eighteens(2, "n")
    two, three = RunColumn(0, (), 0, 9, 0, 10), RunColumn(0, (0,), 0, 4, 0, 6)
    cuts = [
        StickColumn(0, (0,), 0, 9, NONE, 0),
        StickColumn(0, (), NONE, 0, 0, 10),
        StickColumn(0, (), 0, 4, 0, 6),
    ]
    aim, crowds, row = Aim(50, 0, Stagger.NONE), Crowds(model), (frozenset({0}), 3)
    for rows, used in (((), {two}), ((row,), {two, three})):
        counts = restricted_master(model, classes_of(model, (0,), rows), [two, three, *cuts], aim, crowds, PATIENT)
        assert {split for split in counts or () if isinstance(split, RunColumn)} == used
