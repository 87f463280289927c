"""A job: everything one plan is asked for, already exact and validated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from solver.lengths import Unit
from solver.materials import Material, Offcut
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
class Job:
    """One request for a plan; ``goods`` stand on its order and are not planned.

    ``rack`` is what it may use of the rack, None where it uses nothing of it; once it is planned, what was found there
    is among its ``offcuts``. ``minimum_order`` counts the order of all priced materials together.
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

    @property
    def as_asked(self) -> Job:
        """The job without what was found on the rack: that is looked up anew whenever it is planned."""
        return replace(self, offcuts=tuple(offcut for offcut in self.offcuts if not offcut.on_rack))

    @property
    def priced(self) -> bool:
        """Whether costs are money: lengths count nothing where any material has prices."""
        return any(material.priced for material in self.materials)


def turns_of(job: Job) -> dict[tuple[int, int | None], int]:
    """Return when each course of each item is hung, by item and course: the lower the sooner (see ``solver.rules``)."""
    walls = {wall.id: place for place, wall in enumerate(job.walls)}
    stretches = [(item, course) for item, asked in enumerate(job.required) for course in asked.course_numbers]

    def order(stretch: tuple[int, int | None]) -> tuple[int, int, int, int]:
        asked = job.required[stretch[0]]
        return walls.get(asked.wall or "", len(walls)), stretch[1] or 0, asked.start, stretch[0]

    return {stretch: turn for turn, stretch in enumerate(sorted(stretches, key=order))}
