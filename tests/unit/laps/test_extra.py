"""Runs of any ends made of more pieces than need be, so that each is short: what is left beside plain pieces serves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.categories import LapEnds
from solver.cutting.problem import Piece, Search
from solver.laps import WORST, plan_laps
from solver.laps.problem import LapPlan, LapProblem, LapRules, LapRun, LapStick, SlotDuals
from solver.required import Meets
from solver.watch import Watch
from tests.support.lap_plans import complaints

HUNDRED = LapStick(length=100, cost=100, limit=None, left=True, right=True, lap=1, end_gap=0)
FREE = (LapEnds.ANY, LapEnds.RENOTCHED)


def planned(problem: LapProblem) -> LapPlan:
    """Return the plan, held against the problem piece by piece."""
    plan = plan_laps(problem, Watch(lambda: 0.0, 60.0))
    assert complaints(problem, plan) == []
    return plan


def job(pieces: Piece, *runs: int, extra_laps: int, ends: LapEnds = LapEnds.ANY) -> LapProblem:
    """Return plain pieces and runs out of hundreds with a lap of 1."""
    courses = tuple(LapRun(item=n, length=run, left=Meets.PLAIN, right=Meets.PLAIN) for n, run in enumerate(runs))
    return LapProblem(
        sticks=(HUNDRED,), pieces=(pieces,), runs=courses, rules=LapRules(ends=ends, extra_laps=extra_laps)
    )


@pytest.mark.parametrize("ends", FREE)
@pytest.mark.parametrize(
    ("pieces", "run", "extra_laps", "sticks"),
    [
        pytest.param(Piece(60, 4), 150, 2, 4, id="40 + 40 + 40 + 33 is 150 and three laps"),
        pytest.param(Piece(60, 4), 150, 1, 5, id="three times 40 is less"),
        pytest.param(Piece(70, 5), 140, 3, 5, id="five times 30 is more than 140 and four laps"),
        pytest.param(Piece(52, 4), 140, 1, 4, id="48 + 48 + 46 is 140 and two laps"),
    ],
)
def test_short_pieces_left_by_many_sticks_cover_a_run(
    pieces: Piece, run: int, extra_laps: int, sticks: int, ends: LapEnds
) -> None:
    """As many pieces as the rules allow, each as short as what a stick has left; and no fewer sticks would do."""
    plan = planned(job(pieces, run, extra_laps=extra_laps, ends=ends))
    assert (plan.cost, plan.bound) == (100 * sticks, 100 * sticks)


@pytest.mark.parametrize("ends", FREE)
@pytest.mark.parametrize(("lap_price", "sticks", "laps"), [(0, 4, 3), (99, 4, 3), (100, 6, 1), (250, 6, 1)])
def test_a_stick_is_saved_only_by_laps_that_come_to_less(lap_price: int, sticks: int, laps: int, ends: LapEnds) -> None:
    """100 + 51 beside four 60s takes six sticks of 100 and a lap, 40 + 40 + 72 five and two, 40 + 40 + 40 + 33 four.

    The bound is that of the sticks, whatever laps count.
    """
    asked = job(Piece(60, 4), 150, extra_laps=2, ends=ends)
    plan = planned(replace(asked, rules=replace(asked.rules, lap_price=lap_price)))
    assert (plan.cost, plan.lap_count, plan.bound) == (100 * sticks, laps, 400)


def test_the_proof_says_what_it_rests_on() -> None:
    """7, 7, 6 and a run of 17 out of tens, three pieces at the most, which make 19 with their laps.

    Four tens leave 3 + 3 + 4 + 10, of which three pieces are 17. Together they are 38, less than four tens: values of
    pieces alone do not show that a fifth is needed, all plans of four looked at do.
    """
    ten = replace(HUNDRED, length=10, cost=10)
    runs = (LapRun(item=0, length=17, left=Meets.PLAIN, right=Meets.PLAIN),)
    rules = LapRules(ends=LapEnds.ANY, extra_laps=1)
    plan = planned(LapProblem(sticks=(ten,), pieces=(Piece(7, 2), Piece(6, 1)), runs=runs, rules=rules))
    assert (plan.cost, plan.bound) == (50, 50)
    assert isinstance(plan.proof, Search)
    assert "searched by a constraint program" in plan.proof.text


def test_numbers_that_the_search_did_not_decide_about_stay_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """The job above, where all that is known of four tens is nothing."""
    monkeypatch.setattr("solver.laps.solve.fill", lambda *_: True)
    ten = replace(HUNDRED, length=10, cost=10)
    runs = (LapRun(item=0, length=17, left=Meets.PLAIN, right=Meets.PLAIN),)
    rules = LapRules(ends=LapEnds.ANY, extra_laps=1)
    plan = planned(LapProblem(sticks=(ten,), pieces=(Piece(7, 2), Piece(6, 1)), runs=runs, rules=rules))
    assert (plan.cost, plan.bound) == (50, 40)


def test_with_a_gap_for_a_lap_two_pieces_of_a_run_may_come_from_one_stick() -> None:
    """46 and 7 out of hundreds leave 54 and 93. A run of 150, pieces 2 apart, is 54 + 46 + 46; in two it is 54 + 94."""
    butted = replace(HUNDRED, lap=-2)
    runs = (LapRun(item=0, length=150, left=Meets.PLAIN, right=Meets.PLAIN),)
    rules = LapRules(ends=LapEnds.ANY, extra_laps=1)
    plan = planned(LapProblem(sticks=(butted,), pieces=(Piece(46, 1), Piece(7, 1)), runs=runs, rules=rules))
    assert plan.bound <= 200


def test_values_rule_out_numbers_of_sticks_one_after_the_other() -> None:
    """70, 60, 60 and a run of 164 out of hundreds and nineties, three pieces at the most: 166 with their laps.

    Four nineties leave 20 + 30 + 30 + 90, of which three pieces are 150. A hundred among them adds 10 to one, 160; two
    make it 40 + 40 + 90. Some sets of values show that, one after the other.
    """
    sticks = (HUNDRED, replace(HUNDRED, length=90, cost=90))
    runs = (LapRun(item=0, length=164, left=Meets.PLAIN, right=Meets.PLAIN),)
    rules = LapRules(ends=LapEnds.ANY, extra_laps=1)
    plan = planned(LapProblem(sticks=sticks, pieces=(Piece(70, 1), Piece(60, 2)), runs=runs, rules=rules))
    assert (plan.cost, plan.bound) == (380, 380)
    assert isinstance(plan.proof, SlotDuals)
    assert plan.proof.sets


def test_so_they_do_where_there_are_too_many_sticks_to_look_at_all_plans() -> None:
    """Forty sixties leave more than two runs of 150 need, four pieces of 40 each."""
    plan = planned(job(Piece(60, 40), 150, 150, extra_laps=2))
    assert (plan.cost, plan.bound) == (4_000, 4_000)
    assert all(len(cover.kinds) == 4 for cover in plan.covers)


def test_what_is_left_is_not_made_shorter_than_the_shortest_piece() -> None:
    """40 + 40 + 40 + 33 has no piece under 33. Where 39 is the shortest, four are 156 and a fifth stick is needed."""
    runs = (LapRun(item=0, length=150, left=Meets.PLAIN, right=Meets.PLAIN),)
    for shortest, sticks in ((33, 4), (39, 5)):
        rules = LapRules(ends=LapEnds.ANY, extra_laps=2, shortest=shortest)
        plan = planned(LapProblem(sticks=(HUNDRED,), pieces=(Piece(60, 4),), runs=runs, rules=rules))
        assert (len(plan.sticks), plan.breaches) == (sticks, ())


def test_their_laps_keep_clear_where_one_order_of_the_pieces_does() -> None:
    """30 + 40 + 40 + 43 laps at 29, 68 and 107; in other orders laps fall between 36 and 46."""
    plain, runs = (
        (Piece(57, 1), Piece(60, 2), Piece(70, 1)),
        (LapRun(item=0, length=150, left=Meets.PLAIN, right=Meets.PLAIN, keep_clear=((36, 46),)),),
    )
    plan = planned(
        LapProblem(sticks=(HUNDRED,), pieces=plain, runs=runs, rules=LapRules(ends=LapEnds.ANY, extra_laps=2))
    )
    assert (len(plan.sticks), plan.breaches) == (4, ())


def test_four_pieces_of_which_no_two_fit_take_four_sticks() -> None:
    """No two of 125, 125 and the two pieces of a run of 334 (135 or more each) fit in a stick of 200: four sticks."""
    stick = LapStick(length=20_000, cost=200, limit=None, left=True, right=True, lap=125, end_gap=0)
    runs = (LapRun(item=0, length=33_400, left=Meets.PLAIN, right=Meets.PLAIN),)
    plan = planned(LapProblem(sticks=(stick,), pieces=(Piece(12_500, 2),), runs=runs, rules=LapRules(ends=LapEnds.ANY)))
    assert (plan.cost, plan.bound) == (800, 800)


@pytest.mark.parametrize("ends", FREE)
def test_a_middle_piece_is_cut_where_that_keeps_a_lap_clear(ends: LapEnds) -> None:
    """25 out of tens, 10 in the middle: laps 10 apart, from 5 and 15 to 10 and 20, and one or the other is forbidden.

    9 + 8 + 8 laps at 9 and 17, which is clear of everything.
    """
    ten = LapStick(length=10, cost=10, limit=None, left=True, right=True, lap=0, end_gap=0)
    run = LapRun(item=0, length=25, left=Meets.PLAIN, right=Meets.PLAIN, keep_clear=((6, 9), (14, 17), (18, 21)))
    plan = planned(LapProblem(sticks=(ten,), pieces=(), runs=(run,), rules=LapRules(ends=ends)))
    assert (plan.breaches, plan.cost, plan.bound) == ((), 30, 30)


def test_an_offcut_that_is_of_no_use_stays_on_hand() -> None:
    """48 + 48 + 33 beside three 52s is 127 and two laps. Offcuts of 2 cost nothing, and give nothing of that."""
    offcut = LapStick(length=2, cost=0, limit=3, left=True, right=True, lap=1, end_gap=0)
    short = job(Piece(52, 3), 127, extra_laps=1)
    plan = planned(replace(short, sticks=(offcut, HUNDRED), rules=replace(short.rules, shortest=24)))
    assert (plan.cost, plan.bound, len(plan.sticks)) == (300, 300, 3)


THIRTY = LapStick(length=30, cost=1, limit=None, left=True, right=True, lap=0, end_gap=0)


def test_a_draft_is_carried_to_the_last_stick_only_where_it_may_be_better() -> None:
    """Runs of 541 and pieces of 199 out of thirties: 24 of them are 720, so 25 is the least, and 25 is what is found.

    Beside a plan of 24 no draft of it can be better; it is left where it is one stick above.
    """
    lengths = (53, 35, 45, 37, 57, 38, 50, 44, 45, 53, 38, 46)
    runs = tuple(LapRun(item=n, length=length, wall="north", course=n + 1) for n, length in enumerate(lengths))
    pieces = tuple(Piece(length, n) for length, n in ((19, 1), (7, 2), (12, 4), (18, 4), (23, 2)))
    problem = LapProblem(sticks=(THIRTY,), pieces=pieces, runs=runs, rules=LapRules(ends=LapEnds.FACTORY))
    patient = Watch(lambda: 0.0, 60.0)
    assert plan_laps(problem, patient).cost == 25
    assert [plan_laps(problem, patient, beside=other).cost for other in (WORST, (0, 24))] == [25, 26]
