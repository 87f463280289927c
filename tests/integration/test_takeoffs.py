"""``/v1/takeoffs``: the measured shed becomes a request for a cut plan with its arithmetic, or the plan itself."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from copy import deepcopy
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from service.wire import read_job
from service.wire.takeoffs.taken_off import render_take_off
from service.wire.takeoffs.takeoff import read_take_off
from solver.lengths import Unit, read_length
from solver.takeoff import TakeOff, take_off
from tests.support.measured import MATERIALS, MEASURED, USES
from tests.support.measured_shed import shed
from tests.support.shed import SHED
from tests.support.stack import Stack


def take(running: Stack, body: object, query: str = "", **headers: str) -> Any:  # noqa: ANN401
    """Post what was measured."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return running.client.post(f"/v1/takeoffs{query}", json=body, headers=named)


def changed(path: str, value: object) -> dict[str, Any]:
    """Return the shed with one place changed."""
    body = deepcopy(MEASURED)
    *above, last = (int(step) if step.isdigit() else step for step in path.split("/"))
    place: Any = body
    for step in above:
        place = place[step]
    place[last] = value
    return body


def test_what_is_posted_is_the_shed_of_the_other_tests() -> None:
    """Read from JSON it is the same house, and so the same take-off."""
    assert read_take_off(MEASURED).walls == take_off(shed()).walls


def test_a_gable_by_width_height_and_peak() -> None:
    """The gable wall in short: 18 ft wide, 93 in at the eaves, 165 at the peak."""
    wall = {name: value for name, value in MEASURED["walls"][1].items() if name != "outline"}
    body = changed("walls/1", wall | {"width": "18'", "height": 93, "peak": 165})
    assert read_take_off(body).walls == take_off(shed()).walls


def test_the_answer_is_a_request_for_a_cut_plan() -> None:
    """Posted unchanged it is read as the very items, walls and materials of the take-off."""
    answer = _answer(MEASURED)
    job = read_job(answer)
    found = read_take_off(MEASURED)
    assert job.required == found.required
    assert job.walls == found.planned_walls
    assert job.materials == found.house.materials


def _answer(body: dict[str, Any]) -> dict[str, Any]:
    return render_take_off(read_take_off(body), body)


def test_every_figure_can_be_done_again(alone: Stack) -> None:
    """Runs, trim and figures carry their arithmetic; what has a source names it."""
    told = take(alone, MEASURED).json["takeoff"]
    west = told["walls"][0]
    assert west["courses"][0]["runs"][0]["arithmetic"] == (
        '4\'-6" from outside post to door D less 1/2" taken up at the left = 4\'-5 1/2"'
    )
    sides = [piece for piece in told["trim"] if piece["place"] == "west, door D: side"]
    assert sides[0]["arithmetic"] == '6\'-11" high plus 3/4" for 1 mitred face = 6\'-11 3/4"'
    assert all(figure["arithmetic"] for figure in told["figures"])
    assert "upright panels" in told["ends_here"]


def test_planned_at_once(serving: Stack) -> None:
    """With ``plan=true`` the resource of the plan comes back with the take-off beside it."""
    body = {**changed("ceilings/0/length", "9'"), "walls": []}
    answer = take(serving, body, "?plan=true", Prefer="wait=30")
    assert answer.status_code == 200, answer.text
    assert answer.headers["Location"] == f"/v1/cut-plans/{answer.json['id']}"
    assert answer.json["result"]["status"] == "optimal"
    assert answer.json["takeoff"]["soffits"][0]["quantity"] == 9


def test_what_is_not_cut_stands_on_the_order(serving: Stack) -> None:
    """Blocks for three fixtures have a product, wrap has none: so say the plan, the CSV, the sheet and its text."""
    goods = [{"need": "mounting_blocks", "id": "block sand", "holds": 1}]
    body = MEASURED | {"goods": goods, "without": ["nails"], "limits": {"seconds": 2}}
    plan = take(serving, body, "?plan=true", Prefer="wait=30").json
    named = {good["what"]: (good["quantity"], good["product"]) for good in plan["result"]["goods"]}
    assert named["mounting blocks, 3 pieces"] == ("3", "block sand")
    assert named["house wrap"] == ("404.66", None)
    assert "nails" not in named
    needs = {need["need"]: need for need in plan["takeoff"]["needs"]}
    assert (needs["mounting_blocks"]["packs"], needs["house_wrap"]["unit"]) == (3, "sq ft")
    order = serving.client.get(f"/v1/cut-plans/{plan['id']}/order.csv").text
    page = serving.client.get(f"/v1/cut-plans/{plan['id']}/order.html").text
    counter = serving.client.get(f"/plans/{plan['id']}").text
    assert "house wrap,404.66 sq ft,not ordered," in order
    for text in (page, counter):
        assert "404.66 sq ft" in text
        assert "not ordered" in text.lower()


def test_a_wall_of_board_and_batten_beside_one_of_courses(serving: Stack) -> None:
    """The gable upright, the other wall level: both are planned, and the sheet says how an upright panel lies."""
    board = {"id": "board", "category": "vertical", "stock": [{"id": "16", "length": "16'"}]}
    body = deepcopy(MEASURED) | {"panels": [{"material": "board", "exposure": 12}], "limits": {"seconds": 2}}
    body["materials"].append(board)
    body["walls"][1]["panel"] = "board"
    plan = take(serving, body, "?plan=true", Prefer="wait=30").json
    west, south = plan["takeoff"]["walls"]
    assert (west["hangs"], south["hangs"], south["story_pole"]) == ("courses", "columns", None)
    assert (south["courses"][0]["bottom"], south["courses"][1]["bottom"]) == (0.5, 12.5)
    assert {line["material"] for line in plan["result"]["order"]} >= {"board", "panel-sand"}
    sheet = serving.client.get(f"/v1/cut-plans/{plan['id']}/cut-sheet.html").text
    assert "its left end is its head" in sheet
    assert "south, panel 2 from the left" in sheet
    page = serving.client.post("/v1/takeoffs/sheet.html", json=body).text
    assert "Upright panels, from the left" in page


def test_a_measured_plan_keeps_its_measurements(serving: Stack) -> None:
    """They come back as they were sent, to be changed and taken off again; a list of pieces has none."""
    body = {**MEASURED, "walls": []}
    plan = take(serving, body, "?plan=true").json
    assert plan["is_measured"] is True
    assert serving.client.get(f"/v1/cut-plans/{plan['id']}/measured").json == body
    listed = serving.post(SHED).json
    assert listed["is_measured"] is False
    assert serving.client.get(f"/v1/cut-plans/{listed['id']}/measured").status_code == 404


def test_the_shed_goes_from_tape_to_plan(serving: Stack) -> None:
    """One request: every run of both walls is laid, every opening is cut out, everything is on the order."""
    answer = take(serving, MEASURED | {"limits": {"seconds": 5}}, "?plan=true", Prefer="wait=50")
    assert answer.status_code == 200, answer.text
    result = answer.json["result"]
    assert result["not_cut"] == []
    assert {line["material"] for line in result["order"]} == set(USES.values())
    runs = [run for material in result["materials"] for run in material["runs"]]
    assert {run["wall"] for run in runs if run["wall"]} == {"west", "south"}


@pytest.mark.parametrize(("path", "value", "pointer", "words"), [
    ("exposure", 0, "#/exposure", "more than 0"),
    ("uses/panel", "oak", "#/uses/panel", "not one of the materials"),
    ("uses/roof", "oak", "#/uses/roof", "unknown field"),
    ("walls/0/left", "outside_post", "#/walls/0/left/takes_up", "wall west"),
    ("walls/0/left", "moat", "#/walls/0/left", "must be one of"),
    ("walls/0/openings/1/from", 65, "#/walls/0/openings/1", "window W overlaps door D"),
    ("walls/0/openings/1/from", 270, "#/walls/0/openings/1", "window W reaches"),
    ("walls/1/openings/0/from", 0, "#/walls/1/openings/0", "fixture vent floats"),
    ("walls/1/outline", [[0, 0], [216, 93], [216, 0], [0, 93]], "#/walls/1/outline", "cuts itself"),
    ("walls/1/outline", [[0, 0], [240, 0]], "#/walls/1/outline", "3 to 40 points"),
    ("walls/1/outline", [[0, 0], [240, 0], [9]], "#/walls/1/outline/2", "[along, up]"),
    ("walls/1/width", 240, "#/walls/1", "an outline"),
    ("walls/0/peak", 90, "#/walls/0/peak", "no higher than its eaves"),
    ("walls/0/width", None, "#/walls/0/width", "null"),
    ("walls/0/height", 0, "#/walls/0/outline", "wall west"),
    ("walls/0/height", 6, "#/walls/0", "lower than one course"),
    ("walls/0/elevation", "10-6", "#/walls/0/elevation", "can be read as"),
    ("ceilings/0/width", -1, "#/ceilings/0/width", "more than 0"),
    ("settings", {"gable": "guess"}, "#/settings/gable", "must be one of"),
])  # fmt: skip
def test_bad_measurements(alone: Stack, path: str, value: object, pointer: str, words: str) -> None:
    """Each is refused with a pointer into the body, and words that name wall and opening."""
    answer = take(alone, changed(path, value))
    assert answer.status_code == 422, answer.text
    found = [error["detail"] for error in answer.json["errors"] if error["pointer"] == pointer]
    assert any(words in detail for detail in found), answer.json


def test_an_outline_may_come_back_to_its_first_point() -> None:
    """The gable wall as a ring that is closed is the same wall."""
    outline = MEASURED["walls"][1]["outline"]
    assert read_take_off(changed("walls/1/outline", [*outline, outline[0]])).walls == take_off(shed()).walls


def test_faults_of_fields_and_of_shapes_come_together(alone: Stack) -> None:
    """A gable too low, an opening over another, an outline that cuts itself: three walls, three faults at once."""
    gable = {"id": "east", "width": 240, "height": 96, "peak": 90, "left": "channel", "right": "channel"}
    body = changed("walls/0/openings/1/from", 65)
    body["walls"][1]["outline"] = [[0, 0], [216, 93], [216, 0], [0, 93]]
    body["walls"].append(gable)
    told = take(alone, body).json["errors"]
    assert {(error["pointer"], error["code"]) for error in told} == {
        ("#/walls/2/peak", "peak_too_low"), ("#/walls/0/openings/1", "openings_overlap"),
        ("#/walls/1/outline", "outline_crosses"),
    }  # fmt: skip


def test_the_take_off_on_paper(alone: Stack) -> None:
    """As a page and as PDF, on the paper asked for: walls, arithmetic, trim, rules; a wall over a deck has its ways."""
    page = alone.client.post("/v1/takeoffs/sheet.html?paper=a4", json=MEASURED)
    assert page.status_code == 200
    assert page.headers["Content-Security-Policy"].startswith("default-src 'none'")
    for words in ("Wall west", "Story pole of wall south", "for 1 mitred face", "common practice, no source"):
        assert words in page.text
    file = alone.client.post("/v1/takeoffs/sheet.pdf", json=changed("walls/0/bottom", "deck"))
    text = "".join(sheet.extract_text() for sheet in PdfReader(BytesIO(file.data)).pages)
    assert "Ways to finish above the deck or roof" in text
    assert alone.client.post("/v1/takeoffs/sheet.pdf?paper=bark", json=MEASURED).status_code == 400


def test_a_wrong_query_is_refused(alone: Stack) -> None:
    """``plan`` is true or false."""
    assert take(alone, MEASURED, "?plan=maybe").status_code == 400


def test_millimetres_come_back_exactly(alone: Stack) -> None:
    """What is no short number of the units is answered in millimetres, so that nothing is rounded on the way back."""
    body = {"units": "m", "materials": MATERIALS, "uses": USES, "coverage": 0.205}
    body |= {"eaves": [{"id": "rear", "length": 6, "overhang": '15 1/64"'}]}
    answer = take(alone, body).json
    assert answer["required"][0]["length"] == "375.396875 mm"
    assert read_job(answer).required == read_take_off(body).required


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
    for text in (*words_in(take(alone, body).json), sheet):
        found = INCHES.search(SHARES.sub("", text))
        assert found is None, text[max(0, found.start() - 80) : found.end() + 40]


def test_long_panels_of_a_metric_job_have_whole_gaps() -> None:
    """16 ft and more below 4.4 C: 1/2 in and 1 1/4 in are 13 and 32 mm; laps of courses beside lie 600 mm apart.

    Metal and Vinyl Sidings (text of Canada's housing agency handbook) prints 600 mm for the laps.
    """
    panel = read_take_off(whole_metric_house()).house.materials[0]
    assert (panel.stock[1].end_gap, panel.stock[1].lap) == (13 * 320, 32 * 320)
    assert (panel.settings.end_gap, panel.settings.lap, panel.settings.lap_spacing) == (10 * 320, 25 * 320, 600 * 320)


def test_a_large_opening_of_a_metric_job_is_in_square_metres() -> None:
    """From 4 m2 (common practice, no source): a door of 2 x 2.1 m is taken off, a window of 1.2 x 1.2 m is not."""
    door = {"id": "D", "kind": "door", "from": 4000, "bottom": 0, "width": 2000, "height": 2100}
    window = {"id": "W", "kind": "window", "from": 1500, "bottom": 900, "width": 1200, "height": 1200}
    wall = {"id": "a", "width": 9000, "height": 2600, "left": "channel", "right": "channel", "openings": [door, window]}
    body = {"units": "mm", "materials": MATERIALS, "uses": USES, "exposure": 200, "face": 19, "walls": [wall]}
    figures = {figure.name: figure for figure in read_take_off(body | {"settings": {"deduct": "large"}}).figures}
    assert round(float(figures["openings off"].value), 2) == 4.2
