"""What a crew prints of its week: read back from HTML and PDF, and held against the plan."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal
from html import unescape

import pytest
from pypdf import PdfReader

from service.documents.blocks import Paper
from service.documents.pdf import pdf
from service.documents.sheets import html
from service.documents.week_sheets import ANY_VAN, in_order, morning_sheet, order_sheet, week_sheet
from service.drawing.week_flow import chains_of
from solver.lengths import Unit
from solver.weekly.week import Week
from tests.support.measured import MEASURED
from tests.support.shed import SHED
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, planned, week, with_carry, with_rack
from workers.week_tasks import run_week
from workers.weeks.record import WeekKey
from workers.weeks.store import WeekStore

FILES = ("page.pdf", "days/2100-03-08/sheet.pdf", "days/2100-03-11/sheet.pdf", "deliveries/2100-03-08/order.pdf")


def text_of(page: str) -> str:
    """Return the words of a page."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def test_monday_loads_three_panels_and_keeps_three_labelled_offcuts() -> None:
    """The pull list, and the label, length and day of what is kept."""
    words = text_of(html(morning_sheet(week(), planned(week()).days[0], Paper.LETTER)))
    assert "3 panels" in words
    for label in ("48-MO1", "48-MO2", "48-MO3"):
        assert label in words
    assert words.count("for Thursday") == 3


def test_thursday_brings_what_monday_kept() -> None:
    """No whole panel, and the three labels."""
    words = text_of(html(morning_sheet(week(), planned(week()).days[1], Paper.LETTER)))
    assert "None: offcuts are enough today." in words
    assert all(label in words for label in ("48-MO1", "48-MO2", "48-MO3"))


def test_the_order_of_a_delivery() -> None:
    """Three panels for 29.40, for Monday."""
    words = text_of(html(order_sheet(week(), planned(week()).orders[0], Paper.LETTER)))
    assert "Monday 23 November 2026" in words
    assert "3 panels" in words
    assert "29.40" in words


def test_each_supplier_has_a_page_of_a_delivery_to_himself() -> None:
    """What two sell for Monday is on two pages, and each totals its own."""
    order = planned(week()).orders[0]
    named = (*order.lines, *(replace(line, supplier="North") for line in order.lines))
    sheet = order_sheet(week(), replace(order, lines=named), Paper.LETTER)
    title = "Order for Monday 23 November 2026"
    assert [page.title for page in sheet.pages] == [title, f"{title}, North"]
    assert ["29.40" in str(page) and "58.80" not in str(page) for page in sheet.pages] == [True, True]


def test_the_week_on_a_page() -> None:
    """Jobs by day, what planning together saves, and the flow of sticks."""
    words = text_of(html(week_sheet(week(), planned(week()), Paper.LETTER)))
    assert "Tern Cottage, north wall" in words
    assert "4 for 39.20 3 for 29.40 3 for 29.40" in words
    assert "From day to day" in words


def test_what_orders_each_figure_is_of_is_said_where_one_is_closed() -> None:
    """Closed orders are in the bill alone; while all are open there is nothing to tell apart."""
    plan = planned(week())
    closed = replace(plan, orders=tuple(replace(order, closed=True) for order in plan.orders))
    said = ("What planning together saves on orders still open", "The week's orders, with those closed, come to 29.40")
    pages = [text_of(html(week_sheet(week(), one, Paper.LETTER))) for one in (closed, plan)]
    assert [[words in page for words in said] for page in pages] == [[True, True], [False, False]]


def test_what_a_bound_leaves_out_is_said_where_there_is_a_bound() -> None:
    """A van is not counted in what is not proven; where nothing is known there is nothing to say of it."""
    tight = with_carry(2)
    plan, (entry,) = planned(tight), planned(tight).compared
    lower = replace(entry.pooled, sticks=3, cost=Decimal("29.40"))
    plans = [replace(plan, bound=None, compared=(replace(entry, bound=bound),)) for bound in (lower, None)]
    assert [ANY_VAN in text_of(html(week_sheet(tight, one, Paper.LETTER))) for one in plans] == [True, False]


def test_sticks_are_followed_from_day_to_day() -> None:
    """Each of the three is cut on Monday and on Thursday."""
    chains = chains_of(planned(week()), Unit("in"))
    assert [[step.date.weekday() for step in chain.steps] for chain in chains] == [[0, 3]] * 3


@pytest.fixture(scope="module")
def kept(serving: Stack) -> Stack:
    """Return an installation that holds the planned week."""
    store, key = WeekStore(serving.store.redis), WeekKey("anybody", "printing", "2100-W10")
    store.change(key, lambda _: in_another_week(week(), 2100, 10))
    store.ask(key)
    run_week(store, key, None)
    return serving


@pytest.mark.parametrize("name", FILES)
def test_every_file_is_readable(kept: Stack, name: str) -> None:
    """Each is a PDF with text, and the same sheet is there as HTML."""
    base = "/v1/crews/printing/weeks/2100-W10/"
    answer = kept.client.get(base + name)
    assert (answer.status_code, answer.mimetype) == (200, "application/pdf")
    assert PdfReader(io.BytesIO(answer.data)).pages[0].extract_text()
    assert kept.client.get(base + name.replace(".pdf", ".html")).mimetype == "text/html"


@pytest.mark.parametrize("name", [*FILES, *(name.replace(".pdf", ".html") for name in FILES)])
def test_an_unchanged_sheet_costs_no_bytes(kept: Stack, name: str) -> None:
    """GET with the ETag of what is known answers 304; another wish for paper is another sheet."""
    address = f"/v1/crews/printing/weeks/2100-W10/{name}"
    etag = kept.client.get(address).headers["ETag"]
    again = kept.client.get(address, headers={"If-None-Match": f"W/{etag}"})
    assert (again.status_code, again.data) == (304, b"")
    assert kept.client.get(f"{address}?paper=a4", headers={"If-None-Match": etag}).status_code == 200


def test_paper_that_there_is_not_is_told_of_alike_everywhere(kept: Stack) -> None:
    """A cut sheet, a take-off and a week's sheets refuse it in the same words."""
    plan = f"/v1/cut-plans/{kept.posted(SHED, Prefer='wait=30')}"
    week_ = "/v1/crews/printing/weeks/2100-W10"
    day, order = "days/2100-03-08/sheet", "deliveries/2100-03-08/order"
    got = [f"{plan}/cut-sheet", *(f"{week_}/{sheet}" for sheet in ("page", day, order))]
    answers = [kept.client.get(f"{path}.{kind}?paper=a3") for path in got for kind in ("html", "pdf")]
    answers += [kept.client.post(f"/v1/takeoffs/sheet.{kind}?paper=a3", json=MEASURED) for kind in ("html", "pdf")]
    told = {(answer.status_code, answer.json["type"], answer.json["detail"]) for answer in answers}
    assert told == {(400, "/problems/malformed-query", "paper must be one of: letter, a4.")}


def test_a_day_without_a_sheet_is_not_there(kept: Stack) -> None:
    """No job is on Tuesday, and nothing comes then."""
    base = "/v1/crews/printing/weeks/2100-W10/"
    said = {"days/2100-03-09/sheet.html": "nothing to cut on", "deliveries/2100-03-09/order.pdf": "orders nothing for"}
    for path, words in said.items():
        answer = kept.client.get(base + path)
        assert answer.status_code == 404
        assert f"{words} 2100-03-09" in answer.json["detail"]


def twice_on_monday() -> Week:
    """The shed is moved to Monday, so that the day has two jobs."""
    north, shed = week().jobs
    return replace(week(), jobs=(north, replace(shed, date=north.date)))


def test_what_is_written_on_an_offcut_is_the_same_wherever_it_is_told() -> None:
    """The label, on the page of what to keep and on that of how to cut; never the length alone."""
    words = text_of(html(morning_sheet(week(), planned(week()).days[0], Paper.LETTER)))
    assert "write the length on it" not in words
    assert words.count("48-MO2") == 2


def test_pieces_alike_of_a_job_share_a_row() -> None:
    """Three of 100 in for the north wall out of three panels, three of 50 in for the shed out of the same."""
    asked = twice_on_monday()
    words = text_of(html(morning_sheet(asked, planned(asked).days[0], Paper.LETTER)))
    assert "☐☐☐ A 3 8'-4\" panel-sand S1 to S3" in words
    assert "☐☐☐ B 3 4'-2\" panel-sand S1 to S3" in words


def test_the_week_leads_to_its_sheets_and_orders() -> None:
    """On a screen, by addresses relative to the page's own; paper prints none."""
    page = html(week_sheet(week(), planned(week()), Paper.LETTER))
    assert re.findall(r'href="([^"]+)"', page) == [
        "days/2026-11-23/sheet.html", "days/2026-11-26/sheet.html", "deliveries/2026-11-23/order.html",
    ]  # fmt: skip
    assert (
        "Sheet for"
        not in PdfReader(io.BytesIO(pdf(week_sheet(week(), planned(week()), Paper.LETTER)))).pages[0].extract_text()
    )


def test_nights_in_the_van_are_named() -> None:
    """Three offcuts lie there from Monday to Wednesday night."""
    words = text_of(html(week_sheet(week(), planned(week()), Paper.LETTER)))
    assert "Monday 3, Tuesday 3, Wednesday 3." in words


def test_a_rack_piece_says_when_it_is_wanted() -> None:
    """R-17 is brought on Thursday."""
    words = text_of(html(week_sheet(with_rack(), planned(with_rack()), Paper.LETTER)))
    assert "R-17 panel-sand 5'-1 1/2\" left Thursday" in words


def test_labels_are_sorted_as_they_are_counted() -> None:
    """MO10 comes after MO9."""
    assert sorted(["48-MO10", "48-MO9", "R-2", "48-MO1"], key=in_order) == ["48-MO1", "48-MO9", "48-MO10", "R-2"]
