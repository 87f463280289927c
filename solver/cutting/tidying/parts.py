"""Problems made smaller for tidying: sticks that are alike joined, very long lists taken part by part.

Offcuts on hand that are alike (``Alike``) count as one kind of stick: cut alike they are one pattern, whichever is
taken.

Very long lists are tidied part by part (``by_parts``): some patterns at a time, as a small problem of their own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.tidying.pool import Uses, likeness
from solver.watch import Watch

PATTERNS = 40
"""Patterns in one part."""
PARTS = 6
"""Parts tidied."""
Tidier = Callable[[CuttingProblem, Uses, Watch], Uses]
"""From a problem and a plan that cuts all of it to a tidier plan."""


@dataclass(frozen=True, slots=True)
class Alike:
    """A problem with such sticks joined; ``kinds[k]`` is the joined kind of the original stick ``k``."""

    original: CuttingProblem
    problem: CuttingProblem
    kinds: tuple[int, ...]

    @classmethod
    def of(cls, problem: CuttingProblem) -> Alike:
        """Join the limited sticks that cost nothing and have the same length and ends."""
        first: dict[object, int] = {}
        kinds = [first.setdefault(likeness(problem, k), len(first)) for k in range(len(problem.sticks))]
        joined = {kind: problem.sticks[k] for k, kind in reversed(list(enumerate(kinds)))}
        limits = Counter[int]()
        for stick, kind in zip(problem.sticks, kinds, strict=True):
            limits[kind] += stick.limit or 0
        sticks = (
            joined[n] if joined[n].limit is None else replace(joined[n], limit=limits[n]) for n in range(len(first))
        )
        return cls(problem, replace(problem, sticks=tuple(sticks)), tuple(kinds))

    def joined(self, uses: Uses) -> Uses:
        """Return a plan of the original problem as one of the joined."""
        counts = Counter[Pattern]()
        for pattern, count in uses:
            counts[replace(pattern, stick=self.kinds[pattern.stick])] += count
        return tuple(sorted(counts.items()))

    def dealt(self, uses: Uses) -> Uses:
        """Return a plan of the joined problem as one of the original, the first sticks of a kind taken first."""
        left = [stick.limit for stick in self.original.sticks]
        dealt: list[tuple[Pattern, int]] = []
        for pattern, count in uses:
            wanted = count
            for k in (k for k, kind in enumerate(self.kinds) if kind == pattern.stick):
                most = left[k]
                taken = wanted if most is None else min(wanted, most)
                left[k] = None if most is None else most - taken
                wanted -= taken
                if taken:
                    dealt.append((replace(pattern, stick=k), taken))
        return tuple(sorted(dealt))


def by_parts(problem: CuttingProblem, uses: Uses, tidier: Tidier, watch: Watch) -> Uses:
    """Return a plan that cuts the same at the same cost, no less tidy."""
    plan = Counter(dict(uses))
    for start in range(0, min(len(uses), PARTS * PATTERNS), PATTERNS):
        if watch.stopped:
            break
        part = uses[start : start + PATTERNS]
        plan.subtract(dict(part))
        small = _Part.of(problem, part, plan)
        plan.update(dict(small.back(tidier(small.problem, small.uses, watch))))
    return tuple(sorted((pattern, count) for pattern, count in plan.items() if count))


@dataclass(frozen=True, slots=True)
class _Part:
    """A problem of only the pieces in some patterns; ``pieces[i]`` is the original of its piece ``i``."""

    problem: CuttingProblem
    uses: Uses
    pieces: tuple[int, ...]

    @classmethod
    def of(cls, problem: CuttingProblem, uses: Uses, others: Counter[Pattern]) -> _Part:
        """Take what these patterns cut, and the sticks that the ``others`` leave."""
        made = Counter[int]()
        for pattern, count in uses:
            made.update({i: n * count for i, n in Counter(pattern.pieces).items()})
        taken = Counter[int]()
        for pattern, count in others.items():
            taken[pattern.stick] += count
        pieces = tuple(sorted(made))
        place = {i: n for n, i in enumerate(pieces)}
        small = replace(
            problem,
            pieces=tuple(replace(problem.pieces[i], demand=made[i]) for i in pieces),
            sticks=tuple(
                stick if stick.limit is None else replace(stick, limit=stick.limit - taken[k])
                for k, stick in enumerate(problem.sticks)
            ),
        )
        return cls(small, tuple((_renamed(p, place.__getitem__), count) for p, count in uses), pieces)

    def back(self, uses: Uses) -> Uses:
        """Return a plan of the part in the original's pieces."""
        return tuple((_renamed(pattern, self.pieces.__getitem__), count) for pattern, count in uses)


def _renamed(pattern: Pattern, name: Callable[[int], int]) -> Pattern:
    return replace(pattern, pieces=tuple(map(name, pattern.pieces)))
