"""A run as it lies on its wall: its pieces with the cuts they come from, and where each begins and ends."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from solver.checking.bench import Bench
from solver.checking.wanted import Wanted, allowance, own_gap, own_lap
from solver.plan import Cut, PatternUse, PlacedPiece, Run, RunPiece


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of a run: the pattern and cut it is, and whom the stick says it is for."""

    use: PatternUse
    cut: Cut
    placed: PlacedPiece


@dataclass(frozen=True, slots=True)
class Laid:
    """A run whose item and cuts exist; ``lap`` and ``gap`` are the largest that its sticks ask for, in ticks."""

    place: str
    run: Run
    wanted: Wanted
    parts: tuple[Part, ...]
    lap: int
    gap: int

    @property
    def needed(self) -> int:
        """The length covered from the first piece's left end to the last one's right end, in ticks."""
        item = self.wanted.required
        ends = (item.left_end, item.right_end)
        return item.length + sum(allowance(end, self.lap, self.gap) for end in ends)

    @property
    def lefts(self) -> tuple[int, ...]:
        """Where each piece begins, in ticks along the wall."""
        item = self.wanted.required
        first = item.start - allowance(item.left_end, self.lap, self.gap)
        return tuple(accumulate((piece.length - self.lap for piece in self.run.pieces[:-1]), initial=first))

    @property
    def rights(self) -> tuple[int, ...]:
        """Where each piece ends, in ticks along the wall."""
        return tuple(left + piece.length for left, piece in zip(self.lefts, self.run.pieces, strict=True))


def laid_runs(bench: Bench) -> Iterator[Laid]:
    """Yield the runs of a plan that can be laid out at all; what is wrong with the others is told elsewhere."""
    for index, run in enumerate(bench.plan.runs):
        wanted = bench.wanted.get(run.item)
        parts = [part_of(bench, piece) for piece in run.pieces]
        found = tuple(part for part in parts if part is not None)
        if wanted is not None and found and len(found) == len(parts):
            yield _laid(bench, f"{bench.place}/runs/{index}", run, wanted, found)


def part_of(bench: Bench, piece: RunPiece) -> Part | None:
    """Return the cut that a piece of a run names, or None if there is none such."""
    use, stick = bench.by_stick.get(piece.stick, (None, None))
    if use is None or stick is None or not 1 <= piece.cut <= min(len(use.cuts), len(stick.pieces)):
        return None
    return Part(use, use.cuts[piece.cut - 1], stick.pieces[piece.cut - 1])


def _laid(bench: Bench, place: str, run: Run, wanted: Wanted, parts: tuple[Part, ...]) -> Laid:
    rows = [bench.rows.get(part.use.stock or "") for part in parts]
    laps = [lap for row in rows if (lap := own_lap(row, bench.material)) is not None]
    gap = max(own_gap(row, bench.material) for row in rows)
    return Laid(place, run, wanted, parts, max(laps, default=0), gap)
