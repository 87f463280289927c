"""Polishing: of plans that break as few rules, cost as little and have as few laps, one that looks better.

The plan is rearranged; what would break more rules never is. The number of moves is counted.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from solver.laps.looks import WORTH_STAIRCASE, Looks
from solver.laps.rearrange import Rearrangement
from solver.laps.state import PartialPlan
from solver.watch import Watch

MOVES = 200
"""So many moves for each run."""

MOST_MOVES = 20_000

WARMTH = (8.0, 0.15)
"""Temperatures at the first and at the last move, in the units of ``Looks.worth``."""

WAITING = 0.02
"""What it counts, in the same units, that a piece lies cut while one more stretch is hung."""


class Polish(Rearrangement):
    """Betters the looks of one plan."""

    def __init__(self, partial: PartialPlan, seed: int) -> None:
        self._looks = Looks(partial.model)
        super().__init__(partial, seed, lambda run: _seen(partial, self._looks, run))
        self._sharing = _sharing(partial)
        self._player = list(range(len(self._parts)))

    def run(self, watch: Watch) -> PartialPlan:
        """Return the plan as good as it gets; it is never worse than it was."""
        moves = min(MOST_MOVES, MOVES * len(self._movable))
        better = self._anneal(moves, WARMTH, watch) < 0
        return self._written() if better else self._partial

    def _bad(self, runs: Sequence[int]) -> tuple[int, float]:
        """Return how many rules these runs have a part in breaking, and how bad it looks."""
        places = [place for run in runs if (place := self._looks.at[run]) is not None]
        stairs = WORTH_STAIRCASE * self._looks.staircases(places, self._laps)
        return (
            self._looks.broken(runs, self._laps, self._laid),
            stairs + self._looks.worth(runs, self._laps, self._laid) + WAITING * self._waiting(runs),
        )

    def _waiting(self, runs: Sequence[int]) -> int:
        """Return for how many turns pieces lie about that share a stick with these runs' pieces."""
        sticks = {stick for run in runs if (part := self._playing[run]) is not None for stick in self._sharing[part]}
        hung = self._model.problem.runs
        turns = ([hung[self._player[part]].turn for part in parts] for parts in sticks)
        return sum(sum(some) - len(some) * min(some) for some in turns)

    def _move(self, warmth: float) -> float:
        """Make one move or leave it; return how much worse it looks then."""
        run = self._drawn(self._movable)
        lot = float(self._dice.random())
        if lot < 0.5:
            return self._shift(run, warmth)
        return self._exchange(run, warmth) if lot < 0.9 else self._turn(run, warmth)

    def _swap(self, run: int, other: int) -> None:
        super()._swap(run, other)
        for each in (run, other):
            if (part := self._playing[each]) is not None:
                self._player[part] = each


def _seen(partial: PartialPlan, looks: Looks, run: int) -> bool:
    """Whether it matters where a run's laps lie."""
    return bool(partial.laps[run] and (looks.neighbours[run] or partial.model.problem.runs[run].keep_clear))


def _sharing(partial: PartialPlan) -> dict[int, list[tuple[int, ...]]]:
    """Return for each run's part the sticks it shares, each as all the parts in it."""
    found: dict[int, list[tuple[int, ...]]] = defaultdict(list)
    for stick in partial.sticks:
        parts = tuple(sorted(run for run in stick.runs()))
        for part in parts if len(parts) > 1 else ():
            found[part].append(parts)
    return found
