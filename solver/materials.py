"""What is bought and cut: materials, the lengths they are stocked in, offcuts on hand, and the cautions for their work.

All lengths are ticks (see ``solver.ticks``). The cautions are the usual ones for the work a plan leads to. They defer
to the maker, local code and licensed practice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from solver.categories import Category, Settings
from solver.lengths import Unit, told


class FactoryEnd(StrEnum):
    """Which ends of a stick or an offcut are as manufactured."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"
    NONE = "none"

    @property
    def has_left(self) -> bool:
        """Whether the left end is a factory end."""
        return self in (FactoryEnd.LEFT, FactoryEnd.BOTH)

    @property
    def has_right(self) -> bool:
        """Whether the right end is a factory end."""
        return self in (FactoryEnd.RIGHT, FactoryEnd.BOTH)

    @classmethod
    def of(cls, *, left: bool, right: bool) -> FactoryEnd:
        """Return the member with the given ends as manufactured."""
        return {(True, True): cls.BOTH, (True, False): cls.LEFT, (False, True): cls.RIGHT}.get((left, right), cls.NONE)


class BreaksCount(StrEnum):
    """Which sticks bought count towards a row's price breaks: those of its length, or all of its material."""

    LENGTH = "length"
    MATERIAL = "material"


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From so many ``sticks`` on, all of them have these prices; ``carton_price`` None is that of its sticks."""

    sticks: int
    price: Decimal
    carton_price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class StockLength:
    """One length in which a material is sold.

    ``available`` and ``price`` are per stick; ``available`` None means without limit. ``fixed_cost`` is paid once if
    any is bought. ``wait_days`` are those until it comes when it is ordered, 0 where the yard holds it. ``lap`` and
    ``end_gap`` of None mean the material's own.
    """

    id: str
    length: int
    code: str | None = None
    price: Decimal | None = None
    available: int | None = None
    carton: int | None = None
    singles: bool = True
    carton_price: Decimal | None = None
    breaks: tuple[PriceBreak, ...] = ()
    breaks_count: BreaksCount = BreaksCount.LENGTH
    fixed_cost: Decimal = Decimal(0)
    wait_days: int = 0
    lap: int | None = None
    end_gap: int | None = None


@dataclass(frozen=True, slots=True)
class Origin:
    """What a material was copied from, by id and version; nothing is planned by it."""

    id: str
    version: int


@dataclass(frozen=True, slots=True)
class Material:
    """A material with its stock rows (shortest id order as given), its settings and who sells it."""

    id: str
    category: Category
    stock: tuple[StockLength, ...]
    settings: Settings
    description: str = ""
    origin: Origin | None = None
    supplier: str = ""

    @property
    def priced(self) -> bool:
        """Whether its stock has prices, so that cost is money; else cost is length."""
        return all(row.price is not None for row in self.stock)


@dataclass(frozen=True, slots=True)
class Offcut:
    """Left-over lengths on hand; they cost nothing and each is used at most once.

    ``on_rack`` where nobody asked for it by itself: it was found on the rack when the job was planned.
    """

    id: str
    material: str
    length: int
    quantity: int = 1
    factory_end: FactoryEnd = FactoryEnd.NONE
    on_rack: bool = False


CUTTING = "Wear eye protection and keep hands clear of the blade; unplug a saw before changing its blade."
COLD = "Cold vinyl is brittle and chips or cracks when cut: fine-tooth blade reversed, slow feed, panel well supported."
LADDERS = (
    "Set ladders on firm ground, one out for every four up, {3 ft} past the landing and tied off; "
    "keep off them in wind."
)
LEAD = "Paint from before 1978 may hold lead: have it tested first, and leave work on it to a certified renovator."
HEAT = "Grills, heaters and sunlight reflected by windows distort vinyl: keep panels and offcuts away from them."
WATER = (
    "Siding sheds water and does not stop it: put up the water barrier and the flashing first, each layer lapped over "
    "the one below."
)
AUTHORITY = (
    "Follow the maker's instructions and local code, and leave licensed work to who is licensed for it; they take "
    "precedence over this sheet."
)

AT_THE_SAW = (CUTTING, COLD, AUTHORITY)
"""What is said where pieces are cut; the others are for the wall."""
_ANY = (CUTTING, AUTHORITY)
_VINYL = (CUTTING, COLD, LADDERS, LEAD, HEAT, AUTHORITY)


def cautions_for(materials: Iterable[Material], unit: Unit = Unit.IN) -> tuple[str, ...]:
    """Return what applies to these materials, most urgent first, with lengths as a job in ``unit`` is told them."""
    vinyl = any(material.category.kind.is_vinyl for material in materials)
    return tuple(told(words, unit) for words in (_VINYL if vinyl else _ANY))
