"""The whole way from required lengths to a checked cut plan, as a table of contents.

Each material is planned on its own. Its items become an integer problem (``demand``), which is
solved with a bound that needs no trust and then tidied without giving up cost (``cutting``); where
some are runs longer than a stick, their laps are placed together with the cutting (``covering``).
The answer says which stick gives which piece (``filling``); sticks cut alike become patterns
(``patterns``) and the courses are laid out (``runs``). Then the order is made out (``order``), and
no plan leaves without passing the independent ``check``, which also says of each bound
whether it could work it out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import count

from solver.cautions import cautions_for
from solver.check import examine
from solver.covering import cover
from solver.cutting import solve, tidy
from solver.demand import Demand, demand_of
from solver.errors import PlanRefused, Unplannable
from solver.filling import Filled, fill
from solver.impossible import find_problems
from solver.job import Job, Notice
from solver.materials import Material
from solver.order import order_lines, over_stock
from solver.patterns import patterns_of
from solver.plan import CutPlan, MaterialPlan, NotCut, OrderLine, StoppedBy
from solver.progress import Phase, Progress, progress_of, tell_nobody
from solver.runs import runs_of
from solver.watch import Watch, never


def plan_job(
    job: Job,
    clock: Callable[[], float],
    cancelled: Callable[[], bool] = never,
    report: Callable[[Progress], None] = tell_nobody,
) -> CutPlan:
    """Return the best plan found for the job within its seconds on ``clock``.

    Raises ``Unplannable`` where the request alone shows that no plan exists, and ``PlanRefused``
    where the independent checker finds a fault in the plan.
    """
    if problems := find_problems(job):
        raise Unplannable(problems)
    checked = examine(job, _plan(job, Watch(clock, clock() + job.seconds, cancelled), report))
    if checked.faults:
        raise PlanRefused(checked.faults)
    return checked.plan


def _plan(job: Job, watch: Watch, report: Callable[[Progress], None]) -> CutPlan:
    names = map("S{}".format, count(1))
    plans: list[MaterialPlan] = []
    not_cut: list[NotCut] = []
    order: list[OrderLine] = []
    notices: list[Notice] = []
    wanted = _by_material(job)
    for place, (material, items) in enumerate(wanted):
        demand = demand_of(job, material, items)
        tell = progress_of(plans, demand, report, money=job.priced)
        share = watch.within(watch.left / (len(wanted) - place)).telling(tell)
        last = place + 1 == len(wanted)
        settled = progress_of(plans, demand, report, money=job.priced, phase=Phase.TIDYING) if last else tell
        filled = cover(demand, share) if demand.runs else cut(demand, share, settled)
        plans.append(_material_plan(demand, filled, names, watch))
        lines = order_lines(material, plans[-1])
        order.extend(lines)
        not_cut.extend(filled.not_cut)
        notices.extend((*filled.notices, *over_stock(material, lines), *_cut_short(material, filled, share)))
    return CutPlan(tuple(plans), tuple(not_cut), tuple(order), tuple(notices), cautions_for(job.materials))


def cut(demand: Demand, watch: Watch, settled: Callable[[int, int], None] | None = None) -> Filled:
    """Plan a material that has no runs: least cost first, then the tidiest of the plans that cost as little.

    ``settled`` is told cost and bound in between.
    """
    problem = demand.problem()
    cutting = solve(problem, watch)
    if settled:
        settled(cutting.cost, cutting.bound)
    return fill(demand, tidy(problem, cutting, watch))


def _cut_short(material: Material, filled: Filled, watch: Watch) -> Iterator[Notice]:
    """Yield a notice where time ran out or somebody cancelled: then the same request may be answered otherwise."""
    if watch.stopped:
        ended = "planning was cancelled" if watch.cancelled() else "its share of the time was up"
        better = "tidier" if _proven(filled) or filled.exhausted else "cheaper or tidier"
        detail = f"{material.id}: {ended}; with more time the plan may be {better}"
        yield Notice("planning_cut_short", detail, material=material.id)


def _by_material(job: Job) -> list[tuple[Material, Sequence[int]]]:
    wanted = (
        (material, [i for i, r in enumerate(job.required) if r.material == material.id]) for material in job.materials
    )
    return [(material, items) for material, items in wanted if items]


def _material_plan(demand: Demand, filled: Filled, names: Iterator[str], watch: Watch) -> MaterialPlan:
    material = demand.material
    settings = material.settings
    patterns = patterns_of(filled.sticks, settings.kerf, settings.keep_offcuts_from, names)
    return MaterialPlan(
        material.id,
        settings,
        material.priced,
        demand.cost_step,
        filled.cost,
        filled.bound,
        filled.least_uncut,
        filled.proof,
        StoppedBy.of(proven=_proven(filled), exhausted=filled.exhausted, cancelled=watch.cancelled()),
        patterns,
        runs_of(demand, filled, patterns),
    )


def _proven(filled: Filled) -> bool:
    return filled.least_uncut and filled.cost == filled.bound
