"""The sheet as HTML and PDF: the same words in both, fonts within, nothing that runs."""

from __future__ import annotations

import io
import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256

import pytest
from pypdf import PdfReader

from service.documents.blocks import BOX, Column, Page, Paper, Sheet, Table, TitleBlock
from service.documents.cut_sheet import sheet_of
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.documents.pdf import pdf
from service.documents.sheets import html, policy
from tests.support.sheets import BLOCK, MADE, Words, north, read, sheet, tables


def test_html_and_pdf_say_the_same() -> None:
    """Every sentence, heading and cell of the sheet is in both, word for word."""
    page = " ".join(" ".join(Words(html(sheet())).seen).split())
    document = " ".join(" ".join(read(pdf(sheet()))).split())
    for part in sheet().pages:
        cells = [cell for table in tables(part) for row in table.rows for cell in row]
        for text in (part.title, *cells, *(getattr(block, "text", "") for block in part.blocks)):
            assert text in page
            assert set(text.split()) <= set(document.split())


def test_the_pdf_is_read_back_with_its_fractions_and_primes() -> None:
    """Lengths come out of the file as they went in, on the drawings too; so do primes and vulgar fractions."""
    pages = read(pdf(sheet(block=replace(BLOCK, job="10′-4½″ wall"))))
    assert "10′-4½″ wall" in pages[0]
    assert "9'-6 1/2\"" in pages[1]
    assert "keep 3'-5 1/2\"" in pages[1]
    assert "Lap map: wall north" in pages[-1]
    assert f"page 1 of {len(pages)}" in pages[0]


def test_the_pdf_brings_its_fonts() -> None:
    """Every font of the file is embedded."""
    for page in PdfReader(io.BytesIO(pdf(sheet()))).pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        for font in fonts.values():
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            assert "/FontFile2" in descendant["/FontDescriptor"]


@pytest.mark.parametrize(("paper", "size"), [(Paper.LETTER, (612, 792)), (Paper.A4, (595, 842))])
def test_the_paper_is_the_one_asked_for(paper: Paper, size: tuple[int, int]) -> None:
    """Letter and A4, in the PDF's points and in the page's style."""
    box = PdfReader(io.BytesIO(pdf(sheet(paper)))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
    assert f"size: {'A4' if paper is Paper.A4 else 'letter'};" in html(sheet(paper))


def test_the_same_plan_prints_the_same_bytes() -> None:
    """Neither file depends on when it is printed."""
    assert pdf(sheet()) == pdf(sheet())
    assert html(sheet()) == html(sheet())


def test_a_long_table_repeats_its_headings() -> None:
    """Two hundred steps take several pages, each with the heading row."""
    columns = tables(next(hanging_pages(*north())))[0].columns
    rows = tuple((BOX, str(n), "1", "N·1·1", "12'-6\"", "none", "S1 " * 40) for n in range(200))
    pages = read(pdf(Sheet("long", (Page("long", (Table(columns, rows),)),), "", MADE, Paper.LETTER)))
    assert len(pages) > 8
    assert all("From panel or stick" in page for page in pages)


def test_a_word_wider_than_its_column_is_broken_not_lost() -> None:
    """A mark of 150 letters without a space is printed to its last letter."""
    word = "".join(chr(ord("a") + n % 26) for n in range(150))
    columns = tables(next(cutting_pages(*north())))[0].columns
    row = (word, *[""] * (len(columns) - 1))
    document = pdf(Sheet("wide", (Page("wide", (Table(columns, (row,)),)),), "", MADE, Paper.LETTER))
    assert word in read(document)[0].replace("\n", "")


def test_lines_are_left_to_write_on() -> None:
    """What the counter did not give is there as a name and a line."""
    seen = Words(html(sheet(block=TitleBlock("Tern Cottage")))).seen
    for name in ("Job", "Customer", "Purchase order no.", "Date", "Taken by", "Lot number"):
        assert name in seen


HOSTILE = '<script>alert(1)</script> =HYPERLINK("x") \u202eabc'


def test_hostile_text_stays_text_on_the_page() -> None:
    """Tags are shown, not run; what would turn the text around is gone."""
    job, plan = north()
    page = html(sheet_of(replace(job, name=HOSTILE), plan, TitleBlock(HOSTILE, HOSTILE), MADE, Paper.LETTER))
    assert "<script" not in page
    assert "\u202e" not in page
    assert any(text.startswith("<script>alert(1)</script> =HYPERLINK") for text in Words(page).seen)


def test_the_page_allows_its_own_style_and_nothing_else() -> None:
    """The policy names the hash of the one style in the page; there are no scripts, handlers or style attributes."""
    page = html(sheet())
    style = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    assert len(style) == 1
    digest = b64encode(sha256(style[0].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy(Paper.LETTER)
    assert "default-src 'none'" in policy(Paper.LETTER)
    assert not re.search(r"<script|\son\w+=|\sstyle=|url\(|@import", page)


def test_no_line_ends_between_an_inch_and_its_fraction() -> None:
    """In a narrow column 29 1/2 goes to the next line whole, in both files."""
    columns = (Column("a", 10), Column("b", 90))
    table = Table(columns, (('xxxxxx 29 1/2" yyyyy 9\'-6 1/2"', ""),))
    narrow = Sheet("narrow", (Page("narrow", (table,)),), "", MADE, Paper.A4)
    assert "29\N{NO-BREAK SPACE}1/2" in html(narrow)
    assert {'29\N{NO-BREAK SPACE}1/2"', "9'-6\N{NO-BREAK SPACE}1/2\""} <= set(read(pdf(narrow))[0].split("\n"))
