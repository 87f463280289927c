"""What the cut sheet and the hanging pages say of a planned take-off: shapes, rips, places, order."""

from __future__ import annotations

from collections.abc import Iterator

from service.documents.blocks import Page
from service.documents.cutting_page import cutting_pages
from service.documents.take_off_pages import take_off_sheet
from solver import plan_job
from solver.job import Job
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import gable
from tests.measured_shed import house_of, plain_wall, post
from tests.scenario import inches
from tests.sheets import MADE, sheet, tables


def job_of(found: TakeOff) -> Job:
    """Return the job that a take-off is planned as."""
    return Job(found.house.name, found.house.unit, found.house.materials, found.required, walls=found.planned_walls)


def cut_pages(found: TakeOff) -> tuple[Page, ...]:
    """Return the cutting pages of its plan."""
    job = job_of(found)
    return tuple(cutting_pages(job, plan_job(job, lambda: 0.0)))


def rows_of(pages: tuple[Page, ...], mark: str) -> Iterator[tuple[str, ...]]:
    """Yield the rows of a mark in the lists of pieces."""
    return (row for page in pages for table in tables(page) for row in table.rows if row[0] == mark)


GABLE = plain_wall(outline=gable(inches(120), inches(100), inches(140)), left=post("a"), right=post("b"))


def test_the_cut_sheet_says_how_much_of_an_end_is_upright() -> None:
    """10 ft, eaves at 100 in, 8/12: course 13 is upright for 4 3/16 in (as reckoned in ``test_ends``)."""
    (row,) = rows_of(cut_pages(take_off(house_of(GABLE))), "north-2")
    assert 'in a channel, upright for 4 3/16" from the bottom, then 8/12, long at the bottom' in row


def test_a_course_that_bends_is_not_listed_with_those_that_are_square() -> None:
    """Courses 1 to 12 are square, 13 bends: two rows of the take-off's runs."""
    page = take_off_sheet(take_off(house_of(GABLE)), MADE, sheet().paper).pages[0]
    assert [row[0] for row in tables(page)[0].rows][:2] == ["1 to 12", "13"]
