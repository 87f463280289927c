"""The boat shed gone on with: S1 to S4 are 115 and 34 1/2 of 150, S5 and S6 are three of 50.

What is cut stays, and the rest is planned from what is left: bought is only what is short.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import solver
from solver.continuing import Report, rest_of
from solver.job import Good, Job
from solver.lengths import say
from solver.materials import FactoryEnd
from solver.plan import CutPlan
from solver.required import Meets
from tests import scenario
from tests.scenario import inches

NAME = "10001"


def planned(job: Job) -> CutPlan:
    """Return the plan of a job."""
    return solver.plan_job(job, time.monotonic)


def gone_on(report: Report, job: Job | None = None) -> Job:
    """Return the rest of the shed, or of another job, after a report."""
    whole = job or scenario.shed()
    return rest_of(whole, planned(whole), report, NAME)


def at_hand(job: Job) -> dict[str, tuple[int, str, FactoryEnd]]:
    """Return how many of which length lie there, and their factory ends, by name."""
    return {cut.id: (cut.quantity, say(cut.length, job.units), cut.factory_end) for cut in job.offcuts}


def wanted(job: Job) -> Counter[str]:
    """Return how many of each mark are still wanted."""
    return Counter({item.mark: item.pieces for item in job.required})


def bought(job: Job) -> int:
    """Return how many sticks the plan of a job buys."""
    return sum(line.sticks for line in planned(job).order)


def test_as_long_as_nothing_is_cut_all_is_there() -> None:
    """Six whole panels for the very same list: nothing is bought."""
    rest = gone_on(Report())
    assert rest.required == scenario.shed().required
    assert at_hand(rest) == {"12-6 at hand": (6, "12'-6\"", FactoryEnd.BOTH)}
    assert bought(rest) == 0


def test_what_the_job_needs_besides_was_ordered_already() -> None:
    """House wrap stood on the first order: the rest asks for none."""
    job = replace(scenario.shed(), goods=(Good("house wrap", Decimal(2), "packs"),))
    assert gone_on(Report(), job).goods == ()


def test_what_is_cut_is_wanted_no_more() -> None:
    """S1 whole, and A of S2: C of S2 is to come out of the 35 in that are left of it, whose right end is as made."""
    rest = gone_on(Report(cut=frozenset({("S1", 1), ("S1", 2), ("S2", 1)})))
    assert wanted(rest) == {"A": 2, "B": 6, "C": 3}
    assert at_hand(rest) == {"12-6 at hand": (4, "12'-6\"", FactoryEnd.BOTH),
                             f"{NAME}-S2": (1, "35\"", FactoryEnd.RIGHT)}  # fmt: skip
    assert bought(rest) == 0


def test_a_piece_cut_too_short_is_wanted_again_and_of_use() -> None:
    """A of S1 came out at 9'-6" and can be used as two B at most, for its end is off: one panel more is bought."""
    rest = gone_on(Report(spoiled={("S1", 1): (inches(114),)}))
    assert wanted(rest) == {"A": 4, "B": 6, "C": 4}
    assert sorted(at_hand(rest).values()) == [(1, "35\"", FactoryEnd.RIGHT), (1, "9'-6\"", FactoryEnd.NONE),
                                              (5, "12'-6\"", FactoryEnd.BOTH)]  # fmt: skip
    assert bought(rest) == 1


@pytest.mark.parametrize(("usable", "sticks"), [((), 1), ((inches(100), inches(50)), 0)])
def test_a_broken_panel_gives_what_can_be_used_of_it(usable: tuple[int, ...], sticks: int) -> None:
    """S5 was for three B: broken at 100 in it still gives them; crushed, one panel is bought."""
    rest = gone_on(Report(broken={"S5": usable}))
    assert wanted(rest) == {"A": 4, "B": 6, "C": 4}
    assert bought(rest) == sticks


def test_what_did_not_come_is_bought_still() -> None:
    """Two of six: so many are bought again, and the other four are there."""
    rest = gone_on(Report(missing={("panel-sand", "12-6"): 2}))
    assert at_hand(rest) == {"12-6 at hand": (4, "12'-6\"", FactoryEnd.BOTH)}
    assert bought(rest) == 2


def test_spares_are_there_for_what_breaks() -> None:
    """A tenth more was ordered, one panel: a broken one costs nothing."""
    tenth = replace(scenario.PANEL.settings, spare_percent=Decimal(10))
    rest = gone_on(Report(broken={"S5": ()}), scenario.with_panel(settings=tenth))
    assert at_hand(rest) == {"12-6 at hand": (6, "12'-6\"", FactoryEnd.BOTH)}
    assert bought(rest) == 0


def test_the_saw_takes_its_kerf_of_what_is_left_too() -> None:
    """With 1/8 in a panel gives 115, 34 1/2 and 1/4 in: of its 150 there are 34 7/8 once A is cut."""
    job = scenario.with_kerf()
    plan = planned(job)
    stick = next(stick.stick for use, stick in plan.materials[0].sticks() if use.cuts[0].length == inches(115))
    rest = rest_of(job, plan, Report(cut=frozenset({(stick, 1)})), NAME)
    assert at_hand(rest)[f"{NAME}-{stick}"][1] == "34 7/8\""


def test_limited_stock_is_less_by_what_was_ordered() -> None:
    """Of five panels all were bought: what could not be cut then is wanted still, and there is none to be had."""
    rest = gone_on(Report(), scenario.with_limited_stock())
    assert [row.available for row in rest.materials[0].stock] == [0]
    assert wanted(rest) == {"A": 4, "B": 6, "C": 4}


def test_an_offcut_that_was_cut_is_gone() -> None:
    """Three of 61 1/2 gave a B each: one is cut, two are there."""
    job = scenario.with_offcuts()
    plan = planned(job)
    stick = next(stick.stick for _, stick in plan.materials[0].sticks() if stick.offcut_id)
    rest = rest_of(job, plan, Report(cut=frozenset({(stick, 1)})), NAME)
    assert at_hand(rest)["R-17"][0] == 2


def test_what_is_left_over_and_promised_is_not_counted() -> None:
    """Two B leave 50 in of a panel; that lies on the rack for others, so the panel gives the two and no third."""
    job = replace(scenario.shed(), required=(replace(scenario.B, quantity=2),))
    rest = rest_of(job, planned(job), Report(promised=frozenset({"S1"})), NAME)
    assert at_hand(rest) == {f"{NAME}-S1": (1, "8'-4\"", FactoryEnd.LEFT)}


def test_a_wall_of_which_something_hangs_keeps_its_laps() -> None:
    """Of three courses of 27'-4" the first is begun: every piece not done is asked for as it was planned."""
    job = scenario.north_wall()
    plan = planned(job)
    (part,) = plan.materials
    begun = part.runs[0].pieces[0]
    rest = rest_of(job, plan, Report(cut=frozenset({(begun.stick, begun.cut)})), NAME)
    planned_pieces = sorted(piece.length for run in part.runs for piece in run.pieces)
    left = [*planned_pieces]
    left.remove(begun.length)
    again = planned(rest)
    cut = [cut.length for use, _ in again.materials[0].sticks() for cut in use.cuts]
    assert not again.materials[0].runs
    assert sorted(cut) == left
    assert {end.meets for item in rest.required for end in (item.left_end, item.right_end)} >= {Meets.LAP}
    assert bought(rest) == 0


def test_a_wall_of_which_nothing_hangs_is_laid_anew() -> None:
    """Its runs are asked for as they were."""
    job = scenario.north_wall()
    assert gone_on(Report(missing={("panel-sand", "12-6"): 1}), job).required == job.required


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    job=st.sampled_from((scenario.shed, scenario.with_kerf, scenario.with_two_lengths, scenario.north_wall)),
    data=st.data(),
)
def test_whatever_is_cut_nothing_is_bought_as_long_as_nothing_is_lost(
    job: Callable[[], Job], data: st.DataObject
) -> None:
    """In whatever order: what is left of each stick gives what it was to give, at the planned lengths but for runs."""
    plan = planned(job())
    every = [(stick.stick, n) for use, stick in plan.materials[0].sticks() for n in range(1, len(use.cuts) + 1)]
    cut = frozenset(data.draw(st.sets(st.sampled_from(every), max_size=len(every) - 1)))
    rest = rest_of(job(), plan, Report(cut=cut), NAME)
    again = planned(rest)
    assert [line.sticks for line in again.order] == []
    assert again.not_cut == ()
    if cut or not plan.materials[0].runs:
        lengths = Counter(made.length for use, stick in plan.materials[0].sticks()
                          for n, made in enumerate(use.cuts, 1) if (stick.stick, n) not in cut)  # fmt: skip
        assert Counter(made.length for use, _ in again.materials[0].sticks() for made in use.cuts) == lengths
