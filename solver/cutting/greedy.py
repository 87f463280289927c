"""Plans in a moment: one stick after the other, each filled as well as can be.

Two fills. *Scan*: longest piece first, as many as fit, which over a whole list is first-fit decreasing
(Johnson 1973). *Fullest*: the longest piece left, then whatever fills the rest best, a subset sum
(the multiple subset-sum greedy of Martello and Toth 1990, section 8.3.2). Where several kinds of stick
are at hand, the one with the least cost per length filled is cut.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from solver.cutting.bounds import Counts
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Pattern, Piece, Stick, Uses
from solver.cutting.reachable import halves
from solver.watch import Watch

Fill = Callable[["Left", Stick], list[int]]
"""From what is left to cut and a stick to the pieces it should hold."""

MOST_WORK = 200_000
"""Machine words that one subset sum may touch; longer lists are thinned out to stay below."""

MOST_ENDS = 20
"""How many pieces are tried at each end of a stick; the longest that fit."""


class Left:
    """What is left to cut: how many of each piece, and which are still wanted at all, longest first."""

    def __init__(self, pieces: Sequence[Piece], wanted: Sequence[int]) -> None:
        """``pieces`` in falling order of length, ``wanted``: how many of each."""
        self.pieces = pieces
        self.lengths = [piece.length for piece in pieces]
        self.wanted = list(wanted)
        self.open = [i for i, n in enumerate(wanted) if n]
        self._falling = [-length for length in self.lengths]

    def take(self, held: Mapping[int, int], times: int) -> None:
        """Cut sticks that hold so many of each piece, so many times."""
        for i, copies in held.items():
            self.wanted[i] -= times * copies
            if not self.wanted[i] and (place := bisect_left(self.open, i)) < len(self.open) and self.open[place] == i:
                del self.open[place]

    def longest(self, stick: Stick) -> int | None:
        """Return the longest piece wanted that ``stick`` can hold."""
        short_enough = bisect_left(self.open, bisect_left(self._falling, -stick.length))
        for place in range(short_enough, len(self.open)):
            if _goes_in(self.pieces[self.open[place]], stick):
                return self.open[place]
        return None


def alike(left: Left, stick: Stick) -> list[int]:
    """Fill a stick with the longest piece that fits, as many as fit: poor, but no sooner said than done."""
    first = left.longest(stick)
    if first is None:
        return []
    piece = left.pieces[first]
    return [first] * (1 if piece.left or piece.right else min(left.wanted[first], stick.length // piece.length))


def scan(left: Left, stick: Stick) -> list[int]:
    """Fill a stick by the longest piece first, as many as fit."""
    held: list[int] = []
    shortest = left.pieces[left.open[-1]].length
    room, open_left, open_right = stick.length, stick.left, stick.right
    for i in left.open:
        piece = left.pieces[i]
        if room < shortest:
            break
        if piece.length <= room and open_left >= piece.left and open_right >= piece.right:
            copies = 1 if piece.left or piece.right else min(left.wanted[i], room // piece.length)
            held += [i] * copies
            room -= copies * piece.length
            open_left, open_right = open_left and not piece.left, open_right and not piece.right
    return held


def fullest(left: Left, stick: Stick) -> list[int]:
    """Fill a stick by its longest piece, and the rest as full as can be."""
    first = left.longest(stick)
    if first is None:
        return []
    piece = left.pieces[first]
    room = replace(
        stick,
        length=stick.length - piece.length,
        left=stick.left and not piece.left,
        right=stick.right and not piece.right,
    )
    return [first, *_fill_up(left, first, room)]


def _goes_in(piece: Piece, stick: Stick) -> bool:
    return piece.length <= stick.length and stick.left >= piece.left and stick.right >= piece.right


def _fill_up(left: Left, first: int, stick: Stick) -> list[int]:
    """Return the pieces beside the first with the greatest sum that fits: stages of reachable sums, and back."""
    mask, stages, parts = (1 << (stick.length + 1)) - 1, [1], []
    open_beside = [i for i in left.open if left.wanted[i] > (i == first) and _goes_in(left.pieces[i], stick)]
    for i in _thinned(left.pieces, open_beside, stick.length):
        length = left.pieces[i].length
        for times in halves(min(left.wanted[i] - (i == first), stick.length // length)):
            parts.append((i, times))
            stages.append((stages[-1] | stages[-1] << times * length) & mask)
    target, held = _with_ends(left.pieces, open_beside, stick, stages[-1])
    for (i, times), before in zip(reversed(parts), reversed(stages[:-1]), strict=True):
        if not before >> target & 1:
            held += [i] * times
            target -= times * left.pieces[i].length
    return held


def _with_ends(pieces: Sequence[Piece], beside: Sequence[int], stick: Stick, sums: int) -> tuple[int, list[int]]:
    """Return what the plain pieces should sum to, and the pieces to put at the ends, for the fullest stick."""
    lefts = [[], *([i] for i in beside if pieces[i].left)][:MOST_ENDS]
    rights = [[], *([i] for i in beside if pieces[i].right)][:MOST_ENDS]
    best, target, chosen = -1, 0, list[int]()
    for pair in ([*left, *right] for left in lefts for right in rights):
        taken = sum(pieces[i].length for i in pair)
        if taken <= stick.length:
            plain = (sums & ((1 << (stick.length - taken + 1)) - 1)).bit_length() - 1
            if taken + plain > best:
                best, target, chosen = taken + plain, plain, pair
    return target, chosen


def _thinned(pieces: Sequence[Piece], beside: Sequence[int], room: int) -> list[int]:
    """Return the plain pieces, evenly thinned out where they are too many for one subset sum."""
    plain = [i for i in beside if not pieces[i].left and not pieces[i].right]
    most = max(8, MOST_WORK // (room // 64 + 16))
    return plain[:: -(-len(plain) // most)] if plain else []


def greedy(reduced: Reduced, fill: Fill, watch: Watch) -> Uses:
    """Return a plan for the whole problem: everything that the sticks suffice for is cut."""
    wanted = [piece.demand for piece in reduced.problem.pieces]
    return complete(reduced, fill, wanted, Counts.of(reduced.problem.sticks), watch) or {}


def complete(reduced: Reduced, fill: Fill, wanted: Sequence[int], counts: Counts, watch: Watch) -> Uses | None:
    """Cut what is ``wanted`` within the counts; None if they don't suffice.

    Whole sticks are given out first, then sticks are filled one by one, and last come the patterns that
    leave a piece uncut. Once ``watch`` stops it, sticks are filled with pieces all alike, which takes no time.
    """
    uses, counted = Uses(), list(counts.most)
    rest = Left(reduced.problem.pieces, wanted)
    for pattern in reduced.given:
        if pattern.stick < reduced.priced:
            _use(pattern, rest, counted, uses)
    rest.open = [i for i in rest.open if i not in reduced.whole]
    while rest.open and (best := _next(reduced, alike if watch.stopped else fill, rest, counted)) is not None:
        _use(best, rest, counted, uses)
    for pattern in reduced.given:
        if pattern.stick >= reduced.priced:
            _use(pattern, rest, counted, uses)
    return None if any(rest.wanted) else uses


def _next(reduced: Reduced, fill: Fill, rest: Left, counted: Sequence[int | None]) -> Pattern | None:
    """Return the next stick to cut, of least cost for the length filled."""
    chosen, least = None, 0.0
    for k, stick in enumerate(reduced.problem.sticks[: reduced.priced]):
        if counted[k] != 0 and (held := fill(rest, stick)):
            pattern = Pattern(k, tuple(sorted(held)))
            price = (reduced.problem.cost(pattern) + 1e-9) / sum(map(rest.lengths.__getitem__, held))
            if chosen is None or price < least:
                chosen, least = pattern, price
    return chosen


def _use(pattern: Pattern, rest: Left, counted: list[int | None], uses: Uses) -> None:
    """Cut a pattern as often as demand and limit allow."""
    most = counted[pattern.stick]
    held = {i: pattern.pieces.count(i) for i in set(pattern.pieces)}
    times = min([rest.wanted[i] // copies for i, copies in held.items()])
    times = times if most is None else min(times, most)
    if times > 0:
        uses[pattern] = uses.get(pattern, 0) + times
        counted[pattern.stick] = None if most is None else most - times
        rest.take(held, times)
