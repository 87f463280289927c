"""Drawings as SVG: well formed, described in words, and harmless whatever the text in them."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.drawing.lap_map import draw_wall
from service.drawing.layout import layouts_of
from service.drawing.lettering import clean, closed, fitted, width_of
from service.drawing.pattern import draw_plan
from service.drawing.shapes import Drawing, Text
from service.drawing.svg import svg
from solver.lengths import Unit
from solver.sticks import StickUse
from tests import scenario
from tests.support import plans, wall_plans

SVG = "{http://www.w3.org/2000/svg}"


def texts(drawing: Drawing) -> list[str]:
    """Return every text of a drawing as the SVG has it."""
    return [element.text or "" for element in ET.fromstring(svg(drawing)).iter(f"{SVG}text")]


def north_map() -> Drawing:
    """Return the lap map of the north wall."""
    job, plan = scenario.north_wall(), wall_plans.north_wall()
    return draw_wall(layouts_of(job, plan)[0], Unit.IN)


def test_a_drawing_says_in_words_what_it_shows() -> None:
    """Title and description come first, and the description names every piece with its panel and length."""
    root = ET.fromstring(svg(north_map()))
    assert [child.tag for child in root[:2]] == [f"{SVG}title", f"{SVG}desc"]
    assert root[0].text == "Lap map: wall north"
    assert "course 2: north 2·1 from S6, 5'-5\"" in (root[1].text or "")
    assert root.get("role") == "img"


def test_a_drawing_takes_the_colour_of_its_page() -> None:
    """Nothing names a colour: lines and letters are drawn in the current one, so dark pages and printers both do."""
    text = svg(draw_plan(scenario.north_wall(), wall_plans.north_wall()))
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', text)) == {"none", "currentColor"}


def test_nothing_in_a_drawing_runs_or_is_fetched() -> None:
    """No scripts, styles, handlers, ids or references, which two drawings on a page could mix up."""
    root = ET.fromstring(svg(draw_plan(scenario.north_wall(), wall_plans.north_wall())))
    tags = {element.tag for element in root.iter()}
    assert tags == {SVG + name for name in ("svg", "title", "desc", "path", "rect", "text")}
    names = {name for element in root.iter() for name in element.attrib}
    assert not {name for name in names if name.startswith("on") or "href" in name or name in ("id", "style", "class")}


@pytest.mark.parametrize("mark", ["<script>alert(1)</script>", '"/><image href="x"/>', "]]>&lt;", "'onload='x"])
def test_marks_stay_text(mark: str) -> None:
    """Whatever looks like markup stands in the drawing as it was written."""
    wall = replace(layouts_of(scenario.north_wall(), wall_plans.north_wall())[0], id=mark)
    assert ET.fromstring(svg(draw_wall(wall, Unit.IN)))[0].text == f"Lap map: wall {mark}"
    plan = plans.shed()
    part = plan.materials[0]
    patterns = tuple(replace(use, sticks=tuple(_marked(s, mark) for s in use.sticks)) for use in part.patterns)
    drawn = draw_plan(scenario.shed(), replace(plan, materials=(replace(part, patterns=patterns),)))
    assert any(mark in text for text in texts(drawn))


def _marked(stick: StickUse, mark: str) -> StickUse:
    return replace(stick, pieces=tuple(replace(piece, mark=mark) for piece in stick.pieces))


def test_what_turns_text_around_is_taken_out() -> None:
    """Overrides and isolates of direction, controls and line ends can't make a length read otherwise."""
    assert clean("10\u202e'1\u202c\u2066x\u2069\x00\u200b\nB") == "10'1x B"


def test_figures_stay_behind_a_mark_written_from_right_to_left() -> None:
    """A left-to-right mark keeps course and piece behind such a mark; other marks stay as they are."""
    assert closed("שלום") == "שלום\u200e"
    assert closed("N") == "N"


@given(st.text(max_size=60))
def test_any_text_gives_well_formed_svg(text: str) -> None:
    """No text whatever breaks the file."""
    root = ET.fromstring(svg(Drawing(text, text, 10, 10, (Text(1, 1, text),))))
    assert root.find(f"{SVG}text") is not None


@given(st.text(max_size=60), st.floats(min_value=1, max_value=80))
def test_fitted_text_fits(text: str, room: float) -> None:
    """What is shortened fits its room, ellipsis and all, wherever one letter would."""
    assert width_of(fitted(text, 1, room), 1) <= room
