"""A job: everything one plan is asked for, already exact and validated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from solver.lengths import Unit
from solver.materials import Material, Offcut, StockLength
from solver.required import Required, Side


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall seen from outside; ``viewed_from`` is a side, a position in ticks, or None."""

    id: str
    viewed_from: Side | int | None = None


@dataclass(frozen=True, slots=True)
class Notice:
    """Something the reader of a plan must know: a code, where it applies, and what it means.

    ``needed`` and ``got`` are ticks where the notice is about a length, ``place`` ticks along the wall.
    """

    code: str
    detail: str
    pointer: str | None = None
    material: str | None = None
    wall: str | None = None
    course: int | None = None
    place: int | None = None
    needed: int | None = None
    got: int | None = None


@dataclass(frozen=True, slots=True)
class Good:
    """What a job needs besides what is cut: so much of it, bought as ``product``; not ordered where that is None."""

    what: str
    quantity: Decimal
    unit: str
    product: str | None = None


@dataclass(frozen=True, slots=True)
class FromRack:
    """What of the rack a job may use: these labels, or where none is named whatever fits."""

    labels: tuple[str, ...] = ()


class BelowMinimum(StrEnum):
    """What a supplier makes of an order below his minimum."""

    REFUSED = "refused"
    MADE_UP = "made_up"
    FEE = "fee"


@dataclass(frozen=True, slots=True)
class MinimumOrder:
    """What the goods of an order must come to, and what becomes of one ``below`` that; ``fee`` is for a fee alone."""

    amount: Decimal
    below: BelowMinimum
    fee: Decimal = Decimal(0)

    def addition(self, goods: Decimal) -> Decimal:
        """Return what is charged on top of ``goods`` that are below the minimum."""
        if not 0 < goods < self.amount:
            return Decimal(0)
        made_up = self.amount - goods if self.below is BelowMinimum.MADE_UP else Decimal(0)
        return self.fee if self.below is BelowMinimum.FEE else made_up


@dataclass(frozen=True, slots=True)
class Supplier:
    """What an order of one supplier comes to beside its goods: a minimum, and what is charged once an order.

    ``delivery`` is not charged where the goods come to ``free_delivery_from`` or more; None: it always is.
    """

    name: str
    minimum_order: MinimumOrder | None = None
    order_cost: Decimal = Decimal(0)
    delivery: Decimal = Decimal(0)
    free_delivery_from: Decimal | None = None

    @property
    def charges(self) -> bool:
        """Whether an order can come to more than its goods and what each length costs once."""
        return bool(self.minimum_order or self.order_cost or self.delivery)

    @property
    def amounts(self) -> tuple[Decimal, ...]:
        """Every amount of money that its charges are made of."""
        rule = (self.minimum_order.amount, self.minimum_order.fee) if self.minimum_order else ()
        return (*rule, self.order_cost, self.delivery, self.free_delivery_from or Decimal(0))

    def delivered(self, goods: Decimal) -> Decimal:
        """Return what is charged for delivering these goods."""
        free = self.free_delivery_from is not None and goods >= self.free_delivery_from
        return Decimal(0) if free else self.delivery


@dataclass(frozen=True, slots=True)
class Job:
    """One request for a plan; ``goods`` stand on its order and are not planned.

    ``rack`` is what it may use of the rack, None where it uses nothing of it; once it is planned, what was found there
    is among its ``offcuts``. An order is what is bought of one supplier: ``suppliers`` say what it comes to beside its
    goods, ``minimum_order`` is that of the materials of which nobody says who sells them.
    ``within_days`` is how long whoever asks can wait for what is ordered, None where that does not matter.
    """

    name: str
    units: Unit
    materials: tuple[Material, ...]
    required: tuple[Required, ...]
    offcuts: tuple[Offcut, ...] = ()
    walls: tuple[Wall, ...] = ()
    seconds: float = 10.0
    goods: tuple[Good, ...] = ()
    rack: FromRack | None = None
    minimum_order: MinimumOrder | None = None
    suppliers: tuple[Supplier, ...] = ()
    within_days: int | None = None

    def too_late(self, row: StockLength) -> bool:
        """Return whether sticks of a stock length come later than whoever asks can wait."""
        return self.within_days is not None and row.wait_days > self.within_days

    @property
    def in_time(self) -> Job:
        """The job with none available of the stock lengths that come too late."""

        def had(material: Material) -> Material:
            rows = (replace(row, available=0) if self.too_late(row) else row for row in material.stock)
            return replace(material, stock=tuple(rows))

        return self if self.within_days is None else replace(self, materials=tuple(map(had, self.materials)))

    def supplier_of(self, material: Material) -> Supplier:
        """Return what is known of who sells a material."""
        unsaid = Supplier(material.supplier, None if material.supplier else self.minimum_order)
        return next((each for each in self.suppliers if each.name == material.supplier), unsaid)

    @property
    def charged(self) -> bool:
        """Whether some order comes to more than its goods and what each length costs once."""
        return any(self.supplier_of(material).charges for material in self.materials if material.priced)

    @property
    def as_asked(self) -> Job:
        """The job without what was found on the rack: that is looked up anew whenever it is planned."""
        return replace(self, offcuts=tuple(offcut for offcut in self.offcuts if not offcut.on_rack))

    @property
    def priced(self) -> bool:
        """Whether costs are money: lengths count nothing where any material has prices."""
        return any(material.priced for material in self.materials)


def turns_of(job: Job) -> dict[tuple[int, int | None], int]:
    """Return when each course of each item is hung, by item and course: the lower the sooner (see ``solver.runs``)."""
    walls = {wall.id: place for place, wall in enumerate(job.walls)}
    stretches = [(item, course) for item, asked in enumerate(job.required) for course in asked.course_numbers]

    def order(stretch: tuple[int, int | None]) -> tuple[int, int, int, int]:
        asked = job.required[stretch[0]]
        return walls.get(asked.wall or "", len(walls)), stretch[1] or 0, asked.start, stretch[0]

    return {stretch: turn for turn, stretch in enumerate(sorted(stretches, key=order))}
