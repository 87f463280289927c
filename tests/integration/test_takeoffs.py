"""``/v1/takeoffs``: the measured shed becomes a request for a cut plan with its arithmetic, or the plan itself."""

from __future__ import annotations

from copy import deepcopy
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from service.wire import read_job
from service.wire.takeoffs.taken_off import render_take_off
from service.wire.takeoffs.takeoff import read_take_off
from solver.job import BelowMinimum, MinimumOrder
from solver.takeoff import take_off
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


def test_when_and_of_whom_is_ordered_is_handed_on() -> None:
    """A special order of ten days can't be waited for; North's minimum and delivery count, and those of nobody else."""
    told = {
        "within_days": 9, "minimum_order": {"amount": 40, "below": "fee", "fee": 5},
        "suppliers": [{"name": "North", "delivery": "12.50"}],
    }  # fmt: skip
    job, plain = read_job(_answer(MEASURED | told)), read_job(_answer(MEASURED))
    assert job.within_days == 9
    assert job.minimum_order == MinimumOrder(Decimal(40), BelowMinimum.FEE, Decimal(5))
    assert [(each.name, each.delivery) for each in job.suppliers] == [("North", Decimal("12.50"))]
    assert (plain.within_days, plain.minimum_order, plain.suppliers) == (None, None, ())


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


def test_what_would_be_planned_is_only_read(alone: Stack) -> None:
    """The take-off is answered and nothing is kept; with ``plan`` what keeps it from being planned is told too."""
    dry, plain = take(alone, MEASURED, "?plan=true&dry_run=true"), take(alone, MEASURED, "?dry_run=true")
    assert dry.status_code == plain.status_code == 200
    assert dry.json == plain.json == take(alone, MEASURED).json
    assert alone.client.get("/v1/cut-plans").json["plans"] == []
    for query, status in (("?plan=true&dry_run=true", 422), ("?plan=true", 422), ("?dry_run=true", 200)):
        answer = take(alone, MEASURED | {"rack": ["gone"]}, query)
        assert answer.status_code == status
    assert take(alone, MEASURED, "?dry_run=maybe").status_code == 400


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
    (wrap,) = (line for line in order.splitlines() if "house wrap" in line)
    assert wrap.endswith(",404.66,sq ft")
    assert ",not ordered," in wrap
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
    """A gable too low, an opening over another, an outline that cuts itself, a third eave at a corner: all at once."""
    gable = {"id": "east", "width": 240, "height": 96, "peak": 90, "left": "channel", "right": "channel"}
    body = changed("walls/0/openings/1/from", 65)
    body["walls"][1]["outline"] = [[0, 0], [216, 93], [216, 0], [0, 93]]
    body["walls"].append(gable)
    body["eaves"] = [
        {"id": name, "length": 240, "overhang": 12, "left": "mitred", "left_corner": "e"} for name in ("a", "b", "c")
    ]
    told = take(alone, body).json["errors"]
    assert {(error["pointer"], error["code"]) for error in told} == {
        ("#/walls/2/peak", "peak_too_low"), ("#/walls/0/openings/1", "openings_overlap"),
        ("#/walls/1/outline", "outline_crosses"), ("#/eaves/2", "corner_met_thrice"),
    }  # fmt: skip


def test_a_fault_of_form_hides_no_wrong_names_and_no_exposure_hides_no_opening(alone: Stack) -> None:
    """A width below 0 in the last wall; no exposure, a panel that is no material, an id twice, an opening outside."""
    body = changed("walls/0/openings/1/from", 2000)
    north = body["walls"][0]
    twice = north | {"openings": [north["openings"][0]] * 2, "right": {"meets": "outside_post"}}
    broken = {"id": "x", "width": -1, "height": 96, "left": "channel", "right": "channel"}
    body |= {"exposure": 0, "uses": body["uses"] | {"panel": "nope"}, "walls": [north, twice, broken]}
    whole = body | {"walls": [north, twice]}
    expected = {
        ("#/exposure", "no_exposure"), ("#/uses/panel", "unknown_material"), ("#/walls/1/id", "named_twice"),
        ("#/walls/0/openings/1", "opening_sticks_out"), ("#/walls/1/openings/1/id", "named_twice"),
        ("#/walls/1/openings/1", "openings_overlap"), ("#/walls/1/right/takes_up", "takes_up_missing"),
    }  # fmt: skip
    for asked, further in ((whole, set()), (body, {("#/walls/2/width", "length_out_of_range")})):
        told = take(alone, asked).json["errors"]
        assert {(error["pointer"], error["code"]) for error in told} == expected | further
        assert len(told) == len(expected | further)
    unsound = body | {"materials": 3, "exposure": "wide"}
    told = {error["pointer"] for error in take(alone, unsound).json["errors"]}
    assert told == {"#/materials", "#/walls/2/width", "#/exposure"} | {at for at, _ in expected if "walls" in at}


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
