"""What holds for every wall that can be measured: widths add up, no area is lost, and a mirror changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from solver import plan_job
from solver.categories import Category
from solver.errors import Unplannable
from solver.job import Job
from solver.required import End, Required, Side
from solver.takeoff import TakeOff, take_off
from solver.takeoff.answer import Course, RunEnd, RunOnWall
from solver.takeoff.geometry import Facing, edges_of, twice_area
from solver.takeoff.goods import Begin, Panel
from solver.takeoff.measured import Border, House, Meeting, Opening, OpeningKind, Pockets, Point, Wall, rectangle
from tests.scenario import inches
from tests.support.measured_shed import MATERIALS, house_of, material, plain_wall

SIXTEENTH = inches("0.0625")
QUICK = settings(max_examples=80, deadline=None)


def lengths(least: int, most: int) -> st.SearchStrategy[int]:
    """Return lengths from ``least`` to ``most`` inches in sixteenths."""
    return st.integers(least * 16, most * 16).map(lambda sixteenths: sixteenths * SIXTEENTH)


@st.composite
def outlines(draw: st.DrawFn) -> tuple[Point, ...]:
    """Return a rectangle, a shed, a gable with its peak anywhere, a stepped wall, or a wall over a sloping roof."""
    width, low, rise = draw(lengths(60, 480)), draw(lengths(40, 140)), draw(lengths(8, 90))
    peak = draw(lengths(20, 40))
    base = (Point(0, 0), Point(width, 0))
    return draw(
        st.sampled_from(
            [
                (*base, Point(width, low), Point(0, low)),
                (*base, Point(width, low + rise), Point(0, low)),
                (*base, Point(width, low), Point(peak, low + rise), Point(0, low)),
                (*base, Point(width, low), Point(peak, low), Point(peak, low + rise), Point(0, low + rise)),
                (*base, Point(width - peak, low)),
                (Point(0, 0), Point(width, rise), Point(width, low + rise), Point(0, low + rise)),
            ]
        )
    )


@st.composite
def openings(draw: st.DrawFn, outline: tuple[Point, ...]) -> tuple[Opening, ...]:
    """Return up to three openings side by side; some may lie off the wall, which is then refused."""
    place, found = 0, []
    for number in range(draw(st.integers(0, 3))):
        left, width = place + draw(lengths(3, 60)), draw(lengths(2, 60))
        pockets = Pockets(*(draw(lengths(0, 1)) for _ in range(4)))
        kind, bottom, height = draw(st.sampled_from(OpeningKind)), draw(lengths(0, 60)), draw(lengths(2, 60))
        found.append(Opening(f"o{number}", kind, left, bottom, width, height, pockets))
        place = left + width + inches(3)
    return tuple(found) if outline else ()


@st.composite
def houses(draw: st.DrawFn) -> House:
    """Return a house of one wall, its course line and pockets anywhere sensible."""
    outline = draw(outlines())
    left, right = (Border(Meeting.OUTSIDE_POST, draw(lengths(0, 1)), f"corner {side}") for side in "ab")
    wall = Wall("north", outline, left, right, rake=Border(Meeting.CHANNEL, draw(lengths(0, 1))))
    wall = replace(wall, openings=draw(openings(outline)), top=Border(Meeting.SOFFIT, draw(lengths(0, 1))))
    return house_of(wall, exposure=draw(lengths(6, 12)), course_line=draw(lengths(-1, 1)))


def taken(house: House) -> TakeOff | None:
    """Return the take-off, or None where the measurements are refused."""
    try:
        return take_off(house)
    except Unplannable:
        return None


def pocket(end: RunEnd) -> int | Fraction:
    """Return how far the pocket's back, for a run, lies in from the measured line."""
    return end.takes_up + end.extra


@QUICK
@given(houses())
def test_runs_gaps_and_openings_add_up_to_the_width(house: House) -> None:
    """On every course cut lengths, gaps, what pockets take up and the stretches between runs make the width there."""
    if found := taken(house):
        for course in found.walls[0].courses:
            for run in course.runs:
                covered = run.cut + run.left.gap + run.right.gap + pocket(run.left) + pocket(run.right)
                assert covered == run.right.measured - run.left.measured
            assert_apart(course)


def assert_apart(course: Course) -> None:
    """Runs of a course follow one another from left to right and don't overlap, unless one lies above the other."""
    for one, other in zip(course.runs, course.runs[1:], strict=False):
        above = top(one) <= bottom(other) or top(other) <= bottom(one)
        assert one.right.measured <= other.left.measured or above


def bottom(run: RunOnWall) -> int | Fraction:
    """Return the lowest height of what shows of a run."""
    return min(y for part in run.face for _, y in part)


def top(run: RunOnWall) -> int | Fraction:
    """Return the highest height of what shows of a run."""
    return max(y for part in run.face for _, y in part)


@QUICK
@given(houses())
def test_no_net_area_is_left_uncovered(house: House) -> None:
    """Panels with their gaps and pockets cover what is open, and what is open is the wall less its blocks."""
    if found := taken(house):
        covered = sum(
            (run.right.measured - run.left.measured) * house.exposure
            for course in found.walls[0].courses
            for run in course.runs
        )
        assert covered >= found.walls[0].net_area
        assert found.walls[0].net_area <= Fraction(abs(twice_area(house.walls[0].outline)), 2)


@QUICK
@given(houses())
def test_what_shows_lies_on_the_wall_and_off_the_openings(house: House) -> None:
    """No run shows outside of the outline's width, and none of it over an opening."""
    if found := taken(house):
        wall = house.walls[0]
        left, right = min(p.x for p in wall.outline), max(p.x for p in wall.outline)
        for run in (run for course in found.walls[0].courses for run in course.runs):
            for (x0, y0), (x1, _), (_, y1), _ in run.face:
                assert left <= x0 <= x1 <= right
                assert not any(o.left < x1 and x0 < o.right and o.bottom < y1 and y0 < o.top for o in wall.openings)


def mirrored(house: House) -> House:
    """Return the house with its wall seen in a mirror."""
    wall = house.walls[0]
    width = max(point.x for point in wall.outline)
    across = tuple(Point(width - point.x, point.y) for point in wall.outline)
    turned = (
        replace(o, left=width - o.right, takes_up=replace(o.takes_up, left=o.takes_up.right, right=o.takes_up.left))
        for o in wall.openings
    )
    changed = replace(wall, outline=across, left=wall.right, right=wall.left, openings=tuple(turned))
    return replace(house, walls=(changed,))


def seen(required: Required) -> tuple[object, ...]:
    """Return what of an item stays the same in a mirror."""
    heights = sorted((cut.edge, cut.height, cut.end - cut.start, cut.course) for cut in required.cut_outs)
    clear = sorted((c.end - c.start, c.first, c.last) for c in required.keep_clear)
    return required.material, required.length, required.first_course, required.courses, heights, clear


def leaning(end: End, side: Side) -> object:
    """Return an end's slope as seen from its own side: its pitch, and whether it leans inward."""
    return end.slope and (end.slope.pitch, end.slope.leans is not side, end.slope.long_edge)


@QUICK
@given(houses())
def test_a_mirrored_wall_gives_the_mirrored_take_off(house: House) -> None:
    """The same items in the same courses, with the ends and places swapped."""
    here, there = taken(house), taken(mirrored(house))
    assert (here is None) == (there is None)
    if here and there:
        assert sorted(map(repr, map(seen, here.required))) == sorted(map(repr, map(seen, there.required)))
        width = max(point.x for point in house.walls[0].outline)
        starts = sorted((r.first_course or 0, r.start) for r in here.required if r.wall)
        assert starts == sorted((r.first_course or 0, width - r.start - r.length) for r in there.required if r.wall)
        left = sorted(repr(leaning(r.left_end, Side.LEFT)) for r in here.required)
        assert left == sorted(repr(leaning(r.right_end, Side.RIGHT)) for r in there.required)


@QUICK
@given(houses())
def test_every_figure_says_what_it_comes_to(house: House) -> None:
    """Each piece of trim carries a sentence that ends in its own length."""
    if found := taken(house):
        assert all(piece.figure.value == piece.length and "=" in piece.figure.text for piece in found.trim)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(lengths(10, 100), lengths(5, 40)), min_size=1, max_size=2), lengths(60, 140))
def test_a_mirrored_wall_costs_the_same(windows: list[tuple[int, int]], width: int) -> None:
    """Walls no wider than a panel: the plan of the mirrored take-off costs what the plan of the wall costs."""
    opening = [
        Opening(f"w{n}", OpeningKind.WINDOW, left, inches(30 + 20 * n), size, inches(12))
        for n, (left, size) in enumerate(windows)
        if left + size < width
    ]
    wall = replace(plain_wall(), outline=rectangle(width, inches(96)), openings=tuple(opening))
    long = (material(made.id, made.category, 240) for made in MATERIALS.values())
    house = house_of(wall, materials=tuple(long))
    costs = [cost_of(take_off(seen_from)) for seen_from in (house, mirrored(house))]
    assert costs[0] == costs[1]


def cost_of(found: TakeOff) -> list[int]:
    """Return the proven cost of each material's plan."""
    job = Job(found.house.name, found.house.unit, found.house.materials, found.required, walls=found.planned_walls)
    return [plan.cost for plan in plan_job(job, lambda: 0.0).materials]


@given(outlines())
def test_either_direction_of_an_outline_is_the_same_wall(outline: tuple[Point, ...]) -> None:
    """Points listed clockwise or counter-clockwise give edges that face the same ways."""
    wall = Wall("north", outline, Border(Meeting.CHANNEL), Border(Meeting.CHANNEL))
    other = replace(wall, outline=outline[::-1])
    assert {(e.low, e.high, e.facing) for e in edges_of(wall)} == {(e.low, e.high, e.facing) for e in edges_of(other)}


@st.composite
def upright_houses(draw: st.DrawFn) -> House:
    """Return a house of one wall that is covered with upright panels, which begin anywhere they may."""
    house = draw(houses())
    panel = Panel("board", draw(lengths(6, 16)), draw(lengths(0, 1)), draw(st.sampled_from(Begin)))
    board = material("board", Category.VERTICAL, 360)
    walls = (replace(house.walls[0], panel="board"),)
    return replace(house, walls=walls, panels=(panel,), materials=(*house.materials, board))


def between(points: Sequence[Point], left: Fraction, right: Fraction) -> Fraction:
    """Return the area of a polygon between two upright lines, in square ticks: cut by one, then by the other."""
    ring = [(Fraction(p.x), Fraction(p.y)) for p in points]
    for line, keeps in ((left, 1), (right, -1)):
        kept = []
        for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], *ring[:1]], strict=True):
            inside = keeps * (x0 - line) >= 0, keeps * (x1 - line) >= 0
            kept += [(x0, y0)] if inside[0] else []
            kept += [(line, y0 + (y1 - y0) * (line - x0) / (x1 - x0))] if inside[0] != inside[1] else []
        ring = kept
    following = [*ring[1:], *ring[:1]]
    return abs(sum((a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, following, strict=True)), Fraction(0))) / 2


@QUICK
@given(upright_houses())
def test_upright_panels_add_up_to_the_wall(house: House) -> None:
    """Along every panel gaps and pockets make its height; together they cover the wall between its outermost pockets.

    Where panels are ripped 1/4 in lies in a pocket; round openings at most their pockets and 1/4 in.
    """
    if not (found := taken(house)):
        return
    wall, clear = house.walls[0], house.settings.height_clearance
    for course in found.walls[0].courses:
        for run in course.runs:
            covered = run.cut + run.left.gap + run.right.gap + pocket(run.left) + pocket(run.right)
            assert covered == run.right.measured - run.left.measured
    uprights = [edge for edge in edges_of(wall) if edge.low.x == edge.high.x]
    left = [e.low.x + (e.border.takes_up or 0) for e in uprights if e.facing is Facing.LEFT]
    right = [e.low.x - (e.border.takes_up or 0) for e in uprights if e.facing is Facing.RIGHT]
    ends = [p.x for p in wall.outline]
    most = between(wall.outline, Fraction(min(left, default=min(ends))), Fraction(max(right, default=max(ends))))
    tall = max(p.y for p in wall.outline) - min(p.y for p in wall.outline)
    openings = sum(o.width * o.height for o in wall.openings)
    round_them = sum((o.takes_up.left + o.takes_up.right + 2 * clear) * o.height for o in wall.openings)
    # a step inside the wall has its own pockets, of which there are at most two
    lost = openings + round_them + (2 + 2 * (len(uprights) > 2)) * (clear + inches(1)) * tall
    assert most - lost <= found.walls[0].net_area <= most
