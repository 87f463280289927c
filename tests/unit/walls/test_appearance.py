"""How laps look, and how many pieces lie about, counted by hand on the north wall and on walls of one panel length."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from solver import plan_job
from solver.plan import MaterialPlan
from solver.required import Required
from solver.runs import Looks
from solver.walls.appearance import looks_of
from tests import scenario
from tests.scenario import N, inches
from tests.support.plans import codes, with_part
from tests.support.wall_plans import north_wall


def lapped_at(*courses: tuple[float, ...], item: Required = N) -> Looks | None:
    """Return the looks of the north wall with its laps at these places, course by course from the lowest."""
    run = north_wall().materials[0].runs[0]
    runs = tuple(
        replace(run, course=n, laps_at=tuple(inches(str(place)) for place in places))
        for n, places in enumerate(courses, 1)
    )
    part: MaterialPlan = replace(north_wall().materials[0], runs=runs, patterns=())
    return looks_of(replace(scenario.north_wall(), required=(replace(item, keep_clear=()),)), part)


@pytest.mark.parametrize(
    ("courses", "near_lines"),
    [
        pytest.param([(100,), (106,)], 0, id="six inches apart"),
        pytest.param([(100,), (105.75,)], 1, id="a quarter less"),
        pytest.param([(100,), (40,), (160,), (102,)], 1, id="three courses up"),
        pytest.param([(100,), (40,), (160,), (70,), (102,)], 0, id="four courses up"),
        pytest.param([(100, 250), (102, 248)], 2, id="both laps"),
    ],
)
def test_near_lines_are_pairs_within_the_repeat(courses: list[tuple[float, ...]], near_lines: int) -> None:
    """Laps repeat after three courses by the usual rules of siding."""
    found = lapped_at(*courses)
    assert found is not None
    assert found.near_lines == near_lines


@pytest.mark.parametrize(
    ("courses", "staircases"),
    [
        pytest.param([(40,), (70,), (100,), (130,)], 1, id="steps of 30"),
        pytest.param([(130,), (100,), (70,), (40,)], 1, id="down as well as up"),
        pytest.param([(40,), (70,), (100,), (130,), (160,)], 2, id="five courses are two"),
        pytest.param([(40,), (70,), (100,), (135,)], 1, id="the last step 5 longer"),
        pytest.param([(40,), (70,), (100,), (136,)], 0, id="6 longer"),
        pytest.param([(40,), (70,), (100,), (70,)], 0, id="back again"),
        pytest.param([(10,), (71,), (132,), (193,)], 0, id="steps of 61 are none to the eye"),
        pytest.param([(40,), (70,), (), (130,)], 0, id="a course without a lap"),
    ],
)
def test_staircases_are_four_courses_that_step_alike(courses: list[tuple[float, ...]], staircases: int) -> None:
    """Each step is as long as the next to within 6 in, and 60 in at the most."""
    found = lapped_at(*courses)
    assert found is not None
    assert found.staircases == staircases


def test_pieces_lie_aside_until_their_course() -> None:
    """S5 gives the first course a piece and the second one, S6 the second and the third: one lies aside each time.

    The third course passes a window from 98 to 134 in, and its lap at 135 1/4 in lies close beside that.
    """
    found = looks_of(scenario.north_wall(), north_wall().materials[0])
    assert found == Looks(laps=6, near_lines=0, staircases=0, beside_openings=1, put_aside=1, for_other_walls=0)


def test_looks_that_are_misstated_are_refused() -> None:
    """The checker counts again; a plan that says nothing of its looks is none the worse."""
    job, plan = scenario.north_wall(), north_wall()
    true = looks_of(job, plan.materials[0])
    assert true is not None
    assert codes(job, plan) == set()
    assert codes(job, with_part(plan, looks=true)) == set()
    for name in ("laps", "near_lines", "staircases", "beside_openings", "put_aside", "for_other_walls"):
        wrong = replace(true, **{name: getattr(true, name) + 1})
        assert codes(job, with_part(plan, looks=wrong)) == {"looks"}


@pytest.mark.parametrize(("extra_laps", "broken"), [(None, False), (0, True)])
def test_six_courses_of_just_two_panels_are_staggered_with_a_lap_more(extra_laps: int | None, *, broken: bool) -> None:
    """298 in and a lap is 299: two panels of 150 give 1 in of play, so all six laps lie in line, or one lap more."""
    settings = replace(scenario.PANEL.settings, extra_laps=extra_laps)
    item = replace(N, length=inches("298.5"), courses=6, keep_clear=(), cut_outs=())
    panel = replace(scenario.PANEL, settings=settings)
    plan = plan_job(replace(scenario.north_wall(), required=(item,), materials=(panel,)), time.monotonic)
    (part,) = plan.materials
    assert part.new_sticks == 12
    notices = [n for n in plan.warnings if n.code.startswith("lap_")]
    assert bool(notices) is broken
    assert all(n.detail.endswith("; extra_laps 1 or lap_ends renotched may mend it") for n in notices)
    assert part.looks is not None
    assert (part.looks.near_lines > 0) is broken
