"""What counts beside the supplier's prices: cuts, setting the saw up for a pattern, and offcuts worth keeping.

The buyer's own reckoning, which is in the cost of a plan and on no invoice. Every stick that is bought counts as an
offcut as long as itself at first, which its price is less by (``Sold.worth``), or a token cut would make a spare stick
earn money. What is cut of it then costs what its offcut is worth less, which is never below nought: so whatever sticks
cost at the least bounds the whole. Sticks on hand have their worth likewise.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from solver.cutting.problem import CuttingProblem, Pattern
from solver.lengths import TICKS_PER_INCH
from solver.materials import Material

FOOT = 12 * TICKS_PER_INCH
VALUED_IN = Decimal("0.01")
"""An offcut's worth is rounded down to whole hundredths, each for itself."""


Way = tuple[int, tuple[int, ...]]
"""How long a stick is, and what its pieces take of it, ascending: the saw is set up once for all that are cut so."""


@dataclass(frozen=True, slots=True)
class Saw:
    """What a cut and a pattern cost, in steps of cost, and what an offcut of ``keep`` or longer is worth.

    ``rate`` are hundredths a tick, and ``hundredth`` is one of them in steps.
    """

    cut: int
    pattern: int
    rate: Fraction
    hundredth: int
    keep: int

    def value(self, length: int) -> int:
        """Return what an offcut is worth."""
        return int(self.rate * length) * self.hundredth if length >= max(1, self.keep) else 0

    def cost(self, way: Way, kerf: int) -> int:
        """Return what cutting one stick so costs, without what a pattern costs once."""
        stick, lengths = way
        left = max(0, stick - sum(lengths) - kerf * len(lengths))
        return self.value(stick) - self.value(left) + self.cut * cuts_of(way, kerf)

    def total(self, sticks: Mapping[Way, int], kerf: int) -> int:
        """Return what cutting so many sticks costs."""
        setups = sum(times > 0 and cuts_of(way, kerf) > 0 for way, times in sticks.items())
        return sum(times * self.cost(way, kerf) for way, times in sticks.items()) + self.pattern * setups


def cuts_of(way: Way, kerf: int) -> int:
    """Return how many cuts a stick takes: its last piece none where the stick is used up exactly."""
    stick, lengths = way
    return len(lengths) - (sum(lengths) + kerf * (len(lengths) - 1) == stick)


def way_of(problem: CuttingProblem, pattern: Pattern) -> Way:
    """Return how a pattern cuts a stick."""
    return problem.sticks[pattern.stick].length, tuple(sorted(problem.pieces[i].length for i in pattern.pieces))


def ways_of(problem: CuttingProblem, uses: Iterable[tuple[Pattern, int]]) -> Counter[Way]:
    """Return how many sticks are cut in each way."""
    ways = Counter[Way]()
    for pattern, times in uses:
        ways[way_of(problem, pattern)] += times
    return ways


def saw_of(material: Material, step: Decimal) -> Saw | None:
    """Return what counts beside a material's prices, in steps of cost; None where nothing does."""
    settings = material.settings
    if not (material.priced and settings.reckons):
        return None
    return Saw(
        cut=int(settings.cut_price / step),
        pattern=int(settings.pattern_price / step),
        rate=Fraction(settings.offcut_value) / Fraction(VALUED_IN) / FOOT,
        hundredth=int(VALUED_IN / step),
        keep=settings.keep_offcuts_from,
    )
