"""What is bought for a house: panels besides the one in use, what it needs besides panels and trim, its products."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction


class SoldAs(StrEnum):
    """What is bought for a fixture."""

    BLOCK = "block"
    """A mounting block."""
    VENT = "vent"
    NOTHING = "nothing"


class Need(StrEnum):
    """What a house needs besides panels and trim."""

    HOUSE_WRAP = "house_wrap"
    WRAP_TAPE = "wrap_tape"
    FLASHING = "flashing"
    """Self-adhered strips at sills, sides and heads of openings."""
    CORNER_FLASHING = "corner_flashing"
    NAILS = "nails"
    MOUNTING_BLOCKS = "mounting_blocks"
    VENTS = "vents"
    FASCIA_COIL = "fascia_coil"
    CASING_COIL = "casing_coil"
    """Trim coil wrapped round the casings of windows and doors."""
    FURRING = "furring"
    """Strips behind utility trim, so that a ripped or notched panel keeps its slope."""
    STRAPPING = "strapping"
    """Furring strips behind all of the siding."""


@dataclass(frozen=True, slots=True)
class Product:
    """What a need is bought as: so much of it in a pack, in the need's own unit."""

    need: Need
    id: str
    holds: Fraction


class Begin(StrEnum):
    """Where upright panels begin."""

    LEFT = "left"
    """A whole panel in the starter at the left corner; the last one is ripped."""
    BALANCED = "balanced"
    """Equal rips at both corners."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What else walls are covered with than the panel in use: its material, what shows of one, how far its hem reaches.

    How it hangs is its category's; ``begin`` is for upright panels.
    """

    material: str
    exposure: int
    hem: int = 0
    begin: Begin = Begin.LEFT
