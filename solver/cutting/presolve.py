"""Make a problem smaller and plainer without changing its best plan, and come back from its plan to the one asked.

- Kerf is folded in: pieces and sticks are a kerf longer, then ``sum(length) <= stick`` says the same.
- Equal pieces and equal sticks are merged; pieces are put in falling order of length.
- A piece that fits a stick without cost or limit gets one of its own.
- A stick that another, unlimited one outdoes in length and cost is dropped.
- Each stick shrinks to the largest sum that its pieces can make, and all lengths are divided by their
  common divisor (Valerio de Carvalho 1999, section 3, uses the same reachable sums for its arcs).
- A piece that needs both factory ends is a whole stick: its patterns are given, not priced.
- A piece that fits limited sticks only may have to be left uncut: a made-up stick that holds it alone
  stands for that, and costs more per unit of length than all real sticks together, so that less
  length uncut always comes before cost.

On the way back surplus is dropped, and merged pieces and sticks are told apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import gcd

from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick, Uses
from solver.cutting.reachable import largest_sums

MOST_WORK = 4_000_000
"""Machine words that summing all pieces may touch; sticks of more stay as long as they are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduced:
    """The smaller problem, and the way back.

    ``problem`` has no kerf; its first ``priced`` sticks are real, each further one stands for leaving
    one piece uncut. ``given`` are the patterns that pricing never makes. ``kinds[i]`` and
    ``origins[k]`` list the original pieces and sticks behind each. Costs are in steps of ``cost_step``;
    one ``uncut_step`` of length uncut costs ``penalty`` of them. ``whole`` are the pieces that need both ends.
    ``shorter[i]`` is the next shorter piece that a piece ``i`` would do for. ``free`` is cut already, in
    the original's terms.
    """

    problem: CuttingProblem
    given: tuple[Pattern, ...]
    priced: int
    kinds: tuple[tuple[int, ...], ...]
    origins: tuple[tuple[int, ...], ...]
    cost_step: int
    penalty: int
    uncut_step: int
    whole: frozenset[int]
    shorter: tuple[int | None, ...]
    free: tuple[tuple[Pattern, int], ...]

    def ceilings(self, priced: Sequence[int], values: Sequence[int]) -> list[int]:
        """Return what a stick of each kind can be worth: what pricing says, and the given patterns."""
        ceilings = [*priced, *(0 for _ in self.problem.sticks[self.priced :])]
        for pattern in self.given:
            ceilings[pattern.stick] = max(ceilings[pattern.stick], int(values[pattern.pieces[0]]))
        return ceilings


def fits(piece: Piece, stick: Stick) -> bool:
    """Whether ``stick`` alone can hold ``piece``; one piece takes no kerf, so with it folded in or not."""
    if piece.left and piece.right:
        return stick.left and stick.right and stick.length == piece.length
    return piece.length <= stick.length and stick.left >= piece.left and stick.right >= piece.right


def reduce(problem: CuttingProblem, *, apart: bool = False) -> Reduced:
    """Return the reduced problem; pieces that fit no stick are left out of it.

    ``apart`` keeps every stick as it is, for where what it costs does not say which of two is to be preferred.
    """
    free = [] if apart else _free(problem)
    sticks, origins = _sticks_apart(problem) if apart else _merged_sticks(problem)
    pieces, kinds = _merged_pieces(problem, sticks, {i for pattern, _ in free for i in pattern.pieces})
    kept = [k for k in range(len(sticks)) if apart or not _outdone(k, sticks, pieces)]
    sticks, origins = [sticks[k] for k in kept], [origins[k] for k in kept]
    cost_step = gcd(*(stick.cost for stick in sticks)) or 1
    sticks = [replace(stick, cost=stick.cost // cost_step) for stick in sticks]
    penalty = 1 + _most_cost(sticks, pieces)
    scarce = [i for i, piece in enumerate(pieces) if not any(s.limit is None and fits(piece, s) for s in sticks)]
    uncut_step = gcd(*(problem.pieces[kinds[i][0]].length for i in scarce)) or 1
    uncut = [Stick(0, penalty * (problem.pieces[kinds[i][0]].length // uncut_step)) for i in scarce]
    whole = [i for i, piece in enumerate(pieces) if piece.left and piece.right]
    given = [Pattern(k, (i,)) for i in whole for k, stick in enumerate(sticks) if fits(pieces[i], stick)]
    given += [Pattern(len(sticks) + place, (i,)) for place, i in enumerate(scarce)]
    shrunk, small = _shrunk(sticks, pieces)
    return Reduced(
        problem=CuttingProblem((*shrunk, *uncut), small),
        given=tuple(given),
        priced=len(sticks),
        kinds=tuple(kinds),
        origins=tuple(origins),
        cost_step=cost_step,
        penalty=penalty,
        uncut_step=uncut_step,
        whole=frozenset(whole),
        shorter=_shorter(small),
        free=tuple(free),
    )


def _sticks_apart(problem: CuttingProblem) -> tuple[list[Stick], list[tuple[int, ...]]]:
    there = (k for k, stick in enumerate(problem.sticks) if stick.limit != 0)
    order = sorted(there, key=lambda k: -problem.sticks[k].length)
    sticks = [replace(problem.sticks[k], length=problem.taken(problem.sticks[k].length)) for k in order]
    return sticks, [(k,) for k in order]


def _merged_sticks(problem: CuttingProblem) -> tuple[list[Stick], list[tuple[int, ...]]]:
    groups: dict[Stick, list[int]] = {}
    for k, stick in enumerate(problem.sticks):
        if stick.limit != 0:
            key = replace(stick, length=problem.taken(stick.length), limit=None)
            groups.setdefault(key, []).append(k)
    merged = [replace(key, limit=_sum_limits(problem.sticks[k].limit for k in group)) for key, group in groups.items()]
    order = sorted(range(len(merged)), key=lambda k: (-merged[k].length, merged[k].cost, merged[k].limit or 0))
    listed = list(groups.values())
    return [merged[k] for k in order], [tuple(listed[k]) for k in order]


def _sum_limits(limits: Iterable[int | None]) -> int | None:
    listed = list(limits)
    return None if None in listed else sum(limit for limit in listed if limit is not None)


def _free(problem: CuttingProblem) -> list[tuple[Pattern, int]]:
    """Cut every piece that fits a stick without cost or limit from one of its own."""
    giveaways = [(k, stick) for k, stick in enumerate(problem.sticks) if stick.limit is None and not stick.cost]
    homes = ((i, p, next((k for k, stick in giveaways if fits(p, stick)), None)) for i, p in enumerate(problem.pieces))
    return [(Pattern(k, (i,)), piece.demand) for i, piece, k in homes if k is not None and piece.demand]


def _merged_pieces(
    problem: CuttingProblem, sticks: list[Stick], done: set[int]
) -> tuple[list[Piece], list[tuple[int, ...]]]:
    groups: dict[tuple[int, bool, bool], list[int]] = {}
    for i, piece in enumerate(problem.pieces):
        long = Piece(problem.taken(piece.length), piece.demand, piece.left, piece.right)
        if piece.demand > 0 and i not in done and any(fits(long, stick) for stick in sticks):
            groups.setdefault((-long.length, piece.left, piece.right), []).append(i)
    order = sorted(groups)
    pieces = [Piece(-n, sum(problem.pieces[i].demand for i in groups[n, le, ri]), le, ri) for n, le, ri in order]
    return pieces, [tuple(groups[key]) for key in order]


def _outdone(k: int, sticks: list[Stick], pieces: list[Piece]) -> bool:
    stick = sticks[k]
    if any(piece.left and piece.right and fits(piece, stick) for piece in pieces):
        return False
    return any(
        other.limit is None
        and other is not stick
        and other.length >= stick.length
        and other.cost <= stick.cost
        and other.left >= stick.left
        and other.right >= stick.right
        for other in sticks
    )


def _most_cost(sticks: list[Stick], pieces: list[Piece]) -> int:
    """No plan that is worth making costs more: all limited sticks, and every other piece a stick of its own."""
    limited = sum(stick.limit * stick.cost for stick in sticks if stick.limit is not None)
    endless = [stick for stick in sticks if stick.limit is None]
    alone = (p.demand * min((s.cost for s in endless if fits(p, s)), default=0) for p in pieces)
    return limited + sum(alone)


def _shrunk(sticks: list[Stick], pieces: list[Piece]) -> tuple[tuple[Stick, ...], tuple[Piece, ...]]:
    step = gcd(*(piece.length for piece in pieces)) or 1
    small = tuple(Piece(piece.length // step, piece.demand, piece.left, piece.right) for piece in pieces)
    parts = [(piece.length, piece.demand) for piece in small if not (piece.left and piece.right)]
    lengths = _shrink([stick.length // step for stick in sticks], parts)
    return tuple(replace(stick, length=length) for stick, length in zip(sticks, lengths, strict=True)), small


def _shrink(lengths: list[int], parts: list[tuple[int, int]]) -> list[int]:
    """Return the largest sum of parts up to each length; lengths too long for that stay as they are."""
    short = [length for length in lengths if length // 64 * len(parts) <= MOST_WORK]
    shrunk = dict(zip(short, largest_sums(parts, short), strict=True))
    return [shrunk.get(length, length) for length in lengths]


def _shorter(pieces: Sequence[Piece]) -> tuple[int | None, ...]:
    """Return for each piece the next one of the same ends, which is shorter; none for whole sticks."""
    following: dict[tuple[bool, bool], int] = {}
    found: list[int | None] = []
    for i in reversed(range(len(pieces))):
        ends = pieces[i].left, pieces[i].right
        found.append(None if all(ends) else following.get(ends))
        following[ends] = i
    return tuple(reversed(found))


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
