"""Openings that the courses leave, and ends that are cut on a slope: courses beside a door and one over it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from service.drawing.lap_map import draw_wall
from service.drawing.layout import WallLayout, layouts_of
from service.drawing.lettering import width_of
from service.drawing.pattern import WIDTH
from service.drawing.shapes import OUTLINE, Line
from service.drawing.wall_paper import on_paper, openings
from solver.lengths import Unit
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, LeftOver, PatternUse
from solver.proof import Proof
from solver.required import CutOut, Edge, End, Meets, Required, Side, Slope
from solver.sticks import PlacedPiece, StickUse
from tests import scenario
from tests.scenario import inches
from tests.support import plans
from tests.support.drawings import rings, text_at, words


def beside_a_door() -> WallLayout:
    """Two courses left (70 in) and right (60 in from 110) of a door, and one over it, all of single pieces."""
    job = replace(
        scenario.north_wall(),
        required=(
            Required("L", "panel-sand", inches(70), wall="north", first_course=1, courses=2),
            Required("R", "panel-sand", inches(60), wall="north", start=inches(110), first_course=1, courses=2),
            Required(
                "T", "panel-sand", inches(140), wall="north", start=inches(15), first_course=3,
                left_end=End(Meets.CHANNEL, Slope(Fraction(1, 2), Side.RIGHT, Edge.BOTTOM)),
                cut_outs=(CutOut(inches(60), inches(70), Edge.TOP, inches(3)),),
            ),
        ),
    )  # fmt: skip
    placed = [(0, "L", 1, 70), (1, "R", 1, 60), (0, "L", 2, 70), (1, "R", 2, 60), (2, "T", 3, 139.75)]
    patterns = [
        PatternUse(
            "12-6", inches(150), FactoryEnd.BOTH, (Cut(inches(length), CutEnd.FACTORY, CutEnd.FIELD),),
            LeftOver(inches(150 - length), False, FactoryEnd.RIGHT, 1),
            (StickUse(f"S{n}", None, (PlacedPiece(item, mark, course, 1),)),),
        )
        for n, (item, mark, course, length) in enumerate(placed, 1)
    ]  # fmt: skip
    return layouts_of(job, plans.answer(job, patterns, [], 0, Proof("search")))[0]


def test_pieces_are_counted_over_a_whole_course() -> None:
    """Right of the door the count goes on: both courses have a second piece, of another item."""
    assert [piece.tag for stretch in beside_a_door().stretches for piece in stretch.pieces] == [
        "north 1·1", "north 1·2", "north 2·1", "north 2·2", "north 3·1",
    ]  # fmt: skip


def test_an_opening_is_what_the_courses_leave_open() -> None:
    """Between 70 and 110 in the two lower courses leave one opening of 40 in, hatched, with its width."""
    wall = beside_a_door()
    paper = on_paper(wall, WIDTH, 20)
    assert [(o.start, o.end) for o in openings(paper)] == [(inches(70), inches(110))]
    opening = openings(paper)[0]
    assert (opening.top, opening.bottom) == (paper.rows[1].top, paper.rows[2].bottom)
    assert "open 3'-4\"" in words(draw_wall(wall, Unit.IN))


def test_single_pieces_give_their_cut_outs_back_too() -> None:
    """T begins 1/4 in inside its channel, at 15 1/4 in: its notch from 60 to 70 is 44 3/4 from its left end."""
    piece = beside_a_door().stretches[-1].pieces[0]
    assert piece.left == inches("15.25")
    assert (piece.cut_outs[0].from_left, piece.cut_outs[0].from_right) == (inches("44.75"), inches(85))


def test_a_sloped_end_leans() -> None:
    """Long at the bottom, the left end of the top course is cut back at its top."""
    wall = beside_a_door()
    outline = next(s for s in draw_wall(wall, Unit.IN).shapes if isinstance(s, Line) and s.closed and s.pen == OUTLINE)
    (bottom_left, _), (top_left, _), (top_right, _), (bottom_right, _) = outline.points
    assert bottom_left < top_left
    assert top_right == bottom_right


def test_an_end_that_is_partly_upright_bends() -> None:
    """Long at the bottom and upright for 4 in: at its long edge as far as halfway up, cut back at its top."""
    wall = beside_a_door()
    top = wall.stretches[-1]
    bent = End(Meets.CHANNEL, Slope(Fraction(1, 2), Side.RIGHT, Edge.BOTTOM, inches(4)))
    bending = replace(top, required=replace(top.required, left_end=bent))
    drawing = draw_wall(replace(wall, stretches=(bending,)), Unit.IN)
    outline = next(s for s in drawing.shapes if isinstance(s, Line) and s.closed and s.pen == OUTLINE)
    (foot, low), (knee, middle), (head, high), *_ = outline.points
    assert foot == knee < head
    assert low > middle > high


def test_a_label_keeps_clear_of_a_sloped_end() -> None:
    """Without its cut-out, the sloped piece is labelled between the top of its slope and its right end."""
    top = beside_a_door().stretches[-1]
    whole = replace(top, pieces=(replace(top.pieces[0], cut_outs=()),))
    drawing = draw_wall(replace(beside_a_door(), stretches=(whole,)), Unit.IN)
    outline = next(s for s in drawing.shapes if isinstance(s, Line) and s.closed and s.pen == OUTLINE)
    _, (top_left, _), (right, _), _ = outline.points
    name, length = text_at(drawing, "3·1"), text_at(drawing, "11'-7 3/4\"")
    left, end = name.x - rings(drawing)[0].width / 2, length.x + width_of(length.text, length.size)
    assert (left + end) / 2 == pytest.approx((top_left + right) / 2, abs=0.5)
