"""The documents over HTTP: each from a plan that a real worker made, and a problem where there is no plan."""

from __future__ import annotations

import csv
import io
from xml.etree import ElementTree as ET

import pytest
from pypdf import PdfReader

from tests.support.shed import SHED, Json, shed, shed_with
from tests.support.stack import Stack, eventually
from workers.plans.store import PLAN

DOCUMENTS = (
    "order.csv", "cut-sheet.html", "cut-sheet.pdf", "order.html", "order.pdf", "customer-copy.html",
    "customer-copy.pdf", "drawing.svg",
)  # fmt: skip


def wall() -> Json:
    """Return the shed with a wall of one course of two pieces: 4'-2" in channels left of a door, 34 1/2 right."""
    left = {"mark": "L", "material": "panel-sand", "length": 50, "wall": "north & west", "first_course": 1}
    right = {**left, "mark": "R", "length": 34.5, "start": 90}
    return shed(walls=[{"id": "north & west", "viewed_from": "left"}], required=[left, right])


@pytest.fixture(scope="module")
def plan(serving: Stack) -> str:
    """Return the address of the shed's finished plan, with the particulars of an order."""
    order = {"customer": "A. Marsh", "purchase_order": "PO 1881", "taken_by": "R. Tern", "wanted_by": "2026-12-04"}
    return f"/v1/cut-plans/{serving.posted(SHED | {'particulars': order}, Prefer='wait=30')}"


def test_the_order_comes_as_csv(serving: Stack, plan: str) -> None:
    """Six panels, 58.80, as an attachment that a spreadsheet opens."""
    answer, number = serving.client.get(f"{plan}/order.csv"), serving.client.get(plan).json["number"]
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert answer.headers["Content-Disposition"] == f"attachment; filename=order-{number}.csv"
    row = next(csv.DictReader(io.StringIO(answer.text, newline="")))
    assert (row["plan"], row["customer"], row["purchase_order"]) == (number, "A. Marsh", "PO 1881")
    assert (row["sticks"], row["amount"]) == ("6", "58.80")


def test_the_sheet_comes_as_a_page_of_its_own(serving: Stack, plan: str) -> None:
    """HTML with what the counter knows in its title block, under a policy that lets nothing in."""
    answer = serving.client.get(f"{plan}/order.html?paper=a4")
    assert answer.content_type == "text/html; charset=utf-8"
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'; style-src 'sha256-")
    for text in ("A. Marsh", "R. Tern", "2026-12-04", "Tern Cottage, boat shed", "size: 210.0mm", "One lot number"):
        assert text in answer.text


def test_the_sheet_comes_as_pdf_and_reads_back(serving: Stack, plan: str) -> None:
    """The files hold cuts and cautions, what to pull, and what it costs; printed again they are the same files."""
    said = {
        "cut-sheet.pdf": ("PO 1881", "6 panels", "9'-7\"", "3 × 4'-2\"", "nail hem up", "eye protection"),
        "order.pdf": ("PO 1881", "6 panels", "One lot number"),
        "customer-copy.pdf": ("PO 1881", "6 panels", "58.80", "Signed"),
    }
    for name, parts in said.items():
        answer = serving.client.get(f"{plan}/{name}")
        assert answer.content_type == "application/pdf"
        text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.data)).pages)
        assert all(part in text for part in parts)
        assert ("58.80" in text) is (name == "customer-copy.pdf")
        assert serving.client.get(f"{plan}/{name}").data == answer.data


def test_the_drawing_comes_as_svg(serving: Stack, plan: str) -> None:
    """One picture of the whole plan, well formed, that may load nothing."""
    answer = serving.client.get(f"{plan}/drawing.svg")
    assert answer.content_type == "image/svg+xml; charset=utf-8"
    assert answer.headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert ET.fromstring(answer.text)[0].text == "Cut drawing: Tern Cottage, boat shed"


def test_a_wall_is_drawn_by_its_name(serving: Stack) -> None:
    """``wall`` gives that wall's lap map; a wall that nothing hangs on is not there."""
    plan = f"/v1/cut-plans/{serving.posted(wall(), Prefer='wait=30')}"
    answer = serving.client.get(f"{plan}/drawing.svg", query_string={"wall": "north & west"})
    assert "open 3'-4\"" in {element.text for element in ET.fromstring(answer.text).iter()}
    assert serving.client.get(f"{plan}/drawing.svg?wall=south").status_code == 404


def test_metric_jobs_are_printed_on_a4_in_millimetres(serving: Stack) -> None:
    """Without a wish for paper the units decide."""
    body = shed_with("units", "mm")
    body["materials"][0]["stock"][0]["length"] = 3810
    body["required"] = [{"material": "panel-sand", "length": 1270, "quantity": 3}]
    plan_id = serving.posted(body, Prefer="wait=30")
    page = serving.client.get(f"/v1/cut-plans/{plan_id}/cut-sheet.html").text
    assert "size: 210.0mm" in page
    assert "3 × 1270 mm" in page


def test_an_unchanged_document_costs_no_bytes(serving: Stack, plan: str) -> None:
    """GET with the ETag of what is known answers 304."""
    for name in DOCUMENTS:
        etag = serving.client.get(f"{plan}/{name}").headers["ETag"]
        again = serving.client.get(f"{plan}/{name}", headers={"If-None-Match": etag})
        assert (again.status_code, again.data) == (304, b"")


@pytest.mark.parametrize("query", ["paper=legal", "paper="])
def test_a_query_that_cant_be_read_is_refused(serving: Stack, plan: str, query: str) -> None:
    """The problem names the parameter, and what it may be."""
    answer = serving.client.get(f"{plan}/cut-sheet.pdf?{query}")
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-query")
    assert answer.json["detail"].startswith(f"{query.split('=', maxsplit=1)[0]} must ")


@pytest.mark.parametrize("name", DOCUMENTS)
def test_there_is_no_document_of_an_unknown_plan(serving: Stack, name: str) -> None:
    """404, as the plan itself answers."""
    answer = serving.client.get(f"/v1/cut-plans/{'0' * 32}/{name}")
    assert (answer.status_code, answer.content_type) == (404, "application/problem+json")


def test_there_is_no_document_before_the_plan(alone: Stack) -> None:
    """409 while it waits, with Retry-After; 409 for good once it is cancelled."""
    plan_id = alone.posted(SHED)
    for name in DOCUMENTS:
        waiting = alone.client.get(f"/v1/cut-plans/{plan_id}/{name}")
        assert (waiting.status_code, waiting.json["type"]) == (409, "/problems/not-ready")
        assert waiting.headers["Retry-After"] == "1"
    alone.client.post(f"/v1/cut-plans/{plan_id}/cancel")
    for name in DOCUMENTS:
        none = alone.client.get(f"/v1/cut-plans/{plan_id}/{name}")
        assert (none.status_code, none.json["type"]) == (409, "/problems/no-plan")


def test_an_expired_plan_has_no_documents(serving: Stack) -> None:
    """410 once the result is gone."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    serving.store.redis.pexpire(PLAN + plan_id, 1)
    eventually(lambda: serving.store.fetch(plan_id) is None)
    for name in DOCUMENTS:
        assert serving.client.get(f"/v1/cut-plans/{plan_id}/{name}").status_code == 410


def test_documents_are_in_the_contract(serving: Stack) -> None:
    """The OpenAPI document has each with its media type and what its query may say."""
    paths = serving.client.get("/openapi.json").json["paths"]
    types = {"csv": "text/csv", "html": "text/html", "pdf": "application/pdf", "svg": "image/svg+xml"}
    for name in DOCUMENTS:
        told = paths[f"/v1/cut-plans/{{plan_id}}/{name}"]["get"]
        assert types[name.rpartition(".")[2]] in told["responses"]["200"]["content"]
        wanted = {"drawing.svg": ["wall"], "order.csv": []}.get(name, ["paper"])
        assert [parameter["name"] for parameter in told["parameters"] if parameter["in"] == "query"] == wanted
