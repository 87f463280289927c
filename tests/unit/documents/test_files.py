"""The sheet as HTML and PDF: the same words in both, fonts within, nothing that runs."""

from __future__ import annotations

import io
import re
from base64 import b64encode
from collections import Counter
from dataclasses import replace
from hashlib import sha256

import pytest
from pypdf import PdfReader

from service.documents.blocks import Column, Page, Paper, Sheet, Table, TitleBlock
from service.documents.cut_sheet import sheet_of
from service.documents.order_sheets import yard_sheet
from service.documents.pdf import pdf
from service.documents.sheets import html, policy
from tests.support.sheets import BLOCK, MADE, Words, north, read, sheet


def test_html_and_pdf_say_the_same() -> None:
    """Page by page, every word that stands in one stands in the other, as often."""
    sections = html(sheet()).split('<section class="page">')[1:]
    pages = read(pdf(sheet()))
    assert len(sections) == len(pages) == 2
    for section, page in zip(sections, pages, strict=True):
        shown = re.sub(r"<(title|desc)>.*?</\1>", "", section)
        assert Counter(" ".join(Words(shown).seen).split()) == Counter(page.split())


def test_the_pdf_is_read_back_with_its_fractions_and_primes() -> None:
    """Lengths come out of the file as they went in, on the drawings too; so do primes and vulgar fractions."""
    pages = read(pdf(sheet(block=replace(BLOCK, job="10′-4½″ wall"))))
    assert "10′-4½″ wall" in pages[0]
    assert "9'-6\N{NO-BREAK SPACE}1/2\"" in pages[0]
    assert "11'-9 1/4\"" in pages[0]
    assert "To hang: wall north" in pages[-1]
    assert f"page 1 of {len(pages)}" in pages[0]


def test_the_pdf_tells_what_is_what() -> None:
    """Its tree has headings, sentences, a list of settings, tables by row and cell, and drawings with their words."""
    root = PdfReader(io.BytesIO(pdf(sheet()))).trailer["/Root"]
    assert (root["/MarkInfo"]["/Marked"], root["/Lang"]) == (True, "en")  # type: ignore[index]
    document = root["/StructTreeRoot"]["/K"][0].get_object()  # type: ignore[index]
    tags = [kid.get_object()["/S"] for kid in document["/K"]]
    assert tags[:6] == ["/H1", "/P", "/P", "/P", "/H2", "/L"]
    assert {"/Table", "/Figure"} <= set(tags)
    table = next(kid.get_object() for kid in document["/K"] if kid.get_object()["/S"] == "/Table")
    rows = [[cell.get_object()["/S"] for cell in row.get_object()["/K"]] for row in table["/K"]]
    assert rows[0] == ["/TH", "/TH"]
    assert rows[1:] == [["/TD", "/TD"]] * 3
    figures = [kid.get_object()["/Alt"] for kid in document["/K"] if kid.get_object()["/S"] == "/Figure"]
    assert any("course 1: north 1·1 from S5" in words for words in figures)


def test_every_mark_on_a_page_is_tagged() -> None:
    """Outside of what is tagged a page's stream sets no text and draws no line."""
    for page in PdfReader(io.BytesIO(pdf(sheet()))).pages:
        stream = page.get_contents().get_data().decode("latin-1")  # type: ignore[union-attr]
        outside = re.sub(r"(?s)/\w+ (<</MCID \d+>> BDC|BMC).*?\nEMC", "", stream)
        assert not re.search(r"\b(Tj|TJ|S|f|B)\b", outside)


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
    assert f"size: {'210.0mm 297.0mm' if paper is Paper.A4 else '215.9mm 279.4mm'};" in html(sheet(paper))


def test_the_same_plan_prints_the_same_bytes() -> None:
    """Neither file depends on when it is printed."""
    assert pdf(sheet()) == pdf(sheet())
    assert html(sheet()) == html(sheet())


def test_a_long_table_repeats_its_headings() -> None:
    """Two hundred steps take several pages, each with the heading row."""
    columns = (Column("Course", 10), Column("In this order", 90))
    rows = tuple((str(n), "S1 " * 120) for n in range(200))
    pages = read(pdf(Sheet("long", (Page("long", (Table(columns, rows),)),), "", MADE, Paper.LETTER)))
    assert len(pages) > 8
    assert all("In this order" in page for page in pages)


def test_a_word_wider_than_its_column_is_broken_not_lost() -> None:
    """A mark of 150 letters without a space is printed to its last letter."""
    word = "".join(chr(ord("a") + n % 26) for n in range(150))
    columns = (Column("Mark", 14), Column("How many", 86))
    row = (word, "")
    document = pdf(Sheet("wide", (Page("wide", (Table(columns, (row,)),)),), "", MADE, Paper.LETTER))
    assert word in read(document)[0].replace("\n", "")


def test_lines_are_left_to_write_on() -> None:
    """What the counter did not give is there as a name and a line."""
    seen = Words(html(yard_sheet(*north(), TitleBlock("Tern Cottage"), MADE, Paper.A4))).seen
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
    assert not re.search(r"<script|\son\w+=|\sstyle=|url\((?!data:font)|@import", page)


def test_no_line_ends_between_an_inch_and_its_fraction() -> None:
    """In a narrow column 29 1/2 goes to the next line whole, in both files."""
    columns = (Column("a", 10), Column("b", 90))
    table = Table(columns, (('xxxxxx 29 1/2" yyyyy 9\'-6 1/2"', ""),))
    narrow = Sheet("narrow", (Page("narrow", (table,)),), "", MADE, Paper.A4)
    assert "29\N{NO-BREAK SPACE}1/2" in html(narrow)
    assert {'29\N{NO-BREAK SPACE}1/2"', "9'-6\N{NO-BREAK SPACE}1/2\""} <= set(read(pdf(narrow))[0].split("\n"))
