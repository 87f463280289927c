"""Between plans and columns: the columns of a plan, and a plan from columns, its laps assigned to the courses.

Which of the runs alike takes which column is chosen so that laps are staggered.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

import numpy as np

from solver.laps.bounds.columns import NONE, RunColumn, StickColumn, set_numbers
from solver.laps.model import LapModel, Laps, RunCandidate, broken_beside
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, empty_plan, held_first, held_last

ASSIGNMENTS = 8
"""So many ways of assigning the columns to the courses are tried."""

SWAPS = 400
"""So many times two runs alike are tried with each other's columns."""


Way = tuple[int, float, RunColumn, RunCandidate, int]
"""Rules broken, a lot, the column, the candidate and the length of its first piece."""


class Assignment:
    """One assignment: ``laid[run]`` is the candidate and its first piece's length.

    Made from the lowest course of each wall, always the column that breaks the fewest rules with those below.
    """

    def __init__(self, model: LapModel, counts: dict[StickColumn | RunColumn, int], dice: np.random.Generator) -> None:
        self._model, self._dice = model, dice
        self._laps: Laps = [None] * len(model.problem.runs)
        self._columns: dict[int, RunColumn] = {}
        self.laid: dict[int, tuple[RunCandidate, int]] = {}
        pools: dict[int, list[RunColumn]] = defaultdict(list)
        for column, count in counts.items():
            if isinstance(column, RunColumn):
                pools[column.alike] += [column] * count
        for wall in model.walls:
            for run in wall:
                pool = pools[model.alike[run]]
                pool.remove(self._take(run, min(self._ways(run, dict.fromkeys(pool)), key=_fewest)))

    @property
    def broken(self) -> int:
        """How many rules are broken."""
        own = sum(candidate.breaks(a) for candidate, a in self.laid.values())
        beside = sum(broken_beside(self._model, run, self._laps[run] or (), self._laps) for run in self.laid)
        return own + beside // 2

    def swap(self, tries: int) -> None:
        """Exchange the columns of two runs alike where that breaks no more rules."""
        alike: dict[int, list[int]] = defaultdict(list)
        for run in self.laid:
            alike[self._model.alike[run]].append(run)
        for _ in range(tries):
            bad = [run for run in self.laid if self._breaks(run) and len(alike[self._model.alike[run]]) > 1]
            if not bad:
                return
            one = bad[int(self._dice.integers(len(bad)))]
            others = alike[self._model.alike[one]]
            self._try_swap(one, others[int(self._dice.integers(len(others)))])

    def _breaks(self, run: int) -> int:
        candidate, a = self.laid[run]
        return candidate.breaks(a) + broken_beside(self._model, run, self._laps[run] or (), self._laps)

    def _try_swap(self, one: int, other: int) -> None:
        columns = self._columns[one], self._columns[other]
        if columns[0] == columns[1]:
            return
        before = self._breaks(one) + self._breaks(other)
        held = self.laid[one], self.laid[other]
        self._laps[one] = self._laps[other] = None
        self._take(one, min(self._ways(one, [columns[1]]), key=_fewest))
        self._take(other, min(self._ways(other, [columns[0]]), key=_fewest))
        if self._breaks(one) + self._breaks(other) > before:
            for run, column, (candidate, a) in zip((one, other), columns, held, strict=True):
                self._take(run, (0, 0.0, column, candidate, a))

    def _take(self, run: int, way: Way) -> RunColumn:
        _, _, column, candidate, a = way
        self._columns[run], self.laid[run], self._laps[run] = column, (candidate, a), candidate.laps(a)
        return column

    def _ways(self, run: int, pool: Iterable[RunColumn]) -> Iterator[Way]:
        """Yield every way to lay a run by a column of the pool."""
        for column in pool:
            for candidate, a in candidates_of(self._model, run, column):
                broken = candidate.breaks(a) + broken_beside(self._model, run, candidate.laps(a), self._laps)
                yield broken, float(self._dice.random()), column, candidate, a


def candidates_of(model: LapModel, run: int, column: RunColumn) -> Iterator[tuple[RunCandidate, int]]:
    """Yield the candidates of a run that are split so, with the length of the first piece."""
    firsts, lasts = set_numbers(model)
    a = model.shortest(column.first_cells) if column.first != NONE else 0
    for candidate in model.candidates[run]:
        template = candidate.template
        sets = tuple(sorted(template.wholes)), firsts.get(template.first, NONE), lasts.get(template.last, NONE)
        if sets == (column.wholes, column.first, column.last) and candidate.low <= a <= candidate.high:
            yield candidate, a


def _fewest(way: Way) -> tuple[int, float]:
    return way[:2]


def columns_of(partial: PartialPlan) -> Iterator[StickColumn | RunColumn]:
    """Yield the columns of every run and stick of a plan; none where a piece fits no slot that templates ask for."""
    firsts, lasts = set_numbers(partial.model)

    def cells(length: int) -> int:
        return partial.model.cells(length) if length else 0

    def slots(first: HeldPiece | None, last: HeldPiece | None) -> tuple[int, int, int, int] | None:
        numbers = firsts.get(first.kinds) if first else NONE, lasts.get(last.kinds) if last else NONE
        if numbers[0] is None or numbers[1] is None:
            return None
        return numbers[0], cells(first.length if first else 0), numbers[1], cells(last.length if last else 0)

    for candidate, a in filter(None, partial.placed):
        template = candidate.template
        ends = held_first(candidate, a) if template.first else None, held_last(candidate, a) if template.last else None
        if not template.cut and (found := slots(*ends)) is not None:
            yield RunColumn(partial.model.alike[candidate.run], tuple(sorted(template.wholes)), *found)
    for stick in partial.sticks:
        if stick.whole_for is None and not stick.between and (found := slots(stick.right, stick.left)) is not None:
            yield StickColumn(stick.kind, stick.plain, *found)


def plan_from_columns(model: LapModel, counts: dict[StickColumn | RunColumn, int], seed: int) -> PartialPlan:
    """Return the plan that the columns make up, with laps dealt to the courses so that few rules are broken.

    The grid must be exact (``model.cell == model.divisor``). Pieces that then fit no slot wait in the partial plan.
    """
    tried = (Assignment(model, counts, np.random.default_rng([seed, n])) for n in range(ASSIGNMENTS))
    best = min(tried, key=lambda each: each.broken)
    best.swap(SWAPS)
    partial = empty_plan(model)
    for candidate, a in best.laid.values():
        partial.place_held(candidate, a)
    _cut(partial, counts)
    return partial


def _cut(partial: PartialPlan, counts: dict[StickColumn | RunColumn, int]) -> None:
    """Cut the sticks, longest slots to longest pieces; plain pieces beyond what is left are not cut."""
    cuts = [column for column, count in counts.items() if isinstance(column, StickColumn) for _ in range(count)]
    rights = _matched(
        partial, [(cut.first, cut.first_cells, n) for n, cut in enumerate(cuts)], partial.starts, right=True
    )
    lefts = _matched(partial, [(cut.last, cut.last_cells, n) for n, cut in enumerate(cuts)], partial.ends, right=False)
    for number, cut in enumerate(cuts):
        plain: list[int] = []
        for piece in cut.plain:
            if plain.count(piece) < partial.left[piece]:
                plain.append(piece)
        left, right = lefts.get(number), rights.get(number)
        if left or right or plain:
            partial.add(OpenStick(cut.kind, left=left, plain=tuple(plain), right=right))
    partial.starts = [held for held in partial.starts if held not in rights.values()]
    partial.ends = [held for held in partial.ends if held not in lefts.values()]


def _matched(
    partial: PartialPlan, slots: list[tuple[int, int, int]], waiting: list[HeldPiece], *, right: bool
) -> dict[int, HeldPiece]:
    """Return for every cut (by number) the piece that takes its slot."""
    sets = set_numbers(partial.model)[0 if right else 1]
    taken, cell = partial.model.problem.taken, partial.model.cell
    found: dict[int, HeldPiece] = {}
    for kinds, number in sets.items():
        given = sorted((cells, n) for which, cells, n in slots if which == number)
        for held in sorted((h for h in waiting if h.kinds == kinds), key=lambda h: -h.length):
            if given and given[-1][0] * cell >= taken(held.length):
                found[given.pop()[1]] = held
    return found
