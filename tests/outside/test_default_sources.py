"""Every default and every number of the take-off against what is printed about it, by title and publisher.

Where nothing printed was found the table says "common practice, no source": the figure is then held so that nobody
changes it unawares, for every length of trim and soffit hangs on it.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from solver.categories import DEFAULTS, Category, LapEnds
from solver.takeoff import rules, take_off
from solver.takeoff.answer import TakeOff
from solver.takeoff.estimates import openings_off
from solver.takeoff.measured import Ceiling
from solver.takeoff.rules import Deduct, Settings
from tests.scenario import inches
from tests.support.measured_shed import house_of, material, plain_wall, post

HORIZONTAL = "Installation Manual, Horizontal Siding Installation (Polymeric Exteriors Association)"
ACCESSORIES = "Installation Manual, Accessories (Polymeric Exteriors Association)"
SOFFIT_MANUAL = "Installation Manual, Soffit Installation (Polymeric Exteriors Association)"
TRUST = "Trust the Installation Process, Part 2 (Polymeric Exteriors Association)"
METAL_AND_VINYL = "Metal and Vinyl Sidings (oncodes.ca, the text of Canada's housing agency handbook)"
DURABLE = "Durable Details for Vinyl Siding (JLC)"
SOFFIT = "How to Install a Vinyl Soffit (Fine Homebuilding)"
CODE = "International Residential Code (International Code Council)"
HANDBOOK = "a house-building handbook of Habitat for Humanity International"
UPRIGHT = "a maker's installation guide, vertical siding"
NO_SOURCE = "common practice, no source"

PRINTED: dict[tuple[Category, str], tuple[str | int | None, str]] = {
    (Category.SIDING, "lap"): (1, HORIZONTAL),
    (Category.SIDING, "end_gap"): ("0.25", HORIZONTAL),
    (Category.SIDING, "lap_spacing"): (24, METAL_AND_VINYL),
    (Category.SIDING, "shortest_piece"): (24, NO_SOURCE),
    (Category.SIDING, "in_line_within"): (2, NO_SOURCE),
    (Category.SIDING, "keep_offcuts_from"): (36, NO_SOURCE),
    # upright panels run from head to foot in one piece; in all 1/2 in, when it is cold 3/4 in
    (Category.VERTICAL, "lap"): (None, UPRIGHT),
    (Category.VERTICAL, "end_gap"): ("0.25", UPRIGHT),
    (Category.VERTICAL, "keep_offcuts_from"): (36, NO_SOURCE),
    # how short panels join, and how far joints stand apart, is their maker's to say
    (Category.SHAKE, "lap"): (1, NO_SOURCE),
    (Category.SHAKE, "end_gap"): ("0.25", HORIZONTAL),
    (Category.SHAKE, "lap_spacing"): (10, NO_SOURCE),
    (Category.SHAKE, "shortest_piece"): (6, NO_SOURCE),
    (Category.SHAKE, "in_line_within"): (2, NO_SOURCE),
    (Category.SHAKE, "keep_offcuts_from"): (12, NO_SOURCE),
    # faces lap as of panels without foam
    (Category.INSULATED, "lap"): (1, HORIZONTAL),
    (Category.INSULATED, "end_gap"): ("0.25", HORIZONTAL),
    (Category.INSULATED, "lap_spacing"): (24, METAL_AND_VINYL),
    (Category.INSULATED, "shortest_piece"): (24, NO_SOURCE),
    (Category.INSULATED, "in_line_within"): (2, NO_SOURCE),
    (Category.INSULATED, "keep_offcuts_from"): (36, NO_SOURCE),
    # panels run from wall to fascia in one piece
    (Category.SOFFIT, "lap"): (None, SOFFIT_MANUAL),
    # wall to subfascia less about 1/4 in
    (Category.SOFFIT, "end_gap"): ("0.25", SOFFIT),
    (Category.SOFFIT, "keep_offcuts_from"): (36, NO_SOURCE),
    # strips are butted with a gap, and stop short of a corner post by as much
    (Category.STARTER, "lap"): ("-0.25", DURABLE),
    (Category.STARTER, "end_gap"): ("0.25", DURABLE),
    (Category.STARTER, "shortest_piece"): (12, NO_SOURCE),
    (Category.STARTER, "keep_offcuts_from"): (36, NO_SOURCE),
    # the upper post laps the lower
    (Category.POST, "lap"): ("0.75", ACCESSORIES),
    # what a post is short of the soffit is in its measured length
    (Category.POST, "end_gap"): (0, NO_SOURCE),
    (Category.POST, "shortest_piece"): (36, NO_SOURCE),
    (Category.POST, "keep_offcuts_from"): (36, NO_SOURCE),
    (Category.CHANNEL, "lap"): ("0.75", NO_SOURCE),
    (Category.CHANNEL, "end_gap"): (0, NO_SOURCE),
    (Category.CHANNEL, "shortest_piece"): (12, NO_SOURCE),
    (Category.CHANNEL, "keep_offcuts_from"): (24, NO_SOURCE),
    (Category.OTHER, "lap"): (None, NO_SOURCE),
    (Category.OTHER, "end_gap"): (0, NO_SOURCE),
    (Category.OTHER, "keep_offcuts_from"): (24, NO_SOURCE),
}
"""What a category's setting is in inches (None: it may not be lapped), and who prints it."""


@pytest.mark.parametrize(("of", "printed"), PRINTED.items(), ids=[f"{c} {s}" for c, s in PRINTED])
def test_a_default_is_what_is_printed(of: tuple[Category, str], printed: tuple[str | int | None, str]) -> None:
    """A piece is cut longer or shorter by this figure wherever nobody sets another."""
    (category, setting), (value, _) = of, printed
    assert getattr(DEFAULTS[category], setting) == (None if value is None else inches(value))


def test_every_allowance_of_every_category_is_held() -> None:
    """A default that no row above holds could be changed unawares; of some categories there is nothing to hold."""
    unheld = {
        (category, setting)
        for category, settings in DEFAULTS.items()
        for setting in ("lap", "end_gap", "shortest_piece", "lap_spacing", "in_line_within", "keep_offcuts_from")
        if (category, setting) not in PRINTED and getattr(settings, setting)
    }
    assert unheld == set()


def test_snips_take_no_width() -> None:
    """Vinyl is cut with snips or scored and snapped: no kerf, and nothing of any category is sawn by default.

    Common practice, no source; who saws sets the kerf.
    """
    assert {settings.kerf for settings in DEFAULTS.values()} == {0}


def test_only_level_siding_asks_for_factory_ends() -> None:
    """The lap is half the factory notch (the association's manual, horizontal siding); trim and soffit have none."""
    asking = {category for category, settings in DEFAULTS.items() if settings.lap_ends is LapEnds.FACTORY}
    assert asking == {Category.SIDING, Category.SHAKE, Category.INSULATED}


RULES: list[tuple[rules.Rule, str | int, str]] = [
    (rules.POST_DROP, "0.75", ACCESSORIES),
    (rules.POST_TOP_GAP, "0.25", ACCESSORIES),
    (rules.CUT_OUT_CLEARANCE, "0.25", HANDBOOK),
    (rules.HEIGHT_CLEARANCE, "0.25", NO_SOURCE),
    (rules.TRIM_GAP, "0.25", NO_SOURCE),
    (rules.FURRING_FROM, 1, HANDBOOK),
    (rules.LOCK_SPACING, 6, f"{TRUST}; {HANDBOOK}"),
    (rules.LOCK_DOWN, "0.25", HANDBOOK),
    (rules.STARTER_GAP, "0.25", DURABLE),
    (rules.ABOVE_GRADE, 6, f"{CODE}, R703.3.1"),
    (rules.ABOVE_FLOOR, "0.5", f"{CODE}, R703.3.1"),
    (rules.NAIL_SPACING, 16, f"{CODE}, R703.11.1"),
    # every 16 in along level panels, 12 in along upright ones
    (rules.UPRIGHT_NAILS, 12, f"{CODE}, R703.11.1"),
    # posts and accessories every 8 to 12 in; the widest of it is counted with
    (rules.POST_NAILS, 12, ACCESSORIES),
    (rules.UNSUPPORTED_SOFFIT, 16, f"{CODE}, R704.2.1"),
    (rules.SOFFIT_GAP_IN_ALL, "0.25", SOFFIT),
    (rules.TWO_PEOPLE_FROM, 96, NO_SOURCE),
    (rules.SAME_HEIGHT, "0.125", NO_SOURCE),
    (rules.SLIVER, 2, NO_SOURCE),
    (rules.STARTER_MAY_HANG, 2, NO_SOURCE),
    (rules.STARTER_MAY_MOVE, 2, NO_SOURCE),
    (rules.WRAP_WIDTH, 108, NO_SOURCE),
    # joints of the water barrier are lapped 6 in; from memory
    (rules.WRAP_LAP, 6, f"{CODE}, R703.2"),
    (rules.FLASHING_TURN, 6, NO_SOURCE),
    (rules.CORNER_FLASHING, 10, ACCESSORIES),
    (rules.COIL_WIDTH, 24, NO_SOURCE),
    (rules.FASCIA_GIRTH, 8, NO_SOURCE),
    (rules.CASING_GIRTH, 6, NO_SOURCE),
]
"""The take-off's lengths in inches, and who prints them."""
PLAIN_NUMBERS: list[tuple[rules.Rule, int, str]] = [
    (rules.KEEP_CLEAR, 1, f"no lap directly above or below: {HANDBOOK}; Installing Vinyl Siding (yourepair.com)"),
    (rules.EXPANSION, 80, "PVC Soffit, Assembling (a European maker): 0.08 mm per metre and degree"),
    (rules.LARGE_OPENING, 40, NO_SOURCE),
    (rules.WASTE, 10, f"{HANDBOOK}, page How to Order Vinyl Siding"),
    (rules.FLAT, 12, NO_SOURCE),
    (rules.WRAP_PERCENT, 10, NO_SOURCE),
    # pi / 4 x 0.12^2 x 1.75 + pi / 4 x 0.3125^2 x 0.03 = 0.0221 cu in of steel at 0.284 lb: 159
    (rules.NAILS_TO_THE_POUND, 160, "geometry of a nail with a shank of 0.120 in (" + CODE + ", R703.11.1)"),
]
"""The take-off's other numbers."""


@pytest.mark.parametrize(("rule", "value", "source"), RULES, ids=[rule.name for rule, *_ in RULES])
def test_a_length_of_the_take_off_is_what_is_printed(rule: rules.Rule, value: str | int, source: str) -> None:
    """Notes on the sheet and every trim length carry it; where no source is printed, the answer says so."""
    assert (rule.value, rule.length) == (inches(value), True)
    assert (rule.source == rules.NO_SOURCE) == (source == NO_SOURCE)


@pytest.mark.parametrize(("rule", "value", "source"), PLAIN_NUMBERS, ids=[rule.name for rule, *_ in PLAIN_NUMBERS])
def test_another_number_of_the_take_off_is_what_is_printed(rule: rules.Rule, value: int, source: str) -> None:
    """As above, for courses, square feet and percent."""
    assert (rule.value, rule.length) == (value, False)
    assert (rule.source == rules.NO_SOURCE) == (source == NO_SOURCE)


def test_every_rule_is_held() -> None:
    """The answer lists each rule with its source: one that nothing here holds could say anything."""
    assert {rule for rule, *_ in (*RULES, *PLAIN_NUMBERS)} == set(rules.TABLE)


def test_a_garage_door_is_large_and_an_entrance_door_is_not() -> None:
    """Who deducts large openings means garage doors (How to Measure for Vinyl Siding, pjfitz.com).

    9 x 7 ft comes off, 3 x 7 ft does not; where between 21 and 63 sq ft the line lies is common practice, no source.
    """
    off = openings_off([Fraction(63), Fraction(21)], Deduct.LARGE, Settings().large)
    assert off == 63


def test_nails_along_posts_and_trim() -> None:
    """Every 12 in (the association's manual, accessories: 8 to 12) and one more: too few drawn, and the crew stops.

    20 ft of wall between two posts: starter 237 1/2 in, 20 + 1; utility 238 1/2 in, 20 + 1; posts 96 1/2 in, 9 + 1 for
    each of their two flanges.
    """
    figures = {f.name: f.value for f in take_off(house_of(plain_wall(left=post("a"), right=post("b")))).figures}
    assert figures["nails for trim"] == 21 + 21 + 2 * 2 * 10


def _ceiling(width: str, stick: float = 192, **changes: object) -> TakeOff:
    """Return the take-off of a ceiling 20 ft long whose panels span ``width`` inches, sold in one length."""
    ceiling = replace(Ceiling("lean-to", inches(240), inches(width)), **changes)  # type: ignore[arg-type]
    kept = [m for m in house_of().materials if m.id != "soffit"]
    return take_off(house_of(ceilings=(ceiling,), materials=(*kept, material("soffit", Category.SOFFIT, stick))))


@pytest.mark.parametrize(("width", "told"), [("95.75", 0), ("96", 1)])
def test_a_panel_of_eight_feet_takes_two_people(width: str, told: int) -> None:
    """From 8 ft on a crew of one is warned before it climbs (common practice, no source)."""
    assert sum(n.code == "two_people" for n in _ceiling(width).notices) == told
