"""The words for what a house needs besides panels and trim, and for what it is bought as."""

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
