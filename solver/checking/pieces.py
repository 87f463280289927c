"""Every required piece is cut once at its right length, or declared uncut."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from solver.checking.bench import Bench
from solver.checking.fault import Fault, told
from solver.checking.wanted import Wanted
from solver.plan import Cut, PlacedPiece

Numbers = dict[tuple[int, int | None], list[int]]
"""Piece numbers found, by item and course."""


def check_pieces(bench: Bench) -> Iterator[Fault]:
    """Check each cut against the item it serves, then that no piece is missing, doubled or out of number."""
    numbers: Numbers = defaultdict(list)
    for place, cut, piece in bench.served():
        wanted = bench.wanted.get(piece.item)
        if wanted is None:
            yield Fault("piece", place, told(f"an item of {bench.material.id}", f"item {piece.item}"))
            continue
        numbers[piece.item, piece.course].append(piece.piece)
        yield from _identity(place, piece, wanted)
        if not wanted.is_run:
            yield from _length(bench, place, cut, wanted)
    for wanted in bench.wanted.values():
        if not wanted.is_run:
            yield from _complete(bench, wanted, numbers)


def _identity(place: str, piece: PlacedPiece, wanted: Wanted) -> Iterator[Fault]:
    if piece.mark != wanted.required.mark:
        yield Fault("piece", place, told(f"mark {wanted.required.mark}", piece.mark))
    if piece.course not in wanted.courses:
        yield Fault("piece", place, told(wanted.told_courses, piece.course))


def _length(bench: Bench, place: str, cut: Cut, wanted: Wanted) -> Iterator[Fault]:
    if cut.length != wanted.cut:
        yield Fault("cut_length", place, told(bench.say(wanted.cut), bench.say(cut.length)))
    if cut.room != wanted.required.room:
        yield Fault("cut_length", place, told(f"room {bench.say(wanted.required.room)}", bench.say(cut.room)))


def _complete(bench: Bench, wanted: Wanted, numbers: Numbers) -> Iterator[Fault]:
    place = f"#/required/{wanted.item}"
    cut = 0
    for course in wanted.courses:
        found = numbers[wanted.item, course]
        cut += len(found)
        yield from consecutive(place, found)
        if len(found) > wanted.required.quantity:
            yield Fault("piece", place, told(f"{wanted.required.quantity} in course {course}", len(found)))
    uncut = sum(entry.quantity for entry in bench.not_cut if entry.item == wanted.item)
    if cut + uncut != wanted.required.pieces:
        yield Fault("piece", place, told(wanted.required.pieces, f"{cut} cut and {uncut} declared uncut"))


def consecutive(place: str, found: list[int]) -> Iterator[Fault]:
    """Check that pieces count 1, 2, ... with none twice."""
    if sorted(found) != list(range(1, len(found) + 1)):
        twice = sorted(number for number, times in Counter(found).items() if times > 1)
        yield Fault("piece", place, told(f"pieces 1 to {len(found)}", f"twice {twice}" if twice else sorted(found)))
