"""What the cut sheet and the hanging pages say of a planned take-off: shapes, rips, places, order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from service.documents.blocks import BOX, Figure, Page, Paper
from service.documents.cut_sheet import hanging_pages
from service.documents.cutting_page import cutting_pages
from service.documents.order_sheets import customer_sheet
from service.documents.take_off_pages import take_off_sheet
from solver import plan_job
from solver.job import Job
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Ceiling, gable
from tests.scenario import inches
from tests.support.drawings import words
from tests.support.measured_shed import DOOR, TAP, WINDOW, house_of, plain_wall, post, shed
from tests.support.sheets import BLOCK, MADE, paragraphs, settings, sheet, tables


def job_of(found: TakeOff) -> Job:
    """Return the job that a take-off is planned as."""
    return Job(found.house.name, found.house.unit, found.house.materials, found.required, walls=found.planned_walls)


def cut_pages(found: TakeOff) -> tuple[Page, ...]:
    """Return the cutting pages of its plan."""
    job = job_of(found)
    return tuple(cutting_pages(job, plan_job(job, lambda: 0.0)))


def asked_for(found: TakeOff) -> tuple[Page, ...]:
    """Return the customer's copy, with the list that was asked for."""
    job = job_of(found)
    return customer_sheet(job, plan_job(job, lambda: 0.0), BLOCK, MADE, Paper.LETTER).pages


def rows_of(pages: tuple[Page, ...], mark: str) -> Iterator[tuple[str, ...]]:
    """Yield the rows of a mark in the lists of pieces."""
    return (row for page in pages for table in tables(page) for row in table.rows if row[0] == mark)


GABLE = plain_wall(outline=gable(inches(120), inches(100), inches(140)), left=post("a"), right=post("b"))


def test_the_sheets_say_how_much_of_an_end_is_upright() -> None:
    """10 ft, eaves at 100 in, 8/12: course 13 is upright for 4 3/16 in (as reckoned in ``test_ends``)."""
    found = take_off(house_of(GABLE))
    drawn = " ".join(text for block in cut_pages(found)[0].blocks if isinstance(block, Figure)
                     for text in words(block.drawing))  # fmt: skip
    assert 'left end upright 4 3/16" from the bottom, then 8/12, long at the bottom' in drawn
    (row,) = rows_of(asked_for(found), "north-2")
    assert 'in a channel, upright 4 3/16" from the bottom, then 8/12, long at the bottom' in row


def test_a_course_that_bends_is_not_listed_with_those_that_are_square() -> None:
    """Courses 1 to 12 are square, 13 bends: two rows of the take-off's runs."""
    page = take_off_sheet(take_off(house_of(GABLE)), MADE, sheet().paper).pages[0]
    assert [row[0] for row in tables(page)[0].rows][:2] == ["1 to 12", "13"]


def test_the_cut_sheet_says_what_is_ripped() -> None:
    """8 ft 3 in at 8 in: course 13 is 3 in high less 1/4 in to the soffit, 2 3/4 in (common practice, no source)."""
    found = take_off(house_of(plain_wall(120, 99)))
    (row,) = rows_of(asked_for(found), "north-1")
    assert row[-1] == 'course 13: rip to 2 3/4", keep the lip'
    assert 'Rip to 2 3/4", keep the lip: north 13·1.' in paragraphs(cut_pages(found)[0])


def test_a_hole_has_its_shape_and_both_its_edges_at_the_saw() -> None:
    """A tap's block from 18 to 23 in, course 3 from 16 in, 1/4 in larger all round: from 1 3/4 to 7 1/4 in."""
    page = cut_pages(take_off(house_of(plain_wall(240, 96, TAP))))[0]
    drawn = " ".join(text for block in page.blocks if isinstance(block, Figure) for text in words(block.drawing))
    assert 'rectangular hole, from 1 3/4" up to 7 1/4" above the lip' in drawn


def test_the_course_that_is_ripped_says_so() -> None:
    """Course 13 alone of the thirteen."""
    job = job_of(take_off(house_of(plain_wall(120, 99))))
    *_, page = hanging_pages(job, plan_job(job, lambda: 0.0), Paper.LETTER)
    pairs = [pair for row in tables(page)[0].rows for pair in pairwise(row)]
    ripped = [course for course, text in pairs if 'rip to 2 3/4", keep the lip' in text]
    assert ripped == ["13"]


def test_the_last_soffit_panel_is_ripped_at_the_saw() -> None:
    """16'-3" across at 12 in: 16 whole panels and one of 3 in less 1/4 in to the back of its pocket, 2 3/4 in."""
    ceiling = Ceiling("lean-to", inches(195), inches(94))
    found = take_off(house_of(ceilings=(ceiling,)))
    (whole,), (last,) = rows_of(asked_for(found), "C1"), rows_of(asked_for(found), "C1R")
    place = "ceiling lean-to: along its width, side by side"
    assert (whole[1], last[1], last[-1]) == ("16", "1", f'{place}; rip to 2 3/4", keep the lip')
    assert 'Rip to 2 3/4", keep the lip: C1R.' in paragraphs(cut_pages(found)[0])


def test_the_cut_sheet_says_where_trim_goes() -> None:
    """The places are those of the take-off."""
    said = str(settings(cut_pages(take_off(house_of(plain_wall(120, 96, DOOR))))[0]))
    assert "J2 north, door D: head" in said
    assert "D1 north, door D: over the head" in said


WITH_TRIM = house_of(
    plain_wall(240, 99, WINDOW, left=post("a"), right=post("b")),
    ceilings=(Ceiling("lean-to", inches(100), inches(94)),),
)


def hung(found: TakeOff) -> tuple[Page, ...]:
    """Return the hanging pages of its plan."""
    job = job_of(found)
    return tuple(hanging_pages(job, plan_job(job, lambda: 0.0), Paper.LETTER))


def put_up(page: Page) -> list[tuple[str, str]]:
    """Return each place with what is put up there, in order."""
    rows = tables(page)[0].rows
    return [(where, item.replace("\N{NO-BREAK SPACE}", " ")) for where, text in rows for item in text.split("  ")]


def test_a_measured_wall_has_its_starter_and_its_story_pole() -> None:
    """A window from 35 in up and a tap's block from 18 to 23 in stand on the wall's sheet; a course is 8 in high."""
    found = take_off(house_of(plain_wall(240, 96, WINDOW, TAP)))
    job = job_of(found)
    *_, page = hanging_pages(job, plan_job(job, lambda: 0.0), Paper.LETTER, found.pole)
    said = paragraphs(page)
    assert "Lower lip of the first panel:" in said
    assert 'sill of W 35"' in said
    assert 'lower edge of tap 18"' in said
    assert 'upper edge of tap 23"' in said
    drawn = " ".join(text for block in page.blocks if isinstance(block, Figure) for text in words(block.drawing))
    assert "lower lip of each course on the story pole" in drawn
    assert {'0"', '8"', '16"', '24"'} <= set(drawn.split())


def test_trim_goes_up_before_the_panels_it_holds() -> None:
    """Starter, posts, channels and utility trim, drip caps, soffit; then course 1 of the wall (common practice)."""
    first, wall = hung(take_off(WITH_TRIM))
    marks = [match[1] for _, item in put_up(first) if (match := re.search(r"\b([A-Z]+)\d", item))]
    assert list(dict.fromkeys(marks)) == ["ST", "P", "J", "U", "F", "D", "C"]
    utility = [where for where, item in put_up(first) if re.search(r"\bU\d", item)]
    assert list(dict.fromkeys(utility)) == ["north", "north, window W"]
    assert any("U1·1 the top" in item for _, item in put_up(first))
    assert (first.title, wall.title) == ("To put up first: trim and soffit", "To hang: wall north")


def test_every_piece_of_the_plan_is_hung_once() -> None:
    """Trim that is not lapped is in the list too: as many boxes as pieces."""
    job = job_of(take_off(WITH_TRIM))
    plan = plan_job(job, lambda: 0.0)
    cut = sum(len(stick.pieces) for part in plan.materials for _, stick in part.sticks())
    pages = hanging_pages(job, plan, Paper.LETTER)
    assert sum(text.count(BOX) for page in pages for row in tables(page)[0].rows for text in row) == cut


def test_a_list_without_walls_has_no_steps() -> None:
    """Trim alone is cut, and nobody knows where it goes."""
    found = take_off(WITH_TRIM)
    alone = replace(job_of(found), required=tuple(r for r in found.required if r.mark == "P1"), walls=())
    assert tuple(hanging_pages(alone, plan_job(alone, lambda: 0.0), Paper.LETTER)) == ()


def test_the_peak_is_a_point_that_is_face_fastened() -> None:
    """14 in at 8/12 from both ends run together 7 in along, 4 2/3 in up (geometry): within a course of 8 in."""
    found = take_off(shed())
    job = job_of(found)
    plan = plan_job(job, lambda: 0.0)
    saw = next(iter(cutting_pages(job, plan, exposure=found.pole.exposure if found.pole else None)))
    drawn = " ".join(text for block in saw.blocks if isinstance(block, Figure) for text in words(block.drawing))
    assert 'south 21·1 14" long' in drawn
    assert 'the slopes meet 4 5/8" above the bottom; face-fasten it' in drawn
    *_, gable_page = hanging_pages(job, plan, Paper.LETTER, found.pole)
    rows = [text.replace("\N{NO-BREAK SPACE}", " ") for row in tables(gable_page)[0].rows for text in row]
    assert [text for text in rows if "face-fasten" in text] == [rows[-1]]


def test_a_ceiling_s_pieces_say_how_they_lie() -> None:
    """Panels lie along the width of 7'-10"; both channels of 21 ft take several sticks, so their joints are said."""
    items = [item for _, item in put_up(hung(take_off(shed()))[0])]
    assert any("C1 along its width, side by side" in item for item in items)
    assert sum(item.startswith("(F1") and "in one line, joints at" in item for item in items) == 2
