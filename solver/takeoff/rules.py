"""Every number of the take-off that is a rule of the trade, and the settings that a person may put in its place.

Each rule has its value, its source, and who says otherwise. Lengths are ticks. ``NO_SOURCE`` marks common practice
for which nothing printed was found; such a number is a setting like every other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import Any

from solver.lengths import TICKS_PER_INCH, Unit, in_unit, say, told

NO_SOURCE = "common practice, no source"
MANUAL = "Polymeric Exteriors Association, installation manual, horizontal siding"
ACCESSORIES = "Polymeric Exteriors Association, installation manual, accessories"
CODE = "International Residential Code, R703.11.1 and R703.3.1"
SOFFIT_CODE = "International Residential Code, R704.2.1"
GEOMETRY = "geometry"
WRAP_CODE = "International Residential Code, R703.2, joints; from memory"


SQUARE_METRES = Fraction(9290304, 100_000_000)
"""Square metres in a square foot, exactly."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One number of the trade: what it is for, its value (ticks if ``length``), who prints it, who prints another.

    An ``area`` is in square feet, in a metric job in square metres. A length in braces in its words is told in the
    job's own units.
    """

    name: str
    value: int
    source: str
    conflicts: str = ""
    length: bool = True
    area: bool = False

    def said(self, value: int | Fraction, unit: Unit) -> str:
        """Return a value of it as a person would say it."""
        number = say(int(value), unit) if self.length else f"{float(value):g}"
        return f"{number} {'m2' if unit.metric else 'sq ft'}" if self.area else number

    def in_job(self, unit: Unit) -> int:
        """Return its length as a tape in the unit shows it, in ticks."""
        return in_unit(self.value, unit)

    def used(self, value: int | Fraction, unit: Unit, source: str) -> UsedRule:
        """Return it with the value that a job uses, and where that is from."""
        return UsedRule(self.name, self.said(value, unit), source, told(self.conflicts, unit))


@dataclass(frozen=True, slots=True)
class UsedRule:
    """A rule as a job uses it: its name, its value in words, where that is from, and who prints another."""

    name: str
    value: str
    source: str
    conflicts: str


_IN = TICKS_PER_INCH


def _inches(value: str) -> int:
    ticks = Fraction(value) * _IN
    return ticks.numerator // ticks.denominator


POST_DROP = Rule("corner post below the starter strip", _inches("3/4"), ACCESSORIES)
POST_TOP_GAP = Rule("corner post below the soffit", _inches("1/4"), ACCESSORIES)
CUT_OUT_CLEARANCE = Rule(
    "cut-out wider than the opening, at each side", _inches("1/4"), "a housing charity's handbook, cut-outs at windows"
)
HEIGHT_CLEARANCE = Rule(
    "ripped or notched edge short of the back of its pocket: tops, sills, heads", _inches("1/4"), NO_SOURCE
)
TRIM_GAP = Rule("utility trim and floor channel short of a pocket, at each end", _inches("1/4"), NO_SOURCE)
FURRING_FROM = Rule(
    "a notch deeper than this needs furring behind its utility trim", _IN, "a housing charity's handbook, utility trim"
)
LOCK_SPACING = Rule(
    "snap locks punched along a cut edge",
    6 * _IN,
    "Polymeric Exteriors Association, notes on installation; a housing charity's handbook",
    "{8 in} along a soffit's edge (same association)",
)
LOCK_DOWN = Rule("snap locks below the cut edge", _inches("1/4"), "a housing charity's handbook, cut-outs at windows")
STARTER_GAP = Rule(
    "starter strip short of a post's flange",
    _inches("1/4"),
    "Journal of Light Construction, Durable details for vinyl siding",
    "about {1/8 in} (a contractor's page)",
)
STARTER_MAY_HANG = Rule("starter line below the wall's measured bottom, at most", 2 * _IN, NO_SOURCE)
ABOVE_GRADE = Rule("siding above the ground", 6 * _IN, CODE, "150 to 200 mm (Canadian housing handbook)")
ABOVE_FLOOR = Rule("siding above a roof, deck or slab", _inches("1/2"), CODE)
STARTER_MAY_MOVE = Rule("starter line moved to avoid a sliver, at most", 2 * _IN, NO_SOURCE)
SLIVER = Rule("a strip lower than this is a sliver", 2 * _IN, NO_SOURCE)
NAIL_SPACING = Rule("nails along a course", 16 * _IN, CODE, "{24 in} only where the maker has tests for it (same code)")
UPRIGHT_NAILS = Rule("nails along an upright panel", 12 * _IN, CODE)
POST_NAILS = Rule(
    "nails along posts and trim", 12 * _IN,
    "{8} to {12 in}: " + ACCESSORIES,
    "{6} to {12 in} (Journal of Light Construction)",
)  # fmt: skip
UNSUPPORTED_SOFFIT = Rule("soffit without a nailer between its ends, at most", 16 * _IN, SOFFIT_CODE)
SOFFIT_GAP_IN_ALL = Rule(
    "soffit panel under an eave, shorter than wall to subfascia in all",
    _inches("1/4"),
    "Fine Homebuilding, How to install a vinyl soffit",
    "4 mm in all under 1 m (a European maker); {1/4 in} at each end on porch ceilings",
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
LARGE_OPENING = Rule("an opening from this area on counts as large", 40, NO_SOURCE, length=False, area=True)
LARGE_METRIC = Fraction(4)
"""Square metres from which an opening counts as large in a metric job: common practice, no source."""
WRAP_PERCENT = Rule("house wrap added for its laps, percent", 10, NO_SOURCE, length=False)
WRAP_WIDTH = Rule("width of a roll of house wrap", 9 * 12 * _IN, NO_SOURCE)
WRAP_LAP = Rule("house wrap laps over the row below and at joints", 6 * _IN, WRAP_CODE)
FLASHING_TURN = Rule("flashing beyond a sill or head, at each end", 6 * _IN, NO_SOURCE)
CORNER_FLASHING = Rule("flashing behind a corner post, to each side", 10 * _IN, ACCESSORIES)
NAILS_TO_THE_POUND = Rule("nails to the pound, in a metric job to the kilogram", 160, GEOMETRY, length=False)
NAILS_TO_THE_KILOGRAM = 350
COIL_WIDTH = Rule("width of trim coil", 24 * _IN, NO_SOURCE)
FASCIA_GIRTH = Rule("strip of coil over a fascia, flat", 8 * _IN, NO_SOURCE)
CASING_GIRTH = Rule("strip of coil round the casing of an opening, flat", 6 * _IN, NO_SOURCE)
WASTE = Rule(
    "waste added to an estimate by area, percent",
    10,
    "a maker's guide for large projects; a lumber yard; a housing charity's handbook",
    "10 to 15, 12.5, 20, or two squares in sixteen (estimate sheets and dealers' pages)",
    length=False,
)
FLAT = Rule(
    "an edge that rises less than one part in so many is ripped along, not cut across", 12, NO_SOURCE, length=False
)

TABLE = (
    POST_DROP,
    POST_TOP_GAP,
    CUT_OUT_CLEARANCE,
    HEIGHT_CLEARANCE,
    TRIM_GAP,
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
    UPRIGHT_NAILS,
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
    WRAP_PERCENT,
    WRAP_WIDTH,
    WRAP_LAP,
    FLASHING_TURN,
    CORNER_FLASHING,
    NAILS_TO_THE_POUND,
    COIL_WIDTH,
    FASCIA_GIRTH,
    CASING_GIRTH,
)
"""Every rule above; ``cold.gap_rules`` yields the gaps and laps by temperature, ``estimates`` the policies by area."""


class Corners(StrEnum):
    """How channel turns the corner of an opening."""

    MITRED = "mitred"
    SQUARE = "square"


class Deduct(StrEnum):
    """Which openings the estimate by area takes off."""

    ALL = "all"
    LARGE = "large"
    HALF = "half"
    NONE = "none"


class Waste(StrEnum):
    """How the estimate by area adds for waste; the plan by pieces does not use it."""

    MULTIPLY = "multiply"
    DIVIDE = "divide"


class GableRule(StrEnum):
    """How the estimate by area counts a gable of width b and height h."""

    EXACT = "exact"
    FOOT = "foot"
    THREE_QUARTERS = "three_quarters"
    THIRD = "third"
    FIFTH = "fifth"


@dataclass(frozen=True, slots=True)
class Settings:
    """Clearances and spacings in ticks, policies by name.

    ``keep_clear`` is so many courses under and over an opening where no lap may fall; ``large`` is in square feet, in a
    metric job in square metres; ``nails_to_weight`` are to the pound or the kilogram. ``strapping`` is the spacing of
    furring strips behind all of the siding, None where there are none. ``temperature`` is in degrees Fahrenheit,
    ``cold`` overrides it. ``warmer_by`` degrees Celsius still to come at ``expansion`` thousandths of a mm per metre
    and degree replaces ``eave_gap`` under eaves over 1 m.
    """

    cut_out_clearance: int = CUT_OUT_CLEARANCE.value
    height_clearance: int = HEIGHT_CLEARANCE.value
    sliver: int = SLIVER.value
    keep_clear: int = KEEP_CLEAR.value
    corners: Corners = Corners.MITRED
    above_floor: int = ABOVE_FLOOR.value
    above_grade: int = ABOVE_GRADE.value
    nail_spacing: int = NAIL_SPACING.value
    trim_nail_spacing: int = POST_NAILS.value
    soffit_span: int = UNSUPPORTED_SOFFIT.value
    eave_gap: int = SOFFIT_GAP_IN_ALL.value
    warmer_by: Fraction | None = None
    expansion: int = EXPANSION.value
    vented: Fraction = Fraction(0)
    deduct: Deduct = Deduct.ALL
    large: Fraction = Fraction(LARGE_OPENING.value)
    gable: GableRule = GableRule.EXACT
    waste: Waste = Waste.MULTIPLY
    waste_percent: Fraction = Fraction(WASTE.value)
    temperature: Fraction | None = None
    cold: bool | None = None
    wrap_percent: Fraction = Fraction(WRAP_PERCENT.value)
    wrap_width: int = WRAP_WIDTH.value
    nails_to_weight: int = NAILS_TO_THE_POUND.value
    coil_width: int = COIL_WIDTH.value
    fascia_girth: int = FASCIA_GIRTH.value
    casing_girth: int = CASING_GIRTH.value
    strapping: int | None = None


_OF_RULE = {
    CUT_OUT_CLEARANCE: "cut_out_clearance",
    HEIGHT_CLEARANCE: "height_clearance",
    SLIVER: "sliver",
    KEEP_CLEAR: "keep_clear",
    ABOVE_FLOOR: "above_floor",
    ABOVE_GRADE: "above_grade",
    NAIL_SPACING: "nail_spacing",
    POST_NAILS: "trim_nail_spacing",
    UNSUPPORTED_SOFFIT: "soffit_span",
    SOFFIT_GAP_IN_ALL: "eave_gap",
    LARGE_OPENING: "large",
    EXPANSION: "expansion",
    WASTE: "waste_percent",
    WRAP_PERCENT: "wrap_percent",
    WRAP_WIDTH: "wrap_width",
    NAILS_TO_THE_POUND: "nails_to_weight",
    COIL_WIDTH: "coil_width",
    FASCIA_GIRTH: "fascia_girth",
    CASING_GIRTH: "casing_girth",
}
"""The setting that each rule gives a value unless it is asked for otherwise."""


def settings_for(unit: Unit) -> Settings:
    """Return the settings of a job that asks for none: in a metric one, lengths are whole millimetres."""
    usual = Settings()
    values: dict[str, Any] = {n: in_unit(getattr(usual, n), unit) for rule, n in _OF_RULE.items() if rule.length}
    values |= {"large": LARGE_METRIC, "nails_to_weight": NAILS_TO_THE_KILOGRAM} if unit.metric else {}
    return replace(usual, **values)


WHOLE = "to a whole millimetre"


def rules_used(settings: Settings, unit: Unit) -> Iterator[UsedRule]:
    """Yield every rule of the trade with the value used; one that was asked for otherwise says so as its source."""
    metric = settings_for(unit)
    for rule in TABLE:
        name = _OF_RULE.get(rule)
        usual = getattr(metric, name) if name else in_unit(rule.value, unit) if rule.length else rule.value
        used = getattr(settings, name) if name else usual
        rounded = f"; {WHOLE}" if rule.length and usual != rule.value else ""
        source = told(rule.source, unit) + rounded if used == usual else "as asked for"
        yield rule.used(used, unit, source)
