"""Elevation and story pole: what was measured stands on them, within the paper, and no name can break them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from service.drawing.elevation import draw_elevation, draw_story_pole
from service.drawing.shapes import Drawing, Line, Ring, Strokes, Text
from service.drawing.svg import svg
from solver.lengths import Unit
from solver.takeoff import take_off
from solver.takeoff.answer import WallTakeOff
from solver.takeoff.measured import gable
from tests.scenario import inches
from tests.support.measured_shed import WINDOW, house_of, plain_wall, shed

WEST, SOUTH = take_off(shed()).walls
LOW = take_off(house_of(plain_wall(60, 24))).walls[0]
TALL = take_off(house_of(plain_wall(60, 480))).walls[0]


def texts(drawing: Drawing) -> list[str]:
    """Return every text of a drawing."""
    return [shape.text for shape in drawing.shapes if isinstance(shape, Text)]


def points(drawing: Drawing) -> Iterator[tuple[float, float]]:
    """Yield every point of a drawing."""
    for shape in drawing.shapes:
        match shape:
            case Line():
                yield from shape.points
            case Strokes():
                yield from (point for segment in shape.segments for point in segment)
            case Ring() | Text():
                yield shape.x, shape.y


def test_an_elevation_names_openings_courses_and_dimensions() -> None:
    """Openings by name, courses by number and height, clear lengths once for courses alike, dimensions below."""
    found = texts(draw_elevation(WEST, Unit.IN))
    assert {"D", "W", "lamp", "tap", "12", "7'-4\"", "22'-6\"", "5'-4\"", "12'-7 1/2\""} <= set(found)
    assert found.count("4'-5 1/2\"") == 1


def test_a_story_pole_has_courses_sills_and_heads() -> None:
    """Heights above the lip of the first course: the window's sill at 35 in, its head at 80."""
    found = texts(draw_story_pole(WEST, Unit.IN))
    assert {'course 1: 0"', "course 12: 7'-4\"", '35": sill of W', "6'-8\": head of W"} <= set(found)


@pytest.mark.parametrize("taken", [WEST, SOUTH, LOW, TALL])
@pytest.mark.parametrize("draw", [draw_elevation, draw_story_pole])
def test_nothing_stands_outside_the_paper(draw: type[Drawing], taken: WallTakeOff) -> None:
    """Wide walls, gables, low walls and tall ones."""
    drawing: Drawing = draw(taken, Unit.IN)  # type: ignore[call-arg, arg-type]
    assert all(-0.01 <= x <= drawing.width and -0.01 <= y <= drawing.height for x, y in points(drawing))


def test_it_is_to_scale() -> None:
    """A gable as wide as high: both sides equally many millimetres."""
    taken = take_off(house_of(plain_wall(outline=gable(inches(240), 0, inches(240))))).walls[0]
    outline = next(shape for shape in draw_elevation(taken, Unit.IN).shapes if isinstance(shape, Line))
    (left, low), (right, _), (_, high) = outline.points
    assert right - left == pytest.approx(low - high)


def test_names_cant_break_out() -> None:
    """Tags, quotes and marks of direction in a name are text, or gone."""
    window = replace(WINDOW, id='<script>&\u202e"')
    taken = take_off(house_of(replace(plain_wall(240, 96, window), id="<b>"))).walls[0]
    for drawing in (draw_elevation(taken, Unit.IN), draw_story_pole(taken, Unit.IN)):
        parsed = ET.fromstring(svg(drawing))
        assert {element.tag.rpartition("}")[2] for element in parsed.iter()} <= {
            "svg",
            "title",
            "desc",
            "path",
            "text",
        } | {"rect"}
        assert "\u202e" not in svg(drawing)
