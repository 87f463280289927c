"""The whole way from a problem of runs to its plan, as a table of contents.

What no plan can cut is set aside (``aside``). Runs are laid out in every way (``site``) and first laid by the price of
length (``begin``). How few rules a wall can break at any cost is found exactly (``fewest``). Column generation bounds
the cost of all plans that break no more (``bounding``) and leaves prices and columns. Runs are laid anew at these
prices (``begin``). Whole plans are made of the columns, staggered as the rules ask (``restricted``), their laps dealt
to the courses (``recut``) and mended by local search (``search``), which betters the best plan so far as well.
Whatever is best then has its runs kept and its pieces cut again by the engine (``again``). Where ends don't matter,
small jobs are looked at all at once (``exact``). The answer is written out (``answer``). ``effort`` says in what
order.
"""

from __future__ import annotations

from solver.laps.answer import answer
from solver.laps.aside import possible
from solver.laps.begin import lay_anew
from solver.laps.effort import Effort
from solver.laps.prices import PriceList, by_length
from solver.laps.problem import LapPlan, LapProblem
from solver.laps.site import site_of
from solver.watch import Watch

FIRST_PLANS = 3
"""Plans laid by the price of length, before anything else is known: the first draws no lots."""

ROUNDS = 6
"""How often bound and plans are bettered in turn; after that more is not to be had for the work."""


def plan_laps(problem: LapProblem, watch: Watch) -> LapPlan:
    """Return the best plan found before the watch stops: least uncut, fewest rules broken, least cost."""
    found = possible(problem)
    return found.answer(_planned(found.problem, watch))


def _planned(problem: LapProblem, watch: Watch) -> LapPlan:
    site = site_of(problem)
    effort = Effort(site, watch)
    by_size = PriceList(site, by_length(site))
    for seed in range(FIRST_PLANS):
        effort.offer(lay_anew(site, by_size, seed, 0.02 * seed))
    effort.find_fewest_broken(by_size)
    for number in range(ROUNDS):
        if effort.finished:
            break
        effort.better_bound()
        effort.settle()
        effort.better_plan(number)
    best = effort.best
    return answer(best, effort.proven_least, effort.proof, least_uncut=best.uncut == 0, stopped=watch.stopped)
