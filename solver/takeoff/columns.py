"""Upright panels, board and batten among them: the wall is turned on its side, its columns are taken off as courses.

Turned a quarter to the left, a wall's head lies at the left and its left end below: along a panel one measures down
from the wall's highest point, across the panels to the right from the wall's zero. So a panel lies as it does at the
saw, nail hem up, its left end its head and its right end its foot. Panels begin with a whole one in the starter at the
left corner, or are balanced: 25 panels and 10 in are 25 whole ones and two rips of 5 in (a maker's guide).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from solver.allowances import of_pieces
from solver.categories import Hangs
from solver.demand import longest_stick
from solver.errors import Problem, Unplannable
from solver.lengths import say, told
from solver.takeoff.answer import Figure, WallTakeOff, count_of, decimal
from solver.takeoff.courses import course_in
from solver.takeoff.ends import allow_for, edge_words, step_of
from solver.takeoff.geometry import Block, Edge, Facing, edges_of
from solver.takeoff.goods import Begin
from solver.takeoff.measured import Border, Meeting, Opening, Pockets, Point, Role, Wall
from solver.takeoff.survey import Band, Survey, begins, beyond, ceil_div, opening_block, takes_up

BALANCE = "a maker's guide: 25 panels and {10 in} are two rips of {5 in}"


def in_columns(site: Survey) -> WallTakeOff:
    """Return a wall that is covered with upright panels; its courses are columns, from the left."""
    house, turned = site.house, _turned(site)
    edges = edges_of(turned)
    first, figures = _laid(site)
    top = max(point.y for point in turned.outline)
    count = ceil_div(top - first, house.exposure)
    bands = [Band(n + 1, first + n * house.exposure, first + (n + 1) * house.exposure) for n in range(count)]
    panel = house.material_for(Role.PANEL)
    gap = of_pieces(panel).end_gap if panel else 0
    free = Meeting.STARTER
    names = {edge.index: "the bottom" if edge.border.meets is free else edge_words(edge) for edge in site.edges}
    allow = replace(allow_for(house, gap, turned.outline), sides=("head", "foot"), names=names, upright=True)
    found = [course_in(band, edges, tuple(_blocks(site, turned, edges)), allow) for band in bands]
    courses = tuple(replace(course, keep_clear=()) for course in found if course.runs or course.left_out)
    area = sum((run.area for course in courses for run in course.runs), Fraction(0))
    return WallTakeOff(site.wall, first, courses, figures, (), area, Hangs.COLUMNS)


def _turned(site: Survey) -> Wall:
    high = max(point.y for point in site.wall.outline)
    rip = site.house.settings.height_clearance if begins(site) is Begin.BALANCED else 0
    edges = {edge.index: _border(site, edge, rip) for edge in site.edges}
    side = Border(Meeting.CHANNEL, 0)
    return Wall(
        site.wall.id,
        tuple(Point(high - point.y, point.x) for point in site.wall.outline),
        side,
        side,
        edges=edges,
        openings=tuple(_lying(opening, high) for opening in site.wall.openings),
    )


def _border(site: Survey, edge: Edge, rip: int) -> Border:
    taken = takes_up(edge, site.house.settings)
    return Border(edge.border.meets, taken + rip if edge.facing is Facing.LEFT else taken)


def _lying(opening: Opening, high: int) -> Opening:
    top, bottom = opening.top + max(0, opening.rises), opening.bottom + min(0, opening.rises)
    pockets = opening.takes_up
    lying = Pockets(left=pockets.head, right=pockets.sill, sill=pockets.left, head=pockets.right)
    return replace(
        opening, left=high - top, bottom=opening.left, width=top - bottom, height=opening.width, takes_up=lying, rises=0
    )


def _pockets(site: Survey) -> tuple[int, int]:
    """From where to where panels lie along the wall: the backs of its outermost pockets."""
    settings = site.house.settings
    left = [edge.low.x + takes_up(edge, settings) for edge in site.facing(Facing.LEFT)]
    right = [edge.low.x - takes_up(edge, settings) for edge in site.facing(Facing.RIGHT)]
    low, high = (pick(point.x for point in site.wall.outline) for pick in (min, max))
    return min(left, default=low), max(right, default=high)


def _laid(site: Survey) -> tuple[int, tuple[Figure, ...]]:
    """Return where the first panel's lip would lie, and how the panels are laid out."""
    (left, right), house, unit = _pockets(site), site.house, site.house.unit
    cover, clear = house.exposure, house.settings.height_clearance
    whole, rest = divmod(right - left, cover)
    exact = decimal(Fraction(right - left, cover))
    words = f"{say(right - left, unit)} from pocket to pocket / {say(cover, unit)} = {exact}"
    if begins(site) is Begin.LEFT or not rest:
        last = f", the last ripped to {say(rest - clear, unit)}" if rest > clear else ""
        count = whole + (rest > clear)
        return left, (count_of("panels across", count, f"{words}: {count} from the left{last}", told(BALANCE, unit)),)
    step = step_of(unit)
    narrow = rest // 2 - clear < house.settings.sliver
    half = (rest + cover * narrow) // 2 // step * step
    whole -= narrow
    text = f"{words}: {whole} whole and two of {say(half, unit)}, less {say(clear, unit)} each in the pockets"
    return left + half - cover, (count_of("panels across", whole + 2, text, told(BALANCE, unit)),)


def _blocks(site: Survey, turned: Wall, edges: Sequence[Edge]) -> Iterator[Block]:
    settings, cover = site.house.settings, site.house.exposure
    across = [point.y for point in turned.outline]
    low, high = min(across) - cover, max(across) + cover
    for opening in turned.openings:
        yield opening_block(opening, settings)
    for edge in edges:
        taken = takes_up(edge, settings)
        if edge.facing is Facing.BOTTOM and edge.low.y == edge.high.y:
            yield beyond(edges, edge, low, edge.high.y + taken)
        elif edge.facing is Facing.TOP and edge.low.y == edge.high.y:
            yield beyond(edges, edge, edge.low.y - taken - settings.height_clearance, high)


def refuse_too_tall(sites: Sequence[Survey], walls: Sequence[WallTakeOff]) -> None:
    """Raise ``Unplannable`` where upright panels are longer than every stick of them: they can't be lapped."""
    both = enumerate(zip(sites, walls, strict=True))
    problems = [problem for place, (site, taken) in both for problem in _too_tall(place, site, taken)]
    if problems:
        raise Unplannable(problems)


def _too_tall(place: int, site: Survey, taken: WallTakeOff) -> Iterator[Problem]:
    panel, unit = site.house.material_for(Role.PANEL), site.house.unit
    longest = max((run.cut for course in taken.courses for run in course.runs), default=0)
    stick = longest_stick(panel) if panel else 0
    if taken.hangs is Hangs.COLUMNS and 0 < stick < longest:
        words = (
            f"wall {site.wall.id}: an upright panel of {say(longest, unit)} is longer than its stock of "
            f"{say(stick, unit)}; measure it as two walls, one above the other, with channel between"
        )
        yield Problem("taller_than_stock", f"#/walls/{place}", words)
