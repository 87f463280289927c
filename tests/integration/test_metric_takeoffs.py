"""Take-offs in metric units, and temperatures: whole millimetres, square metres, degrees Celsius, no word in inches."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from typing import Any

import pytest

from service.wire.takeoffs.takeoff import read_take_off
from solver.lengths import Unit, read_length
from solver.takeoff import TakeOff
from tests.support.measured import MATERIALS, USES
from tests.support.stack import Stack


def put_up_at(degrees: int, units: str) -> TakeOff:
    """Return the take-off of a plain wall that is put up at a temperature."""
    wall = {"id": "north", "width": "3 m", "height": "2.4 m", "left": "channel", "right": "channel"}
    body = {"units": units, "materials": MATERIALS, "uses": USES, "exposure": "200 mm", "walls": [wall]}
    return read_take_off(body | {"settings": {"temperature": degrees}})


def gap_of(found: TakeOff) -> int | None:
    """Return the end gap of its panels, in ticks."""
    return next(m.settings.end_gap for m in found.house.materials if m.id == "panel-sand")


@pytest.mark.parametrize(("units", "degrees", "gap"), [("in", 39, "0.375"), ("in", 41, "0.25"), ("mm", 4, "10 mm")])
def test_a_temperature_is_in_the_degrees_of_the_units(units: str, degrees: int, gap: str) -> None:
    """Below 40 F, which is 4.4 C, 3/8 in (10 mm) and not 1/4 in (Polymeric Exteriors Association)."""
    assert gap_of(put_up_at(degrees, units)) == read_length(gap, Unit.IN).ticks


@pytest.mark.parametrize("degrees", [5, 20, 30])
def test_a_warm_day_in_a_metric_job_keeps_the_normal_gap(degrees: int) -> None:
    """20 C is 68 F: it was taken for 20 F, and every piece lost 2 x 3.2 mm."""
    found = put_up_at(degrees, "mm")
    assert gap_of(found) == 6 * 320, "1/4 in as a metric tape shows it"
    (notice,) = [notice for notice in found.notices if notice.code == "temperature"]
    assert notice.detail == f"put up at {degrees} degrees Celsius: the gaps for normal weather are used"


def metric_house() -> TakeOff:
    """Return the take-off of a wall of 13,410 x 2,540 mm with a window, between posts of 12 mm."""
    post = {"meets": "outside_post", "takes_up": 12}
    window = {"id": "W1", "kind": "window", "from": 1500, "bottom": 900, "width": 1200, "height": 1200}
    wall = {"id": "front", "width": 13410, "height": 2540, "openings": [window]}
    wall |= {"left": post | {"corner": "a"}, "right": post | {"corner": "b"}}
    body = {"units": "mm", "materials": MATERIALS, "uses": USES, "exposure": 200, "face": 19, "walls": [wall]}
    return read_take_off(body)


def test_a_metric_job_is_told_what_a_tape_shows() -> None:
    """Cut lengths, notches, rips, posts and trim are whole millimetres, by hand.

    13410 - 24 - 2 x 6 = 13374; sill 900 - 6 - 800 = 94 left standing; top 2540 - 6 - 2400 = 134; post 2540 + 19 - 6 =
    2553 (3/4 in is printed as 19 mm: Polymeric Exteriors Association, accessories); utility trim 13386 - 12 = 13374.
    """
    found = metric_house()
    courses = found.walls[0].courses
    lengths = [run.cut for course in courses for run in course.runs] + [piece.length for piece in found.trim]
    lengths += [n.cut_out.height for course in courses for run in course.runs for n in run.cut_outs]
    assert [length % 320 for length in lengths] == [0] * len(lengths)
    assert (courses[0].runs[0].cut, courses[-1].runs[0].rips[0].left) == (13374 * 320, 134 * 320)
    assert courses[4].runs[0].cut_outs[0].cut_out.height == 94 * 320
    assert {p.length for p in found.trim if p.role == "outside_post"} == {2553 * 320}
    assert 13374 * 320 in {p.length for p in found.trim if p.role == "utility"}


def test_a_metric_job_has_its_areas_in_square_metres() -> None:
    """13.41 x 2.54 = 34.0614 m2, the window 1.44 m2 (geometry)."""
    figures = {figure.name: figure for figure in metric_house().figures}
    assert round(float(figures["walls"].value), 4) == 34.0614
    assert round(float(figures["openings off"].value), 4) == 1.44
    assert figures["walls"].text == "all outlines = 34.06 m2"


INCHES = re.compile(r"""[0-9]["']|[0-9] in\b(?! all| [0-9])|\b(ft|feet|foot|inch|inches|Fahrenheit)\b|[0-9]/[0-9]""")
"""What no metric job says, but for a share such as 1 in 3, a slope as run over rise, and the foot of a panel."""
SHARES = re.compile(r"1 in 3|\(1000/[0-9]+\)\^2|x 1000/[0-9]+|mm in 1 m|head and foot|at the foot")


def whole_metric_house() -> dict[str, Any]:
    """Return a house in mm with a gable, a ripped floor, a slightly sloping top, panels over 16 ft, ceilings, eaves."""
    post = {"meets": "outside_post", "takes_up": 12, "flange": 30, "corner": "a"}
    window = {"id": "W", "kind": "window", "from": 1500, "bottom": 900, "width": 1200, "height": 1210, "rises": 8}
    lamp = {"id": "L", "kind": "fixture", "from": 5500, "bottom": 1700, "width": 150, "height": 200}
    front = {"id": "front", "width": 9310, "height": 2747, "left": post, "right": "channel", "grade": -20}
    side = {"id": "gable", "width": 7820, "height": 2540, "peak": 5210, "left": post, "right": "channel"}
    low = {"id": "low", "outline": [[0, 0], [4000, 0], [4000, 2400], [0, 2500]], "left": "channel", "right": "masonry"}
    stock = [{"id": "a", "length": 3810}, {"id": "b", "length": 5080}]
    panel = {"id": "panel-sand", "category": "siding", "stock": stock}
    board = {"id": "board", "category": "vertical", "stock": stock}
    upright = {"id": "upright", "width": 3100, "height": 2400, "left": "channel", "right": "channel", "panel": "board"}
    return {
        "units": "mm", "materials": [panel, board, *MATERIALS[1:]], "uses": USES,
        "exposure": 200, "face": 19, "coverage": 305,
        "walls": [{**front, "openings": [window, lamp]}, {**side, "bottom": "deck"},
                  {**low, "bottom": "roof", "finish": "rip"}, upright],
        "panels": [{"material": "board", "exposure": 300, "begin": "balanced"}],
        "ceilings": [{"id": "long", "length": 7400, "width": 5780, "last": "both"}],
        "eaves": [{"id": "e", "length": 9310, "overhang": 410, "left": "mitred", "right": "square"}],
        "settings": {"vented": 0.3, "temperature": 3, "waste_percent": 12.5, "gable": "foot", "deduct": "large"},
    }  # fmt: skip


def words_in(value: object) -> Iterator[str]:
    """Yield every text of an answer but the slopes and lengths that are sent again."""
    if isinstance(value, dict):
        for name, below in value.items():
            yield from () if name in ("pitch", "id", "materials") else words_in(below)
    elif isinstance(value, list):
        for below in value:
            yield from words_in(below)
    elif isinstance(value, str):
        yield re.sub("<[^>]*>", " ", value)


def test_no_word_of_a_metric_job_is_in_inches(alone: Stack) -> None:
    """Arithmetic, gaps, rules, sources, warnings, drawings and the printed sheet are in millimetres and metres."""
    body = whole_metric_house()
    page = alone.client.post("/v1/takeoffs/sheet.html", json=body).text
    sheet = html.unescape(re.sub("<[^>]*>", " ", page.partition("<body")[2]))
    for text in (*words_in(alone.client.post("/v1/takeoffs", json=body).json), sheet):
        found = INCHES.search(SHARES.sub("", text))
        assert found is None, text[max(0, found.start() - 80) : found.end() + 40]


def test_long_panels_of_a_metric_job_have_whole_gaps() -> None:
    """16 ft and more below 4.4 C: 1/2 in and 1 1/4 in are 13 and 32 mm; laps of courses beside lie 600 mm apart.

    Metal and Vinyl Sidings (text of Canada's housing agency handbook) prints 600 mm for the laps.
    """
    panel = read_take_off(whole_metric_house()).house.materials[0]
    assert (panel.stock[1].end_gap, panel.stock[1].lap) == (13 * 320, 32 * 320)
    assert (panel.settings.end_gap, panel.settings.lap, panel.settings.lap_spacing) == (10 * 320, 25 * 320, 600 * 320)
    told = {rule.name: rule for rule in read_take_off(whole_metric_house()).rules}
    spacing = told["laps of courses beside one another, apart at least"]
    assert (spacing.value, "Metal and Vinyl Sidings" in spacing.source) == ("600 mm", True)


def test_a_large_opening_of_a_metric_job_is_in_square_metres() -> None:
    """From 4 m2 (common practice, no source): a door of 2 x 2.1 m is taken off, a window of 1.2 x 1.2 m is not."""
    door = {"id": "D", "kind": "door", "from": 4000, "bottom": 0, "width": 2000, "height": 2100}
    window = {"id": "W", "kind": "window", "from": 1500, "bottom": 900, "width": 1200, "height": 1200}
    wall = {"id": "a", "width": 9000, "height": 2600, "left": "channel", "right": "channel", "openings": [door, window]}
    body = {"units": "mm", "materials": MATERIALS, "uses": USES, "exposure": 200, "face": 19, "walls": [wall]}
    figures = {figure.name: figure for figure in read_take_off(body | {"settings": {"deduct": "large"}}).figures}
    assert round(float(figures["openings off"].value), 2) == 4.2
