"""A whole sheet from a finished plan: the order, the cutting, and the hanging."""

from __future__ import annotations

from datetime import datetime

from service.documents.blocks import Paper, Sheet
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.documents.order_page import order_page
from service.documents.title_block import TitleBlock
from service.drawing.lettering import clean
from solver.job import Job
from solver.plan import CutPlan


def sheet_of(job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper) -> Sheet:
    """Return the sheet of a finished plan; its foot tells sheets of different orders apart."""
    known = [clean(word) for word in (block.job, block.customer, block.po)]
    title = f"Cut sheet: {known[0]}" if known[0] else "Cut sheet"
    pages = order_page(job, plan, block), *cutting_pages(job, plan), *hanging_pages(job, plan)
    return Sheet(title, pages, " · ".join(filter(None, known)), made, paper)
