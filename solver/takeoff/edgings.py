"""Utility trim, drip cap, and the trim that closes a strip over a floor."""

from __future__ import annotations

from collections.abc import Iterator

from solver.lengths import say
from solver.takeoff import rules
from solver.takeoff.answer import Trim
from solver.takeoff.channels import edge_figure, edge_name
from solver.takeoff.measured import Finish, Meeting, Opening, OpeningKind, Role
from solver.takeoff.outline import Edge, Facing
from solver.takeoff.rules import FLAT
from solver.takeoff.starters import between_doors
from solver.takeoff.survey import Survey
from solver.takeoff.words import Term, add_up

UTILITY = "utility trim where lock or hem is cut away: " + rules.CODE


def edgings(site: Survey) -> Iterator[Trim]:
    """Yield utility trim at the top, over a ripped course and under sills, drip caps over heads, and closing trim."""
    for edge in site.edges:
        if _ends_ripped(site, edge):
            place = f"{site.wall.id}: {edge_name(edge)}"
            yield Trim.of(Role.UTILITY, place, edge_figure(site, edge, "utility trim"))
    for opening in site.wall.openings:
        yield from _at_opening(site, opening)
    for floor in site.floors:
        if _leaves_strip(site, floor):
            yield from _closures(site, floor)


def _ends_ripped(site: Survey, edge: Edge) -> bool:
    if edge.facing is Facing.BOTTOM:
        return edge.level and site.wall.finish is Finish.RIP and edge.border.meets is not Meeting.STARTER
    flat = edge.facing is Facing.TOP and (edge.pitch or 0) * FLAT.value < 1
    return flat and edge.border.meets is not Meeting.SOFFIT_LATER


def _at_opening(site: Survey, opening: Opening) -> Iterator[Trim]:
    name, unit = f"{site.wall.id}, {opening.kind} {opening.id}", site.house.unit
    if opening.kind is OpeningKind.WINDOW:
        sides = opening.takes_up.left + opening.takes_up.right
        terms = [Term(opening.width, "wide"), Term(sides, "taken up at both sides")]
        yield Trim.of(Role.UTILITY, f"{name}: under the sill", add_up("utility trim", terms, unit, UTILITY))
    if opening.kind is not OpeningKind.FIXTURE:
        figure = add_up("drip cap", [Term(opening.width, "wide")], unit, "a maker's measuring page: widths of openings")
        yield Trim.of(Role.DRIP_CAP, f"{name}: over the head", figure)


def _leaves_strip(site: Survey, floor: Edge) -> bool:
    return floor.border.meets is not Meeting.STARTER and site.wall.finish is Finish.TRIM


def _closures(site: Survey, floor: Edge) -> Iterator[Trim]:
    start, unit = site.start_over(floor), site.house.unit
    highest = say(start - floor.low.y, unit)
    for left, right in between_doors(site, floor, floor.high.y):
        terms = [
            Term(right.x - left.x, f"from {left.what} to {right.what}, a strip up to {highest} high below the starter")
        ]
        figure = add_up("closing trim", terms, unit, rules.NO_SOURCE)
        yield Trim.of(Role.CLOSURE, f"{site.wall.id}: {edge_name(floor)}", figure)
