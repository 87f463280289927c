"""From a plan of the reduced problem back to the one asked: surplus dropped, merged pieces and sticks told apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from solver.cutting.greedy import Uses
from solver.cutting.presolve import Reduced
from solver.cutting.problem import CuttingProblem, Pattern


def trimmed(uses: Uses, reduced: Reduced) -> Uses:
    """Return the plan with each piece cut exactly as often as wanted; sticks left empty are not cut at all.

    A piece too many serves as the next shorter one that is wanted.
    """
    rest, plan = [piece.demand for piece in reduced.problem.pieces], Uses()
    for pattern, count in uses.items():
        times = count
        while times and (served := served_by(pattern, rest, reduced.shorter)):
            held = Counter(served)
            alike = min(times, *(rest[i] // n for i, n in held.items()))
            part = Pattern(pattern.stick, tuple(sorted(served)))
            plan[part] = plan.get(part, 0) + alike
            for i, n in held.items():
                rest[i] -= alike * n
            times -= alike
    return plan


def served_by(pattern: Pattern, wanted: Sequence[int], shorter: Sequence[int | None]) -> list[int]:
    """Return the wanted pieces that one stick cut so can serve as, each the longest that is left."""
    taken: Counter[int] = Counter()
    for piece in pattern.pieces:
        serves: int | None = piece
        while serves is not None and wanted[serves] <= taken[serves]:
            serves = shorter[serves]
        if serves is not None:
            taken[serves] += 1
    return list(taken.elements())


class _Dealer:
    """Hands out the originals behind each merged kind, first come first served."""

    def __init__(self, groups: Sequence[Sequence[int]], amounts: Sequence[int | None]) -> None:
        self._groups = [list(group) for group in groups]
        self._left = list(amounts)

    def deal(self, kind: int, count: int) -> list[int]:
        """Return ``count`` originals of a kind for one stick, without taking them yet."""
        dealt: list[int] = []
        for original in self._groups[kind]:
            left = self._left[original]
            dealt += [original] * (count - len(dealt) if left is None else min(left, count - len(dealt)))
        return dealt

    def alike(self, dealt: Sequence[int], times: int) -> int:
        """Return how many times over, up to ``times``, the same originals can be taken."""
        for original in set(dealt):
            if (left := self._left[original]) is not None:
                times = min(times, left // dealt.count(original))
        return times

    def take(self, dealt: Sequence[int], times: int) -> None:
        """Take what was dealt, so many times over."""
        for original in dealt:
            left = self._left[original]
            self._left[original] = None if left is None else left - times


def restored(
    problem: CuttingProblem, reduced: Reduced, uses: Uses
) -> tuple[tuple[tuple[Pattern, int], ...], list[int]]:
    """Return the uses in the problem's own pieces and sticks, and how many of each piece are left uncut."""
    pieces = _Dealer(reduced.kinds, [piece.demand for piece in problem.pieces])
    sticks = _Dealer(reduced.origins, [stick.limit for stick in problem.sticks])
    plan = Counter(dict(reduced.free))
    for pattern, count in uses.items():
        times = count
        while pattern.stick < reduced.priced and times > 0:
            kinds = dict.fromkeys(pattern.pieces)
            held = [i for kind in kinds for i in pieces.deal(kind, pattern.pieces.count(kind))]
            stick = sticks.deal(pattern.stick, 1)
            alike = min(pieces.alike(held, times), sticks.alike(stick, times))
            pieces.take(held, alike)
            sticks.take(stick, alike)
            plan[Pattern(stick[0], tuple(sorted(held)))] += alike
            times -= alike
    uncut = [piece.demand for piece in problem.pieces]
    for pattern, times in plan.items():
        for i in pattern.pieces:
            uncut[i] -= times
    return tuple(sorted(plan.items(), key=lambda use: (use[0].stick, use[0].pieces))), uncut
