"""Materials of the catalogue on the pages: found by the names that lists use, filled in, changed for one plan."""

from __future__ import annotations

from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest

from tests.support.forms import fields_of
from tests.support.shed import Json
from tests.support.stack import Stack

TRIM: Json = {
    "units": "in", "description": "utility trim, white", "category": "channel", "also": ["utility trim", "undersill"],
    "stock": [
        {"id": "12", "length": 144, "price": "6.00", "code": "UT-12", "carton": 10, "singles": False,
         "carton_price": "50.00", "end_gap": "1/8"},
    ],
}  # fmt: skip
LIST = "Utility Trim:\n6 @ 11'10\n"
"""Six pieces of 142 in: six sticks of 144 in, so one carton of ten at 50.00, as single sticks are not sold."""


@pytest.fixture
def trimmed(serving: Stack) -> Iterator[Stack]:
    """Yield an installation with utility trim in its catalogue."""
    serving.client.put("/v1/materials/ut-white", json=TRIM)
    yield serving
    serving.client.delete("/v1/materials/ut-white")


def sent(running: Stack, do: str, way: str = "/", **fields: str) -> Any:  # noqa: ANN401
    """Send the form of the page, as it opens, with some fields filled in."""
    return running.client.post(way, data={**fields_of(running.client.get(way).text), **fields, "do": do})


def planned(running: Stack, answer: Any) -> Json:  # noqa: ANN401
    """Return the plan that a form led to."""
    assert answer.status_code == 303, unescape(answer.text)[:3000]
    plan_id = answer.headers["Location"].rpartition("/")[2]
    running.settled(plan_id)
    plan: Json = running.client.get(f"/v1/cut-plans/{plan_id}").json
    return plan


def test_a_name_on_the_list_is_the_catalogues_material(trimmed: Stack) -> None:
    """By any of its names; what the page does not show, such as its gap, is kept too; the plan says its origin."""
    plan = planned(trimmed, sent(trimmed, "plan", text=LIST))
    (line,) = plan["result"]["order"]
    assert (line["material"], line["stock"], line["sticks"], line["cartons"]) == ("ut-white", "12", 6, 1)
    assert plan["result"]["order_total"] == "50.00"
    assert plan["result"]["materials"][0]["catalogue"]["id"] == "ut-white"
    page = sent(trimmed, "read", text=LIST).text
    assert "is cut from ut-white" in page
    assert "Also kept: end gap 1/8" in page


def test_what_is_changed_on_the_page_holds_for_its_plan_alone(trimmed: Stack) -> None:
    """A price typed over, and a length added, beside what the catalogue says of the others."""
    form = fields_of(sent(trimmed, "read", text=LIST).text)
    assert (form["m1-name"], form["m1-s0-price"], form["m1-s0-code"]) == ("ut-white", "6.00", "UT-12")
    form = fields_of(trimmed.client.post("/", data={**form, "do": "add-stock:1"}).text)
    form |= {"m1-s0-price": "7.00", "m1-s1-length": "20'", "m1-s1-price": "1.00", "do": "plan"}
    plan = planned(trimmed, trimmed.client.post("/", data=form))
    assert [(line["text"], line["sticks"]) for line in plan["result"]["order"]] == [("20'-0\"", 6)]
    assert plan["result"]["order_total"] == "6.00"
    assert trimmed.client.get("/v1/materials/ut-white").json["stock"][0]["price"] == "6.00"


def test_a_plan_opened_again_keeps_its_copy(trimmed: Stack) -> None:
    """With the price that it was made with, though the catalogue has another by now, or none."""
    before = planned(trimmed, sent(trimmed, "plan", text=LIST))
    stock = [{**TRIM["stock"][0], "carton_price": "70.00"}]
    trimmed.client.put("/v1/materials/ut-white", json={**TRIM, "stock": stock})
    form = fields_of(trimmed.client.get(f"/?plan={before['id']}").text)
    after = planned(trimmed, trimmed.client.post("/", data={**form, "job": "again", "do": "plan"}))
    assert after["result"]["order_total"] == "50.00"
    assert after["result"]["materials"][0]["catalogue"] == before["result"]["materials"][0]["catalogue"]


def test_while_one_types_the_material_is_offered_and_can_be_refused(trimmed: Stack) -> None:
    """In the part that is read as one types; asked again, the name is what staff say it is."""
    page = sent(trimmed, "read", text=LIST, part="reading").text
    assert 'value="take:ut-white/Utility Trim"' in page
    taken = fields_of(sent(trimmed, "take:ut-white/Utility Trim", text=LIST).text)
    assert (taken["m1-name"], taken["same:Utility Trim"]) == ("ut-white", "ut-white")
    asked = trimmed.client.post("/", data={**taken, "do": "not-same:Utility Trim"})
    assert "The list names" in asked.text
    own = trimmed.client.post("/", data={**fields_of(asked.text), "do": "same:0:Utility Trim"})
    assert "is cut from siding panel" in own.text


def test_what_the_list_named_stands_for_that_name_alone(trimmed: Stack) -> None:
    """Another trim is asked for, though a word of it is in the material's id; what names none is of staff's own."""
    page = sent(trimmed, "read", text=f"4 @ 9'7\n{LIST}UT brown:\n2 @ 40\n").text
    assert "is cut from ut-white" in page
    assert "The list names <q><bdi>UT brown</bdi></q>: 2 pieces" in page
    assert "without a material" not in page


def test_a_row_that_names_a_material_is_filled_in(trimmed: Stack) -> None:
    """Where it says nothing else; lengths that somebody typed stay. So is one that is chosen."""
    filled = fields_of(sent(trimmed, "read", **{"m0-name": "undersill"}).text)
    assert (filled["m0-name"], filled["m0-s0-length"], filled["m0-category"]) == ("ut-white", "12'-0\"", "channel")
    own = fields_of(sent(trimmed, "read", **{"m0-name": "undersill", "m0-s0-length": "10 ft"}).text)
    assert (own["m0-name"], own["m0-s0-length"]) == ("undersill", "10 ft")
    assert "m0-catalogue" not in own
    picked = fields_of(sent(trimmed, "pick", pick="ut-white").text)
    assert (picked["m1-name"], picked["m1-catalogue"]) == ("ut-white", "ut-white")


def test_what_a_house_needs_is_filled_in_by_its_trade_name(trimmed: Stack) -> None:
    """Set up as utility trim, the row is the catalogue's; it keeps its use, and metric pages say it in metric."""
    row = fields_of(sent(trimmed, "add-role:utility", way="/measure").text)
    assert (row["m1-name"], row["m1-role"], row["m1-s0-price"]) == ("ut-white", "utility", "6.00")
    metric = fields_of(sent(trimmed, "add-role:utility", way="/measure", units="mm").text)
    assert metric["m1-s0-length"] == "3657.6 mm"


def test_a_name_that_several_materials_have_is_asked(trimmed: Stack) -> None:
    """Each of them is offered, and none is taken."""
    trimmed.client.put("/v1/materials/ut-sand", json={**TRIM, "also": ["utility trim"]})
    try:
        page = sent(trimmed, "read", text=LIST).text
    finally:
        trimmed.client.delete("/v1/materials/ut-sand")
    assert "is cut from" not in page
    assert all(f'value="take:{name}/Utility Trim"' in page for name in ("ut-sand", "ut-white"))
