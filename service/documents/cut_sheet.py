"""The cut sheet of a finished plan: the saw sheet, then a sheet for each wall. No prices: they stand on the order."""

from __future__ import annotations

from datetime import datetime

from service.documents.blocks import Paper, Sheet, TitleBlock
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.drawing.lettering import clean
from solver.job import Job
from solver.plan import CutPlan
from solver.takeoff.pole import HousePole


def sheet_of(
    job: Job, plan: CutPlan, block: TitleBlock, made: datetime, paper: Paper, pole: HousePole | None = None
) -> Sheet:
    """Return the sheet of a finished plan; its foot tells sheets of different orders apart.

    ``pole`` is the story pole of the house, where it was measured.
    """
    named = clean(block.job or job.name)
    pages = *cutting_pages(job, plan, exposure=pole.exposure if pole else None), *hanging_pages(job, plan, paper, pole)
    return Sheet(f"Cut sheet: {named}" if named else "Cut sheet", pages, block.whose, made, paper)
