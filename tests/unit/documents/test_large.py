"""What is made of a plan of very many sticks: the same as stick by stick, with none looked at that is not shown."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from service.documents.blocks import Paper, TitleBlock
from service.documents.cut_sheet import sheet_of
from service.documents.labels import labels_of
from service.documents.sheets import html
from service.drawing.pattern import draw_plan
from service.drawing.svg import svg
from service.views.pieces import offcuts_of, pieces_of
from solver.job import Job
from solver.plan import CutPlan
from solver.sticks import Sticks, StickUse
from tests import scenario
from tests.support import plans
from tests.support.sheets import MADE, north

AT = "http://saw.example/plans/100009/pieces/"
MANY = 12_000


def as_kept(plan: CutPlan) -> CutPlan:
    """Return a plan as it is read from its record: its sticks as runs."""
    parts = [
        replace(part, patterns=tuple(replace(use, sticks=Sticks.of(use.sticks)) for use in part.patterns))
        for part in plan.materials
    ]
    return replace(plan, materials=tuple(parts))


def everything(job: Job, plan: CutPlan) -> list[object]:
    """Return all that is made of a plan's pieces."""
    sheet = html(sheet_of(job, plan, TitleBlock(), MADE, Paper.LETTER))
    labels = labels_of(job, plan, "100009", AT, pieces=True, offcuts=True)
    return [sheet, svg(draw_plan(job, plan)), list(labels), list(pieces_of(job, plan)), list(offcuts_of(job, plan))]


@pytest.mark.parametrize(
    ("job", "plan"),
    [
        (scenario.shed(), plans.shed()),
        (scenario.with_offcuts(), plans.with_offcuts()),
        (scenario.with_kerf(), plans.with_kerf()),
        north(),
    ],
)
def test_sticks_told_as_runs_make_the_same(job: Job, plan: CutPlan) -> None:
    """One by one or as runs; loose pieces, offcuts on hand, and a wall where each piece has a name of its own."""
    assert everything(job, as_kept(plan)) == everything(job, plan)


def test_a_piece_is_found_by_its_name() -> None:
    """Each is where its name says, and nothing else is found."""
    for job, plan in ((scenario.shed(), as_kept(plans.shed())), north()):
        pieces = pieces_of(job, plan)
        assert [pieces.place(piece.id) for piece in pieces] == list(range(len(pieces)))
        for name in ("S1-0", "S1-01", "S1-9", "S01-1", "S99-1", "S1", "1", "", "S1-٢", f"S{'9' * 5_000}-1"):
            assert pieces.place(name) is None


@pytest.fixture
def unseen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Refuse to go through all sticks of a pattern."""

    def refuse(self: Sticks) -> Iterator[StickUse]:
        raise AssertionError(f"{len(self)} sticks were gone through")

    monkeypatch.setattr(Sticks, "__iter__", refuse)


@pytest.mark.usefixtures("unseen")
@pytest.mark.parametrize(
    "made",
    [
        lambda job, plan: html(sheet_of(job, plan, TitleBlock(), MADE, Paper.LETTER)),
        lambda job, plan: svg(draw_plan(job, plan)),
        lambda job, plan: str(pieces_of(job, plan)[2 * MANY - 3 :]),
        lambda job, plan: str(labels_of(job, plan, "100009", AT, pieces=True, offcuts=True)[2 * MANY - 3 : 2 * MANY]),
    ],
)
def test_nothing_goes_through_sticks_that_are_alike(made: Callable[[Job, CutPlan], str]) -> None:
    """Twelve thousand panels give an A and a C each: only their first and last, or those of the page, are looked at."""
    job, two = scenario.shed(), plans.Saw().cut(2, "AC")
    runs = [replace(run, count=MANY) for run in Sticks.of(two.sticks).runs]
    (part,) = plans.shed().materials
    many = replace(part, patterns=(replace(two, sticks=Sticks(runs)),))
    assert f"S{MANY}" in made(job, replace(plans.shed(), materials=(many,)))
