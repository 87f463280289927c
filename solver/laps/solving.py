"""The whole way from a problem of runs to its plan, as a table of contents."""

from __future__ import annotations

from solver.cutting.problem import Search
from solver.laps.answer import answer
from solver.laps.begin import lay_anew
from solver.laps.prices import PriceList, by_length
from solver.laps.problem import LapPlan, LapProblem
from solver.laps.site import site_of
from solver.laps.yard import Yard
from solver.watch import Watch


def plan_laps(problem: LapProblem, watch: Watch) -> LapPlan:
    """Return the best plan found before the watch stops."""
    site = site_of(problem)
    prices = PriceList(site, by_length(site))
    yards = [lay_anew(site, prices, seed, 0.02 * seed) for seed in range(4)]
    best = min(yards, key=standing)
    text = "no bound yet"
    return answer(best, 0, Search(text), least_uncut=best.uncut == 0, stopped=watch.stopped)


def standing(yard: Yard) -> tuple[int, int, int]:
    """Return what comes first: least uncut, fewest broken rules, least cost."""
    return yard.uncut, yard.broken, yard.cost
