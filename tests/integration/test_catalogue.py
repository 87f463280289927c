"""``/v1/materials``: materials kept for all plans, which keep copies of what they were planned with."""

from __future__ import annotations

from base64 import b64encode
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

from service import catalogue
from tests.support.measured import MEASURED
from tests.support.shed import SHED, Json
from tests.support.stack import Stack, stack

PANEL: Json = {
    "units": "in",
    "description": "double 4 in panel, sand",
    "category": "siding",
    "also": ["sand siding"],
    "stock": [{"id": "12-6", "length": "12' 6\"", "price": "9.80"}],
}
DEARER: Json = {"id": "12-6", "length": "12' 6\"", "price": "10.20", "from": "2027-01-01"}
ADDRESS = "/v1/materials/panel-sand"


def shed_of(**material: object) -> Json:
    """Return the shed with its panel from the catalogue, under the id by which its pieces call it."""
    return {**SHED, "materials": [{"id": "panel-sand", "catalogue": "panel-sand", **material}]}


@pytest.fixture
def on_day(monkeypatch: pytest.MonkeyPatch) -> Any:  # noqa: ANN401
    """Return how to say which day it is."""
    return lambda day: monkeypatch.setattr(catalogue, "today", lambda: date.fromisoformat(day))


def total(running: Stack, body: Json) -> str:
    """Return what a plan's order comes to."""
    plan = running.client.get(f"/v1/cut-plans/{running.posted(body, Prefer='wait=30')}").json
    return str(plan["result"]["order_total"])


def test_a_material_is_put_looked_at_changed_and_taken_out(alone: Stack) -> None:
    """What was got can be put again; what is put as it was keeps its version."""
    client = alone.client
    first = client.put(ADDRESS, json=PANEL)
    assert first.status_code == 201
    assert first.json == {"id": "panel-sand", "version": 1, **PANEL, "stock": [{**PANEL["stock"][0], "length": 150}]}
    again = client.put(ADDRESS, json=client.get(ADDRESS).json)
    assert (again.status_code, again.json["version"], again.headers["ETag"]) == (200, 1, first.headers["ETag"])
    assert client.get(ADDRESS, headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    changed = client.put(ADDRESS, json={**PANEL, "stock": [*PANEL["stock"], DEARER]})
    assert changed.json["version"] == 2
    for seen in (first, changed):
        assert client.get(f"{ADDRESS}?version={seen.json['version']}").json == seen.json
    assert client.delete(ADDRESS).status_code == 204
    assert client.get(f"{ADDRESS}?version=2").json == changed.json, "plans made with it name it still"
    for version, status in ((3, 404), ("two", 400), (0, 400)):
        assert client.get(f"{ADDRESS}?version={version}").status_code == status
    assert client.get(ADDRESS).status_code == client.delete(ADDRESS).status_code == 404
    assert client.put(ADDRESS, json=PANEL).json["version"] == 3


def test_nobody_undoes_what_somebody_else_changed(alone: Stack) -> None:
    """If-Match of what was seen before is refused, and of eight who put at once on the same state one prevails."""
    client = alone.client
    seen = client.put(ADDRESS, json=PANEL).headers["ETag"]
    client.put(ADDRESS, json={**PANEL, "also": ["sand"]})
    assert client.put(ADDRESS, json=PANEL, headers={"If-Match": seen}).status_code == 412
    assert client.delete(ADDRESS, headers={"If-Match": seen}).status_code == 412
    seen = client.get(ADDRESS).headers["ETag"]

    def rename(name: str) -> int:
        return int(alone.client.put(ADDRESS, json={**PANEL, "also": [name]}, headers={"If-Match": seen}).status_code)

    with ThreadPoolExecutor(8) as together:
        assert sorted(together.map(rename, "abcdefgh")) == [200, *[412] * 7]


def test_a_material_with_faults_is_refused_with_all_of_them(alone: Stack) -> None:
    """A negative price, a carton of nought, a row of another length, the same day twice, days partly priced."""
    stock = [
        {"id": "12-6", "length": 150, "price": "-9.80"},
        {"id": "12-6", "length": 151, "price": "10.20", "from": "2027-01-01"},
        {"id": "12-6", "length": 150, "price": "10.20", "from": "2027-01-01"},
        {"id": "16-8", "length": 200, "carton": 0, "from": "2027-02-30"},
    ]
    told = alone.client.put(ADDRESS, json={**PANEL, "id": "panel-clay", "colour": "sand", "stock": stock})
    assert {(error["pointer"], error["code"]) for error in told.json["errors"]} == {
        ("#/id", "wrong_form"),
        ("#/colour", "unknown_field"),
        ("#/stock/0/price", "wrong_form"),
        ("#/stock/1/length", "other_length"),
        ("#/stock/2/id", "id_twice"),
        ("#/stock/3/carton", "out_of_range"),
        ("#/stock/3/from", "wrong_form"),
    }
    unpriced = alone.client.put(ADDRESS, json={**PANEL, "stock": [*PANEL["stock"], {**DEARER, "price": None}]})
    assert unpriced.status_code == 201, "all of it may lose its price from a day on"
    partly = [*PANEL["stock"], {**DEARER, "id": "16-8", "length": 200, "price": None}]
    assert [(error["pointer"], error["code"]) for error in
            alone.client.put(ADDRESS, json={**PANEL, "stock": partly}).json["errors"]] == [
        ("#/stock/1/price", "needs_another")
    ]  # fmt: skip


def test_a_catalogue_is_listed_by_pages_and_searched(alone: Stack) -> None:
    """By the order of ids; words may be of id, description, other names and codes, in any case."""
    for name, description in (("panel-sand", "Sand panel"), ("panel-clay", "Clay panel"), ("j-34", "J-channel, 3/4")):
        body = {**PANEL, "description": description, "also": [], "stock": [{"id": "x", "length": 150, "code": name}]}
        alone.client.put(f"/v1/materials/{name}", json=body)

    def names(query: str) -> list[str]:
        return [each["id"] for each in alone.client.get(f"/v1/materials?{query}").json["materials"]]

    assert names("") == ["j-34", "panel-clay", "panel-sand"]
    assert names("q=PANEL+sa") == ["panel-sand"]
    assert names("q=channel") == ["j-34"]
    assert names("q=none") == names("category=soffit") == []
    first = alone.client.get("/v1/materials?limit=2&q=")
    assert first.json["next"] == "panel-clay"
    assert first.headers["Link"] == '</v1/materials?limit=2&q=&cursor=panel-clay>; rel="next"'
    second = alone.client.get("/v1/materials?limit=2&q=&cursor=panel-clay").json
    assert ([each["id"] for each in second["materials"]], second["next"]) == (["panel-sand"], None)
    assert alone.client.get("/v1/materials?category=sidings").status_code == 400


def test_clients_have_catalogues_of_their_own(tmp_path: Path) -> None:
    """What one client keeps another neither sees nor plans with."""
    keys = {sha256(b"harbour-key").hexdigest(): "harbour", sha256(b"quay-key").hexdigest(): "quay"}
    with stack(tmp_path / "data", api_keys=keys) as locked:
        harbour, quay = ({"Authorization": f"Bearer {name}-key"} for name in ("harbour", "quay"))
        locked.client.put(ADDRESS, json=PANEL, headers=harbour)
        assert locked.client.get(ADDRESS, headers=quay).status_code == 404
        assert locked.client.post("/v1/cut-plans", json=shed_of(), headers=quay).status_code == 422


def test_a_plan_is_made_with_the_prices_of_its_day_and_keeps_them(serving: Stack, on_day: Any) -> None:  # noqa: ANN401
    """Six panels at 9.80 are 58.80, from New Year at 10.20 they are 61.20; what was planned before stays as it was.

    The plan says of which material and state it has a copy, also once that is taken out of the catalogue.
    """
    version = serving.client.put(ADDRESS, json={**PANEL, "stock": [DEARER, *PANEL["stock"]]}).json["version"]
    on_day("2026-12-31")
    plan_id = serving.posted(shed_of(), Prefer="wait=30")
    on_day("2027-01-01")
    assert total(serving, shed_of()) == "61.20"
    serving.client.delete(ADDRESS)
    plan = serving.client.get(f"/v1/cut-plans/{plan_id}").json
    assert plan["result"]["order_total"] == "58.80"
    assert plan["result"]["materials"][0]["catalogue"] == {"id": "panel-sand", "version": version}
    assert "58.80" in serving.client.get(f"/plans/{plan_id}").text


def test_a_request_overrides_fields_of_the_catalogue(serving: Stack) -> None:
    """With a kerf of 1/8 in a panel yields two of 50: seven panels, 68.60; with a stock of one's own its price holds.

    Lengths are in the request's units, whatever the catalogue's.
    """
    serving.client.put(ADDRESS, json=PANEL)
    try:
        assert total(serving, shed_of()) == "58.80"
        assert total(serving, shed_of(kerf="1/8 in")) == "68.60"
        assert total(serving, shed_of(stock=[{"id": "own", "length": 150, "price": "10.00"}])) == "60.00"
        metric = {"units": "mm", "required": [{"material": "panel-sand", "length": 1270, "quantity": 6}]}
        assert total(serving, {**shed_of(), **metric}) == "19.60"
    finally:
        serving.client.delete(ADDRESS)


def test_a_material_that_is_not_there_is_told_by_its_field_with_all_other_faults(alone: Stack, on_day: Any) -> None:  # noqa: ANN401
    """What it would have said is not missing besides; one that is not sold yet is told of too."""
    on_day("2026-11-29")
    alone.client.put("/v1/materials/later", json={**PANEL, "stock": [DEARER]})
    body = {
        **SHED,
        "materials": [{"catalogue": "no-such"}, {"catalogue": "later"}, {"catalogue": 7}, {"id": "own"}],
        "required": [{"material": "no-such", "length": 50}, {"material": "later", "length": 0}],
    }
    told = alone.post(body)
    assert told.status_code == 422
    assert [(error["pointer"], error["code"]) for error in told.json["errors"]] == [
        ("#/materials/0/catalogue", "not_in_catalogue"),
        ("#/materials/1/catalogue", "not_in_catalogue"),
        ("#/materials/2/catalogue", "wrong_type"),
        ("#/materials/2/category", "missing"),
        ("#/materials/2/id", "missing"),
        ("#/materials/2/stock", "missing"),
        ("#/materials/3/category", "missing"),
        ("#/materials/3/stock", "missing"),
        ("#/required/1/length", "length_out_of_range"),
    ]


def test_a_retry_after_a_change_of_prices_returns_the_same_plan(alone: Stack) -> None:
    """The same key and request mean the plan that was accepted first."""
    alone.client.put(ADDRESS, json=PANEL)
    first = alone.posted(shed_of(), Idempotency_Key="tern-1")
    alone.client.put(ADDRESS, json={**PANEL, "stock": [{**PANEL["stock"][0], "price": "11.00"}]})
    assert alone.posted(shed_of(), Idempotency_Key="tern-1") == first


def test_take_offs_weeks_and_checks_take_materials_of_the_catalogue(alone: Stack) -> None:
    """Whoever names materials may name those of the catalogue; what is kept of them is complete."""
    panel = next(each for each in MEASURED["materials"] if each["id"] == MEASURED["uses"]["panel"])
    put = {name: value for name, value in panel.items() if name != "id"} | {"units": MEASURED["units"]}
    alone.client.put(f"/v1/materials/{panel['id']}", json=put)
    named = [{"catalogue": panel["id"]} if each is panel else each for each in MEASURED["materials"]]
    measured = {**MEASURED, "materials": named}
    plain = alone.client.post("/v1/takeoffs", json=MEASURED).json
    found = alone.client.post("/v1/takeoffs", json=measured).json
    assert found["required"] == plain["required"]
    assert found["takeoff"] == plain["takeoff"]
    plan = alone.client.post("/v1/takeoffs?plan=true", json=measured).json
    kept = alone.client.get(f"/v1/cut-plans/{plan['id']}/measured").json["materials"]
    assert next(each for each in kept if each["id"] == panel["id"])["stock"] != []
    week = {"units": "in", "materials": [{"catalogue": panel["id"]}], "deliveries": [{"date": "2030-02-04"}]}
    begun = alone.client.put("/v1/crews/tern/weeks/2030-W06", json=week).json
    assert begun["materials"][0]["catalogue"] == {"id": panel["id"], "version": 1}
    assert alone.client.put("/v1/crews/tern/weeks/2030-W06", json={**week, "materials": begun["materials"]}).json[
        "materials"
    ] == begun["materials"]  # fmt: skip


def test_a_price_list_goes_out_and_in(alone: Stack) -> None:
    """As CSV and XLSX; what is as it was keeps its version, and materials that the file does not name stay."""
    alone.client.put(ADDRESS, json=PANEL)
    alone.client.put("/v1/materials/j-34", json={**PANEL, "category": "channel", "also": []})
    as_csv = alone.client.get("/v1/price-list.csv").data
    for file in (as_csv, alone.client.get("/v1/price-list.xlsx").data):
        told = taken_in(alone, file)
        assert told.json == {"new": [], "changed": [], "unchanged": ["j-34", "panel-sand"]}
    only_panel = b"\n".join(line for line in as_csv.splitlines() if b"j-34" not in line)
    changed = only_panel.replace(b"9.80", b"9.95") + b"\nnew,siding,siding,,,,150,,1.00\n"
    assert taken_in(alone, changed).json == {"new": ["new"], "changed": ["panel-sand"], "unchanged": []}
    assert alone.client.get(ADDRESS).json["stock"][0]["price"] == "9.95"
    assert [each["version"] for each in alone.client.get("/v1/materials").json["materials"]] == [2, 3, 4]


def test_of_a_broken_price_list_nothing_is_taken_in(alone: Stack) -> None:
    """The fault is told with its row and column; what is no file of ours is refused as a whole."""
    told = taken_in(alone, b"Material,Type,Length,Price each\na,siding,150,1\nb,siding,150,x\nc,siding,150,3\n")
    assert told.status_code == 422
    assert [(error["pointer"], error["code"], error["detail"]) for error in told.json["errors"]] == [
        ("#/file", "wrong_form", 'row 3, column D (Price each): must be decimal digits, as in "9.80"')
    ]
    assert alone.client.get("/v1/materials").json == {"materials": [], "next": None}
    assert taken_in(alone, b"PK\x03\x04 no workbook").json["errors"][0]["code"] == "unreadable_file"
    assert alone.client.post("/v1/price-list", json={"file": "%"}).json["errors"][0]["code"] == "wrong_type"


def taken_in(running: Stack, file: bytes) -> Any:  # noqa: ANN401
    """Post a file and return the answer."""
    return running.client.post("/v1/price-list", json={"file": b64encode(file).decode()})
