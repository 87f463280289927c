"""A plan opened again on the page is the same request: what the page does not show is kept.

Each test goes the way a browser without JavaScript goes: open the page, send its fields back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from service.counter import pages
from solver.job import Job
from solver.lengths import Unit
from tests.support.forms import fields_of
from tests.support.shed import WALL
from tests.support.stack import Stack, stack
from tests.unit.wire.test_schemas import EVERYTHING

Json = dict[str, Any]
Fields = dict[str, str]
LIMITED: Json = {
    "units": "in",
    "materials": [
        {"id": "panel", "category": "siding",
         "stock": [{"id": "12-6", "length": 150, "price": "9.80", "available": 3},
                   {"id": "16-8", "length": 200, "price": "12.00", "available": 2}]},
    ],
    "required": [{"mark": "A", "material": "panel", "length": 100, "quantity": 6}],
}  # fmt: skip
"""Six of 8'-4". One comes out of a 12'-6" panel and two out of a 16'-8" one, of which there are two.

Four out of two 16'-8" and two out of two 12'-6" cost 24.00 + 19.60; three 16'-8" would cost 36.00, but aren't there.
"""


@pytest.fixture(scope="module")
def quick(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers, whose pages wait for no plan."""
    patience, pages.PATIENCE = pages.PATIENCE, 0.0
    with stack(tmp_path_factory.mktemp("quick") / "data", rate=1_000_000, most_waiting=1_000_000) as running:
        yield running
    pages.PATIENCE = patience


def job_of(installation: Stack, plan_id: str) -> Job:
    """Return the job of a plan as it is kept."""
    job = installation.store.job(plan_id)
    assert job is not None
    return job


def sent_back(installation: Stack, plan_id: str, change: Callable[[Fields], object] = dict) -> Job:
    """Open a plan on the page, change its fields, press Plan, and return the job that comes of it."""
    page = installation.client.get(f"/?plan={plan_id}")
    assert page.status_code == 200, page.text
    fields = fields_of(page.text)
    change(fields)
    answer = installation.client.post("/", data={**fields, "do": "plan"})
    assert answer.status_code == 303, faults_in(answer.text)
    return job_of(installation, answer.location.split("?")[0].rpartition("/")[2])


def faults_in(page: str) -> str:
    """Return what the page says must be put right."""
    return page[page.find('id="faults"') :][:1500]


def test_panels_that_are_not_there_are_not_ordered_again(serving: Stack) -> None:
    """The page's own way: an order of 43.60 opened again and planned untouched is 43.60, not 36.00."""
    first = serving.posted(LIMITED, Prefer="wait=30")
    fields = fields_of(serving.client.get(f"/?plan={first}").text)
    answer = serving.client.post("/", data={**fields, "do": "plan"})
    again = answer.location.split("?")[0].rpartition("/")[2]
    serving.settled(again)
    plan = serving.store.plan(again)
    assert plan is not None
    assert plan.order_total == Decimal("43.60")


def test_a_request_with_every_field_comes_back(quick: Stack) -> None:
    """Nothing that a request can say is lost or bent on its way over the page."""
    first = quick.posted(EVERYTHING)
    assert sent_back(quick, first) == job_of(quick, first)


def test_a_wall_comes_back(quick: Stack) -> None:
    """Walls, courses, what is kept clear and what is cut out are no part of a list, and are kept."""
    first = quick.posted(WALL)
    assert sent_back(quick, first) == job_of(quick, first)


def test_only_what_is_changed_changes(quick: Stack) -> None:
    """A length, a price and a setting typed anew; all else is as it was."""
    first = quick.posted(EVERYTHING)
    before = job_of(quick, first)

    def change(fields: Fields) -> None:
        fields["m0-s0-price"] = "10.20"
        fields["m0-lap_spacing"] = "30"
        fields["text"] = fields["text"].replace("27'-4", "26'-0")

    after = sent_back(quick, first, change)
    (material,), (item, short) = before.materials, before.required
    row = replace(material.stock[0], price=Decimal("10.20"))
    spaced = replace(material.settings, lap_spacing=30 * 8128)
    assert after.materials == (replace(material, stock=(row,), settings=spaced),)
    assert after.required == (replace(item, length=26 * 12 * 8128), short)
    assert replace(after, materials=(), required=()) == replace(before, materials=(), required=())


def test_another_category_brings_its_own_defaults(quick: Stack) -> None:
    """What was never said follows the category; what was said stays."""
    body = {**LIMITED, "materials": [{**LIMITED["materials"][0], "end_gap": "3/8"}]}
    after = sent_back(quick, quick.posted(body), lambda fields: fields.update({"m0-category": "channel"}))
    settings = after.materials[0].settings
    assert (settings.lap, settings.end_gap) == (3 * 8128 // 4, 3 * 8128 // 8)


def test_a_renamed_material_keeps_what_it_had(quick: Stack) -> None:
    """A name is no key: stock, offcuts and pieces follow the row that was renamed."""
    first = quick.posted(EVERYTHING)
    before = job_of(quick, first)

    def rename(fields: Fields) -> None:
        fields["m0-name"] = "clay"
        fields["text"] = fields["text"].replace("panel-sand", "clay")

    after = sent_back(quick, first, rename)
    assert after.materials == (replace(before.materials[0], id="clay"),)
    assert after.required == tuple(replace(item, material="clay") for item in before.required)
    assert after.offcuts == (replace(before.offcuts[0], material="clay"),)


def test_an_offcut_stays_of_its_material(quick: Stack) -> None:
    """It follows its material when that is renamed, moves up with it, and goes with it."""
    soffit = {"id": "soffit", "category": "soffit", "stock": [{"id": "12", "length": 144}]}
    offcuts = [{"id": "R-1", "material": "panel", "length": 61}, {"id": "R-2", "material": "soffit", "length": 40}]
    body = {**LIMITED, "materials": [*LIMITED["materials"], soffit], "offcuts": offcuts}
    first = quick.posted(body)
    renamed = sent_back(quick, first, lambda fields: fields.update({"m1-name": "vented"}))
    assert [(cut.id, cut.material) for cut in renamed.offcuts] == [("R-1", "panel"), ("R-2", "vented")]
    fields = fields_of(quick.client.get(f"/?plan={first}").text)
    fields = fields_of(quick.client.post("/", data={**fields, "do": "drop-material:0"}).text)
    assert (fields["o0-id"], fields.get("o1-id")) == ("R-2", None)
    fields["text"] = "3 @ 30"
    answer = quick.client.post("/", data={**fields, "do": "plan"})
    left = job_of(quick, answer.location.split("?")[0].rpartition("/")[2])
    assert [(cut.id, cut.material) for cut in left.offcuts] == [("R-2", "soffit")]


def test_a_row_in_place_of_another_inherits_nothing(quick: Stack) -> None:
    """A stock length and a piece that are taken out and typed anew are new, whatever stood there before."""
    first = quick.posted(LIMITED)
    page = fields_of(quick.client.get(f"/?plan={first}").text)
    for button in ("drop-stock:0-0", "add-stock:0"):
        page = fields_of(quick.client.post("/", data={**page, "do": button}).text)
    page |= {"m0-s1-length": "12' 6\"", "m0-s1-price": "9.80", "text": "panel:\n6 @ 8' 4\""}
    answer = quick.client.post("/", data={**page, "do": "plan"})
    after = job_of(quick, answer.location.split("?")[0].rpartition("/")[2])
    assert [(row.length, row.available) for row in after.materials[0].stock] == [(200 * 8128, 2), (150 * 8128, None)]


def test_the_page_says_what_a_line_does_not(quick: Stack) -> None:
    """What is kept beside a line and a row is said there, so that nobody plans with what can't be seen."""
    page = quick.client.get(f"/?plan={quick.posted(EVERYTHING)}").text
    for words in ("wall north", "courses 1 to 3", "row 7", 'name="m0-s0-whole" value="1" checked', 'value="220"'):
        assert words in page


def test_a_list_whose_plan_is_gone_is_not_planned_with_less(quick: Stack) -> None:
    """Without the plan that it was opened from, what the page does not show is unknown: it says so."""
    first = quick.posted(LIMITED)
    fields = fields_of(quick.client.get(f"/?plan={first}").text)
    quick.store.redis.flushdb()
    answer = quick.client.post("/", data={**fields, "do": "plan"})
    assert answer.status_code == 422
    assert "no longer kept" in answer.text


IDS = st.sampled_from(["panel-sand", "j-channel", "12-6", "soffit white", "D4", "a" * 64])
TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["C"]), max_size=12)
ANY_LENGTH = st.builds("{} mm".format, st.integers(10, 3000)) | st.decimals("0.5", 120, places=4).map(float)
MAYBE_COUNT = st.none() | st.integers(1, 50)
SETTINGS: dict[str, st.SearchStrategy[object]] = {
    "lap": st.sampled_from([None, 0, "1 1/4", -0.25]), "end_gap": st.sampled_from(["3/8", 0.3]),
    "kerf": st.sampled_from(["1/8", 0.1]), "lap_ends": st.sampled_from(["factory", "renotched", "any"]),
    "shortest_piece": st.none() | st.integers(5, 20), "lap_spacing": st.none() | st.integers(0, 40),
    "lap_repeat": st.none() | st.integers(0, 5), "in_line_within": st.none() | st.integers(0, 5),
    "extra_laps": st.integers(0, 3), "keep_offcuts_from": ANY_LENGTH, "spare_percent": st.sampled_from(["2.5", 0, "7"]),
    "description": TEXTS,
}  # fmt: skip
END = st.sampled_from(["plain", "channel"]) | st.builds(
    lambda pitch, leans: {"meets": "channel", "pitch": pitch, "leans": leans, "long_edge": "top"},
    st.sampled_from(["6/12", "5/7", "1.25/3"]), st.sampled_from(["left", "right"]),
)  # fmt: skip


@st.composite
def stock_rows(draw: st.DrawFn) -> list[Json]:
    """Draw the stock of one material: all priced or none."""
    priced = draw(st.booleans())
    rows = []
    for number in range(draw(st.integers(1, 3))):
        row: Json = {"id": f"{number} {draw(TEXTS)}", "length": draw(st.sampled_from([150, "16' 8\"", 199.99]))}
        row |= {"price": draw(st.sampled_from(["9.80", 12, "0.005"]))} if priced else {}
        row |= {"fixed_cost": draw(st.sampled_from(["4.50", 0]))} if priced else {}
        row |= draw(st.fixed_dictionaries({}, optional={
            "available": MAYBE_COUNT | st.just(0), "code": TEXTS, "lap": ANY_LENGTH, "end_gap": st.just("3/8"),
            "wait_days": st.sampled_from([0, 10]),
        }))  # fmt: skip
        if draw(st.booleans()):
            row |= {"carton": draw(st.integers(2, 24)), "singles": draw(st.booleans())}
            row |= {"carton_price": "200"} if priced else {}
        rows.append(row)
    return rows


@st.composite
def requests(draw: st.DrawFn) -> Json:
    """Draw a request that uses any field, with short pieces, so that most can be planned."""
    materials = [
        {"id": name, "category": draw(st.sampled_from(["siding", "soffit", "post", "other"])),
         "stock": draw(stock_rows()), **draw(st.fixed_dictionaries({}, optional=SETTINGS))}
        for name in draw(st.lists(IDS, min_size=1, max_size=3, unique=True))
    ]  # fmt: skip
    of = st.sampled_from([material["id"] for material in materials])
    on_wall = st.fixed_dictionaries({}, optional={
        "wall": st.just("north"), "start": ANY_LENGTH, "first_course": st.integers(1, 9), "courses": st.integers(1, 4),
        "cut_outs": st.just([{"from": 1, "to": 3, "edge": "top", "height": 2}]),
    })  # fmt: skip
    item = st.builds(
        lambda must, may, wall: {**must, **may, **wall},
        st.fixed_dictionaries({"material": of, "length": ANY_LENGTH, "quantity": st.integers(1, 9)}),
        st.fixed_dictionaries({}, optional={
            "mark": TEXTS, "ref": TEXTS, "left_end": END, "right_end": END, "room": st.sampled_from([0, "1/2"]),
        }), on_wall,
    )  # fmt: skip
    offcuts = [
        {"id": f"R{n}", "material": draw(of), "length": draw(ANY_LENGTH), "quantity": n + 1,
         "factory_end": draw(st.sampled_from(["left", "both", "none"]))}
        for n in range(draw(st.integers(0, 2)))
    ]  # fmt: skip
    return {
        "name": draw(TEXTS), "units": draw(st.sampled_from(["in", "ft", "mm"])),
        "materials": materials, "walls": [{"id": "north", "viewed_from": draw(st.sampled_from(["left", 20, None]))}],
        "required": draw(st.lists(item, min_size=1, max_size=5)), "offcuts": offcuts,
        "limits": {"seconds": draw(st.sampled_from([1, 7.5, 600]))}, "within_days": draw(st.sampled_from([None, 10])),
    }  # fmt: skip


@given(requests())
@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_request_comes_back(quick: Stack, body: Json) -> None:
    """Reopening a plan and pressing Plan without touching anything asks for the same again."""
    posted = quick.post(body)
    event(f"status {posted.status_code}")
    assume(posted.status_code in (200, 202))
    first = posted.json["id"]
    assert sent_back(quick, first) == job_of(quick, first)


def test_a_stock_length_that_is_back_is_as_limited_as_before(serving: Stack) -> None:
    """Two 16'-8" panels are out of stock for a while: when they are back there are two, not as many as wanted."""
    body = {**LIMITED, "materials": [{**LIMITED["materials"][0], "stock": [
        {**LIMITED["materials"][0]["stock"][0], "available": 6}, LIMITED["materials"][0]["stock"][1]]}]}  # fmt: skip
    address = f"/plans/{serving.posted(body, Prefer='wait=30')}"
    for button in ("out:0:16-8", "back:0:16-8"):
        answer = serving.client.post(address, data={"do": button})
        assert answer.status_code == 303, answer.text
        address = answer.location
    last = job_of(serving, address.split("?")[0].rpartition("/")[2])
    assert [row.available for row in last.materials[0].stock] == [6, 2]


def test_other_units_change_no_length(quick: Stack) -> None:
    """Read in millimetres from now on: what was planned in inches is as long as it was."""
    first = quick.posted(EVERYTHING)
    after = sent_back(quick, first, lambda fields: fields.update({"units": "mm"}))
    assert after == replace(job_of(quick, first), units=Unit.MM)


def test_how_long_one_can_wait_is_typed(quick: Stack) -> None:
    """Days typed beside the job are in the request, and nothing typed is as long as it takes; else it is refused."""
    first = quick.posted({**EVERYTHING, "within_days": 14})
    assert sent_back(quick, first, lambda fields: fields.update({"within_days": "12"})).within_days == 12
    assert sent_back(quick, first, lambda fields: fields.update({"within_days": ""})).within_days is None
    sheet = {"text": "4 @ 8'", "units": "in", "m0-name": "", "m0-category": "siding", "m0-s0-length": "150"}
    refused = quick.client.post("/", data={**sheet, "m0-s0-wait_days": "-1", "within_days": "soon", "do": "plan"})
    assert re.findall(r'aria-invalid="true" aria-describedby="([^"]*)"', refused.text) == [
        "why-m0-s0-wait_days", "why-within_days",
    ]  # fmt: skip
