"""Every number of the take-off that is a rule of the trade, in one table: value, source, and who says otherwise.

Lengths are ticks. ``NO_SOURCE`` marks common practice for which nothing printed was found; such a number is a
setting like every other.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from solver.lengths import TICKS_PER_INCH

NO_SOURCE = "common practice, no source"
MANUAL = "Polymeric Exteriors Association, installation manual, horizontal siding"
ACCESSORIES = "Polymeric Exteriors Association, installation manual, accessories"
CODE = "International Residential Code, R703.11.1 and R703.3.1"
SOFFIT_CODE = "International Residential Code, R704.2.1"
GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True)
class Rule:
    """One number of the trade: what it is for, its value (ticks if ``length``), who prints it, who prints another."""

    name: str
    value: int
    source: str
    conflicts: str = ""
    length: bool = True


_IN = TICKS_PER_INCH


def _inches(value: str) -> int:
    ticks = Fraction(value) * _IN
    return ticks.numerator // ticks.denominator


POST_DROP = Rule("corner post below the starter strip", _inches("3/4"), ACCESSORIES)
POST_TOP_GAP = Rule("corner post below the soffit", _inches("1/4"), ACCESSORIES)
CUT_OUT_CLEARANCE = Rule(
    "cut-out wider than the opening, at each side", _inches("1/4"), "a housing charity's handbook, cut-outs at windows"
)
HEIGHT_CLEARANCE = Rule("ripped or notched upper edge short of the back of its pocket", _inches("1/4"), NO_SOURCE)
FURRING_FROM = Rule(
    "a notch deeper than this needs furring behind its utility trim", _IN, "a housing charity's handbook, utility trim"
)
LOCK_SPACING = Rule(
    "snap locks punched along a cut edge",
    6 * _IN,
    "Polymeric Exteriors Association, notes on installation; a housing charity's handbook",
    "8 in along a soffit's edge (same association)",
)
LOCK_DOWN = Rule("snap locks below the cut edge", _inches("1/4"), "a housing charity's handbook, cut-outs at windows")
STARTER_GAP = Rule(
    "starter strip short of a post's flange",
    _inches("1/4"),
    "Journal of Light Construction, Durable details for vinyl siding",
    "about 1/8 in (a contractor's page)",
)
STARTER_MAY_HANG = Rule("starter line below the wall's measured bottom, at most", 2 * _IN, NO_SOURCE)
ABOVE_GRADE = Rule("siding above the ground", 6 * _IN, CODE, "150 to 200 mm (Canadian housing handbook)")
ABOVE_FLOOR = Rule("siding above a roof, deck or slab", _inches("1/2"), CODE)
STARTER_MAY_MOVE = Rule("starter line moved to avoid a sliver, at most", 2 * _IN, NO_SOURCE)
SLIVER = Rule("a strip lower than this is a sliver", 2 * _IN, NO_SOURCE)
NAIL_SPACING = Rule("nails along a course", 16 * _IN, CODE, "24 in only where the maker has tests for it (same code)")
POST_NAILS = Rule(
    "nails along posts and trim", 12 * _IN, "8 to 12 in: " + ACCESSORIES, "6 to 12 in (Journal of Light Construction)"
)
UNSUPPORTED_SOFFIT = Rule("soffit without a nailer between its ends, at most", 16 * _IN, SOFFIT_CODE)
SOFFIT_GAP_IN_ALL = Rule(
    "soffit panel under an eave, shorter than wall to subfascia in all",
    _inches("1/4"),
    "Fine Homebuilding, How to install a vinyl soffit",
    "4 mm in all under 1 m (a European maker); 1/4 in at each end on porch ceilings",
)
TWO_PEOPLE_FROM = Rule("a soffit panel this long takes two people", 96 * _IN, NO_SOURCE)
SAME_HEIGHT = Rule("two heights of one edge that differ by more are measured again", _inches("1/8"), NO_SOURCE)
KEEP_CLEAR = Rule(
    "courses under and over an opening without a lap over its width",
    1,
    "a housing charity's handbook and a repair guide: no lap directly above or below windows and doors",
    length=False,
)
EXPANSION = Rule(
    "growth of vinyl, thousandths of a millimetre per metre and degree Celsius",
    80,
    "a European maker of soffit",
    "48 (a Canadian maker: 8 mm in 3 m for 55 degrees)",
    length=False,
)
LARGE_OPENING = Rule("an opening of so many square feet counts as large", 40, NO_SOURCE, length=False)
WASTE = Rule(
    "waste added to an estimate by area, percent",
    10,
    "a maker's guide for large projects; a lumber yard; a housing charity's handbook",
    "10 to 15, 12.5, 20, or two squares in sixteen (estimate sheets and dealers' pages)",
    length=False,
)
FLAT = Rule("an edge that rises less than 1 in so many is ripped along, not cut across", 12, NO_SOURCE, length=False)

TABLE = (
    POST_DROP,
    POST_TOP_GAP,
    CUT_OUT_CLEARANCE,
    HEIGHT_CLEARANCE,
    FURRING_FROM,
    LOCK_SPACING,
    LOCK_DOWN,
    STARTER_GAP,
    STARTER_MAY_HANG,
    STARTER_MAY_MOVE,
    ABOVE_GRADE,
    ABOVE_FLOOR,
    SLIVER,
    NAIL_SPACING,
    POST_NAILS,
    UNSUPPORTED_SOFFIT,
    SOFFIT_GAP_IN_ALL,
    TWO_PEOPLE_FROM,
    SAME_HEIGHT,
    KEEP_CLEAR,
    EXPANSION,
    LARGE_OPENING,
    WASTE,
    FLAT,
)
"""Every rule above; ``cold.ROWS`` holds the gaps and laps by temperature, ``area`` the policies for estimates."""
