"""``/materials`` and ``/material``: the catalogue kept by people, without script."""

from __future__ import annotations

import io
import re
from typing import Any

from tests.integration.test_catalogue import ADDRESS, DEARER, PANEL
from tests.support.forms import fields_of
from tests.support.stack import Stack


def pressed(running: Stack, page: str, button: str, **typed: str) -> Any:  # noqa: ANN401
    """Send a page's form with what was typed by a button."""
    names = {name.replace("__", "-"): text for name, text in typed.items()}
    return running.client.post("/material", data={**fields_of(page, "material"), **names, "do": button})


def test_a_material_is_added_changed_and_taken_out_on_the_page(alone: Stack) -> None:
    """Prices from New Year get rows of their own, and what has no field on the form stays as it was put."""
    typed = {"id": "panel-sand", "description": "double 4 in panel, sand", "also": "sand siding; sand",
             "s0__length": "12'6", "s0__price": "$9,80"}  # fmt: skip
    assert pressed(alone, alone.client.get("/material").text, "keep", **typed).status_code == 303
    kept = alone.client.get(ADDRESS).json
    assert (kept["also"], kept["category"]) == (["sand siding", "sand"], "siding")
    assert kept["stock"] == [{"id": "12'-6\"", "length": 150, "price": "9.80"}]
    page = alone.client.get("/material?id=panel-sand").text
    dated = pressed(alone, page, "new-prices", day="2027-01-01").text
    assert re.findall(r'id="([^"]*)"[^>]* autofocus', dated) == ["s1-price"]
    assert pressed(alone, dated, "keep", s1__price="10.20").status_code == 303
    assert [(row["price"], row.get("from")) for row in alone.client.get(ADDRESS).json["stock"]] == [
        ("9.80", None), ("10.20", "2027-01-01")
    ]  # fmt: skip
    assert "from 2027-01-01: 10.20" in alone.client.get("/materials").text
    page = alone.client.get("/material?id=panel-sand").text
    assert pressed(alone, page, "take-out").status_code == 303
    assert alone.client.get(ADDRESS).status_code == 404


def test_what_is_opened_and_kept_is_as_it_was(alone: Stack) -> None:
    """No field is lost or rounded: it keeps its version."""
    stock = [{"id": "12-6", "length": "3811.3 mm", "price": "9.8", "singles": False, "carton": 12, "lap": "26 mm"}]
    dated = {"from": "2027-01-01", "singles": True, "carton": None, "breaks": []}
    stock.append({"id": "12-6", "length": "3811.3 mm", **dated})
    said = {"lap": None, "kerf": "1/8 in", "example": True, "supplier": "North", "cut_price": "0.25"}
    alone.client.put(ADDRESS, json={**PANEL, **said, "stock": stock})
    before = alone.client.get(ADDRESS).json
    assert pressed(alone, alone.client.get("/material?id=panel-sand").text, "keep").status_code == 303
    assert {**alone.client.get(ADDRESS).json, "version": 0} == {**before, "version": 0}


def test_faults_stand_at_their_fields_in_the_words_of_the_page(alone: Stack) -> None:
    """An empty row is passed over, so that the third is the second length of the request."""
    alone.client.put(ADDRESS, json={**PANEL, "stock": [*PANEL["stock"], DEARER]})
    page = alone.client.get("/material?id=panel-sand").text
    page = pressed(alone, page, "add-length").text
    told = pressed(alone, page, "keep", s0__length="", s0__price="", s0__id="", s2__length="x", s2__price="-1")
    assert told.status_code == 422
    faults = re.findall(r'<li><a href="#([\w-]+)">(.*?)</a>', told.text)
    assert [(place, words.partition(":")[0]) for place, words in faults] == [
        ("s2-length", "Length 3, length"), ("s2-price", "Length 3, price each"),
    ]  # fmt: skip
    nameless = pressed(alone, alone.client.get("/material").text, "keep", id="a/b")
    assert "Material: must have 1 to 64 characters" in nameless.text


def test_nobody_undoes_on_the_page_what_somebody_else_changed(alone: Stack) -> None:
    """A form opened before the change is shown again; so is a new material under a name that is taken."""
    alone.client.put(ADDRESS, json=PANEL)
    page = alone.client.get("/material?id=panel-sand").text
    alone.client.put(ADDRESS, json={**PANEL, "also": []})
    assert "somebody else changed it meanwhile" in pressed(alone, page, "keep", description="mine").text
    assert "somebody else changed it meanwhile" in pressed(alone, page, "take-out").text
    copied = pressed(alone, page, "copy").text
    assert "is in the catalogue already" in pressed(alone, copied, "keep", id="panel-sand").text
    assert pressed(alone, copied, "keep", id="panel-clay").status_code == 303


def test_a_file_and_the_starter_set_are_taken_in_on_the_page(alone: Stack) -> None:
    """With its faults told, nothing of a file is kept; the starter set leaves alone what is there."""
    alone.client.put("/v1/materials/starter", json={**PANEL, "category": "starter"})
    assert alone.client.post("/materials", data={"do": "starter-set"}).headers["Location"].endswith(
        "new=16&changed=0&unchanged=0"
    )  # fmt: skip
    assert alone.client.get("/v1/materials/starter").json["description"] == PANEL["description"]
    for text, told in (
        (b"Material,Type,Length\nmine,siding,x\n", "Row 2, column C (Length):"),
        (b"PK\x03\x04", "This file can’t be read"),
        (b"", "The file: it has no row with a material"),
    ):
        page = alone.client.post("/materials", data={"do": "take-in", "file": (io.BytesIO(text), "list.csv")})
        assert (page.status_code, told in page.text) == (422, True), page.text[:2000]
    assert "Choose a file first" in alone.client.post("/materials", data={"do": "take-in"}).text
    assert alone.client.get("/v1/materials/mine").status_code == 404


def test_every_material_of_the_starter_set_can_be_planned_and_says_where_it_is_from(alone: Stack) -> None:
    """Without a source its figures are examples; no name stands for two of them."""
    alone.client.post("/materials", data={"do": "starter-set"})
    materials = alone.client.get("/v1/materials").json["materials"]
    assert len(materials) == 17
    assert [each["id"] for each in materials if not each.get("source")] == []
    assert [
        each["id"] for each in materials if each["source"].startswith("No source") and not each.get("example")
    ] == []
    names = [name.casefold() for each in materials for name in (each["id"], each["description"], *each.get("also", ()))]
    assert sorted({name for name in names if names.count(name) > 1} - {each["id"] for each in materials}) == []
    body = {
        "units": "in",
        "materials": [{"catalogue": each["id"]} for each in materials],
        "required": [{"material": each["id"], "length": 100} for each in materials],
    }
    assert alone.post(body).status_code == 202
