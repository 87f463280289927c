"""What the cut sheet and the hanging pages say of a planned take-off: shapes, rips, places, order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from service.documents.blocks import Page
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.documents.take_off_pages import take_off_sheet
from solver import plan_job
from solver.job import Job
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Ceiling, gable
from tests.scenario import inches
from tests.support.measured_shed import DOOR, WINDOW, house_of, plain_wall, post
from tests.support.sheets import MADE, sheet, tables


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


def test_the_cut_sheet_says_what_is_ripped() -> None:
    """8 ft 3 in at 8 in: course 13 is 3 in high less 1/4 in to the soffit, 2 3/4 in (common practice, no source)."""
    pages = cut_pages(take_off(house_of(plain_wall(120, 99))))
    (row,) = rows_of(pages, "north-1")
    assert row[-1] == 'course 13: rip to 2 3/4", keep the lip'


def test_the_step_that_hangs_a_ripped_panel_says_so() -> None:
    """Course 13 alone of the thirteen."""
    job = job_of(take_off(house_of(plain_wall(120, 99))))
    *_, page = hanging_pages(job, plan_job(job, lambda: 0.0))
    ripped = [row[2] for row in tables(page)[0].rows if 'rip to 2 3/4", keep the lip' in row[-1]]
    assert ripped == ["13"]


def test_the_last_soffit_panel_is_ripped_at_the_saw() -> None:
    """16'-3" across at 12 in: 16 whole panels and one of 3 in less 1/4 in to the back of its pocket, 2 3/4 in."""
    ceiling = Ceiling("lean-to", inches(195), inches(94))
    pages = cut_pages(take_off(house_of(ceilings=(ceiling,))))
    (whole,), (last,) = rows_of(pages, "C1"), rows_of(pages, "C1R")
    assert (whole[1], last[1], last[-1]) == ("16", "1", 'ceiling lean-to; rip to 2 3/4", keep the lip')


def test_the_cut_sheet_says_where_trim_goes() -> None:
    """The places are those of the take-off."""
    pages = cut_pages(take_off(house_of(plain_wall(120, 96, DOOR))))
    assert [row[-1] for row in rows_of(pages, "J1")] == ["north, door D: head"]
    assert [row[-1] for row in rows_of(pages, "D1")] == ["north, door D: over the head"]


WITH_TRIM = house_of(
    plain_wall(240, 99, WINDOW, left=post("a"), right=post("b")),
    ceilings=(Ceiling("lean-to", inches(100), inches(94)),),
)


def hung(found: TakeOff) -> tuple[Page, ...]:
    """Return the hanging pages of its plan."""
    job = job_of(found)
    return tuple(hanging_pages(job, plan_job(job, lambda: 0.0)))


def test_trim_goes_up_before_the_panels_it_holds() -> None:
    """Starter, posts, channels and utility trim, drip caps, soffit; then course 1 of the wall (common practice)."""
    first, wall = hung(take_off(WITH_TRIM))
    marks = [re.sub(r".* of |·.*|\d.*", "", row[2]) for row in tables(first)[0].rows]
    order = ["ST", "P", "J", "U", "F", "D", "C"]
    assert [mark for n, mark in enumerate(marks) if mark not in marks[:n]] == order
    utility = [row for row in tables(first)[0].rows if row[2].startswith("U")]
    assert {row[4] for row in utility} == {"north: the top", "north, window W: under the sill"}
    last = int(tables(first)[0].rows[-1][1].split()[-1])
    assert int(tables(wall)[0].rows[0][1]) == last + 1


def test_every_piece_of_the_plan_is_hung_once() -> None:
    """Trim that is not lapped is in the list too: as many steps as pieces."""
    job = job_of(take_off(WITH_TRIM))
    plan = plan_job(job, lambda: 0.0)
    cut = sum(len(stick.pieces) for part in plan.materials for _, stick in part.sticks())
    assert int(tables(tuple(hanging_pages(job, plan))[-1])[0].rows[-1][1]) == cut


def test_a_list_without_walls_has_no_steps() -> None:
    """Trim alone is cut, and nobody knows where it goes."""
    found = take_off(WITH_TRIM)
    alone = replace(job_of(found), required=tuple(r for r in found.required if r.mark == "P1"), walls=())
    assert tuple(hanging_pages(alone, plan_job(alone, lambda: 0.0))) == ()
