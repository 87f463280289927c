"""What a material's sticks are sold for, in whole steps of cost: prices from so many sticks on, cartons, fixed costs.

A length's price is that of the last row whose number its sticks bought have reached, spares among them (an all-units
break; Benton and Park 1996); a row may count the sticks of all lengths instead. Cartons are whole. Prices never rise,
which ``solver.validation`` sees to: so whoever pays by a row that he has reached pays no less than he must, and the
cheapest of all rows reached is the right one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from solver.buying.saw import VALUED_IN, Saw, saw_of
from solver.job import BelowMinimum, Supplier
from solver.materials import BreaksCount, Material, StockLength

FINEST = Decimal("0.000001")
"""No price has more decimals."""


@dataclass(frozen=True, slots=True)
class Tier:
    """From ``at`` sticks on a single costs ``single`` (None: not sold so) and a carton ``carton``."""

    at: int
    single: int | None
    carton: int


@dataclass(frozen=True, slots=True)
class Sold:
    """How one length is sold: its price rows, the first from 0 sticks, and ``size`` sticks in a carton.

    ``fixed`` is paid once if any is bought, ``limit`` is how many can be had (None: as many as wanted), and
    ``together`` says that rows count the sticks of all lengths. Where offcuts have a value, ``worth`` is that of a
    whole stick, and prices are less by it: what is cut of a stick gives it up again (``saw``).
    """

    tiers: tuple[Tier, ...]
    size: int
    fixed: int
    limit: int | None
    together: bool
    worth: int = 0

    @property
    def most(self) -> int | None:
        """How many sticks can be bought, cartons being whole; None where there is no end."""
        if self.limit is None or self.tiers[0].single is not None:
            return self.limit
        return self.limit // self.size * self.size

    @property
    def each(self) -> Fraction:
        """The least that one stick can cost, however many are bought; ``fixed`` aside."""
        singles = [Fraction(tier.single) for tier in self.tiers if tier.single is not None]
        return min(*singles, *(Fraction(tier.carton, self.size) for tier in self.tiers), Fraction(self.tiers[0].carton))


@dataclass(frozen=True, slots=True)
class Terms:
    """How all lengths of a material are sold, in the order of its stock, and the spares asked for beside what is cut.

    Spares are ``share`` of the sticks cut, rounded up, and ``extra`` more.
    """

    lengths: tuple[Sold, ...]
    share: Fraction = Fraction(0)
    extra: int = 0

    def spares(self, sticks: int) -> int:
        """Return how many spares so many sticks ask for."""
        return ceil(self.share * sticks) + self.extra if sticks else 0

    @property
    def levels(self) -> list[int]:
        """The numbers of sticks of all lengths at which some price changes, ascending, from 0."""
        return sorted({0, *(tier.at for sold in self.lengths if sold.together for tier in sold.tiers)})


@dataclass(frozen=True, slots=True)
class Minimum:
    """What the goods of an order must come to, in steps of cost, and what becomes of one below (``MinimumOrder``).

    ``order`` is charged once where anything is bought, and ``delivery`` unless the goods come to ``free_from``.
    """

    amount: int
    below: BelowMinimum
    fee: int
    order: int = 0
    delivery: int = 0
    free_from: int | None = None

    @classmethod
    def of(cls, supplier: Supplier, step: Decimal) -> Minimum:
        """Return a supplier's charges in steps of cost."""
        rule, free = supplier.minimum_order, supplier.free_delivery_from
        return cls(
            int(rule.amount / step) if rule else 0,
            rule.below if rule else BelowMinimum.MADE_UP,
            int(rule.fee / step) if rule else 0,
            int(supplier.order_cost / step),
            int(supplier.delivery / step),
            None if free is None else int(free / step),
        )

    @property
    def reached(self) -> int:
        """The goods from which on nothing more is saved by buying more."""
        return max(self.amount, (self.free_from or 0) if self.delivery else 0)

    def small(self, goods: int) -> int | None:
        """Return what is charged because an order is small; None where it is refused."""
        if goods >= self.amount:
            return 0
        if self.below is BelowMinimum.MADE_UP:
            return self.amount - goods
        return self.fee if self.below is BelowMinimum.FEE else None

    def delivered(self, goods: int) -> int:
        """Return what is charged for delivery."""
        return 0 if self.free_from is not None and goods >= self.free_from else self.delivery

    def once(self, goods: int) -> int:
        """Return what is charged for an order and its delivery, be it small or not."""
        return self.order + self.delivered(goods)

    def addition(self, goods: int) -> int | None:
        """Return what is charged on top of goods; None where such an order is refused."""
        small = self.small(goods)
        return None if small is None else small + self.once(goods)

    def least(self, bound: int) -> int:
        """Return what no order comes to less than whose goods and fixed costs come to ``bound`` or more."""
        steps = [bound, *(at for at in (self.amount, self.free_from) if at is not None and at > bound)]
        found = [(at, self.addition(at)) for at in steps]
        return min(at + more for at, more in found if more is not None)


def has_terms(material: Material) -> bool:
    """Whether what sticks are sold for is more than their number times a price."""
    return any(_has_terms(row) for row in material.stock)


def _has_terms(row: StockLength) -> bool:
    if row.breaks or row.fixed_cost or (row.carton is not None and not row.singles):
        return True
    carton, price = row.carton_price, row.price
    return carton is not None and price is not None and row.carton is not None and carton != price * row.carton


def terms_of(material: Material, step: Decimal, saw: Saw | None = None) -> Terms:
    """Return a material's terms in steps of cost: of money, or of a tick where it has no prices.

    With a ``saw`` prices are less by what a whole stick is worth.
    """
    settings = material.settings
    lengths = tuple(_sold(row, step, saw.value(row.length) if saw else 0) for row in material.stock)
    return Terms(lengths, Fraction(settings.spare_percent) / 100, settings.spare_sticks)


def worth_its_price(material: Material) -> StockLength | None:
    """Return a length of which a stick kept whole is worth no less than it may cost; None where there is none."""
    saw = saw_of(material, FINEST)
    if saw is None or not saw.rate:
        return None
    pairs = zip(material.stock, terms_of(material, FINEST, saw).lengths, strict=True)
    return next((row for row, sold in pairs if sold.each <= 0), None)


def prices_of(material: Material) -> Iterator[Decimal]:
    """Yield every amount of money that what is counted as cost may be made of."""
    billed, settings = has_terms(material), material.settings
    if material.priced and settings.reckons:
        yield from (settings.cut_price, settings.pattern_price, VALUED_IN * bool(settings.offcut_value))
    for row in material.stock:
        amounts = [row.price]
        if billed:
            amounts += [row.carton_price, row.fixed_cost, *(b.price for b in row.breaks)]
            amounts += [b.carton_price for b in row.breaks]
        yield from (amount for amount in amounts if amount is not None)


def _sold(row: StockLength, step: Decimal, worth: int) -> Sold:
    size = row.carton or 1
    rows = [(0, row.price, row.carton_price), *((b.sticks, b.price, b.carton_price) for b in row.breaks)]
    tiers = []
    for at, price, carton in rows:
        each = row.length if price is None else int(price / step)
        whole = each * size if carton is None else int(carton / step)
        tiers.append(Tier(at, each - worth if row.singles else None, whole - worth * size))
    together = row.breaks_count is BreaksCount.MATERIAL
    return Sold(tuple(tiers), size, int(row.fixed_cost / step), row.available, together, worth)
