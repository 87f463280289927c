"""The cut drawing on the shed and the north wall: every figure can be held against the plan."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from service.drawing.lettering import Tags
from service.drawing.panel import Part, Span, spans_of
from service.drawing.pattern import FACE, WIDTH, draw_patterns, draw_plan
from service.drawing.shapes import BOLD, Drawing, Line
from solver.categories import Category, LapEnds
from solver.job import Job
from solver.materials import FactoryEnd, Material
from solver.plan import Cut, CutEnd, CutPlan, LeftOver, PatternUse
from solver.proof import Proof
from solver.sticks import PlacedPiece, StickUse
from tests import scenario
from tests.scenario import inches
from tests.support import plans, wall_plans
from tests.support.drawings import rings, text_at, uprights, words

PAPER = WIDTH - FACE - 1
"""Millimetres that the longest panel takes."""


def pattern(*lengths: float, after: int | None = None, left: float = 0) -> PatternUse:
    """Return one 150 in panel cut into these lengths, the left-over after so many of them."""
    cuts = tuple(Cut(inches(length), CutEnd.FIELD, CutEnd.FIELD) for length in lengths)
    pieces = tuple(PlacedPiece(0, "A", None, n) for n, _ in enumerate(lengths, 1))
    over = LeftOver(inches(left), left >= 36, FactoryEnd.NONE, len(lengths) if after is None else after)
    return PatternUse("12-6", inches(150), FactoryEnd.BOTH, cuts, over, (StickUse("S1", None, pieces),))


def drawn(use: PatternUse, job: Job | None = None) -> Drawing:
    """Return the drawing of one pattern of the shed's panel."""
    job = job or scenario.shed()
    plan = plans.answer(job, [use], [], 0, Proof("search"))
    return next(draw_patterns(job, plan.materials[0], Tags.of(job, plan)))


def north() -> tuple[Drawing, ...]:
    """Return the four patterns of the north wall."""
    job, plan = scenario.north_wall(), wall_plans.north_wall()
    return tuple(draw_patterns(job, plan.materials[0], Tags.of(job, plan)))


def test_every_cut_stands_where_it_is_cut() -> None:
    """115 and 34 1/2 of 150 in: two cuts, at 115/150 and 149 1/2 / 150 of the panel's length on paper."""
    cuts = uprights(drawn(pattern(115, 34.5, left=0.5)), BOLD)
    assert cuts == pytest.approx([FACE + PAPER * 115 / 150, FACE + PAPER * 149.5 / 150])


def test_pieces_are_dimensioned_and_the_panel_as_a_whole() -> None:
    """The chain has every piece and what is left; under it stands the panel."""
    assert {"9'-7\"", '34 1/2"', '1/2" offcut', "12'-6\" panel"} <= set(words(drawn(pattern(115, 34.5, left=0.5))))


def test_equal_pieces_are_dimensioned_together() -> None:
    """Three pieces of 50 in that use a panel up read 3 @ 4'-2", with a cut between each two and no other."""
    drawing = drawn(pattern(50, 50, 50))
    assert "3 @ 4'-2\"" in words(drawing)
    assert uprights(drawing, BOLD) == pytest.approx([FACE + PAPER / 3, FACE + PAPER * 2 / 3])


def test_a_left_over_between_is_measured_from_both_ends() -> None:
    """Panel S6: 43 1/2 from its left end, 65 from its right end, 41 1/2 between them to keep."""
    drawing = north()[2]
    assert uprights(drawing, BOLD) == pytest.approx([FACE + PAPER * 43.5 / 150, FACE + PAPER * 85 / 150])
    assert {"keep 3'-5 1/2\"", "3'-7 1/2\"", "5'-5\"", "3'-5 1/2\" offcut"} <= set(words(drawing))


def test_the_saw_takes_its_share() -> None:
    """With 1/8 in a cut the second piece begins 1/8 in after the first, and the left-over 1/8 in after the second."""
    spans = spans_of(pattern(50, 50, left=49.75), inches("0.125"))
    assert [(span.start, span.end) for span in spans] == [
        (0, inches(50)),
        (inches("50.125"), inches("100.125")),
        (inches("100.25"), inches(150)),
    ]


def test_room_is_kept_beside_its_piece() -> None:
    """A piece with room is drawn with it, on the side away from the factory end it carries."""
    use = pattern(60, left=89)
    with_room = replace(use, cuts=(Cut(inches(60), CutEnd.FIELD, CutEnd.FACTORY, inches(1)),))
    right = spans_of(replace(with_room, left_over=replace(use.left_over, after=0)), 0)
    assert [span.part for span in right] == [Part.LEFT_OVER, Part.ROOM, Part.PIECE]
    assert right[-1] == Span(Part.PIECE, inches(90), inches(150), 0)
    assert [span.part for span in spans_of(use, 0)] == [Part.PIECE, Part.LEFT_OVER]


def outline(drawing: Drawing) -> Line:
    """Return the outline of the panel: the first closed line."""
    return next(shape for shape in drawing.shapes if isinstance(shape, Line) and shape.closed and not shape.filled)


def test_factory_ends_are_notched() -> None:
    """A panel has both ends notched at hem and lock (12 corners), an offcut one of them (8) or none (4)."""
    ends = FactoryEnd.BOTH, FactoryEnd.LEFT, FactoryEnd.NONE
    corners = [len(outline(drawn(replace(pattern(150), factory_end=end))).points) for end in ends]
    assert corners == [12, 8, 4]


@pytest.mark.parametrize(
    ("category", "ends", "corners"),
    [
        (Category.SIDING, LapEnds.FACTORY, 12),
        (Category.SIDING, LapEnds.RENOTCHED, 12),
        (Category.SIDING, LapEnds.ANY, 4),
        (Category.SOFFIT, LapEnds.ANY, 4),
        (Category.CHANNEL, LapEnds.ANY, 4),
    ],
)
def test_only_ends_that_matter_are_notched(category: Category, ends: LapEnds, corners: int) -> None:
    """Soffit and trim have no notch, nor has siding whose ends do not matter."""
    settings = replace(scenario.PANEL.settings, lap_ends=ends)
    material: Material = replace(scenario.PANEL, category=category, settings=settings)
    drawing = drawn(pattern(150), replace(scenario.shed(), materials=(material,)))
    assert len(outline(drawing).points) == corners


def test_siding_is_called_panel_and_trim_stick() -> None:
    """The word under the drawing and beside it follows the material."""
    trim = replace(scenario.shed(), materials=(replace(scenario.PANEL, category=Category.CHANNEL),))
    assert "panel S1" in words(drawn(pattern(150)))
    assert {"stick S1", "12'-6\" stick"} <= set(words(drawn(pattern(150), trim)))


def test_a_piece_of_a_run_is_tagged_with_course_and_place() -> None:
    """Panel S5 gives the third piece of course 2 and the first of course 1, each in a ring on its piece."""
    drawing = north()[1]
    assert {"north 2·3", "north 1·1"} <= set(words(drawing))
    first, second = rings(drawing)
    assert FACE < first.x < FACE + PAPER * 114.5 / 150 < second.x < WIDTH


def test_sticks_cut_alike_for_different_pieces_are_listed() -> None:
    """Panels S1 to S4 are whole and go to four places: N stands in the drawing, the list below says which."""
    drawing = draw_plan(scenario.north_wall(), wall_plans.north_wall())
    assert {"4 ×", "panels S1 to S4", "S1: north 1·2", "S4: north 3·2"} <= set(words(drawing))


def test_offcuts_on_hand_are_named() -> None:
    """A pattern of offcuts says where they come from and that they are on hand."""
    use = replace(pattern(50, left=11.5), stock=None, stock_length=inches("61.5"), factory_end=FactoryEnd.LEFT)
    use = replace(use, sticks=(replace(use.sticks[0], offcut_id="R-17"),))
    assert {"from R-17", "5'-1 1/2\" panel on hand"} <= set(words(drawn(use)))


def test_marks_without_room_stand_over_the_panel() -> None:
    """Twenty pieces of 3 in share one ring above; no ring covers another, and none leaves the paper."""
    drawing = drawn(pattern(*[3] * 20, 60, left=30))
    assert "20 × A" in words(drawing)
    assert all(ring.x - ring.width / 2 >= 0 and ring.x + ring.width / 2 <= WIDTH for ring in rings(drawing))
    for one, other in pairwise(rings(drawing)):
        assert abs(one.y - other.y) >= one.height or abs(one.x - other.x) >= (one.width + other.width) / 2


def test_a_long_mark_is_cut_short_in_the_drawing() -> None:
    """A sentence as a mark does not push the drawing off the paper."""
    use = pattern(20, left=130)
    stick = replace(use.sticks[0], pieces=(PlacedPiece(0, "measured by somebody who writes sentences" * 4, None, 1),))
    mark = next(text for text in words(drawn(replace(use, sticks=(stick,)))) if text.startswith("measured"))
    assert mark.endswith("…")


def test_all_materials_share_the_sheet_but_not_the_scale() -> None:
    """Each material begins with its name; its longest stick fills the width."""
    job, plan = scenario.shed(), plans.answer(scenario.shed(), [pattern(150)], [], 0, Proof("search"))
    short = replace(job.materials[0], id="channel", category=Category.CHANNEL, description="")
    other = replace(plan.materials[0], material="channel", patterns=(replace(pattern(60), stock_length=inches(60)),))
    both: CutPlan = replace(plan, materials=(plan.materials[0], other))
    drawing = draw_plan(replace(job, materials=(job.materials[0], short)), both)
    assert text_at(drawing, "panel-sand: double 4 in panel, sand").y < text_at(drawing, "channel").y
    ends = [max(x for x, _ in shape.points) for shape in drawing.shapes if isinstance(shape, Line) and shape.closed]
    assert sum(end == pytest.approx(WIDTH - 1) for end in ends) >= 2


def test_a_plan_that_cuts_nothing_is_drawn_as_such() -> None:
    """Nothing cut gives a drawing that says so."""
    assert draw_plan(scenario.shed(), CutPlan((), (), (), (), ())).description == "Nothing is cut."
