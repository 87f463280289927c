"""Crowds of splits by hand: runs of 15 out of tens, with a lap anywhere from 5 to 10."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps import restricted
from solver.laps.bounds.columns import NONE, RunColumn, StickColumn, classes_of
from solver.laps.model import LapModel, model_of
from solver.laps.problem import LapProblem, LapRules, LapRun, LapStick
from solver.laps.restricted import Aim, Stagger, crowding, restricted_master, staggered
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
    """Three courses, two of which may be lapped within 4: no three of 5, 7 and 8, of 7 to 9, or of 7 to 10."""
    columns: list[StickColumn | RunColumn] = [
        StickColumn(0, (0,), NONE, 0, NONE, 0),
        *(split(a) for a in (5, 7, 8, 9, 10)),
    ]
    found = list(staggered(wall(SPACING, 15, 15, 15), columns, Stagger.ALIKE))
    assert found == [([1, 2, 3], 2), ([2, 3, 4], 2), ([2, 3, 4, 5], 2)]


def test_columns_that_keep_their_distance_crowd_nowhere() -> None:
    """5 and 9 are 4 apart."""
    assert list(staggered(wall(SPACING, 15, 15), [split(5), split(9)], Stagger.ALIKE)) == []


def test_laps_of_neighbours_unlike_each_other_count_only_if_asked() -> None:
    """A run of 15 lapped at 5 and one of 16 above it lapped at 6 or 10: 5 and 6 are too near, 5 and 10 are not."""
    model = wall(SPACING, 15, 16)
    columns = [split(5), split(6, 1, 16), split(10, 1, 16)]
    assert list(staggered(model, columns, Stagger.ALIKE)) == []
    assert list(staggered(model, columns, Stagger.ALL)) == [([0, 1], 1)]
    assert list(staggered(model, columns, Stagger.NONE)) == []


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
    found = restricted_master(model, classes_of(model, ()), [alone, together], aim, Watch(lambda: 0.0, 60.0))
    assert found == {together: 1}
