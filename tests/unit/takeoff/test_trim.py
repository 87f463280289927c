"""Trim and ceilings: starter, channel, utility trim, posts, drip cap, soffit; each length with its arithmetic."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from solver.lengths import Unit, say
from solver.required import Meets
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Along, Border, Eave, EaveCorner, LastPanel, Meeting, OpeningKind, Role
from solver.takeoff.rules import Corners, Settings
from tests.scenario import inches
from tests.support.measured_shed import (
    DOOR,
    LAMP,
    LEAN_TO,
    MATERIALS,
    WINDOW,
    house_of,
    material,
    plain_wall,
    post,
    shed,
)


def lengths_of(found: TakeOff, role: Role) -> list[tuple[str, int, str]]:
    """Return place, quantity and length of every piece of a role."""
    return [(p.place, p.quantity, say(p.length, Unit.IN)) for p in found.trim if p.role is role]


def test_starter_runs_between_the_posts_flanges() -> None:
    """240 in less two flanges of 1 1/4 in; the plan takes 1/4 in more off each end, and the strip is butted."""
    found = take_off(house_of(plain_wall(left=post("a"), right=post("b"))))
    assert lengths_of(found, Role.STARTER) == [("north: starter", 1, "19'-9 1/2\"")]
    (item,) = [r for r in found.required if r.material == "starter"]
    assert item.left_end.meets is item.right_end.meets is Meets.CHANNEL


def test_channel_around_a_window_is_longer_by_its_mitres() -> None:
    """34 x 45 in, face 3/4 in: sill and head 35 1/2, sides 46 1/2; from below, as it goes up."""
    found = take_off(house_of(plain_wall(240, 96, WINDOW, left=post("a"), right=post("b"))))
    assert lengths_of(found, Role.CHANNEL) == [
        ("north, window W: sill", 1, '35 1/2"'),
        ("north, window W: side", 2, "3'-10 1/2\""),
        ("north, window W: head", 1, '35 1/2"'),
    ]


def test_channel_around_a_door_has_no_sill() -> None:
    """64 x 83 in: head two faces longer, sides one."""
    found = take_off(house_of(plain_wall(240, 96, DOOR, left=post("a"), right=post("b"))))
    assert lengths_of(found, Role.CHANNEL) == [
        ("north, door D: side", 2, "6'-11 3/4\""),
        ("north, door D: head", 1, "5'-5 1/2\""),
    ]


def test_square_corners_add_nothing() -> None:
    """As long as the opening; no face is needed then."""
    wall = plain_wall(240, 96, WINDOW, left=post("a"), right=post("b"))
    found = take_off(house_of(wall, settings=Settings(corners=Corners.SQUARE), face=None))
    assert [length for _, _, length in lengths_of(found, Role.CHANNEL)] == ['34"', "3'-9\"", '34"']


def test_an_opening_with_its_own_pocket_needs_no_channel() -> None:
    """A mounting block brings its own."""
    found = take_off(house_of(plain_wall(240, 96, LAMP, left=post("a"), right=post("b"))))
    assert lengths_of(found, Role.CHANNEL) == []


def test_ends_in_a_channel_have_one_each() -> None:
    """An inside corner of two channels: each wall brings its own; masonry likewise."""
    found = take_off(house_of(plain_wall(right=Border(Meeting.MASONRY))))
    assert lengths_of(found, Role.CHANNEL) == [
        ("north: the right end", 1, "8'-0\""),
        ("north: the left end", 1, "8'-0\""),
    ]


def test_utility_trim_at_the_top_and_under_sills() -> None:
    """Along the top less 1/4 in at each end, under the window as wide as its notch, not under the door; drip caps."""
    found = take_off(house_of(plain_wall(240, 96, DOOR, WINDOW)))
    assert lengths_of(found, Role.UTILITY) == [
        ("north: the top", 1, "19'-11 1/2\""),
        ("north, window W: under the sill", 1, '34 1/2"'),
    ]
    assert [length for _, _, length in lengths_of(found, Role.DRIP_CAP)] == ["5'-4\"", '34"']


def test_posts_that_must_be_spliced_are_said() -> None:
    """A corner 23 ft high is longer than a 20 ft post."""
    notices = take_off(house_of(plain_wall(240, 276, left=post("a")))).notices
    assert [n.code for n in notices if n.code == "post_spliced"] == ["post_spliced"]


def test_what_has_no_material_is_listed_and_not_planned() -> None:
    """Without a drip cap among the materials its length stays on the list, and a notice says so."""
    house = house_of(plain_wall(240, 96, DOOR))
    found = take_off(
        replace(house, uses={role: name for role, name in house.uses.items() if role is not Role.DRIP_CAP})
    )
    assert lengths_of(found, Role.DRIP_CAP)
    assert not [r for r in found.required if r.material == "drip-cap"]
    assert [n.detail for n in found.notices if n.code == "no_material"] == [
        "no material is used as drip cap: its pieces are listed, but not planned"
    ]


def ceiling(**changes: object) -> TakeOff:
    """Return the take-off of the lean-to's ceiling, 21 ft by 7'-10", with panels across its width."""
    return take_off(house_of(ceilings=(replace(LEAN_TO, **changes),)))  # type: ignore[arg-type]


def test_panels_across_a_ceiling() -> None:
    """21 ft at 12 in a panel: 21 panels of 7'-10" between channels, which the plan cuts 1/2 in shorter."""
    (row,) = ceiling().soffits
    assert (row.quantity, row.span, row.parts) == (21, inches(94), 1)
    assert row.figures[0].text == "7'-10\" between the walls = 7'-10\""
    assert [end.meets for end in row.ends] == [Meets.CHANNEL, Meets.CHANNEL]


def test_the_last_panel_is_ripped() -> None:
    """100 in at 12 in: nine panels, the last 4 in to the back of its pocket; or the first and last 8 in.

    Less 1/4 in, as a ripped edge of siding (common practice, no source).
    """
    figures = {f.name: f for f in ceiling(length=inches(100)).soffits[0].figures}
    assert (figures["soffit panels"].value, figures["last panel ripped to"].value) == (9, inches("3.75"))
    both = {f.name: f for f in ceiling(length=inches(100), last=LastPanel.BOTH).soffits[0].figures}
    assert (both["soffit panels"].value, both["first and last panel ripped to"].value) == (9, inches("7.75"))


def test_a_last_panel_that_would_lie_in_the_clearance_is_none() -> None:
    """96 1/8 in at 12 in: eight panels end 1/8 in short of the back of the pocket, within its 1/4 in."""
    (row,) = ceiling(length=inches("96.125")).soffits
    assert (row.quantity, row.ripped) == (8, 0)


def test_the_last_panel_of_an_eave_is_ripped() -> None:
    """100 in at 12 in, ending square at both: nine, the last 4 - 1/4 = 3 3/4 in; with a mitre it runs on, whole."""
    (row,) = take_off(house_of(eaves=(Eave("rear", inches(100), inches(16)),))).soffits
    assert (row.quantity, row.ripped, row.ripped_to) == (9, 1, inches("3.75"))
    mitred = Eave("rear", inches(100), inches(16), left=EaveCorner.MITRED)
    assert take_off(house_of(eaves=(mitred,))).soffits[0].ripped == 0


def test_a_long_span_is_divided_by_back_to_back_channel() -> None:
    """Along 21 ft with 16 ft sticks: two parts of 126 in, so 2 x 8 panels and two channels across the ceiling."""
    found = ceiling(panels=Along.LENGTH)
    (row,) = found.soffits
    assert (row.parts, row.quantity, row.span) == (2, 16, inches(126))
    assert ("ceiling lean-to: back to back where the span is divided", 2, "7'-10\"") in lengths_of(
        found, Role.SOFFIT_CHANNEL
    )
    assert "back-to-back channel" in row.figures[0].text


def test_a_divider_takes_its_width() -> None:
    """2 in between the pockets: two parts of 125 in."""
    (row,) = ceiling(panels=Along.LENGTH, divider=inches(2)).soffits
    assert (row.parts, row.span) == (2, inches(125))


@pytest.mark.parametrize(("length", "parts"), [(385, 2), ("385.25", 3)])
def test_a_divided_span_has_a_gap_at_both_ends_of_each_part(length: float, parts: int) -> None:
    """Two panels of 192 in and 1/4 in of gap at all four ends reach 385 in; a third row of panels only beyond.

    Counted with one gap a part, spans from 384 1/2 to 385 in would be given half as many panels again.
    """
    (row,) = ceiling(panels=Along.LENGTH, length=inches(length)).soffits
    assert row.parts == parts


@pytest.mark.parametrize(("length", "panels"), [(300, 9), (288, 8), (276, 8), (264, 8), (252, 7)])
def test_vented_panels_are_never_fewer_than_their_share(length: int, panels: int) -> None:
    """A third of 25 panels is 8 1/3, so nine are vented; of 24, 23 and 22 eight, of 21 seven (geometry).

    The share is a least: one vented panel short, and the roof space is short of air.
    """
    settings = Settings(vented=Fraction(1, 3))
    (row,) = take_off(house_of(ceilings=(replace(LEAN_TO, length=inches(length)),), settings=settings)).soffits
    assert {f.name: f.value for f in row.figures}["vented panels"] == panels


SPAN = (
    "ceiling lean-to: 5 nailer lines are needed and 0 are there; "
    'soffit may span 16" (International Residential Code, R704.2.1)'
)


def test_a_span_without_support_is_named() -> None:
    """94 in are six spans of at most 16 in (residential code): five lines of nailers; with them nothing is said."""
    notices = [n.detail for n in ceiling().notices if n.code == "soffit_unsupported"]
    assert notices == [SPAN]
    assert not [n for n in ceiling(nailers=5).notices if n.code == "soffit_unsupported"]


def test_long_panels_take_two_people() -> None:
    """8'-10" is over 8 ft (common practice, no source); 7'-10" is not."""
    assert [n.code for n in ceiling(width=inches(106)).notices if n.code == "two_people"] == ["two_people"]
    assert not [n for n in ceiling().notices if n.code == "two_people"]


def test_vented_panels_by_share() -> None:
    """One in three of 21 is 7 (a European maker); they come from their own material where there is one."""
    vented = material("soffit-vented", MATERIALS[Role.SOFFIT].category, 192)
    house = house_of(ceilings=(LEAN_TO,), settings=Settings(vented=Fraction(1, 3)))
    house = replace(
        house, materials=(*house.materials, vented), uses={**house.uses, Role.SOFFIT_VENTED: "soffit-vented"}
    )
    counts = {r.material: r.quantity for r in take_off(house).required if r.mark.startswith("C")}
    assert counts == {"soffit": 14, "soffit-vented": 7}


def test_channel_goes_round_the_ceiling() -> None:
    """Two along its length, two along its width."""
    assert lengths_of(ceiling(), Role.SOFFIT_CHANNEL) == [
        ("ceiling lean-to: along its length", 2, "21'-0\""),
        ("ceiling lean-to: along its width", 2, "7'-10\""),
    ]


def eave(left: EaveCorner = EaveCorner.NONE, right: EaveCorner = EaveCorner.NONE) -> TakeOff:
    """Return the take-off of a 20 ft eave that overhangs 16 in."""
    return take_off(house_of(eaves=(Eave("rear", inches(240), inches(16), left, right),)))


def test_panels_along_an_eave() -> None:
    """20 panels of 16 in less 1/4 in in all; channel along the wall, fascia cover along the eave."""
    found = eave()
    assert [(row.quantity, row.span) for row in found.soffits] == [(20, inches("15.75"))]
    assert lengths_of(found, Role.SOFFIT_CHANNEL) == [("eave rear: along the wall", 1, "20'-0\"")]
    assert lengths_of(found, Role.FASCIA) == [("eave rear: fascia", 1, "20'-0\"")]


def test_a_square_corner_carries_the_eave_on() -> None:
    """16 in further: 22 panels."""
    assert [row.quantity for row in eave(right=EaveCorner.SQUARE).soffits] == [22]


def test_a_mitred_corner_cuts_panels_at_45_degrees() -> None:
    """Beyond the 20 whole ones two are cut off: long edges 15 3/4 and 3 3/4 in; channel 16 in x root of 2, twice."""
    found = eave(left=EaveCorner.MITRED)
    assert [(row.quantity, say(row.span, Unit.IN)) for row in found.soffits] == [
        (20, '15 3/4"'),
        (1, '15 3/4"'),
        (1, '3 3/4"'),
    ]
    assert ("eaves, outside corners without a name: mitre", 2, '22 11/16"') in lengths_of(found, Role.SOFFIT_CHANNEL)
    assert found.soffits[1].ends[0].slope is not None


def test_nails_by_spacing() -> None:
    """Eleven runs of 20 ft at 16 in: 15 spacings and one more, 176; 24 in takes 11 each. The ripped top has none."""
    nails = {f.name: f.value for f in take_off(house_of(plain_wall())).figures}
    assert nails["nails for panels"] == 176
    wide = {
        f.name: f.value for f in take_off(house_of(plain_wall(), settings=Settings(nail_spacing=inches(24)))).figures
    }
    assert wide["nails for panels"] == 121


def test_trim_without_a_lap_is_butted() -> None:
    """Drip cap over a 20 ft opening from 10 ft 1/2 in sticks: two parts of 10 ft, and that is said."""
    wide = replace(DOOR, left=inches(10), width=inches(241))
    drip = material("drip-cap", MATERIALS[Role.DRIP_CAP].category, 120.5)
    house = house_of(plain_wall(300, 96, wide))
    found = take_off(replace(house, materials=(*(m for m in house.materials if m.id != "drip-cap"), drip)))
    (item,) = [r for r in found.required if r.material == "drip-cap"]
    assert (item.quantity, item.length) == (2, inches("120.5"))
    assert [n.code for n in found.notices if n.code == "butted"] == ["butted"]


def test_pieces_by_length_are_a_floor_for_the_plan() -> None:
    """Twelve runs cut 239 1/2 in: 2,874 in of pieces, at least 20 panels of 150; by area 22, waste in it."""
    figures = {f.name: f.value for f in take_off(house_of(plain_wall())).figures}
    assert (figures["panels of 150 by length"], figures["panels of 150 by area"]) == (20, 22)


def test_the_shed_comes_out_whole() -> None:
    """Two walls, a door, a window, three fixtures, a ceiling: every wall, opening and ceiling has its pieces."""
    found = take_off(shed())
    assert {r.wall for r in found.required if r.wall} == {"west", "south"}
    assert {n.opening for w in found.walls for c in w.courses for run in c.runs for n in run.cut_outs} == {
        "D", "W", "lamp", "tap", "vent",
    }  # fmt: skip
    fixtures = [o for w in found.house.walls for o in w.openings if o.kind is OpeningKind.FIXTURE]
    assert len(fixtures) == 3
    assert sum(r.quantity for r in found.required if r.material == "soffit") == 21
