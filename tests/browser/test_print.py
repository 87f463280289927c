"""The same sheet from the browser's printer and as PDF, on both papers, held against pages that somebody looked at.

``python -m tests.browser.test_print`` keeps new pages where a sheet was changed on purpose: look at them first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from service.documents.blocks import Cuts, Paper, Sheet
from service.documents.cut_sheet import sheet_of
from service.documents.order_sheets import yard_sheet
from service.documents.pdf import pdf
from service.documents.sheets import html
from tests.support.pictures import golden, keep, pictures, unlike
from tests.support.sheets import BLOCK, MADE, north, read

PAGES = Path(__file__).parents[1] / "data" / "pages"
ALIKE = 0.12
"""A row more or less, or a drawing a few millimetres off, is 0.2 and more; fonts set by two programs are 0.07."""
SHEETS = {"cut-sheet": sheet_of, "order": yard_sheet}


def sheet(name: str, paper: Paper) -> Sheet:
    """Return a sheet of the north wall."""
    return SHEETS[name](*north(), BLOCK, MADE, paper)


def printed_by(browser: Browser, shown: Sheet) -> bytes:
    """Return what the browser prints of a sheet."""
    page = browser.new_page()
    page.set_content(html(shown))
    document = page.pdf(prefer_css_page_size=True)
    page.close()
    return document


def kept(name: str, paper: Paper) -> Iterator[Path]:
    """Yield where the pages of a sheet are kept."""
    return (PAGES / f"{name}-{paper}-{number}.png" for number in range(1, len(pictures(pdf(sheet(name, paper)))) + 1))


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("name", SHEETS)
def test_pdf_and_print_look_as_they_did(browser: Browser, name: str, paper: Paper) -> None:
    """Both against the same kept pages, page by page; and the words of every page are the same."""
    shown = sheet(name, paper)
    file, print_out = pdf(shown), printed_by(browser, shown)
    assert [words.split() for words in map(_sorted, read(file))] == [w.split() for w in map(_sorted, read(print_out))]
    wanted = [golden(path) for path in kept(name, paper)]
    for document in (file, print_out):
        seen = pictures(document)
        assert len(seen) == len(wanted)
        assert max(unlike(one, other) for one, other in zip(seen, wanted, strict=True)) < ALIKE


def _sorted(words: str) -> str:
    return " ".join(sorted(words.split()))


def test_a_missing_setting_is_seen() -> None:
    """The saw sheet without its last setting is not alike: a test of the test."""
    shown = sheet("cut-sheet", Paper.LETTER)
    first = shown.pages[0]
    less = [Cuts(block.settings[:-1]) if isinstance(block, Cuts) else block for block in first.blocks]
    wrong = pictures(pdf(replace(shown, pages=(replace(first, blocks=tuple(less)), *shown.pages[1:]))))[0]
    assert unlike(wrong, golden(PAGES / "cut-sheet-letter-1.png")) > ALIKE


if __name__ == "__main__":
    for asked in SHEETS:
        for size in Paper:
            for taken, path in zip(pictures(pdf(sheet(asked, size))), kept(asked, size), strict=True):
                keep(taken, path)
