"""Starter strip: along the starter line between the posts' flanges, interrupted by doors, butted with a gap."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from solver.takeoff import rules
from solver.takeoff.answer import Trim
from solver.takeoff.levels import takes_up
from solver.takeoff.measured import Finish, Meeting, Role
from solver.takeoff.outline import Edge, Facing
from solver.takeoff.survey import Survey
from solver.takeoff.words import Term, add_up


def has_starter(site: Survey, floor: Edge) -> bool:
    """Whether the siding over a floor begins in a starter strip; a ripped course is held in a channel instead."""
    return floor.border.meets is Meeting.STARTER or site.wall.finish is not Finish.RIP


def starters(site: Survey) -> Iterator[Trim]:
    """Yield the starter strips of one wall, from the left; the plan takes its end gap off both ends."""
    for floor in site.floors:
        if has_starter(site, floor):
            yield from _along(site, floor, site.start_over(floor))


def _along(site: Survey, floor: Edge, height: int) -> Iterator[Trim]:
    for left, right in between_doors(site, floor, height):
        whole = Term(right.x - left.x, f"from {left.what} to {right.what}")
        taken = Term(-left.takes_up, "at the left"), Term(-right.takes_up, "at the right")
        figure = add_up("starter", (whole, *taken), site.house.unit, rules.STARTER_GAP.source)
        if figure.value > 0:
            yield Trim.of(Role.STARTER, f"{site.wall.id}: starter", figure)


@dataclass(frozen=True, slots=True)
class Stop:
    """Where a stretch along a floor ends: its place, how far what is there reaches in, and what it is."""

    x: int
    takes_up: int
    what: str


def between_doors(site: Survey, floor: Edge, height: int) -> Iterator[tuple[Stop, Stop]]:
    """Yield the stretches of a floor that no opening interrupts at ``height``, from the left."""
    crossing = (o for o in site.wall.openings if o.bottom <= height < o.top)
    inside = sorted((o for o in crossing if floor.left < o.right and o.left < floor.right), key=lambda o: o.left)
    left = Stop(floor.left, _flange(site, floor.left, Facing.LEFT), "the end")
    for opening in inside:
        name = f"{opening.kind} {opening.id}"
        if opening.left > left.x:
            yield left, Stop(opening.left, opening.takes_up.left, name)
        left = Stop(opening.right, opening.takes_up.right, name)
    if left.x < floor.right:
        yield left, Stop(floor.right, _flange(site, floor.right, Facing.RIGHT), "the end")


def _flange(site: Survey, x: int, facing: Facing) -> int:
    """How far the post's flange, or else the pocket, reaches in at the end of a floor that stands on an outer end."""
    ends = (edge for edge in site.facing(facing) if edge.left == x and edge.level is False)
    return max((edge.border.flange or takes_up(edge, site.house.settings) for edge in ends), default=0)
