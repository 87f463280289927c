"""The settings of a take-off, each a number or policy that a person may replace; ``rules`` has the sources."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
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
    ``expansion`` thousandths of a mm per metre and degree replaces ``eave_gap`` under eaves over 1 m.
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
    expansion: int = rules.EXPANSION.value
    vented: Fraction = Fraction(0)
    deduct: Deduct = Deduct.ALL
    large: int = rules.LARGE_OPENING.value
    gable: GableRule = GableRule.EXACT
    waste: Waste = Waste.MULTIPLY
    waste_percent: Fraction = Fraction(rules.WASTE.value)
    temperature: Fraction | None = None
    cold: bool | None = None


_OF_RULE = {
    rules.CUT_OUT_CLEARANCE: "cut_out_clearance",
    rules.HEIGHT_CLEARANCE: "height_clearance",
    rules.SLIVER: "sliver",
    rules.KEEP_CLEAR: "keep_clear",
    rules.ABOVE_FLOOR: "above_floor",
    rules.ABOVE_GRADE: "above_grade",
    rules.NAIL_SPACING: "nail_spacing",
    rules.POST_NAILS: "trim_nail_spacing",
    rules.UNSUPPORTED_SOFFIT: "soffit_span",
    rules.SOFFIT_GAP_IN_ALL: "eave_gap",
    rules.LARGE_OPENING: "large",
    rules.EXPANSION: "expansion",
    rules.WASTE: "waste_percent",
}
"""The setting that each rule gives a value unless it is asked for otherwise."""


def rules_used(settings: Settings) -> Iterator[rules.Rule]:
    """Yield every rule of the trade with the value used; one that was asked for otherwise says so as its source."""
    for rule in rules.TABLE:
        used = getattr(settings, _OF_RULE[rule]) if rule in _OF_RULE else rule.value
        yield rule if used == rule.value else replace(rule, value=used, source="as asked for")
