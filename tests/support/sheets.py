"""The sheet of the north wall, and how a test reads what is printed."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser

from pypdf import PdfReader

from service.documents.blocks import Cuts, Page, Paper, Sheet, Table, TitleBlock, Word
from service.documents.cut_sheet import sheet_of
from solver.job import Job
from solver.materials import cautions_for
from solver.plan import CutPlan
from tests import scenario
from tests.support import wall_plans

BLOCK = TitleBlock("Tern Cottage, boat shed", "A. Marsh", "PO 1881", "2026-11-25", "")
MADE = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)


def north() -> tuple[Job, CutPlan]:
    """Return the north wall with the cautions that a plan carries."""
    job = scenario.north_wall()
    return job, replace(wall_plans.north_wall(), cautions=cautions_for(job.materials))


def sheet(paper: Paper = Paper.LETTER, block: TitleBlock = BLOCK) -> Sheet:
    """Return the sheet of the north wall."""
    return sheet_of(*north(), block, MADE, paper)


def read(document: bytes) -> list[str]:
    """Return the text of every page of a PDF."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(document)).pages]


def tables(page: Page) -> list[Table]:
    """Return the tables of a page."""
    return [block for block in page.blocks if isinstance(block, Table)]


def settings(page: Page) -> list[list[list[str]]]:
    """Return the saw's settings on a page as lines of words, the sticks of a line first, its columns apart by ``|``."""
    every = [setting for block in page.blocks if isinstance(block, Cuts) for setting in block.settings]
    return [[_line(line.sticks, *line.cells) for line in setting.lines] for setting in every]


def _line(*cells: tuple[Word, ...]) -> list[str]:
    return [" ".join(word.text for word in cell) for cell in cells]


def paragraphs(page: Page) -> str:
    """Return the sentences of a page."""
    return " ".join(getattr(block, "text", "") for block in page.blocks)


class Words(HTMLParser):
    """Collects what a reader of a page sees."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.feed(page)

    def handle_data(self, data: str) -> None:
        """Keep text between tags."""
        self.seen.append(data.strip())
