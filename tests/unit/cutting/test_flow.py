"""Closing by flow, by hand: patterns as paths, what duals leave of them, splitting, and when to give up."""

from __future__ import annotations

from collections import Counter
from random import Random

import numpy as np
import pytest

from solver.cutting.arcflow import Closing, Search, growth, settle
from solver.cutting.arcflow.enumerated import Answer, Task, holds, solved
from solver.cutting.arcflow.fixing import Fair, Worth, by_length, fixed, weigh
from solver.cutting.arcflow.graph import Node, Space, at_least, at_most
from solver.cutting.arcflow.growth import grown
from solver.cutting.arcflow.paths import listed
from solver.cutting.bounds import Counts
from solver.cutting.columns import Relaxation
from solver.cutting.greedy import greedy, scan
from solver.cutting.incumbent import Incumbent
from solver.cutting.presolve import reduce
from solver.cutting.pricing.table import TablePricer
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.lp.glop import LinearProgram
from solver.watch import Watch

ENDLESS = Watch(lambda: 0.0, 1.0)

STOPPED = Watch(lambda: 1.0, 0.0)

# Sticks of 10; two pieces of 6, two of 4, one of 3. Two sticks of 6 + 4 and one of 3 are best: 23 of 30.
SMALL = CuttingProblem((Stick(10, 1),), (Piece(6, 2), Piece(4, 2), Piece(3, 1)))

# The same with a piece of 3 that needs the left factory end, which only the dearer stick has.
ENDS = CuttingProblem((Stick(10, 2), Stick(10, 1, left=False)), (Piece(6, 2), Piece(4, 2), Piece(3, 1, left=True)))

# Nine pieces for three sticks of 12 without waste: 6+4+2, 5+4+3, 5+4+3. Taking 6+5 first leaves 1.
EXACT = CuttingProblem((Stick(12, 1),), (Piece(6, 1), Piece(5, 2), Piece(4, 3), Piece(3, 2), Piece(2, 1)))


def space_of(problem: CuttingProblem) -> Space:
    """Lay out a problem's lanes."""
    return Space.of(reduce(problem))


def root_of(space: Space) -> Node:
    """Return the part that holds every pattern: where nothing is worth anything, any is good enough."""
    return grown(space, nothing(space), Fair((0,) * len(space.costs), 10**6))


def nothing(space: Space) -> Worth:
    """Duals by which nothing is worth anything."""
    return Worth(1, np.zeros(len(space.demands), np.int64), (0,) * len(space.costs), {})


def search_of(problem: CuttingProblem, watch: Watch, few: int = 12_000) -> Search:
    """Begin a search from no patterns."""
    space = space_of(problem)
    return Search(space, TablePricer(space.reduced.problem, space.reduced.priced), (), watch, few)


def all_patterns(space: Space, node: Node) -> set[Pattern]:
    """List every pattern of a part."""
    weighed = weigh(space, node, nothing(space), 10**6)
    return set(listed(weighed, weighed.paid(), 1000))


def test_every_proper_pattern_is_one_path() -> None:
    """The stick of 10 holds 6, 6+4, 6+3, 4, 4+4, 4+3 and 3; it shrinks to 10, and each pattern is listed once."""
    space = space_of(SMALL)
    found = all_patterns(space, root_of(space))
    assert {p.pieces for p in found} == {(0,), (0, 1), (0, 2), (1,), (1, 1), (1, 2), (2,)}


def test_a_piece_at_a_factory_end_has_a_lane_of_its_own() -> None:
    """Patterns with the piece of 3 are paths of the lane that uses the left end, and end at the stick that has it."""
    space = space_of(ENDS)
    assert [lane.ends for lane in space.lanes] == [(False, False), (True, False)]
    found = all_patterns(space, root_of(space))
    three = next(i for i, piece in enumerate(space.reduced.problem.pieces) if piece.left)
    has_left = next(k for k, stick in enumerate(space.reduced.problem.sticks) if stick.left)
    assert {p.stick for p in found if three in p.pieces} == {has_left}
    assert {space.lane_of(p) for p in found if three in p.pieces} == {1}


def test_lengths_alone_leave_only_patterns_without_waste() -> None:
    """Pieces of 36 for three sticks of 12: no plan of three sticks wastes anything, so 6+5 and its like can go."""
    space = space_of(EXACT)
    weighed = weigh(space, root_of(space), by_length(space), 3)
    assert weighed.fair.gap == 0
    left = fixed(weighed, weighed.paid())
    lengths = [space.reduced.problem.pieces[i].length for i in range(len(space.demands))]
    assert {sum(lengths[i] for i in p.pieces) for p in all_patterns(space, left)} == {12}
    assert weigh(space, root_of(space), by_length(space), 2).fair.hopeless


def test_an_arc_is_shut_or_made_the_only_one_of_its_piece() -> None:
    """The 3 after a 6 starts at 6: without that arc 6+3 is gone, with it alone the other patterns with 3 are."""
    space = space_of(SMALL)
    root = root_of(space)
    lane = space.lanes[0]
    option = next(r for r, o in enumerate(lane.options) if o.piece == 2 and o.copies == 1)
    shut, alone = at_most(root, (0, option, 6), 0), at_least(space, root, (0, option, 6), 1)
    assert {p.pieces for p in all_patterns(space, root) - all_patterns(space, shut)} == {(0, 2)}
    assert {p.pieces for p in all_patterns(space, root) - all_patterns(space, alone)} == {(1, 2), (2,)}


def test_the_integer_program_finds_a_plan_or_says_that_there_is_none() -> None:
    """Three sticks suffice for the small list and two don't."""
    space = space_of(SMALL)
    root = root_of(space)
    patterns = sorted(all_patterns(space, root))
    found = solved(Task(space, root, patterns, 3), 100, ENDLESS)
    assert found.uses is not None
    assert holds(space, root.counts, found.uses, 3)
    assert solved(Task(space, root, patterns, 2), 100, ENDLESS).answer is Answer.NONE


def test_a_plan_is_counted_again_in_whole_numbers() -> None:
    """One piece short, one stick too many of a limited kind, or a cost above the target is no plan."""
    space = space_of(SMALL)
    plan = {Pattern(0, (0, 1)): 2, Pattern(0, (2,)): 1}
    endless = Counts.of(space.reduced.problem.sticks)
    assert holds(space, endless, plan, 3)
    assert not holds(space, endless, {Pattern(0, (0, 1)): 2}, 3)
    assert not holds(space, Counts((0,), (2,)), plan, 3)
    assert not holds(space, endless, plan, 2)


def test_a_bound_is_lifted_and_a_plan_found() -> None:
    """From four sticks, first length decreasing, closing comes to three, which length alone proves."""
    reduced = reduce(EXACT)
    incumbent = Incumbent(reduced, greedy(reduced, scan, ENDLESS), ENDLESS)
    incumbent.searched_to(2, "by hand")
    Closing(incumbent, TablePricer(reduced.problem, reduced.priced), ()).on(100)
    assert (incumbent.cost, incumbent.bound) == (3, 3)


def test_a_stopped_search_says_nothing() -> None:
    """Stopped before it begins, it neither finds nor rules out."""
    search = search_of(EXACT, STOPPED)
    assert search.run(3, 100).answer is Answer.OPEN
    assert search_of(SMALL, ENDLESS).run(3, 0).answer is not Answer.NONE


def test_a_cancel_is_heard_between_linear_programs() -> None:
    """A search that is cancelled the tenth time it asks comes back open."""
    asked = iter(range(10))
    watch = Watch(lambda: 0.0, 1.0, cancelled=lambda: next(asked, None) is None)
    assert search_of(EXACT, watch, few=0).run(3, 100).answer is Answer.OPEN


def triples(sticks: int) -> CuttingProblem:
    """Three pieces for each stick of 100, without waste: too many ways for a plan to be seen at once."""
    random, pieces = Random(0), Counter[int]()
    for _ in range(sticks):
        long = random.randint(20, 50)
        short = random.randint(12, 100 - long - 12)
        pieces.update((long, short, 100 - long - short))
    return CuttingProblem((Stick(100, 1),), tuple(Piece(*each) for each in sorted(pieces.items(), reverse=True)))


def test_a_search_goes_on_where_it_left_off() -> None:
    """Asked for one part at a time, it comes to the plan after as many parts as in one go."""
    at_once, by_parts = (search_of(triples(12), ENDLESS, few=0) for _ in range(2))
    found = at_once.run(12, 100)
    assert (found.answer, at_once.parts > 3) == (Answer.FOUND, True)
    asked = [by_parts.run(12, 1) for _ in range(at_once.parts)]
    assert {outcome.answer for outcome in asked[:-1]} == {Answer.OPEN}
    assert asked[-1] == found


def test_a_linear_program_that_fails_once_is_written_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whichever of its linear programs fails, the search comes to a plan."""
    solve, left = LinearProgram.optimal, -1

    def failing(program: LinearProgram, watch: Watch) -> bool:
        nonlocal left
        left -= 1
        return left != 0 and solve(program, watch)

    monkeypatch.setattr(LinearProgram, "optimal", failing)
    for n in range(1, 20, 3):
        left = n
        assert search_of(triples(12), ENDLESS, few=0).run(12, 100).answer is Answer.FOUND
        assert left < 0


def test_a_graph_too_large_by_one_dual_solution_is_grown_by_several(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty arcs are too few for what one solution leaves, and enough for its mean with lengths; none never are."""
    monkeypatch.setattr(growth, "MOST_ARCS", 20)
    assert search_of(EXACT, ENDLESS).run(3, 100).answer is Answer.FOUND
    monkeypatch.setattr(growth, "MOST_ARCS", 0)
    assert search_of(EXACT, ENDLESS).run(3, 100).answer is Answer.OPEN


def test_numbers_of_sticks_are_settled_one_way_or_the_other() -> None:
    """Two sticks of 10 and one of 7 hold 6 + 4, 6 + 4 and 3; one of each is too little, three of 7 are as well."""
    reduced = reduce(CuttingProblem((Stick(10, 10), Stick(7, 7)), SMALL.pieces))
    incumbent = Incumbent(reduced, greedy(reduced, scan, ENDLESS), ENDLESS)
    relaxation = Relaxation(reduced, TablePricer(reduced.problem, reduced.priced), 10**6)
    found = settle(incumbent, relaxation, (2, 1), 100)
    assert found.uses is not None
    assert holds(Space.of(reduced), Counts((0, 0), (2, 1)), found.uses, 27)
    assert settle(incumbent, relaxation, (1, 1), 100).answer is Answer.NONE
    assert settle(incumbent, relaxation, (0, 3), 100).answer is Answer.NONE
