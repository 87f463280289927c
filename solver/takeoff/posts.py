"""Corner posts: one to a corner, from below the starter strip to just under the soffit; one piece if it can be had."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver.takeoff import rules
from solver.takeoff.answer import Trim
from solver.takeoff.levels import takes_up
from solver.takeoff.measured import Border, Meeting, Role
from solver.takeoff.outline import Edge, Facing
from solver.takeoff.survey import Survey
from solver.takeoff.words import Term, add_up


@dataclass(frozen=True, slots=True)
class _Stand:
    """One wall's side of a post, in heights above the house's level line."""

    corner: str
    border: Border
    start: int
    drop: int
    top: int


def posts(sites: Sequence[Survey]) -> Iterator[Trim]:
    """Yield one post for each corner; ends that name the same corner share one as long as both need."""
    stands = [stand for site in sites for stand in _stands(site)]
    for corner in dict.fromkeys(stand.corner for stand in stands):
        yield _post([stand for stand in stands if stand.corner == corner], sites[0])


def _stands(site: Survey) -> Iterator[_Stand]:
    for edge in sorted(site.edges, key=lambda edge: edge.left):
        if edge.border.meets.is_post and edge.facing in (Facing.LEFT, Facing.RIGHT):
            start, drop = _foot(site, edge)
            up = site.wall.elevation
            corner = edge.border.corner or f"{site.wall.id} {edge.facing}"
            yield _Stand(corner, edge.border, start + up, drop, edge.high.y + up)


def _foot(site: Survey, edge: Edge) -> tuple[int, int]:
    """Where the siding starts beside the post, and how far the post goes below that: not into a floor."""
    below = [floor for floor in site.floors if edge.left in (floor.left, floor.right)]
    if not below:
        return edge.low.y, 0
    floor = min(below, key=lambda f: f.y_at(edge.left))
    start = site.start_over(floor)
    if floor.border.meets is Meeting.STARTER:
        return start, rules.POST_DROP.value
    room = start - int(floor.y_at(edge.left)) - takes_up(floor, site.house.settings)
    return start, room


def _post(stands: Sequence[_Stand], site: Survey) -> Trim:
    lowest = min(stands, key=lambda stand: stand.start - stand.drop)
    top = max(stand.top for stand in stands)
    terms = [
        Term(top - lowest.start, "from the starter line to the soffit"),
        Term(lowest.drop, "below the starter line"),
        Term(-rules.POST_TOP_GAP.value, "short of the soffit"),
    ]
    figure = add_up("corner post", terms, site.house.unit, rules.ACCESSORIES)
    role = Role.OUTSIDE_POST if lowest.border.meets is Meeting.OUTSIDE_POST else Role.INSIDE_POST
    return Trim.of(role, f"corner {lowest.corner}", figure)
