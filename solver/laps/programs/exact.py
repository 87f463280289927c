"""Whether sticks of given numbers make a plan: of small jobs it is decided, for others a plan is sought."""

from __future__ import annotations

from collections.abc import Sequence
from math import prod

from solver.categories import LapEnds
from solver.laps.bounds.pricing import PriceList
from solver.laps.improve import Goal, RuinAndRecreate, lay_anew, recut
from solver.laps.model import LapModel, fewest_laps
from solver.laps.problem import LapStick
from solver.laps.programs.factory_program import FactoryProgram
from solver.laps.programs.free_program import ComponentProgram, FreeProgram, ShareProgram
from solver.laps.state import PartialPlan
from solver.watch import Watch

MOST_STICKS = 24
"""More sticks than this are not looked at, where ends don't matter."""

MOST_CHOICES = 400
"""So are no more pieces of runs that a stick might give, over all sticks; with factory ends, pairs of ends."""

MOST_PATTERNS = 400
"""With more ways to cut sticks of plain pieces alone a job is too large with factory ends."""

MOST_WORK = 1.0
"""CP-SAT's deterministic seconds for one program."""

TO_SHARE = 0.3
"""The same for one that shares sticks out among runs and leaves the rules aside."""

PLANS = 4
"""Plans that are laid from given sticks."""

NOISE = 0.01
"""Each of them draws by so much more lot than the one before, in shares of a price; the first draws by none."""

TRIES = 100
"""Tries to get everything out of the sticks, for each."""


def small_enough(model: LapModel, numbers: Sequence[int]) -> bool:
    """Whether sticks of these numbers can be looked at so, and every way to make up a run is known."""
    problem = model.problem
    if not model.complete:
        return False
    if problem.rules.ends is LapEnds.FACTORY:
        ends = len(problem.runs) + sum(piece.demand for piece in problem.pieces if piece.left or piece.right)
        loose = any(candidate.template.loose for found in model.candidates for candidate in found)
        return ends**2 <= MOST_CHOICES and not loose and _patterns(model, numbers) <= MOST_PATTERNS
    parts = sum(max((each.parts for each in sums), default=0) for sums in model.sums)
    # Two pieces of a run out of one stick are never better than one, unless they lie so far apart.
    gaps = any(stick.lap + problem.kerf < 0 for stick in problem.sticks)
    ends = any(piece.left or piece.right for piece in problem.pieces)
    return sum(numbers) <= MOST_STICKS and parts * sum(numbers) <= MOST_CHOICES and not gaps and not ends


def _patterns(model: LapModel, numbers: Sequence[int]) -> int:
    return prod(model.problem.pieces[i].demand + 1 for i in model.plain) * sum(n > 0 for n in numbers)


def fill(model: LapModel, numbers: Sequence[int], broken: int, watch: Watch) -> PartialPlan | bool:
    """Return a plan of these sticks or fewer that breaks no more rules; False if none is, True if it is not known."""
    if model.problem.rules.ends is LapEnds.FACTORY:
        return FactoryProgram(model, numbers, broken).solve(MOST_WORK, watch)
    if not _may_do(model, numbers, broken, None, watch):
        return False
    if not broken:
        found = ShareProgram(model, numbers, 0).solve(TO_SHARE, watch)
        if found is True:
            found = ShareProgram(model, numbers, 1).solve(TO_SHARE, watch) or True
        if found is False or (isinstance(found, PartialPlan) and found.broken <= broken):
            return found
    return FreeProgram(model, numbers, broken).solve(MOST_WORK, watch)


def _may_do(model: LapModel, numbers: Sequence[int], broken: int, laps: int | None, watch: Watch) -> bool:
    """Return False where components of runs show that sticks of these numbers make no plan with so many laps."""
    if _patterns(model, numbers) > MOST_PATTERNS:
        return True
    shortest = 0 if broken else model.problem.rules.shortest
    return ComponentProgram(model, numbers, shortest, laps).solve(TO_SHARE, watch)


def sought(
    model: LapModel, numbers: tuple[int, ...], broken: int, prices: PriceList, seed: int, watch: Watch
) -> PartialPlan:
    """Return a plan of these sticks or fewer, the best of some; it may leave something uncut."""
    best: PartialPlan | None = None
    goal = Goal(broken, model.problem.cost(dict(enumerate(numbers))))
    for number in range(seed * PLANS, (seed + 1) * PLANS):
        plan = recut(lay_anew(model, prices, number, NOISE * (number % PLANS), numbers), prices, watch)
        RuinAndRecreate(plan, prices, goal, number).run(TRIES, watch)
        best = plan if best is None or plan.standing < best.standing else best
        if watch.stopped or (best.uncut == 0 and best.broken <= broken):
            break
    if best is None:
        raise AssertionError("some plan is laid")
    best.most = None
    return best


def bettered(model: LapModel, plan: PartialPlan, most: int, laps: int | None, watch: Watch) -> PartialPlan | None:
    """Return a plan that breaks no more rules, with so many ``laps`` at most, None if none is found.

    It is one of the plan's own sticks and of those bought with them; where laps have a price of any that cost, with the
    laps, ``most`` or less, unless what sticks cost is a bill.
    """
    problem = model.problem
    numbers: Sequence[int] = problem.had(plan.used)
    priced = bool(problem.rules.lap_price) and problem.terms is None
    if laps is None and not priced:
        return None
    if priced:
        for_sticks = most - problem.rules.lap_price * sum(fewest_laps(model))
        numbers = [_most_of(stick, for_sticks) for stick in problem.sticks]
    if min(numbers) < 0 or not small_enough(model, numbers):
        return None
    limit, free = most if priced else None, problem.rules.ends is not LapEnds.FACTORY
    if free and not _may_do(model, numbers, plan.broken, laps, watch):
        return None
    program = FreeProgram if free else FactoryProgram
    found = program(model, numbers, plan.broken, laps, limit).solve(MOST_WORK, watch)
    return None if isinstance(found, bool) else found


def _most_of(stick: LapStick, money: int) -> int:
    """Return how many of a kind of stick so much buys; more than are ever looked at of those that cost nothing."""
    affordable = money // stick.cost if stick.cost else MOST_STICKS + 1
    return affordable if stick.limit is None else min(stick.limit, affordable)
