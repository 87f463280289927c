"""Channel: around openings, along rakes and tops, over roofs and floors, up the ends that meet masonry or a channel.

Opening trim is longer by one face at each mitred corner; nothing here is spliced unless it is longer than its stick.
"""

from __future__ import annotations

from collections.abc import Iterator

from solver.lengths import say
from solver.takeoff import rules
from solver.takeoff.answer import Trim
from solver.takeoff.measured import Finish, Meeting, Opening, OpeningKind, Role
from solver.takeoff.outline import Edge, Facing
from solver.takeoff.settings import Corners
from solver.takeoff.slopes import slope_length
from solver.takeoff.survey import Survey
from solver.takeoff.words import Figure, Term, add_up

MITRES = "about 1 face longer per mitred corner: an anonymous article on window trim, and " + rules.NO_SOURCE


def channels(site: Survey) -> Iterator[Trim]:
    """Yield the channel of one wall: openings first, then the edges in the order of the outline."""
    for opening in site.wall.openings:
        if not opening.own_channel:
            yield from _around(site, opening)
    for edge in site.edges:
        if _needs_channel(site, edge):
            yield _along(site, edge)


def _around(site: Survey, opening: Opening) -> Iterator[Trim]:
    door = opening.kind is OpeningKind.DOOR
    yield _piece(site, opening, "head", 1, 2)
    yield _piece(site, opening, "side", 2, 1 if door else 2)
    if not door:
        yield _piece(site, opening, "sill", 1, 2)


def _piece(site: Survey, opening: Opening, part: str, quantity: int, mitres: int) -> Trim:
    house = site.house
    face = house.face or 0 if house.settings.corners is Corners.MITRED else 0
    measured = opening.height if part == "side" else opening.width
    name = f"{site.wall.id}, {opening.kind} {opening.id}: {part}"
    terms = [Term(measured, "high" if part == "side" else "wide"), Term(mitres * face, f"for {mitres} mitred faces")]
    figure = add_up(f"channel, {part}", terms, house.unit, MITRES)
    return Trim.of(Role.CHANNEL, name, figure, quantity)


def _needs_channel(site: Survey, edge: Edge) -> bool:
    meets = edge.border.meets
    if edge.facing is Facing.BOTTOM and edge.level:
        return meets is not Meeting.STARTER and site.wall.finish is not Finish.TRIM
    return meets in (Meeting.CHANNEL, Meeting.MASONRY, Meeting.ROOF)


def _along(site: Survey, edge: Edge) -> Trim:
    place = f"{site.wall.id}: {edge_name(edge)}"
    return Trim.of(Role.CHANNEL, place, edge_figure(site, edge, "channel"))


def edge_figure(site: Survey, edge: Edge, name: str) -> Figure:
    """Return an edge's length with its arithmetic: root of across squared plus up squared where it slopes."""
    across, up = edge.right - edge.left, edge.high.y - edge.low.y
    if not across or not up:
        return add_up(name, [Term(across or up, edge_name(edge))], site.house.unit)
    unit = site.house.unit
    how = f"{edge_name(edge)}: root of ({say(across, unit)} squared + {say(up, unit)} squared), rounded up"
    return add_up(name, [Term(slope_length(across, up, unit), how)], unit, rules.GEOMETRY)


def edge_name(edge: Edge) -> str:
    """Return what an edge is called on paper."""
    if edge.facing is Facing.TOP:
        return "the top" if edge.level else "the rake"
    if edge.facing is Facing.BOTTOM:
        return f"over the {edge.border.meets}" if edge.border.meets is not Meeting.STARTER else "the bottom"
    return f"the {edge.facing} end"
