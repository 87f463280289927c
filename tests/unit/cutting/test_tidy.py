"""Tidying, by hand: sticks of 100 that cost 1, left-overs of 30 and more are kept, unless a test says otherwise."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest

from solver.cutting.problem import Cutting, CuttingProblem, Pattern, Piece, Search, Stick
from solver.cutting.tidy import tidied, tidy
from solver.cutting.tidying import gather
from solver.cutting.tidying.gather import ScrapPricer
from solver.cutting.tidying.pool import GOALS
from solver.watch import Watch
from tests.support.tidiness import Tidiness, tidiness


def _watch(seconds: float = 60.0) -> Watch:
    return Watch(time.monotonic, time.monotonic() + seconds)


def _problem(*pieces: Piece, sticks: tuple[Stick, ...] = (Stick(100, 1),), kerf: int = 0) -> CuttingProblem:
    return CuttingProblem(sticks, pieces, kerf, keep_from=30)


def _cutting(problem: CuttingProblem, *uses: tuple[tuple[int, ...], int], stick: int = 0) -> Cutting:
    listed = tuple((Pattern(stick, pieces), count) for pieces, count in uses)
    cost = sum(problem.sticks[pattern.stick].cost * count for pattern, count in listed)
    return Cutting(listed, (0,) * len(problem.pieces), cost, cost, Search("by hand"))


def test_a_plan_that_might_cut_more_is_left_as_it_is() -> None:
    """75 out of 100, one 15 out of an offcut of 20, one uncut: with 15 beside the 75 the offcut would lie idle."""
    problem = _problem(Piece(75, 1), Piece(15, 2), sticks=(Stick(100, 1, 1), Stick(20, 0, 1)))
    listed = ((Pattern(0, (0,)), 1), (Pattern(1, (1,)), 1))
    cutting = Cutting(listed, (0, 1), 1, 0, Search("by hand"), least_uncut=False)
    assert tidy(problem, cutting, _watch()) == cutting


def test_scrap_is_gathered_into_an_offcut_worth_keeping() -> None:
    """60 + 15 twice leaves 25 and 25, all scrap; 60 alone leaves 40 to keep, 60 + 15 + 15 leaves 10."""
    problem = _problem(Piece(60, 2), Piece(15, 2))
    tidied_up = tidy(problem, _cutting(problem, ((0, 1), 2)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0,)), 1), (Pattern(0, (0, 1, 1)), 1))
    assert tidiness(problem, tidied_up.uses) == Tidiness(scrap=10, kept=1, patterns=2, cuts=4)


def test_one_offcut_is_kept_rather_than_two() -> None:
    """50 + 20 and 50 + 20 leave two offcuts of 30; 50 + 50 and 20 + 20 leave one of 60."""
    problem = _problem(Piece(50, 2), Piece(20, 2))
    tidied_up = tidy(problem, _cutting(problem, ((0, 1), 2)), _watch())
    assert tidiness(problem, tidied_up.uses) == Tidiness(scrap=0, kept=1, patterns=2, cuts=3)


def test_fewer_patterns_come_next() -> None:
    """50 + 50 and four times 25 are two patterns; 50 + 25 + 25 twice is one."""
    problem = _problem(Piece(50, 2), Piece(25, 4))
    tidied_up = tidy(problem, _cutting(problem, ((0, 0), 1), ((1, 1, 1, 1), 1)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0, 1, 1)), 2),)


def test_a_stick_used_up_saves_a_cut() -> None:
    """Kept left-overs and patterns alike, the plan that uses a stick up needs one cut less."""
    problem = replace(_problem(Piece(60, 1), Piece(40, 1), Piece(35, 1), Piece(20, 2)), keep_from=200)
    untidy = _cutting(problem, ((0, 2), 1), ((1, 3, 3), 1))
    tidied_up = tidy(problem, untidy, _watch())
    assert tidiness(problem, untidy.uses) == Tidiness(scrap=25, kept=0, patterns=2, cuts=5)
    assert tidiness(problem, tidied_up.uses) == Tidiness(scrap=25, kept=0, patterns=2, cuts=4)


def test_another_stick_of_the_same_cost_may_leave_less() -> None:
    """A stick of 70 at the same price as one of 100 holds the 60 with 10 of scrap, not 40 to keep."""
    problem = _problem(Piece(75, 1), Piece(60, 1), sticks=(Stick(100, 5), Stick(70, 5)))
    tidied_up = tidy(problem, _cutting(problem, ((0,), 1), ((1,), 1)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0,)), 1), (Pattern(0, (1,)), 1))
    no_keeping = replace(problem, keep_from=1000)
    tidied_up = tidy(no_keeping, _cutting(no_keeping, ((0,), 1), ((1,), 1)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0,)), 1), (Pattern(1, (1,)), 1))


def test_one_unit_of_scrap_in_millions_is_saved() -> None:
    """Sticks a unit shorter at the same price leave a unit less each, however small a share of all scrap that is."""
    sticks = (Stick(1_000_000, 5), Stick(999_999, 5), Stick(999_998, 5, limit=1))
    pieces = (Piece(510_000, 4), Piece(470_000, 3), Piece(310_000, 5), Piece(260_001, 4), Piece(130_000, 2))
    problem = replace(_problem(*pieces, sticks=sticks), keep_from=10**9)
    untidy = _cutting(problem, ((0, 1), 3), ((0, 2, 4), 1), ((2, 2, 2), 1), ((2, 3, 3, 4), 1), ((3, 3), 1))
    tidied_up = tidied(problem, untidy, _watch())
    consumed = sum(sticks[pattern.stick].length * count for pattern, count in tidied_up.uses)
    assert consumed == 6 * 999_999 + 999_998
    assert tidied_up.least["scrap"]


def test_an_offcut_on_hand_is_left_where_it_saves_nothing() -> None:
    """30 goes beside the 70 that needs a stick anyway: the offcut of 55 on hand, cut into, would leave 25 of scrap."""
    problem = _problem(Piece(70, 1), Piece(30, 1), sticks=(Stick(100, 1), Stick(55, 0, limit=1)))
    untidy = Cutting(((Pattern(0, (0,)), 1), (Pattern(1, (1,)), 1)), (0, 0), 1, 1, Search("by hand"))
    assert tidy(problem, untidy, _watch()).uses == ((Pattern(0, (0, 1)), 1),)


def test_offcuts_alike_count_as_one_kind() -> None:
    """Three offcuts of 60, listed one by one and cut alike, are one pattern; each is still taken once."""
    offcuts = tuple(Stick(60, 0, limit=1) for _ in range(3))
    problem = _problem(Piece(35, 3), Piece(25, 3), sticks=(Stick(100, 1), *offcuts))
    listed = ((Pattern(1, (0, 1)), 1), (Pattern(2, (0, 1)), 1), (Pattern(3, (0, 1)), 1))
    untidy = Cutting(listed, (0, 0), 0, 0, Search("by hand"))
    tidied_up = tidy(problem, untidy, _watch())
    assert tidied_up.uses == listed
    assert tidiness(problem, listed).patterns == 1


def test_factory_ends_are_respected() -> None:
    """Two pieces of 50 that need a left end can't share a stick, though 40 would be left to keep, not 20 twice."""
    problem = _problem(Piece(50, 2, left=True), Piece(30, 2))
    tidied_up = tidy(problem, _cutting(problem, ((0, 1), 2)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0, 1)), 2),)
    free = _problem(Piece(50, 2), Piece(30, 2))
    tidied_up = tidy(free, _cutting(free, ((0, 1), 2)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0, 0)), 1), (Pattern(0, (1, 1)), 1))


def test_a_whole_stick_piece_stays_alone() -> None:
    """A piece that needs both ends takes a stick of its own, without a cut."""
    problem = _problem(Piece(100, 1, left=True, right=True), Piece(40, 2))
    tidied_up = tidy(problem, _cutting(problem, ((0,), 1), ((1, 1), 1)), _watch())
    assert tidied_up.uses == ((Pattern(0, (0,)), 1), (Pattern(0, (1, 1)), 1))
    assert tidiness(problem, tidied_up.uses).cuts == 2


def test_kerf_is_scrap() -> None:
    """Two cuts of 3 beside pieces of 30: 100 - 60 - 6 = 34 is kept, the 6 is scrap."""
    problem = _problem(Piece(30, 2), kerf=3)
    assert tidiness(problem, _cutting(problem, ((0, 0), 1)).uses) == Tidiness(scrap=6, kept=1, patterns=1, cuts=2)


def test_uncut_pieces_stay_uncut() -> None:
    """What the plan could not cut is neither cut now nor anything else left out for it."""
    problem = _problem(Piece(60, 3), Piece(15, 2), sticks=(Stick(100, 1, limit=2),))
    untidy = replace(_cutting(problem, ((0, 1), 2)), uncut=(1, 0))
    tidied_up = tidy(problem, untidy, _watch())
    assert tidied_up.uncut == (1, 0)
    assert sum(pattern.pieces.count(0) * count for pattern, count in tidied_up.uses) == 2


def test_no_exact_pricing_is_done_for_scrap_where_there_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wide list that is cut without scrap is tidied by coarse pricing alone: nothing is left to be saved there."""
    allowed: list[int] = []

    def made(problem: CuttingProblem, states: int) -> ScrapPricer:
        allowed.append(states)
        return ScrapPricer(problem, states)

    monkeypatch.setattr(gather, "ScrapPricer", made)
    pieces = tuple(Piece(n, 1) for n in (700_001, 299_999, 600_003, 399_997))
    whole = CuttingProblem((Stick(1_000_000, 1),), pieces)
    short = CuttingProblem((Stick(1_000_000, 1),), pieces[:3], keep_from=500_000)
    for problem, uses in ((whole, ((0, 1), (2, 3))), (short, ((0, 1), (2,)))):
        gather._generated(problem, tuple((Pattern(0, use), 1) for use in uses), _watch())
    assert allowed == [0, gather.STATES]


def test_all_goals_are_proven_on_a_small_list() -> None:
    """Where every proper pattern is listed, each goal is shown to be as low as it can be."""
    problem = _problem(Piece(60, 2), Piece(15, 2))
    assert tidied(problem, _cutting(problem, ((0, 1), 2)), _watch()).least == dict.fromkeys(GOALS, True)


@pytest.mark.parametrize("seconds", [0.0, -1.0])
def test_a_stopped_watch_gives_the_plan_back(seconds: float) -> None:
    """Out of time, the plan comes back as it was."""
    problem = _problem(Piece(60, 2), Piece(15, 2))
    untidy = _cutting(problem, ((0, 1), 2))
    assert tidy(problem, untidy, _watch(seconds)) == untidy


@pytest.mark.parametrize("looks", range(1, 12))
def test_a_cancel_at_any_moment_gives_a_plan_no_less_tidy(looks: int) -> None:
    """Cancelled at the first, second, … look at the watch, what comes back cuts the same and is no less tidy."""
    asked = iter([False] * looks)
    watch = Watch(time.monotonic, time.monotonic() + 60, lambda: next(asked, True))
    problem = _problem(Piece(61, 5), Piece(47, 4), Piece(33, 6), Piece(14, 9), Piece(9, 7), kerf=1)
    untidy = _cutting(
        problem, ((0, 2), 5), ((1, 1), 2), ((2, 3, 3, 3, 3), 1), ((3, 3, 3, 3, 3), 1), ((4, 4, 4, 4, 4, 4, 4), 1)
    )
    tidied_up = tidy(problem, untidy, watch)
    made = [sum(p.pieces.count(i) * n for p, n in tidied_up.uses) for i in range(5)]
    assert made == [piece.demand for piece in problem.pieces]
    assert tidiness(problem, tidied_up.uses) <= tidiness(problem, untidy.uses)


def test_nothing_to_cut_stays_nothing() -> None:
    """An empty plan is as tidy as can be."""
    problem = _problem()
    untidy = Cutting((), (), 0, 0, Search("nothing to cut"))
    assert tidy(problem, untidy, _watch()) == untidy
