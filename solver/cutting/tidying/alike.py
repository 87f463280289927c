"""Offcuts on hand that are alike count as one kind of stick: cut alike they are one pattern, whichever is taken."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace

from solver.cutting.problem import CuttingProblem, Pattern
from solver.cutting.tidying.tidiness import Uses, likeness


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
