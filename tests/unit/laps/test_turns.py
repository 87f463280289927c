"""Which runs may be laid next, against the same said in one sentence of all runs; and of very many the first."""

from __future__ import annotations

from random import Random
from types import SimpleNamespace
from typing import cast

import pytest

from solver.laps import choices
from solver.laps.choices import Turns
from solver.laps.state import PartialPlan

COURSES = (1, 1, 2, 3, 1, 2, 2, None, None, None, None)
"""Two walls, the second course of the second interrupted by an opening, and four runs alone, two of them alike."""
WALLS = ((0, 1, 2, 3), (4, 5, 6), (7,), (8,), (9,), (10,))
ALIKE = (0, 0, 0, 0, 1, 2, 2, 3, 4, 3, 5)


def nothing_laid() -> PartialPlan:
    """Return as much of a partial plan as is asked for."""
    model = SimpleNamespace(
        walls=WALLS, alike=ALIKE, problem=SimpleNamespace(runs=[SimpleNamespace(course=course) for course in COURSES])
    )
    return cast("PartialPlan", SimpleNamespace(model=model, placed=[None] * len(COURSES), cut_off=set()))


def said(partial: PartialPlan) -> list[int]:
    """Return the runs of each wall's lowest course that is not laid, and the first of each kind of those alone."""
    waiting = [[i for i in wall if partial.placed[i] is None and i not in partial.cut_off] for wall in WALLS]
    kinds: dict[int, int] = {}
    for wall, runs in zip(WALLS, waiting, strict=True):
        if len(wall) == 1 and runs:
            kinds.setdefault(ALIKE[runs[0]], runs[0])
    return [
        i
        for wall, runs in zip(WALLS, waiting, strict=True)
        for i in runs
        if (COURSES[i] == COURSES[runs[0]] if len(wall) > 1 else i in kinds.values())
    ]


@pytest.mark.parametrize("seed", range(20))
def test_whatever_has_been_laid_or_lifted(seed: int) -> None:
    """Laid as their turns come, a run in four given up or lifted again."""
    partial, dice = nothing_laid(), Random(seed)
    turns = Turns(partial)
    for _ in range(200):
        assert turns.next_runs() == said(partial)
        laid = [i for i, at in enumerate(partial.placed) if at is not None]
        if laid and not dice.randrange(4):
            partial.placed[lifted := dice.choice(laid)] = None
            turns.again(lifted)
        elif runs := turns.next_runs():
            partial.placed[dice.choice(runs)] = cast("None", "laid")
    partial.placed = [None] * len(COURSES)
    partial.cut_off = {0, 1, 7}
    turns.begin()
    assert turns.next_runs() == [2, 4, 8, 9, 10]


def test_of_very_many_the_first_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that a job of thousands of walls is laid wall after wall, and has a plan in time."""
    monkeypatch.setattr(choices, "MOST_TRIED", 2 * len(COURSES))
    monkeypatch.setattr(choices, "FEWEST_TRIED", 1)
    partial = nothing_laid()
    turns = Turns(partial)
    assert turns.next_runs() == [0, 1, 4]
    partial.placed[:4] = [cast("None", "laid")] * 4
    assert turns.next_runs() == [4, 7]
