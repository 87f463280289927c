"""Trim: starter strip, channel, utility trim, drip cap, closing trim and corner posts, each length with its sum.

Channel around an opening is longer by one face at each mitred corner. Starter strip runs between the posts' flanges,
interrupted by doors, and is butted with a gap. Posts reach from below the starter strip to just under the soffit, one
to a corner. Nothing here is spliced unless it is longer than its stick.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver.lengths import Unit, say
from solver.takeoff import rules
from solver.takeoff.answer import Figure, Term, Trim, add_up
from solver.takeoff.ends import slope_length
from solver.takeoff.geometry import Edge, Facing
from solver.takeoff.goods import Begin
from solver.takeoff.measured import Border, Finish, Meeting, Opening, OpeningKind, Role
from solver.takeoff.rules import FLAT, Corners
from solver.takeoff.survey import Survey, begins, sided_below, takes_up


def has_starter(site: Survey, floor: Edge) -> bool:
    """Whether the siding over a floor begins in a starter strip; a ripped course is held in a channel instead."""
    return floor.border.meets is Meeting.STARTER or site.wall.finish is not Finish.RIP


def starters(site: Survey) -> Iterator[Trim]:
    """Yield the starter strips of one wall, from the left; the plan takes its end gap off both ends.

    Upright panels begin in one at the left corner, unless they are balanced.
    """
    if site.upright:
        yield from _at_corner(site)
        return
    for floor in site.floors:
        if has_starter(site, floor):
            yield from _along_floor(site, floor, site.start_over(floor))


def _at_corner(site: Survey) -> Iterator[Trim]:
    corners = sorted(site.facing(Facing.LEFT), key=lambda edge: edge.left)
    if corners and begins(site) is Begin.LEFT:
        edge = corners[0]
        clear = Term(-_floor_clearance(site, edge), "above the floor")
        terms = [Term(edge.high.y - edge.low.y, "up the left corner"), clear]
        figure = add_up("starter", terms, site.house.unit, UPRIGHT)
        yield Trim.of(Role.STARTER, f"{site.wall.id}: starter at its left corner", figure)


def _along_floor(site: Survey, floor: Edge, height: int) -> Iterator[Trim]:
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


MITRES = "about 1 face longer per mitred corner: an anonymous article on window trim, and " + rules.NO_SOURCE


def channels(site: Survey) -> Iterator[Trim]:
    """Yield the channel of one wall: openings first, then the edges in the order of the outline."""
    for opening in site.wall.openings:
        if not opening.own_channel:
            yield from _around(site, opening)
    for edge in site.edges:
        if _needs_channel(site, edge):
            yield from _along_edge(site, edge)


def _around(site: Survey, opening: Opening) -> Iterator[Trim]:
    """Yield its channel from below, as it goes up: each piece sheds water over the one under it (common practice)."""
    door = opening.kind is OpeningKind.DOOR
    if not door:
        yield _piece(site, opening, "sill", 1, 2)
    yield _piece(site, opening, "side", 2, 1 if door else 2)
    yield _piece(site, opening, "head", 1, 2)


def _piece(site: Survey, opening: Opening, part: str, quantity: int, mitres: int) -> Trim:
    house = site.house
    face = house.face or 0 if house.settings.corners is Corners.MITRED else 0
    measured = opening.height if part == "side" else opening.width
    name = f"{site.wall.id}, {opening.kind} {opening.id}: {part}"
    terms = [
        Term(measured, "high" if part == "side" else "wide"),
        Term(-_off_floor(site, opening) if part == "side" else 0, "above the floor"),
        Term(mitres * face, f"for {mitres} mitred face{'s' * (mitres > 1)}"),
    ]
    figure = add_up(f"channel, {part}", terms, house.unit, MITRES)
    return Trim.of(Role.CHANNEL, name, figure, quantity)


def _off_floor(site: Survey, opening: Opening) -> int:
    """How far the channel beside an opening that stands on a deck or roof begins above its bottom."""
    under = [floor for floor in site.floors if floor.left < opening.right and opening.left < floor.right]
    decks = [floor for floor in under if floor.border.meets is not Meeting.STARTER]
    tops = (floor.high.y + takes_up(floor, site.house.settings) for floor in decks)
    return max([0, *(top - opening.bottom for top in tops)])


def _needs_channel(site: Survey, edge: Edge) -> bool:
    meets = edge.border.meets
    if site.upright and edge.facing in (Facing.BOTTOM, Facing.TOP):
        return True
    if edge.facing is Facing.BOTTOM and edge.level:
        return meets is not Meeting.STARTER and site.wall.finish is not Finish.TRIM
    return meets in (Meeting.CHANNEL, Meeting.MASONRY, Meeting.ROOF)


def _along_edge(site: Survey, edge: Edge) -> Iterator[Trim]:
    if edge.facing is Facing.BOTTOM and edge.level:
        yield from _on_floor(site, edge, Role.CHANNEL)
        return
    if edge.facing is Facing.TOP and edge.level:
        yield from _under_top(site, edge, Role.CHANNEL)
        return
    place = f"{site.wall.id}: {edge_name(edge)}"
    yield Trim.of(Role.CHANNEL, place, edge_figure(site, edge, "channel"))


def _on_floor(site: Survey, floor: Edge, role: Role) -> Iterator[Trim]:
    """Channel or utility trim of a course held on a floor, from pocket to pocket between its doors."""
    for left, right in between_doors(site, floor, floor.high.y):
        terms = (
            Term(right.x - left.x, f"from {left.what} to {right.what}"),
            *_within_pockets(left.takes_up, right.takes_up, site.house.unit),
        )
        figure = add_up(role.replace("_", " "), terms, site.house.unit, rules.TRIM_GAP.source)
        if figure.value > 0:
            yield Trim.of(role, f"{site.wall.id}: {edge_name(floor)}", figure)


def _within_pockets(left: int, right: int, unit: Unit) -> Iterator[Term]:
    yield from (Term(-left, "taken up at the left"), Term(-right, "taken up at the right"))
    yield Term(-2 * rules.TRIM_GAP.in_job(unit), "in all, short of the pockets")


def edge_figure(site: Survey, edge: Edge, name: str) -> Figure:
    """Return an edge's length with its arithmetic: root of across squared plus up squared where it slopes."""
    across, up = edge.right - edge.left, edge.high.y - edge.low.y
    if not across or not up:
        above = Term(-_floor_clearance(site, edge), "above the floor") if up else Term(0, "")
        return add_up(name, [Term(across or up, edge_name(edge)), above], site.house.unit)
    unit = site.house.unit
    how = f"{edge_name(edge)}: root of ({say(across, unit)} squared + {say(up, unit)} squared), rounded up"
    return add_up(name, [Term(slope_length(across, up, unit), how)], unit, rules.GEOMETRY)


def _floor_clearance(site: Survey, edge: Edge) -> int:
    """How far an upright edge's channel stays above the floor it stands on, as a post does."""
    below = (f for f in site.floors if edge.left in (f.left, f.right) and f.border.meets is not Meeting.STARTER)
    return max((takes_up(f, site.house.settings) for f in below if f.y_at(edge.left) == edge.low.y), default=0)


def edge_name(edge: Edge) -> str:
    """Return what an edge is called on paper."""
    if edge.facing is Facing.TOP:
        if edge.level:
            return "the top"
        return f"the rake rising {'right' if edge.low.x < edge.high.x else 'left'}"
    if edge.facing is Facing.BOTTOM:
        return f"over the {edge.border.meets}" if edge.border.meets is not Meeting.STARTER else "the bottom"
    return f"the {edge.facing} end"


UPRIGHT = "starter at the corner: a maker's guide"
UTILITY = "utility trim where lock or hem is cut away: " + rules.CODE


def edgings(site: Survey) -> Iterator[Trim]:
    """Yield utility trim at the top, over a ripped course and under sills, drip caps over heads, and closing trim."""
    for edge in site.edges:
        if _ends_ripped(site, edge):
            yield from _holding(site, edge)
    for opening in site.wall.openings:
        yield from _at_opening(site, opening)
    for floor in site.floors:
        if _leaves_strip(site, floor):
            yield from _closures(site, floor)


def _holding(site: Survey, edge: Edge) -> Iterator[Trim]:
    """Utility trim along a ripped course, or along the edge of an upright panel ripped at a corner."""
    if edge.facing is Facing.BOTTOM:
        yield from _on_floor(site, edge, Role.UTILITY)
    elif edge.facing is Facing.TOP:
        yield from _under_top(site, edge, Role.UTILITY)
    else:
        gap = Term(-2 * rules.TRIM_GAP.in_job(site.house.unit), "in all, short at head and foot")
        clear = Term(-_floor_clearance(site, edge), "above the floor")
        terms = (Term(edge.high.y - edge.low.y, edge_name(edge)), clear, gap)
        figure = add_up("utility trim", terms, site.house.unit, rules.TRIM_GAP.source)
        yield Trim.of(Role.UTILITY, f"{site.wall.id}: {edge_name(edge)}", figure)


def _under_top(site: Survey, edge: Edge, role: Role) -> Iterator[Trim]:
    """Trim along a top; along a level one from pocket to pocket."""
    name = "channel" if role is Role.CHANNEL else "utility trim"
    place, whole = f"{site.wall.id}: {edge_name(edge)}", edge_figure(site, edge, name)
    pockets = [_pocket_at(site, edge, facing) for facing in (Facing.LEFT, Facing.RIGHT)]
    if not edge.level or None in pockets:
        yield Trim.of(role, place, whole)
        return
    left, right = (pocket or 0 for pocket in pockets)
    terms = (Term(edge.right - edge.left, edge_name(edge)), *_within_pockets(left, right, site.house.unit))
    yield Trim.of(role, place, add_up(name, terms, site.house.unit, rules.TRIM_GAP.source))


def _pocket_at(site: Survey, top: Edge, facing: Facing) -> int | None:
    """What the upright edge at one end of a top takes up; None where no upright edge comes up to it."""
    x = top.left if facing is Facing.LEFT else top.right
    ends = (edge for edge in site.facing(facing) if edge.left == x and edge.high.y == top.low.y)
    return next((takes_up(edge, site.house.settings) for edge in ends), None)


def _ends_ripped(site: Survey, edge: Edge) -> bool:
    if site.upright:
        return edge.facing is Facing.RIGHT or (edge.facing is Facing.LEFT and begins(site) is Begin.BALANCED)
    if edge.facing is Facing.BOTTOM:
        return edge.level and site.wall.finish is Finish.RIP and edge.border.meets is not Meeting.STARTER
    flat = edge.facing is Facing.TOP and (edge.pitch or 0) * FLAT.value < 1
    return flat and edge.border.meets is not Meeting.SOFFIT_LATER


def _at_opening(site: Survey, opening: Opening) -> Iterator[Trim]:
    name, unit = f"{site.wall.id}, {opening.kind} {opening.id}", site.house.unit
    if sided_below(site, opening) and not site.upright:
        sides = opening.takes_up.left + opening.takes_up.right
        clear = 2 * site.house.settings.cut_out_clearance
        terms = [
            Term(opening.width, "wide"),
            Term(sides, "taken up at both sides"),
            Term(clear, "as the notch is wider"),
        ]
        yield Trim.of(Role.UTILITY, f"{name}: under the sill", add_up("utility trim", terms, unit, UTILITY))
    if opening.kind is not OpeningKind.FIXTURE:
        figure = add_up("drip cap", [Term(opening.width, "wide")], unit, "a maker's measuring page: widths of openings")
        yield Trim.of(Role.DRIP_CAP, f"{name}: over the head", figure)


def _leaves_strip(site: Survey, floor: Edge) -> bool:
    stands = floor.border.meets is not Meeting.STARTER and not site.upright
    return stands and site.wall.finish is Finish.TRIM


def _closures(site: Survey, floor: Edge) -> Iterator[Trim]:
    start, unit = site.start_over(floor), site.house.unit
    highest = say(start - floor.low.y, unit)
    for left, right in between_doors(site, floor, floor.high.y):
        what = f"from {left.what} to {right.what}, a strip up to {highest} high below the starter"
        taken = Term(-left.takes_up, "at the left"), Term(-right.takes_up, "at the right")
        figure = add_up("closing trim", (Term(right.x - left.x, what), *taken), unit, rules.NO_SOURCE)
        if figure.value > 0:
            yield Trim.of(Role.CLOSURE, f"{site.wall.id}: {edge_name(floor)}", figure)


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
        return start, rules.POST_DROP.in_job(site.house.unit)
    room = start - int(floor.y_at(edge.left)) - takes_up(floor, site.house.settings)
    return start, room


def _post(stands: Sequence[_Stand], site: Survey) -> Trim:
    lowest = min(stands, key=lambda stand: stand.start - stand.drop)
    top = max(stand.top for stand in stands)
    terms = [
        Term(top - lowest.start, "from the starter line to the soffit"),
        Term(lowest.drop, "below the starter line"),
        Term(-rules.POST_TOP_GAP.in_job(site.house.unit), "short of the soffit"),
    ]
    figure = add_up("corner post", terms, site.house.unit, rules.ACCESSORIES)
    role = Role.OUTSIDE_POST if lowest.border.meets is Meeting.OUTSIDE_POST else Role.INSIDE_POST
    own = next((stand.border.material for stand in stands if stand.border.material), None)
    return Trim.of(role, f"corner {lowest.corner}", figure, material=own)
