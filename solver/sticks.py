"""The sticks of a pattern, one by one, and as the few runs that they nearly always are.

Sticks cut alike are numbered on, and what they give is: piece 1 of an item, piece 2, and so on. So fifty thousand of
them are said in a line, and nothing is made of a stick that nobody looks at.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import overload

MOST_IN_RUN = 1_000_000
_NUMBERED = re.compile(r"(?s)(.*?)(0|[1-9][0-9]{0,14})")


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """Which required piece a cut serves: the ``item`` in the job (from 0), its course, and its number from 1."""

    item: int
    mark: str
    course: int | None
    piece: int


@dataclass(frozen=True, slots=True)
class StickUse:
    """One stick, numbered within the plan; ``pieces`` parallels the pattern's cuts."""

    stick: str
    offcut_id: str | None
    pieces: tuple[PlacedPiece, ...]


@dataclass(frozen=True, slots=True)
class StickRun:
    """So many sticks: the first, and by how much each of its pieces is numbered on from one to the next."""

    stick: str
    offcut_id: str | None
    pieces: tuple[PlacedPiece, ...]
    count: int = 1
    steps: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Raise ``ValueError`` where there can be no such sticks, for they are made when they are looked at."""
        counted_on = _NUMBERED.fullmatch(self.stick) and len(self.steps) == len(self.pieces)
        if not (self.count == 1 or (counted_on and 1 < self.count <= MOST_IN_RUN)):
            raise ValueError(f"no run of {self.count} sticks from {self.stick[:20]}")

    def at(self, n: int) -> StickUse:
        """Return the stick that comes so many after the first."""
        if not n:
            return StickUse(self.stick, self.offcut_id, self.pieces)
        placed = (self.piece(n, place) for place in range(len(self.pieces)))
        return StickUse(self.name(n), self.offcut_id, tuple(placed))

    def name(self, n: int) -> str:
        """Return what the stick is called that comes so many after the first."""
        return _counted_on(self.stick, n) or "" if n else self.stick

    def piece(self, n: int, place: int) -> PlacedPiece:
        """Return which piece that stick's cut at ``place`` serves, from 0."""
        first = self.pieces[place]
        if not n:
            return first
        return PlacedPiece(first.item, first.mark, first.course, first.piece + n * self.steps[place])

    def with_next(self, stick: StickUse) -> StickRun | None:
        """Return the run with one stick more, None where that one does not follow on."""
        steps = self.steps if self.count > 1 else _steps(self.pieces, stick.pieces)
        if steps is None or stick.stick != _counted_on(self.stick, self.count):
            return None
        longer = replace(self, count=self.count + 1, steps=steps)
        return longer if longer.at(self.count) == stick else None


class Sticks(Sequence[StickUse]):
    """Sticks as runs, made when they are looked at, one by one or all; equal to any other sequence of the same."""

    __slots__ = ("_ends", "_made", "runs")

    def __init__(self, runs: Iterable[StickRun]) -> None:
        self.runs = tuple(runs)
        self._ends = tuple(accumulate((run.count for run in self.runs), initial=0))
        self._made: tuple[StickUse, ...] | None = None

    @classmethod
    def of(cls, sticks: Iterable[StickUse]) -> Sticks:
        """Return sticks as the fewest runs of those that follow one another."""
        runs: list[StickRun] = []
        for stick in sticks:
            if runs and runs[-1].count < MOST_IN_RUN and (longer := runs[-1].with_next(stick)):
                runs[-1] = longer
            else:
                runs.append(StickRun(stick.stick, stick.offcut_id, stick.pieces))
        return cls(runs)

    def __len__(self) -> int:
        return self._ends[-1]

    def __iter__(self) -> Iterator[StickUse]:
        # whoever goes through all of them does so again and again
        if self._made is None:
            self._made = tuple(run.at(n) for run in self.runs for n in range(run.count))
        return iter(self._made)

    @overload
    def __getitem__(self, index: int) -> StickUse: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[StickUse, ...]: ...

    def __getitem__(self, index: int | slice) -> StickUse | tuple[StickUse, ...]:
        if isinstance(index, slice):
            return tuple(self[place] for place in range(*index.indices(len(self))))
        place = range(len(self))[index]
        run = bisect_right(self._ends, place) - 1
        return self.runs[run].at(place - self._ends[run])

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Sequence) or isinstance(other, str):
            return NotImplemented
        return len(self) == len(other) and all(one == another for one, another in zip(self, other, strict=True))

    def __hash__(self) -> int:
        return hash(tuple(self))

    def __repr__(self) -> str:
        return f"Sticks({self.runs!r})"


def runs_of(sticks: Sequence[StickUse]) -> Iterator[StickRun]:
    """Yield sticks as runs that follow one another, as far as that is known; else each is one of its own."""
    if isinstance(sticks, Sticks):
        yield from sticks.runs
    else:
        yield from (StickRun(stick.stick, stick.offcut_id, stick.pieces) for stick in sticks)


def alike(sticks: Sequence[StickUse]) -> Iterator[tuple[StickUse, int]]:
    """Yield a stick and how many are like it but for name and numbers of pieces, as far as that is known."""
    return ((run.at(0), run.count) for run in runs_of(sticks))


def _counted_on(name: str, n: int) -> str | None:
    numbered = _NUMBERED.fullmatch(name)
    return f"{numbered[1]}{int(numbered[2]) + n}" if numbered else None


def _steps(first: Sequence[PlacedPiece], second: Sequence[PlacedPiece]) -> tuple[int, ...] | None:
    if len(first) != len(second):
        return None
    return tuple(after.piece - before.piece for before, after in zip(first, second, strict=True))
