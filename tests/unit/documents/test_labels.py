"""Labels: what stands on each, where it lies, and that its code asks for its own piece."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
import segno
from pypdf import PdfReader

from service.documents.labels import STOCKS, Label, Stock, labels_of
from service.documents.pdf import labels_pdf
from tests.support.sheets import MADE, north, read

AT = "http://saw.example/plans/100009/pieces/"
PAGE = (200.0, 100.0)
FOUR = Stock(PAGE, 90.0, 40.0, 2, 2, 5.0, 5.0, 100.0, 50.0)
"""Two by two labels of 90 x 40 mm."""


def labels() -> tuple[Label, ...]:
    """Return the labels of the north wall's nine pieces and its one offcut."""
    return tuple(labels_of(*north(), "100012", AT, pieces=True, offcuts=True))


def test_a_label_says_what_a_piece_is_and_where_from() -> None:
    """Name, length, what is to be done to it, stick, factory ends, plan and job; the place is in the name."""
    assert labels()[0] == Label(
        "north 1·2", "12'-6\"",
        ("", "notch", "panel-sand, S1", "both ends factory", "100012, Tern Cottage, boat shed"), f"{AT}S1-1",
    )  # fmt: skip


def test_a_kept_offcut_has_a_label_of_its_own() -> None:
    """S6 leaves 41 1/2 in, without a factory end; it is named as it lies on the rack."""
    assert labels()[-1] == Label(
        "keep 100012-S6", "3'-5 1/2\"", ("panel-sand", "no factory end"), f"{AT}S6-keep"
    )
    assert len(labels_of(*north(), "100012", AT, pieces=True, offcuts=False)) == 9
    assert len(labels_of(*north(), "100012", AT, pieces=False, offcuts=True)) == 1


def test_labels_fill_sheet_after_sheet() -> None:
    """Ten labels on sheets of four are three; with two labels used up there are eight on the first three."""
    assert len(read(labels_pdf(labels(), FOUR, "", MADE))) == 3
    pages = read(labels_pdf(labels(), FOUR, "", MADE, skip=2))
    assert [len(re.findall(r"north \d·\d|keep", page)) for page in pages] == [2, 4, 4]


def test_on_a_roll_each_label_is_a_page() -> None:
    """62 x 29 mm are 175.75 x 82.2 points."""
    pages = PdfReader(io.BytesIO(labels_pdf(labels(), STOCKS["roll"], "", MADE))).pages
    assert len(pages) == 10
    assert (round(pages[0].mediabox.width), round(pages[0].mediabox.height)) == (176, 82)


@pytest.mark.parametrize("stock", STOCKS)
def test_all_that_the_saw_needs_is_printed_and_then_whose_it_is(stock: str) -> None:
    """On every stock, smallest letters or not: the notch, the stick, the factory ends, and then plan and job."""
    (page,) = read(labels_pdf(labels()[:1], STOCKS[stock], "", MADE))
    needed = "north 1·2 12'-6\" notch panel-sand, S1 both ends factory 100012, Tern Cottage, boat shed"
    assert " ".join(page.split()) == needed


def test_the_symbol_is_the_one_of_the_piece_s_address() -> None:
    """Each dark run of modules is one box, four modules from the label's edge of the symbol; the words say it too."""
    reader = PdfReader(io.BytesIO(labels_pdf(labels()[:1], STOCKS["roll"], "", MADE)))
    matrix = segno.make(f"{AT}S1-1", error="m", micro=False).matrix
    runs = sum(len(re.findall("1+", "".join("1" if dark else "0" for dark in row))) for row in matrix)
    stream = reader.pages[0].get_contents().get_data().decode("latin-1")  # type: ignore[union-attr]
    assert stream.count(" re") == runs
    kids = reader.trailer["/Root"]["/StructTreeRoot"]["/K"][0].get_object()["/K"]  # type: ignore[index]
    assert kids[0].get_object()["/Alt"] == f"QR code of {AT}S1-1"


@pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
def test_the_labels_we_know_lie_on_their_page(stock: Stock) -> None:
    """Side by side, and within the paper."""
    assert stock.fits


def test_labels_that_overlap_or_leave_the_page_are_seen() -> None:
    """A label wider than its pitch, and a third column beyond the paper."""
    assert not replace(FOUR, width=101.0).fits
    assert not replace(FOUR, across=3).fits
