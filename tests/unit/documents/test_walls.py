"""The wall sheets: what is hung in which order, and how much of it a page holds."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from service.documents.blocks import Page, Paper, Sheet
from service.documents.cut_sheet import hanging_pages
from service.documents.paging import printed
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, CutPlan, LeftOver, PatternUse
from solver.proof import Proof
from solver.required import Keeps, Required, Ripped
from solver.sticks import PlacedPiece, StickUse
from tests.scenario import inches
from tests.support import plans, wall_plans
from tests.support.sheets import MADE, north, paragraphs, tables


def wall(job: Job, plan: CutPlan, paper: Paper = Paper.LETTER) -> Page:
    """Return the first wall's page."""
    return next(hanging_pages(job, plan, paper))


def listed(page: Page) -> list[tuple[str, list[str]]]:
    """Return each course with its pieces in the order of hanging."""
    rows = tables(page)[0].rows
    return [(row[0], re.split("  ", row[1].replace("\N{NO-BREAK SPACE}", " "))) for row in rows]


def test_hanging_goes_course_by_course_from_under_to_over() -> None:
    """The left panel is on top, so every course goes up from the right; box, name, length and panel of each."""
    assert listed(wall(*north())) == [
        ("1", ["☐ 1·3 notch 12'-6\" S2", "☐ 1·2 notch 12'-6\" S1", '☐ 1·1 29 1/2" S5']),
        ("2", ["☐ 2·3 9'-6 1/2\" S5", "☐ 2·2 12'-6\" S3", "☐ 2·1 hole 5'-5\" S6"]),
        ("3", ["☐ 3·3 3'-7 1/2\" S6", "☐ 3·2 12'-6\" S4", "☐ 3·1 11'-4\" S7"]),
    ]


def test_a_rip_stands_with_its_course() -> None:
    """Whoever hangs the top course sees at the list how its panels are ripped."""
    job, plan = north()
    rip = Ripped(inches(4), inches(3), Keeps.LIP, 3)
    ripped = replace(job, required=(replace(job.required[0], rips=(rip,)), *job.required[1:]))
    assert listed(wall(ripped, plan))[2][1][-1] == '(rip to 4" at the left, 3" at the right, keep the lip)'


def test_broken_rules_and_ladders_stand_on_the_wall_s_page() -> None:
    """A broken rule stands with its wall and place; so does how to set a ladder."""
    text = paragraphs(wall(*wall_plans.wider_window()))
    assert "! course 3, at 11'-3 1/4\":" in text
    assert "Set ladders on firm ground" in paragraphs(wall(*north()))


@pytest.mark.parametrize("paper", [Paper.LETTER, Paper.A4])
def test_a_wall_of_sixteen_courses_is_one_page(paper: Paper) -> None:
    """Sixteen courses of four single pieces: drawing and list together."""
    columns = [
        Required(f"N{n}", "panel-sand", inches(60), wall="north", start=inches(80 * n), first_course=1, courses=16)
        for n in range(4)
    ]
    job = replace(north()[0], required=tuple(columns))
    placed = [PlacedPiece(item, f"N{item}", course, 1) for item in range(4) for course in range(1, 17)]
    sticks = tuple(StickUse(f"S{n}", None, (piece,)) for n, piece in enumerate(placed, 1))
    cuts, left = (Cut(inches(60), CutEnd.FACTORY, CutEnd.FIELD),), LeftOver(inches(90), False, FactoryEnd.RIGHT, 1)
    use = PatternUse("12-6", inches(150), FactoryEnd.BOTH, cuts, left, sticks)
    pages = tuple(hanging_pages(job, plans.answer(job, [use], [], 0, Proof("search")), paper))
    assert [len(pieces) for _, pieces in listed(pages[0])] == [4] * 16
    assert len(printed(Sheet("", pages, "", MADE, paper))) == 1
