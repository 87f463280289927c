"""What counts beside an order, worked out again: cuts, patterns, and what is kept of sticks.

An offcut is worth its length in feet times the value of a foot, rounded down to a hundredth, if it is long enough to
keep; a stick bought and not cut is one as long as itself, and one on hand that is used up was worth as much. A stick
takes a cut for each piece, and one less where its pieces use it up exactly. Sticks that take a cut are of one pattern
where they are as long and their pieces take the same lengths, in any order.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from math import floor

from solver.checking.bench import Bench, Fault, consumed, mismatch
from solver.lengths import TICKS_PER_INCH
from solver.materials import Material
from solver.plan import PatternUse

FOOT = 12 * TICKS_PER_INCH


def counts(material: Material) -> bool:
    """Whether anything counts beside the order."""
    settings = material.settings
    return material.priced and bool(settings.cut_price or settings.pattern_price or settings.offcut_value)


def worth(material: Material, length: int) -> Fraction:
    """Return what an offcut of a length is worth."""
    settings = material.settings
    if length <= 0 or length < settings.keep_offcuts_from or not material.priced:
        return Fraction(0)
    return Fraction(floor(100 * Fraction(settings.offcut_value) * length / FOOT), 100)


def own_cost(bench: Bench) -> Fraction:
    """Return what counts beside a material's order."""
    if not counts(bench.material):
        return Fraction(0)
    cuts, patterns, kept = _figures(bench)
    settings = bench.material.settings
    return cuts * Fraction(settings.cut_price) + patterns * Fraction(settings.pattern_price) - kept


def check_reckoning(bench: Bench) -> Iterator[Fault]:
    """Check what a plan says of it."""
    said, settings = bench.plan.reckoning, bench.material.settings
    if said is None or not counts(bench.material):
        if (said is not None) is not counts(bench.material):
            yield Fault("reckoning", bench.place, mismatch("a reckoning where cuts or offcuts count", said))
        return
    cuts, patterns, kept = _figures(bench)
    money = cuts * settings.cut_price, patterns * settings.pattern_price, kept
    found = said.cuts, said.patterns, said.cut_cost, said.pattern_cost, Fraction(said.kept_value)
    if found != (cuts, patterns, *money):
        yield Fault("reckoning", bench.place, mismatch((cuts, patterns, *map(str, money)), said))


def _figures(bench: Bench) -> tuple[int, int, Fraction]:
    """Return how many cuts and patterns there are, and what all that is kept is worth."""
    material, cuts, ways, kept = bench.material, 0, Counter[object](), Fraction(0)
    for use in bench.plan.patterns:
        taken = _cuts(use, material.settings.kerf)
        cuts += taken * use.count
        ways[use.stock_length, tuple(sorted(cut.length + cut.room for cut in use.cuts))] += taken
        left = use.stock_length - consumed(use) - material.settings.kerf * len(use.cuts)
        kept += use.count * worth(material, left)
        if use.stock is None:
            kept -= use.count * worth(material, use.stock_length)
    for line in bench.whole.order:
        if line.material == material.id and line.stock in bench.rows:
            kept += line.spares * worth(material, bench.rows[line.stock].length)
    return cuts, sum(taken > 0 for taken in ways.values()), kept


def _cuts(use: PatternUse, kerf: int) -> int:
    used_up = consumed(use) + kerf * (len(use.cuts) - 1) == use.stock_length
    return len(use.cuts) - used_up
