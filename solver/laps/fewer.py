"""Taking laps out of a plan: where that costs nothing, or no more than their price."""

from __future__ import annotations

from solver.laps.bounds.pricing import PriceList, Prices
from solver.laps.improve import Goal, RuinAndRecreate
from solver.laps.model import fewest_laps
from solver.laps.programs.exact import bettered
from solver.laps.state import PartialPlan
from solver.watch import Watch

LAPS_COUNT = (5e-4, 0.02, 0.2)
"""What a lap counts while laps are taken out, in shares of the dearest stick: more and more, for prices may mislead."""

LAP_TRIES = 60
"""Tries to take laps out, at each."""


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
