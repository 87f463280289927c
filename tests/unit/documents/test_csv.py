"""The order as CSV: read back by any reader, executed by none."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.documents.blocks import TitleBlock
from service.documents.order_sheets import HEADING, order_csv
from service.spreadsheets.writing import harmless
from solver.proof import Proof
from tests import scenario
from tests.scenario import inches
from tests.support import plans
from tests.support.sheets import BLOCK, north


def rows_of(text: str) -> list[dict[str, str]]:
    """Return the lines of a CSV by their headings."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_csv_is_read_back_by_any_reader() -> None:
    """RFC 4180: CRLF, one field count, quotes doubled; figures stay figures."""
    text = order_csv(*north(), BLOCK)
    assert text.endswith("\r\n")
    assert text.count("\r\n") == text.count("\n") == 2
    assert rows_of(text)[0] == {
        "plan": "", "job": "Tern Cottage, boat shed", "customer": "A. Marsh", "phone": "", "purchase_order": "PO 1881",
        "date": "2026-11-25", "wanted_by": "", "taken_by": "",
        "material": "panel-sand", "description": "double 4 in panel, sand", "stock": "12-6", "code": "",
        "length": "12'-6\"", "length_number": "150", "length_unit": "in", "sticks": "7", "spares": "0",
        "cartons": "0", "loose": "7", "unit_price": "9.80", "carton_price": "", "amount": "68.60", "fixed_cost": "0.00",
        "supplier": "", "wait_days": "0", "quantity": "", "unit": "",
    }  # fmt: skip


@pytest.mark.parametrize(
    "text",
    ['=HYPERLINK("x","y")', "+1+1", "-2", "@SUM(A1)", " =1", "\t=1", "\r\n=1", "\u202e=1", "\u200e =1",
     "\N{FULLWIDTH EQUALS SIGN}1", "|calc", "%0A"],
)  # fmt: skip
def test_formulas_are_shown_not_carried_out(text: str) -> None:
    """Whatever a spreadsheet would calculate begins with an apostrophe, behind spaces and hidden marks too."""
    assert harmless(text).startswith("'")


@given(st.text(max_size=30))
def test_no_text_becomes_a_formula(text: str) -> None:
    """In every column of texts, whatever is written there; and every line keeps all its fields."""
    job, plan = scenario.shed(), plans.answer(scenario.shed(), [], [], 0, Proof("search"))
    line = replace(plans.line("12-6", inches(150), 6, "9.80", "58.80"), code=text)
    made = order_csv(job, replace(plan, order=(line,)), TitleBlock(text, text, text, text, text, text, text))
    rows = list(csv.reader(io.StringIO(made, newline="")))
    assert [len(row) for row in rows] == [len(HEADING)] * 2
    assert not any(cell[:1] in ("=", "+", "-", "@", "\t", "\r") for cell in rows[1])
