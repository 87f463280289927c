"""The counter page as the server sees it: whose forms it takes, what it lets in, and lines mended beside the list."""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO

import pytest

from tests.support.files import workbook
from tests.support.shed import shed_with
from tests.support.stack import Stack

STOCK = {"m0-name": "", "m0-category": "siding", "m0-s0-length": "12' 6\""}
FORM = {"text": "4 @ 8'\n4 @ about 60", "units": "in", **STOCK}


@pytest.mark.parametrize(("headers", "status"), [
    ({}, 200),
    ({"Sec-Fetch-Site": "same-origin"}, 200),
    ({"Sec-Fetch-Site": "cross-site"}, 404),
    ({"Sec-Fetch-Site": "same-site"}, 404),
    ({"Origin": "http://localhost"}, 200),
    ({"Origin": "http://shop.example"}, 404),
])  # fmt: skip
def test_forms_of_other_sites_are_not_taken(alone: Stack, headers: dict[str, str], status: int) -> None:
    """A form is taken from our own pages, by Fetch Metadata where the browser sends it, else by Origin."""
    assert alone.client.post("/", data={**FORM, "do": "read"}, headers=headers).status_code == status


def test_pages_let_nothing_in(alone: Stack) -> None:
    """No inline scripts or styles, no frames, no cookies, nothing kept in caches."""
    answer = alone.client.get("/")
    policy = answer.headers["Content-Security-Policy"]
    assert policy == "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
    assert "Set-Cookie" not in answer.headers
    assert answer.headers["Cache-Control"] == "private, no-store"
    assert " style=" not in answer.text
    assert "<script>" not in answer.text


def test_a_line_mended_beside_the_list(alone: Stack) -> None:
    """It replaces the line as it was shown, and nothing where the list was changed meanwhile."""
    mended = {"do": "read", "was:2": "4 @ about 60", "fix:2": "4 @ 60"}
    assert "8 pieces read, every line clear." in alone.client.post("/", data=FORM | mended).text
    changed = alone.client.post("/", data=FORM | mended | {"text": "4 @ 8'\n4 @ 9'"}).text
    assert "9&#39;-0&#34;" in changed


def test_a_form_beyond_the_limit_is_answered_with_a_page(alone: Stack) -> None:
    """Too large a form is 413, in words and with a way back."""
    answer = alone.client.post("/", data={**FORM, "text": "4 @ 8'\n" * 800_000, "do": "read"})
    assert (answer.status_code, answer.mimetype) == (413, "text/html")
    assert "Back to the list" in answer.text


def test_where_nothing_can_be_cut_the_page_does_not_speak_of_enough(serving: Stack) -> None:
    """With no panel to be had nothing is ordered, because nothing can be cut; there is no empty order to copy."""
    plan_id = serving.posted(shed_with("materials/0/stock/0/available", 0), Prefer="wait=30")
    page = serving.client.get(f"/plans/{plan_id}").text
    assert "Nothing to order: none of this can be cut from these lengths." in page
    assert "Copy the order" not in page
    assert "on hand is enough" not in page
    assert "How it is cut" not in page
    assert "No cheaper order" not in page


@pytest.mark.parametrize(("field", "value", "words"), [
    ("m0-s0-price", "abc", "Siding panel, length 1, price each: must be decimal digits"),
    ("m0-kerf", "a lot", "Siding panel, saw kerf: "),
    ("m0-lap_repeat", "often", "Siding panel, courses before laps line up again: must be a number"),
    ("o0-length", "short", "Offcut 1, length: "),
    ("m0-s0-length", "12", "siding panel, length 1: 12 ft?"),
    ("m0-category", "channel", "What channel is it? Name it"),
    ("m0-s0-length", "20 in", "“Shortest piece in a run”"),
])  # fmt: skip
def test_a_fault_is_told_in_the_words_of_the_page(alone: Stack, field: str, value: str, words: str) -> None:
    """It names the material, the row and the field by its label; no name of the request's stands on the page."""
    offcut = {"o0-length": "61", "o0-quantity": "1"}
    answer = alone.client.post("/", data={**FORM, **offcut, "text": "4 @ 8'", field: value, "do": "plan"})
    assert answer.status_code == 422
    told = unescape(answer.text[answer.text.find('id="faults"') :].partition("</ul>")[0])
    assert words in told
    assert not re.search(r"[a-z]_[a-z]", re.sub(r'href="[^"]*"', "", told))


def test_a_file_is_opened_into_the_list(alone: Stack) -> None:
    """Rows of a workbook become lines; below a list that is there already, under the file's name."""
    rows = workbook({"List": [["Qty", "Length"], ["14", "9'-7\""]]})
    for text, put in (("", "Qty\tLength\n14\t9'-7\""), ("4 @ 8'", "4 @ 8'\n=== sheet a.xlsx ===\nQty\tLength")):
        form = {**FORM, "text": text, "do": "open", "file": (BytesIO(rows), "a.xlsx")}
        page = alone.client.post("/", data=form, content_type="multipart/form-data")
        assert (page.status_code, put in unescape(page.text)) == (200, True)


@pytest.mark.parametrize(("file", "told"), [
    ((BytesIO(b""), ""), "Choose a file first."),
    ((BytesIO(bytes(range(256))), "photo.jpg"), "it is none of CSV, TSV, XLSX and ODS"),
])  # fmt: skip
def test_a_file_that_is_no_list_is_named(alone: Stack, file: tuple[BytesIO, str], told: str) -> None:
    """The list stays as it was, and the page says what to do."""
    page = alone.client.post("/", data={**FORM, "do": "open", "file": file}, content_type="multipart/form-data")
    assert (page.status_code, told in page.text, "4 @ about 60" in page.text) == (422, True, True)


def test_no_two_materials_are_ordered_under_one_name(alone: Stack) -> None:
    """Nothing is ordered as the second of something: the page asks for another name."""
    second = {"m1-name": "", "m1-category": "siding", "m1-s0-length": "12' 6\"", "rest": "siding panel 2"}
    answer = alone.client.post("/", data={**FORM, **second, "text": "4 @ 8'", "do": "plan"})
    assert answer.status_code == 422
    assert "Two materials are called siding panel: give one another name." in unescape(answer.text)
