"""The lap map of the north wall and its variants: what an installer reads from it."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import pytest

from service.drawing.lap_map import draw_wall, facing
from service.drawing.layout import Covered, WallLayout, hanging_order, layouts_of
from service.drawing.lettering import in_lines
from service.drawing.pattern import WIDTH
from service.drawing.shapes import HIDDEN, LIMIT, OUTLINE, Drawing, Line, Strokes, Text
from service.drawing.wall_paper import LEFT, RIGHT, on_paper
from solver.lengths import Unit
from solver.required import Keeps, Ripped, Side
from tests import scenario
from tests.scenario import inches
from tests.support import wall_plans
from tests.support.drawings import rings, text_at, text_boxes, uprights, words

PAPER = WIDTH - LEFT - RIGHT


def north(side: Side | int | None = Side.LEFT) -> WallLayout:
    """Return the north wall as it is hung; its plan is laid for somebody at its left end."""
    wall = layouts_of(scenario.north_wall(), wall_plans.north_wall())[0]
    return replace(wall, viewed_from=side)


def laid(*sides: Side) -> Covered:
    """Return the first course with the laps' upper panels as told, repeated where that takes more pieces."""
    stretch = north().stretches[0]
    pieces = tuple(replace(stretch.pieces[0], tag=str(n)) for n in range(len(sides) + 1))
    return replace(stretch, pieces=pieces, on_top=sides)


def x_of(place: float) -> float:
    """Return where a place of the 328 in wall lies on paper."""
    return LEFT + PAPER * place / 328


def test_pieces_hang_where_they_were_laid() -> None:
    """Course 1 begins 1/4 in from the channel's back, goes on at its laps and ends 1/4 in before the other channel."""
    first = north().stretches[0]
    assert [piece.left for piece in first.pieces] == [inches(place) for place in ("0.25", "28.75", "177.75")]
    assert first.pieces[-1].right == inches("327.75")


def test_every_piece_is_marked_with_its_name_and_length() -> None:
    """Nine pieces in rings, each by its course and its place in it, with its length beside it."""
    drawing = draw_wall(north(), Unit.IN)
    names = [f"{course}·{piece}" for course in (3, 2, 1) for piece in (1, 2, 3)]
    assert [text for text in words(drawing) if text in names] == names
    assert len(rings(drawing)) == 9
    assert {"5'-5\"", "12'-6\"", "9'-6 1/2\""} <= set(words(drawing))


def test_courses_stand_one_above_the_other() -> None:
    """Course 1 is the lowest row; each has its number at the left."""
    drawing = draw_wall(north(), Unit.IN)
    assert text_at(drawing, "1").y > text_at(drawing, "2").y > text_at(drawing, "3").y


def test_a_lap_shows_the_edge_on_top_and_hides_the_other() -> None:
    """Seen from the left the left panel is on top: its right end is drawn through, the edge under it dashed."""
    wall = replace(north(), stretches=(north().stretches[0],))
    hidden, shown = uprights(draw_wall(wall, Unit.IN), HIDDEN), uprights(draw_wall(wall, Unit.IN), OUTLINE)
    assert hidden == pytest.approx([x_of(28.75), x_of(177.75)])
    assert all(edge > under for edge, under in zip(shown, hidden, strict=True))


def test_a_lap_turned_about_is_drawn_turned_about() -> None:
    """With the right panel on top the lap's left edge shows, at the figure that stands beside it."""
    stretch = replace(north().stretches[0], on_top=(Side.RIGHT, Side.RIGHT))
    drawing = draw_wall(replace(north(), stretches=(stretch,)), Unit.IN)
    assert uprights(drawing, OUTLINE) == pytest.approx([x_of(28.75), x_of(177.75)])
    assert {'28 3/4"', "14'-9 3/4\""} <= set(words(drawing))


def test_a_gap_has_two_edges_that_show() -> None:
    """A negative lap, as of starter strip, hides nothing."""
    stretch = north().stretches[0]
    short = replace(stretch.pieces[0], cut=replace(stretch.pieces[0].cut, length=inches(28)))
    apart = replace(stretch, pieces=(short, *stretch.pieces[1:]))
    drawing = draw_wall(replace(north(), stretches=(apart,)), Unit.IN)
    assert len(uprights(drawing, HIDDEN)) == 1
    assert len(uprights(drawing, OUTLINE)) == 3


@pytest.mark.parametrize(
    ("sides", "order"),
    [
        ((Side.RIGHT, Side.RIGHT), "012"),
        ((Side.LEFT, Side.LEFT), "210"),
        ((Side.RIGHT, Side.RIGHT, Side.LEFT), "0132"),
        ((Side.RIGHT, Side.LEFT, Side.LEFT), "0321"),
        ((), "0"),
    ],
)
def test_what_lies_under_is_hung_first(sides: tuple[Side, ...], order: str) -> None:
    """From the left, from the right, and from both ends toward somebody who looks from the middle."""
    hung = hanging_order(laid(*sides))
    assert "".join(piece.tag for piece in hung) == order


def test_the_way_of_hanging_is_said_and_shown() -> None:
    """The left panel on top is hung from the right; the arrow beside each course points left."""
    assert facing(north()) == "At every lap the left panel lies on top: hang from the right."
    heads = [s for s in draw_wall(north(None), Unit.IN).shapes if isinstance(s, Line) and s.filled]
    assert len(heads) == 3
    assert all(head.points[0][0] < head.points[1][0] for head in heads)


@pytest.mark.parametrize(
    ("side", "text"),
    [
        (Side.LEFT, "seen from the left: laps face away"),
        (Side.RIGHT, "seen from the right: laps face away"),
        (inches(164), "seen from here: laps face away on both sides"),
    ],
)
def test_who_looks_is_shown(side: Side | int, text: str) -> None:
    """An arrow from the side, or a point under the place on the wall."""
    assert text in words(draw_wall(north(side), Unit.IN))


def test_somebody_in_the_middle_stands_under_the_middle() -> None:
    """The point stands at half the wall."""
    at = text_at(draw_wall(north(inches(164)), Unit.IN), "seen from here: laps face away on both sides")
    assert at.x == pytest.approx(LEFT + PAPER / 2)


def test_what_is_kept_clear_is_marked_in_its_course_only() -> None:
    """Course 3 passes over the window from 98 to 134 in: two limits there, and the sign is explained."""
    drawing = draw_wall(north(), Unit.IN)
    assert uprights(drawing, LIMIT) == pytest.approx([x_of(98), x_of(134)])
    assert any("chain lines: no lap between" in text.lower() for text in words(drawing))
    assert {"8'-2\"", "3'-0\"", "16'-2\"", "27'-4\""} <= set(words(drawing))


def test_cut_outs_are_drawn_and_explained() -> None:
    """The notch that a lap divides is drawn in both of its pieces, the hole in course 2 a third time."""
    plain = replace(north(), stretches=tuple(_without_cut_outs(stretch) for stretch in north().stretches))
    boxes = [
        sum(isinstance(s, Line) and s.closed for s in draw_wall(wall, Unit.IN).shapes) for wall in (north(), plain)
    ]
    assert boxes[0] - boxes[1] == 3
    assert any("notch or hole" in text for text in words(draw_wall(north(), Unit.IN)))
    assert not any("notch or hole" in text for text in words(draw_wall(plain, Unit.IN)))


def _without_cut_outs(stretch: Covered) -> Covered:
    return replace(stretch, pieces=tuple(replace(piece, cut_outs=()) for piece in stretch.pieces))


def test_a_ripped_course_says_so() -> None:
    """Beside its number."""
    rip = Ripped(inches(4), inches(4), Keeps.LIP, 3)
    ripped = tuple(replace(c, required=replace(c.required, rips=(rip,))) for c in north().stretches)
    assert {"1", "2", "rip 3"} <= set(words(draw_wall(replace(north(), stretches=ripped), Unit.IN)))


def test_no_letter_is_smaller_than_nine_points() -> None:
    """On the wall sheet, whatever stands on it."""
    job, plan = wall_plans.wider_window()
    drawing = draw_wall(replace(layouts_of(job, plan)[0], viewed_from=inches(164)), Unit.IN, plan.warnings)
    assert min(shape.size for shape in drawing.shapes if isinstance(shape, Text)) * 72 / 25.4 >= 9


def test_broken_rules_are_marked_at_their_place() -> None:
    """The declared lap over the opening has a sign just left of 135 1/4 in, clear of its edge; it is explained."""
    job, plan = wall_plans.wider_window()
    drawing = draw_wall(layouts_of(job, plan)[0], Unit.IN, plan.warnings)
    assert x_of(135.25) - 3 < text_at(drawing, "!").x < x_of(135.25) - 2
    assert "a rule is broken, see" in " ".join(words(drawing))
    assert not any("!" in text for text in words(draw_wall(layouts_of(job, plan)[0], Unit.IN)))


def test_pieces_at_one_place_take_rows_of_their_own() -> None:
    """Where two stretches of a course would cover each other, both are drawn."""
    wall = north()
    doubled = replace(wall, stretches=(wall.stretches[0], *wall.stretches))
    assert [row.course for row in on_paper(doubled, WIDTH, 20).rows] == [3, 2, 1, 1]


def test_rows_get_lower_on_a_high_wall() -> None:
    """Twenty-four courses still fit a page: under 255 mm with heading and dimensions."""
    stretch = north().stretches[0]
    high = tuple(replace(stretch, course=course) for course in range(1, 25))
    assert draw_wall(replace(north(), stretches=high), Unit.IN).height < 255


def test_no_text_of_a_course_covers_another() -> None:
    """Tags and panels of neighbours stay apart, course by course."""
    by_row: dict[float, list[tuple[float, float]]] = {}
    for ring in rings(draw_wall(north(), Unit.IN)):
        by_row.setdefault(ring.y, []).append((ring.x - ring.width / 2, ring.x + ring.width / 2))
    for row in by_row.values():
        assert all(right < left for (_, right), (left, _) in pairwise(sorted(row)))


@pytest.mark.parametrize("courses", [3, 18, 21, 24])
def test_no_words_cover_others_however_low_the_rows(courses: int) -> None:
    """Tag, stick with length, and the figure of a lap stand one above the other, in a row of any height."""
    stretch = north().stretches[0]
    high = tuple(replace(stretch, course=course) for course in range(1, courses + 1))
    boxes = text_boxes(draw_wall(replace(north(), stretches=high), Unit.IN))
    assert len(boxes) > courses * 8
    for (left, top, right, bottom), (start, above, end, below) in combinations(boxes, 2):
        assert right <= start or end <= left or bottom <= above or below <= top


def test_no_ring_covers_the_figure_of_a_lap_where_rows_are_lowest() -> None:
    """Of 22 courses on half a page a ring stands above a figure, wherever along the wall both are."""
    stretch = north().stretches[0]
    high = tuple(replace(stretch, course=course) for course in range(1, 23))
    drawing = draw_wall(replace(north(), stretches=high), Unit.IN, tallest=100)
    tops = {round(y, 3) for line in drawing.shapes if isinstance(line, Line) for _, y in line.points}
    figures = [text for text in drawing.shapes if isinstance(text, Text) and round(text.y + 0.8, 3) in tops]
    assert len(figures) >= 44
    highest = min(text.y - 0.73 * text.size for text in figures)
    assert min(ring.y + ring.height / 2 for ring in rings(drawing)) < highest


@pytest.mark.parametrize("start", range(2, 300, 7))
def test_no_chain_line_crosses_what_is_written(start: int) -> None:
    """Wherever the window of course 3 is, 24 in wide, its limits stand beside names, lengths and figures of laps."""
    *others, third = north().stretches
    keeps = tuple(replace(clear, start=inches(start), end=inches(start + 24)) for clear in third.required.keep_clear)
    moved = replace(third, required=replace(third.required, keep_clear=keeps))
    drawing = draw_wall(replace(north(), stretches=(*others, moved)), Unit.IN)
    strokes = (each for each in drawing.shapes if isinstance(each, Strokes) and each.pen == LIMIT)
    limits = [stroke for each in strokes for stroke in each.segments]
    assert len(limits) == 2
    for (x, top), (_, bottom) in limits:
        for left, above, right, below in text_boxes(drawing):
            assert x <= left or right <= x or below <= top or bottom <= above


def test_a_piece_too_narrow_for_its_name_has_its_number_in_the_course() -> None:
    """Of 6 in there is room for 1, but not for 12·1."""
    stretch = north().stretches[0]
    narrow = replace(stretch.pieces[0], label="12·1", cut=replace(stretch.pieces[0].cut, length=inches(6)))
    cramped = replace(stretch, pieces=(narrow, replace(stretch.pieces[1], left=inches(5))), laps_at=(inches(5),))
    found = words(draw_wall(replace(north(), stretches=(replace(cramped, on_top=(Side.LEFT,)),)), Unit.IN))
    assert "12·1" not in found
    assert found.count("1") == 2


def test_runs_without_a_wall_are_mapped_together() -> None:
    """A run that names no wall is hung all the same."""
    job = replace(scenario.north_wall(), required=(replace(scenario.N, wall=None),), walls=())
    plan = wall_plans.north_wall()
    runs = tuple(replace(run, wall=None) for run in plan.materials[0].runs)
    walls = layouts_of(job, replace(plan, materials=(replace(plan.materials[0], runs=runs),)))
    assert [wall.id for wall in walls] == [None]
    assert draw_wall(walls[0], Unit.IN).title == "Lap map: runs without a wall"


def test_the_map_is_drawn_in_millimetres_too() -> None:
    """With metric units every figure is metric."""
    drawing: Drawing = draw_wall(north(), Unit.MM)
    assert "8331 mm" in words(drawing)
    assert not any('"' in text for text in words(drawing))
    assert any(isinstance(shape, Strokes) for shape in drawing.shapes)


def legend(wall: WallLayout) -> str:
    """Return the sentences over a wall."""
    return " ".join(shape.text for shape in draw_wall(wall, Unit.IN).shapes if isinstance(shape, Text) and not shape.x)


def test_where_zero_lies_and_how_much_is_lapped_are_said() -> None:
    """The north wall is measured from the back of its channel, its panels lapped by 1 in (see the scenario)."""
    said = legend(north())
    assert "from the wall's zero, the back of the pocket at its left, where the dimensions below begin." in said
    assert 'Each lap: 1".' in said


def test_zero_beside_the_pocket_is_said_as_it_is() -> None:
    """Of a wall measured from its corner, whose post takes up 1/2 in, zero is 1/2 in left of what can be seen."""
    half = inches("0.5")
    stretches = tuple(
        replace(
            c,
            required=replace(c.required, start=half),
            pieces=tuple(replace(piece, left=piece.left + half) for piece in c.pieces),
        )
        for c in north().stretches
    )
    assert "the wall's zero, 1/2\" left of the back of the pocket" in legend(replace(north(), stretches=stretches))


def test_no_line_ends_inside_a_figure() -> None:
    """Whoever reads ``2`` at the end of a line and ``3/4`` on the next cuts wrong."""
    assert in_lines('from the top down to 2 3/4" above', 3.2, 33) == ["from the top down to", '2 3/4" above']
