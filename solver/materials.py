"""What is bought and cut: materials, the lengths they are stocked in, and offcuts on hand.

All lengths are ticks (see ``solver.lengths``). Every number in ``DEFAULTS`` is a setting that a request may
override; ``tests/outside/test_default_sources.py`` holds each, and names its source or says that none was found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from solver.lengths import TICKS_PER_INCH


class Category(StrEnum):
    """What a material is for; chooses its default allowances."""

    SIDING = "siding"
    SOFFIT = "soffit"
    STARTER = "starter"
    POST = "post"
    CHANNEL = "channel"
    OTHER = "other"


class LapEnds(StrEnum):
    """Which ends may be lapped."""

    FACTORY = "factory"
    """Only an end as manufactured, notched for lapping."""
    RENOTCHED = "renotched"
    """A field end too, once hem and lock are trimmed there."""
    ANY = "any"
    """Ends do not matter."""


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


@dataclass(frozen=True, slots=True)
class StockLength:
    """One length in which a material is sold.

    ``available`` and ``price`` are per stick; ``available`` None means without limit. ``lap`` and
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
    lap: int | None = None
    end_gap: int | None = None


@dataclass(frozen=True, slots=True)
class Settings:
    """The allowances of a material, in ticks; ``lap`` None means it may not be lapped end to end."""

    lap: int | None
    end_gap: int
    kerf: int
    lap_ends: LapEnds
    shortest_piece: int | None
    lap_spacing: int | None
    lap_repeat: int | None
    in_line_within: int | None
    keep_offcuts_from: int
    extra_laps: int = 0
    spare_percent: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Material:
    """A material with its stock rows (shortest id order as given) and its settings."""

    id: str
    category: Category
    stock: tuple[StockLength, ...]
    settings: Settings
    description: str = ""

    @property
    def priced(self) -> bool:
        """Whether its stock has prices, so that cost is money; else cost is length."""
        return all(row.price is not None for row in self.stock)


@dataclass(frozen=True, slots=True)
class Offcut:
    """Left-over lengths on hand; they cost nothing and each is used at most once."""

    id: str
    material: str
    length: int
    quantity: int = 1
    factory_end: FactoryEnd = FactoryEnd.NONE


_IN = TICKS_PER_INCH

DEFAULTS: Mapping[Category, Settings] = {
    Category.SIDING: Settings(_IN, _IN // 4, 0, LapEnds.FACTORY, 24 * _IN, 24 * _IN, 3, 2 * _IN, 36 * _IN),
    Category.SOFFIT: Settings(None, _IN // 4, 0, LapEnds.ANY, None, None, None, None, 36 * _IN),
    Category.STARTER: Settings(-_IN // 4, _IN // 4, 0, LapEnds.ANY, 12 * _IN, 0, 0, 0, 36 * _IN),
    Category.POST: Settings(3 * _IN // 4, 0, 0, LapEnds.ANY, 36 * _IN, 0, 0, 0, 36 * _IN),
    Category.CHANNEL: Settings(3 * _IN // 4, 0, 0, LapEnds.ANY, 12 * _IN, 0, 0, 0, 24 * _IN),
    Category.OTHER: Settings(None, 0, 0, LapEnds.ANY, None, None, None, None, 24 * _IN),
}
"""Settings by category; None stands where the trade has no rule for it."""
