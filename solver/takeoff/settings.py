"""The settings of a take-off, each a number or policy that a person may replace; ``rules`` has the sources."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from solver.takeoff import rules


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

    ``keep_clear`` is so many courses under and over an opening where no lap may fall; ``large`` is in square feet;
    ``temperature`` is in degrees Fahrenheit, ``cold`` overrides it. ``warmer_by`` degrees Celsius still to come at
    ``expansion`` mm per metre and degree replaces ``eave_gap`` under eaves over 1 m.
    """

    cut_out_clearance: int = rules.CUT_OUT_CLEARANCE.value
    height_clearance: int = rules.HEIGHT_CLEARANCE.value
    sliver: int = rules.SLIVER.value
    keep_clear: int = rules.KEEP_CLEAR.value
    corners: Corners = Corners.MITRED
    above_floor: int = rules.ABOVE_FLOOR.value
    above_grade: int = rules.ABOVE_GRADE.value
    nail_spacing: int = rules.NAIL_SPACING.value
    trim_nail_spacing: int = rules.POST_NAILS.value
    soffit_span: int = rules.UNSUPPORTED_SOFFIT.value
    eave_gap: int = rules.SOFFIT_GAP_IN_ALL.value
    warmer_by: Fraction | None = None
    expansion: Fraction = Fraction(rules.EXPANSION.value, 1000)
    vented: Fraction = Fraction(0)
    deduct: Deduct = Deduct.ALL
    large: int = rules.LARGE_OPENING.value
    gable: GableRule = GableRule.EXACT
    waste: Waste = Waste.MULTIPLY
    waste_percent: Fraction = Fraction(rules.WASTE.value)
    temperature: Fraction | None = None
    cold: bool | None = None


RULES_OF = {
    "cut_out_clearance": rules.CUT_OUT_CLEARANCE,
    "height_clearance": rules.HEIGHT_CLEARANCE,
    "sliver": rules.SLIVER,
    "keep_clear": rules.KEEP_CLEAR,
    "above_floor": rules.ABOVE_FLOOR,
    "above_grade": rules.ABOVE_GRADE,
    "nail_spacing": rules.NAIL_SPACING,
    "trim_nail_spacing": rules.POST_NAILS,
    "soffit_span": rules.UNSUPPORTED_SOFFIT,
    "eave_gap": rules.SOFFIT_GAP_IN_ALL,
    "large": rules.LARGE_OPENING,
}
"""The rule whose value each setting takes by default."""
