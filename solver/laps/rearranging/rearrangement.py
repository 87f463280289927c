"""Rearranging a plan at no cost: its sticks stay, and what is moved between them still fits.

Each run plays a part: it is laid in some way, and its cut pieces come from certain sticks. A lap is moved as far as its
two pieces' sticks have room; two runs alike change parts, on one wall or between walls; and a chain of runs that share
sticks is turned end for end, which makes its first pieces last ones. Moves are drawn by lot and taken by simulated
annealing (Kirkpatrick, Gelatt, Vecchi, "Optimization by Simulated Annealing", Science 220, 1983): one for the worse the
less often the later it comes. What is worse is for others to say: ``polish`` goes by looks, ``mending`` by rules.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp, inf

import numpy as np

from solver.categories import LapEnds
from solver.laps.model import Laps, RunCandidate
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, held_first, held_last
from solver.watch import Watch

LOOK_UP = 64
"""So many moves pass between looks at the watch."""

SOON_REMEMBERED = 100
"""To remember how so many runs are laid takes no time to speak of; of more, not every better plan is remembered."""

Laid = list[tuple[RunCandidate, int] | None]


@dataclass(slots=True)
class Part:
    """How some run is laid: a candidate by its place among those of all runs alike, and the length of its first piece.

    ``first`` and ``last`` are the sticks of its cut pieces, by number, None where it has none.
    """

    way: int
    a: int
    first: int | None
    last: int | None

    def copy(self) -> Part:
        """Return the same once more, sooner than ``replace`` would."""
        return Part(self.way, self.a, self.first, self.last)


Shot = tuple[list[Part | None], list[int | None], list[int], list[tuple[int, ...]]]


class Rearrangement(ABC):
    """One plan's runs and sticks, to be moved. What can't be moved plays no part."""

    def __init__(self, partial: PartialPlan, seed: int, movable: Callable[[int], bool]) -> None:
        """``movable`` says of a run whether it matters where its laps lie."""
        self._partial, self._model = partial, partial.model
        self._dice = np.random.default_rng(seed)
        self._rooms = [stick.room for stick in partial.sticks]
        self._plain = [stick.plain for stick in partial.sticks]
        self._laid: Laid = list(partial.placed)
        self._laps: Laps = list(partial.laps)
        self._parts = _parts(partial)
        self._playing: list[int | None] = [n if part else None for n, part in enumerate(self._parts)]
        self._movable = [run for run, part in enumerate(self._playing) if part is not None and movable(run)]
        self._alike: dict[int, list[int]] = defaultdict(list)
        for run in self._movable:
            self._alike[partial.model.alike[run]].append(run)
        self._sharing = self._shared()
        known = [part is not None for part in self._parts]
        self._still = {
            n for n, stick in enumerate(partial.sticks) if any(h.run < 0 or not known[h.run] for h in stick.held)
        }

    @abstractmethod
    def _bad(self, runs: Sequence[int]) -> tuple[int, float]:
        """Return how many rules these runs have a part in breaking, which no move may raise, and how bad they lie."""

    @abstractmethod
    def _move(self, warmth: float) -> float:
        """Make one move or leave it; return how much worse it is then."""

    def _anneal(self, moves: int, warmth: Sequence[float], watch: Watch, enough: float = -inf) -> float:
        """Make so many moves, ``warmth`` from first to last, and leave it at its best; return how much worse that is.

        It is never above 0, and at ``enough`` or less no more are made.
        """
        warmest, coldest = warmth
        bad = best = 0.0
        shot, apart = self._shot(), 1 + (len(self._parts) // SOON_REMEMBERED) ** 2
        for number in range(moves):
            if best <= enough or (number % LOOK_UP == 0 and watch.stopped):
                break
            bad += self._move(warmest * (coldest / warmest) ** (number / moves))
            if bad < best - 1e-6 and (number % apart == 0 or bad <= enough):
                best, shot = bad, self._shot()
        if bad < best - 1e-6:
            return bad
        self._restore(shot)
        return best

    def _shot(self) -> Shot:
        return [part and part.copy() for part in self._parts], [*self._playing], [*self._rooms], [*self._plain]

    def _restore(self, shot: Shot) -> None:
        self._parts, self._playing, self._rooms, self._plain = shot
        self._sharing = self._shared()
        self._lay(self._movable)

    def _shared(self) -> dict[int, list[int]]:
        """Return by stick the parts that have a cut piece in it."""
        shared: dict[int, list[int]] = defaultdict(list)
        for number, part in enumerate(self._parts):
            for stick in dict.fromkeys((part.first, part.last)) if part else ():
                if stick is not None:
                    shared[stick].append(number)
        for number, cut in enumerate(self._partial.sticks):
            shared[number] += [held.run for held in cut.held if held.run >= 0 and self._parts[held.run] is None]
        return shared

    def _part(self, run: int) -> Part:
        playing = self._playing[run]
        part = None if playing is None else self._parts[playing]
        if part is None:
            raise ValueError(f"run {run} can't be moved")
        return part

    def _lay(self, runs: Sequence[int]) -> None:
        """Lay these runs as the parts they play say."""
        for run in runs:
            part = self._part(run)
            candidate = self._model.candidates[run][part.way]
            self._laid[run], self._laps[run] = (candidate, part.a), candidate.laps(part.a)

    def _drawn(self, runs: Sequence[int]) -> int:
        return runs[int(self._dice.integers(len(runs)))]

    def _taken(self, before: tuple[int, float], runs: Sequence[int], warmth: float) -> float | None:
        """Lay the runs anew; return how much worse that is, None if it is not to be."""
        self._lay(runs)
        broken, bad = self._bad(runs)
        worse = bad - before[1]
        if broken > before[0] or (worse > 0 and self._dice.random() >= exp(-worse / warmth)):
            return None
        return worse

    def _shift(self, run: int, warmth: float) -> float:
        """Move a run's laps as far as there is room, by a lot or all the way; return how much worse that is."""
        part = self._part(run)
        if part.first is None or part.last is None:
            return 0.0
        candidate, own = self._model.candidates[run][part.way], part.a
        same = part.first == part.last
        low = candidate.low if same else max(candidate.low, own - self._rooms[part.last])
        high = candidate.high if same else min(candidate.high, own + self._rooms[part.first])
        step = self._model.problem.rules.nudge
        least, most = -((own - low) // step), (high - own) // step
        by = int(self._dice.integers(least, most + 1)) * step
        if not by:
            return 0.0
        before = self._bad([run])
        self._resize(part, by)
        worse = self._taken(before, [run], warmth)
        if worse is None:
            self._resize(part, -by)
            self._lay([run])
        return worse or 0.0

    def _resize(self, part: Part, by: int) -> None:
        part.a += by
        if part.first is not None and part.last is not None:
            self._rooms[part.first] -= by
            self._rooms[part.last] += by

    def _exchange(self, run: int, warmth: float) -> float:
        """Let two runs alike play each other's part; return how much worse that is."""
        other = self._drawn(self._alike[self._model.alike[run]])
        one, two = self._part(run), self._part(other)
        if (one.way, one.a) == (two.way, two.a):
            return 0.0
        before = self._bad([run, other])
        self._swap(run, other)
        worse = self._taken(before, [run, other], warmth)
        if worse is None:
            self._swap(run, other)
            self._lay([run, other])
        return worse or 0.0

    def _swap(self, run: int, other: int) -> None:
        self._playing[run], self._playing[other] = self._playing[other], self._playing[run]

    def _turn(self, run: int, warmth: float) -> float:
        """Turn the chain that a run hangs in end for end; return how much worse that is."""
        playing = self._playing[run]
        chain = set() if playing is None else self._chain(playing)
        runs = [n for n in self._movable if self._playing[n] in chain]
        ways = [self._turned(n) for n in runs]
        if not runs or len(runs) != len(chain) or None in ways:
            return 0.0
        before, kept = self._bad(runs), [self._part(n).copy() for n in runs]
        for n, way in zip(runs, ways, strict=True):
            part = self._part(n)
            rest = self._model.candidates[n][part.way].template.rest
            part.way, part.a, part.first, part.last = way or 0, rest - part.a, part.last, part.first
        worse = self._taken(before, runs, warmth)
        if worse is None:
            for n, part in zip(runs, kept, strict=True):
                self._parts[self._playing[n] or 0] = part
            self._lay(runs)
        return worse or 0.0

    def _chain(self, number: int) -> set[int]:
        """Return the parts that share sticks with one, directly or through others; none if they can't be turned.

        Where ends don't matter each part hangs by itself.
        """
        if self._model.problem.rules.ends is not LapEnds.FACTORY:
            return {number}
        chain, todo = {number}, [number]
        while todo:
            part = self._parts[todo.pop()]
            for stick in (part.first, part.last) if part else ():
                if stick in self._still:
                    return set()
                found = [] if stick is None else [n for n in self._sharing[stick] if n not in chain]
                chain.update(found)
                todo += found
        return chain

    def _turned(self, run: int) -> int | None:
        """Return the candidate of a run in which its pieces come in the other order, if there is one."""
        part = self._part(run)
        candidates, sticks = self._model.candidates[run], self._partial.sticks
        own = candidates[part.way].template
        if part.first is None or part.last is None:
            return None
        for way, other in enumerate(candidates):
            it = other.template
            if (it.wholes, it.rest, it.allowances) == (own.wholes[::-1], own.rest, own.allowances) and (
                sticks[part.last].kind in it.first and sticks[part.first].kind in it.last
            ):
                return way if other.low <= own.rest - part.a <= other.high else None
        return None

    def _written(self) -> PartialPlan:
        """Return the plan with its runs laid so, and every stick holding the pieces of those who play its parts."""
        anew = PartialPlan(self._model, ends=list(self._partial.ends), starts=list(self._partial.starts))
        anew.cut_off = set(self._partial.cut_off)
        for run, at in enumerate(self._laid):
            if at is not None:
                anew.placed[run], anew.laps[run] = at, self._laps[run]
        run_of = {part: run for run, part in enumerate(self._playing) if part is not None}
        for number, stick in enumerate(self._partial.sticks):
            held = self._holding(number, replace(stick, plain=self._plain[number]), run_of)
            if held.held or held.plain or held.whole_for is not None:
                anew.add(held)
        return anew

    def _holding(self, number: int, stick: OpenStick, run_of: dict[int, int]) -> OpenStick:
        firsts, lasts = list[HeldPiece](), list[HeldPiece]()
        for part_number in self._sharing[number]:
            part, run = self._parts[part_number], run_of.get(part_number)
            at = None if run is None else self._laid[run]
            if part and at and part.first == number:
                firsts.append(held_first(*at))
            if part and at and part.last == number:
                lasts.append(held_last(*at))
        still = [held for held in stick.held if held.run not in run_of]
        whole_for = stick.whole_for if stick.whole_for is None else run_of.get(stick.whole_for, stick.whole_for)
        if self._model.problem.rules.ends is not LapEnds.FACTORY:
            held = [*lasts, *firsts, *still]
            two, rest = (*held[:2], None, None)[:2], tuple(held[2:])
            return replace(stick, left=two[0], right=two[1], between=rest, whole_for=whole_for)
        lasts += [held for held in still if held is stick.left]
        firsts += [held for held in still if held is stick.right]
        return replace(stick, left=next(iter(lasts), None), right=next(iter(firsts), None), whole_for=whole_for)


def _parts(partial: PartialPlan) -> list[Part | None]:
    """Return the part each run plays in a plan; None where its candidate is not one that all runs alike have."""
    first: dict[int, int] = {}
    last: dict[int, int] = {}
    for number, stick in enumerate(partial.sticks):
        for held in stick.held:
            (first if held.part == 0 else last)[held.run] = number
    found: list[Part | None] = []
    for run, at in enumerate(partial.placed):
        candidates = partial.model.candidates[run]
        listed = at is not None and not at[0].template.cut and not at[0].template.loose and at[0] in candidates
        if at is None or not listed:
            found.append(None)
            continue
        template = at[0].template
        held_at = first.get(run) if template.first else None, last.get(run) if template.last else None
        if not template.first:
            held_at = None, first.get(run, last.get(run))
        whole = (held_at[0] is None) == (not template.first) and (held_at[1] is None) == (not template.last)
        found.append(Part(candidates.index(at[0]), at[1], *held_at) if whole else None)
    return found
