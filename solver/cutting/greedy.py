"""Plans in a moment: one stick after the other, each filled as well as can be.

Two fills. *Scan*: longest piece first, as many as fit, which over a whole list is first-fit decreasing
(Johnson 1973). *Fullest*: the longest piece left, then whatever fills the rest best, a subset sum
(the multiple subset-sum greedy of Martello and Toth 1990, section 8.3.2). Where several kinds of stick
are at hand, the one with the least cost per length filled is cut.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

from solver.cutting.certificate import Counts
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Pattern, Piece, Stick
from solver.cutting.reachable import halves
from solver.watch import Watch

Uses = dict[Pattern, int]
"""How often each pattern is cut."""

Fill = Callable[[Sequence[Piece], Sequence[int], Stick], list[int]]
"""From pieces, how many of each are wanted, and a stick, to the pieces it should hold."""

MOST_WORK = 200_000
"""Machine words that one subset sum may touch; longer lists are thinned out to stay below."""

MOST_ENDS = 20
"""How many pieces are tried at each end of a stick; the longest that fit."""


def scan(pieces: Sequence[Piece], wanted: Sequence[int], stick: Stick) -> list[int]:
    """Fill a stick by the longest piece first, as many as fit."""
    held: list[int] = []
    room, left, right = stick.length, stick.left, stick.right
    for i, (piece, most) in enumerate(zip(pieces, wanted, strict=True)):
        if most and piece.length <= room and left >= piece.left and right >= piece.right:
            copies = 1 if piece.left or piece.right else min(most, room // piece.length)
            held += [i] * copies
            room -= copies * piece.length
            left, right = left and not piece.left, right and not piece.right
    return held


def fullest(pieces: Sequence[Piece], wanted: Sequence[int], stick: Stick) -> list[int]:
    """Fill a stick by its longest piece, and the rest as full as can be."""
    first = next((i for i, p in enumerate(pieces) if wanted[i] and _goes_in(p, stick)), None)
    if first is None:
        return []
    piece, rest = pieces[first], list(wanted)
    rest[first] -= 1
    room = replace(
        stick,
        length=stick.length - piece.length,
        left=stick.left and not piece.left,
        right=stick.right and not piece.right,
    )
    return [first, *_fill_up(pieces, rest, room)]


def _goes_in(piece: Piece, stick: Stick) -> bool:
    return piece.length <= stick.length and stick.left >= piece.left and stick.right >= piece.right


def _fill_up(pieces: Sequence[Piece], wanted: Sequence[int], stick: Stick) -> list[int]:
    """Return the pieces with the greatest sum that fits: stages of reachable sums, and back through them."""
    mask, stages, parts = (1 << (stick.length + 1)) - 1, [1], []
    for i in _thinned(pieces, wanted, stick.length):
        length = pieces[i].length
        for times in halves(min(wanted[i], stick.length // length)):
            parts.append((i, times))
            stages.append((stages[-1] | stages[-1] << times * length) & mask)
    target, held = _with_ends(pieces, wanted, stick, stages[-1])
    for (i, times), before in zip(reversed(parts), reversed(stages[:-1]), strict=True):
        if not before >> target & 1:
            held += [i] * times
            target -= times * pieces[i].length
    return held


def _with_ends(pieces: Sequence[Piece], wanted: Sequence[int], stick: Stick, sums: int) -> tuple[int, list[int]]:
    """Return what the plain pieces should sum to, and the pieces to put at the ends, for the fullest stick."""
    ends = [i for i, piece in enumerate(pieces) if wanted[i] and piece.left != piece.right and _goes_in(piece, stick)]
    lefts = [[], *([i] for i in ends[:MOST_ENDS] if pieces[i].left)]
    rights = [[], *([i] for i in ends[:MOST_ENDS] if pieces[i].right)]
    best, target, chosen = -1, 0, list[int]()
    for pair in ([*left, *right] for left in lefts for right in rights):
        taken = sum(pieces[i].length for i in pair)
        if taken <= stick.length:
            plain = (sums & ((1 << (stick.length - taken + 1)) - 1)).bit_length() - 1
            if taken + plain > best:
                best, target, chosen = taken + plain, plain, pair
    return target, chosen


def _thinned(pieces: Sequence[Piece], wanted: Sequence[int], room: int) -> list[int]:
    """Return the plain pieces that fit, evenly thinned out where they are too many for one subset sum."""
    fit = [i for i, p in enumerate(pieces) if wanted[i] and p.length <= room and not p.left and not p.right]
    most = max(8, MOST_WORK // (room // 64 + 16))
    return fit[:: -(-len(fit) // most)] if fit else []


def greedy(reduced: Reduced, fill: Fill, watch: Watch) -> Uses:
    """Return a plan for the whole problem: everything that the sticks suffice for is cut."""
    wanted = [piece.demand for piece in reduced.problem.pieces]
    return complete(reduced, fill, wanted, Counts.of(reduced.problem.sticks), watch) or {}


def complete(reduced: Reduced, fill: Fill, wanted: Sequence[int], counts: Counts, watch: Watch) -> Uses | None:
    """Cut what is ``wanted`` within the counts; None if they don't suffice.

    Whole sticks are given out first, then sticks are filled one by one, and last come the patterns that
    leave a piece uncut. Once ``watch`` stops it, sticks are filled by scanning, which takes no time.
    """
    rest, left, uses = list(wanted), list(counts.most), Uses()
    for pattern in reduced.given:
        if pattern.stick < reduced.priced:
            _use(pattern, rest, left, uses)
    while (best := _next(reduced, scan if watch.stopped else fill, rest, left)) is not None:
        _use(best, rest, left, uses)
    for pattern in reduced.given:
        if pattern.stick >= reduced.priced:
            _use(pattern, rest, left, uses)
    return None if any(rest) else uses


def _next(reduced: Reduced, fill: Fill, rest: Sequence[int], left: Sequence[int | None]) -> Pattern | None:
    """Return the next stick to cut, of least cost for the length filled."""
    pieces, best, least = reduced.problem.pieces, None, 0.0
    wanted = [0 if i in reduced.whole else n for i, n in enumerate(rest)]
    for k, stick in enumerate(reduced.problem.sticks[: reduced.priced]):
        if left[k] != 0 and (held := fill(pieces, wanted, stick)):
            price = (stick.cost + 1e-9) / sum(pieces[i].length for i in held)
            if best is None or price < least:
                best, least = Pattern(k, tuple(sorted(held))), price
    return best


def _use(pattern: Pattern, rest: list[int], left: list[int | None], uses: Uses) -> None:
    """Cut a pattern as often as demand and limit allow."""
    most = left[pattern.stick]
    held = Counter(pattern.pieces)
    times = min(rest[i] // copies for i, copies in held.items())
    times = times if most is None else min(times, most)
    if times > 0:
        uses[pattern] = uses.get(pattern, 0) + times
        left[pattern.stick] = None if most is None else most - times
        for i, copies in held.items():
            rest[i] -= times * copies
