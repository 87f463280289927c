"""Siding-shaped cut lists, from a seed: what a wall, a shed or a yard's week asks of one material.

Stock lengths are those the trade sells; that pieces run from a foot to nearly a whole panel, that a third
of the lists have lapped ends, and that prices go by length within a few per cent is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from solver.cutting import CuttingProblem, Piece, Stick
from solver.lengths import TICKS_PER_64TH, TICKS_PER_INCH
from solver.ticks import TICKS_PER_MM
from tests.benchmarks.instances import Instance

EIGHTH = TICKS_PER_INCH // 8
TENTH_MM = TICKS_PER_MM // 10
KEEP_FROM = 36 * TICKS_PER_INCH
PANEL = 150 * TICKS_PER_INCH
"""12'-6", the length most sold."""
OTHERS = (120, 145, 192, 200, 240)
"""Other lengths in inches."""


def siding(count: int) -> Iterator[Instance]:
    """Yield lists of 5 to 60 lengths out of one stock length and offcuts on hand; every tenth mixes inches and mm."""
    for seed in range(count):
        random = Random(f"siding {seed}")
        sticks = (Stick(PANEL, 980), *_offcuts(random))
        yield Instance(
            "siding", f"siding-{seed:03}", _list(random, sticks, random.randint(5, 60), mixed=seed % 10 == 9)
        )


def several(count: int) -> Iterator[Instance]:
    """Yield the same out of two to four priced stock lengths, some of them limited."""
    for seed in range(count):
        yield Instance("several", f"several-{seed:03}", several_of(seed))


def several_of(seed: int, more: int | None = None) -> CuttingProblem:
    """Return list number ``seed`` of those, with so many lengths ``more`` than one."""
    random = Random(f"several {seed}")
    others = [_other(random, length) for length in random.sample(OTHERS, more or random.randint(1, 3))]
    sticks = (Stick(PANEL, 980), *others, *_offcuts(random))
    return _list(random, sticks, random.randint(5, 60), mixed=seed % 10 == 9)


def big(count: int) -> Iterator[Instance]:
    """Yield lists of 2,000 lengths and 200,000 pieces out of four stock lengths, in 1/64 in."""
    for seed in range(count):
        random = Random(f"big {seed}")
        sticks = tuple(Stick(n * TICKS_PER_INCH, _price(random, n)) for n in (150, 120, 200, 240))
        lengths = random.sample(range(12 * 64, 148 * 64), 2000)
        pieces = tuple(Piece(n * TICKS_PER_64TH, random.randint(1, 199)) for n in sorted(lengths, reverse=True))
        yield Instance("big", f"big-{seed}", CuttingProblem(sticks, pieces, EIGHTH, KEEP_FROM))


def plain(kinds: int, width: int, stocks: int, seed: int) -> CuttingProblem:
    """Return ``kinds`` lengths out of a stick ``width`` wide and ``stocks`` - 1 shorter ones, for growth tables."""
    random = Random(f"plain {kinds} {width} {stocks} {seed}")
    lengths = [width - width * 6 * k // (10 * stocks) for k in range(stocks)]
    sticks = tuple(Stick(n, round(1000 * n / width * random.uniform(0.97, 1.03))) for n in lengths)
    shortest, longest = max(1, width // 12), max(kinds + 1, int(0.95 * width))
    drawn = random.sample(range(shortest, max(longest, shortest + kinds)), kinds)
    return CuttingProblem(sticks, tuple(Piece(n, random.randint(1, 100)) for n in sorted(drawn, reverse=True)))


def _list(random: Random, sticks: tuple[Stick, ...], kinds: int, *, mixed: bool) -> CuttingProblem:
    lengths: set[int] = set()
    while len(lengths) < kinds:
        lengths.add(_mixed_length(random) if mixed else random.randint(12 * 8, 148 * 8) * EIGHTH)
    most = random.choice((5, 30, 300))
    lapped = random.random() < 1 / 3
    pieces = [_piece(random, length, most, lapped=lapped) for length in sorted(lengths, reverse=True)]
    return CuttingProblem(sticks, tuple(pieces), random.choice((0, EIGHTH)), KEEP_FROM)


def _piece(random: Random, length: int, most: int, *, lapped: bool) -> Piece:
    left = lapped and random.random() < 0.3
    right = lapped and not left and random.random() < 0.3
    return Piece(length, random.randint(1, most), left, right)


def _mixed_length(random: Random) -> int:
    if random.random() < 0.5:
        return random.randint(12 * 64, 148 * 64) * TICKS_PER_64TH
    return random.randint(3000, 37000) * TENTH_MM


def _offcuts(random: Random) -> list[Stick]:
    return [
        Stick(random.randint(24 * 8, 110 * 8) * EIGHTH, 0, 1, random.random() < 0.3, random.random() < 0.3)
        for _ in range(random.randint(0, 6))
    ]


def _other(random: Random, inches: int) -> Stick:
    limit = random.randint(3, 60) if random.random() < 0.5 else None
    return Stick(inches * TICKS_PER_INCH, _price(random, inches), limit)


def _price(random: Random, inches: int) -> int:
    """In cents, by length within 6 per cent."""
    return round(980 * inches / 150 * random.uniform(0.94, 1.06))
