"""How few laps a plan may have: what rules between courses ask for, and taking out what is not worth its price."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from solver.categories import LapEnds
from solver.laps.bounds.columns import LapRow
from solver.laps.bounds.pricing import PriceList, Prices
from solver.laps.improve import Goal, RuinAndRecreate
from solver.laps.model import LapModel, fewest_laps
from solver.laps.programs.exact import bettered
from solver.laps.state import PartialPlan
from solver.laps.violations import MOST_CANDIDATES, FactoryWall, Unavoidable, Wall, most_broken
from solver.lp.cpsat import counted
from solver.lp.lazily import cp_model
from solver.watch import Watch

LAPS_COUNT = (5e-4, 0.02, 0.2)
"""What a lap counts while laps are taken out, in shares of the dearest stick: more and more, for prices may mislead."""

LAP_TRIES = 60
"""Tries to take laps out, at each."""

MOST_WALLS = 16
"""Of walls beyond these it is not asked how many laps rules ask for."""

MOST_WORK = 0.2
"""CP-SAT's deterministic seconds for each."""


def lap_rows(
    model: LapModel, found: Unavoidable, plans: Sequence[PartialPlan], broken: int, watch: Watch
) -> tuple[LapRow, ...]:
    """Return how many laps the runs of some classes have in every plan that breaks as few rules as can be.

    Only what is more than the fewest laps that their lengths ask for, and with factory ends.
    """
    if model.problem.rules.ends is not LapEnds.FACTORY:
        return ()
    fewest, more = fewest_laps(model), dict[int, int]()
    for wall in found.walls[:MOST_WALLS]:
        own, most = sum(fewest[run] for run in wall.runs), most_broken(model, found, wall, broken)
        if not any(_keeps(plan, wall, own, most) for plan in plans):
            more[wall.runs[0]] = max(0, _fewest_of(model, wall, most, watch) - own)
    rows = []
    for group in _sharing(model, [wall.runs for wall in found.walls]):
        runs = [run for run, alike in enumerate(model.alike) if alike in group]
        if extra := sum(more.get(run, 0) for run in runs):
            rows.append((group, extra + sum(fewest[run] for run in runs)))
    return tuple(rows)


def _keeps(plan: PartialPlan, wall: Wall, laps: int, broken: int) -> bool:
    """Whether a plan has so few laps in a wall and breaks no more rules there."""
    placed = [found for run in wall.runs if (found := plan.laps[run]) is not None]
    few = len(placed) == len(wall.runs) and sum(map(len, placed)) <= laps
    return few and plan.broken_about(set(wall.runs)) <= broken


def _fewest_of(model: LapModel, wall: Wall, broken: int, watch: Watch) -> int:
    """Return how many laps the runs of a wall have at the least where they break no more than so many rules."""
    if sum(len(model.candidates[run]) for run in wall.runs) > MOST_CANDIDATES:
        return 0
    program, solver = cp_model.CpModel(), counted(MOST_WORK, watch)
    laid = FactoryWall(program, model, wall.runs)
    program.add(laid.broken <= broken)
    program.minimize(laid.lap_count)
    known = solver.solve(program) in {cp_model.OPTIMAL, cp_model.FEASIBLE}
    return round(solver.best_objective_bound) if known else 0


def _sharing(model: LapModel, walls: Sequence[Sequence[int]]) -> Iterator[frozenset[int]]:
    """Yield the classes of each wall, together with those of walls that have some of the same."""
    groups: list[set[int]] = []
    for wall in walls:
        own = {model.alike[run] for run in wall}
        shared = [group for group in groups if group & own]
        groups = [*(group for group in groups if not group & own), own.union(*shared)]
    yield from map(frozenset, groups)


def with_fewer_laps(plan: PartialPlan, prices: Prices, watch: Watch) -> PartialPlan:
    """Return a plan that breaks no more rules and costs no more, the price of laps included, with as few as are found.

    The plan itself is changed.
    """
    model = plan.model
    fewest = sum(fewest_laps(model))
    goal = Goal(plan.broken, plan.objective, laps=fewest)
    for number, lap in enumerate(LAPS_COUNT):
        RuinAndRecreate(plan, PriceList(model, prices, lap), goal, number).run(LAP_TRIES, watch)
    while model.problem.rules.lap_price and (found := bettered(model, plan, plan.objective - 1, None, watch)):
        plan = found
    while plan.lap_count > fewest and (found := bettered(model, plan, plan.objective, plan.lap_count - 1, watch)):
        plan = found
    return plan
