"""The whole way from required lengths to a checked cut plan, as a table of contents.

Each material is planned on its own. Its items become an integer problem (``demand``), which is
solved with a bound that needs no trust and then tidied without giving up cost (``cutting``); where
some are runs longer than a stick, their laps are placed together with the cutting (``runs``).
The answer says which stick gives which piece, and sticks cut alike become patterns
(``assignment``); the courses are laid out (``runs``). Then the order is made out (``order``), and
no plan leaves without passing the independent ``check``, which also says of each bound
whether it could work it out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import count

from solver.assignment import Filled, fill, patterns_of
from solver.buying.billing import bought, covered, on_terms
from solver.buying.minimum import ordered
from solver.checking import examine
from solver.cutting import solve, tidy
from solver.demand import Demand, demand_of
from solver.errors import PlanRefused, Unplannable
from solver.job import Job, Notice
from solver.materials import Material, cautions_for
from solver.order import order_lines, over_stock, reckoning_of
from solver.plan import Bill, CutPlan, MaterialPlan, NotCut, OrderLine, StoppedBy
from solver.progress import Phase, Progress, progress_of, tell_nobody
from solver.runs import lap_cost_of
from solver.validation import find_problems
from solver.walls.appearance import looks_of
from solver.walls.otherwise import cover_and_compare, planned_by_settings
from solver.walls.runs import runs_of
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
    checked = examine(job, _plan(job.in_time, Watch(clock, clock() + job.seconds, cancelled), report))
    if checked.faults:
        raise PlanRefused(checked.faults)
    return checked.plan


@dataclass(frozen=True, slots=True)
class _Planned:
    demand: Demand
    filled: Filled
    stopped_by: StoppedBy
    notices: tuple[Notice, ...]
    lines: tuple[OrderLine, ...] | None = None


def _plan(job: Job, watch: Watch, report: Callable[[Progress], None]) -> CutPlan:
    names = map("S{}".format, count(1))
    plans: list[MaterialPlan] = []
    not_cut: list[NotCut] = []
    order: list[OrderLine] = []
    notices: list[Notice] = []
    listed, bills = _ordered(job, _planned(job, watch, report), watch)
    for planned in listed:
        material = planned.demand.material
        plans.append(_material_plan(planned, names))
        lines = order_lines(material, plans[-1].patterns) if planned.lines is None else planned.lines
        plans[-1] = replace(plans[-1], reckoning=reckoning_of(material, plans[-1].patterns, lines))
        order.extend(lines)
        not_cut.extend(planned.filled.not_cut)
        ordered_more = over_stock(material, lines, planned.filled.not_cut)
        notices.extend((*planned.filled.notices, *ordered_more, *planned.notices))
    cautions = cautions_for(job.materials, job.units)
    named = tuple(bills) if any(bill.supplier for bill in bills) else ()
    bill = Bill.of_all(bills) if bills else None
    return CutPlan(tuple(plans), tuple(not_cut), tuple(order), tuple(notices), cautions, bill, named)


def _ordered(job: Job, planned: list[_Planned], watch: Watch) -> tuple[list[_Planned], list[Bill]]:
    """Return the materials with what is ordered of them of each supplier, and its bills, where any charges beside."""
    groups: dict[str, list[_Planned]] = {}
    for each in planned if job.charged else ():
        if each.demand.material.priced:
            groups.setdefault(each.demand.material.supplier, []).append(each)
    listed, bills = {each.demand.material.id: each for each in planned}, []
    for left, group in zip(range(len(groups), 0, -1), groups.values(), strict=True):
        supplier = job.supplier_of(group[0].demand.material)
        pairs = [(each.demand, each.filled) for each in group]
        one = ordered(supplier, pairs, watch.within(watch.left / left).quiet())
        bills.append(one.bill)
        for each, filled, lines in zip(group, one.filled, one.lines, strict=True):
            notices = (*each.notices, *(one.notices if each is group[-1] else ()))
            listed[each.demand.material.id] = replace(each, filled=filled, lines=lines, notices=notices)
    return list(listed.values()), bills


def _planned(job: Job, watch: Watch, report: Callable[[Progress], None]) -> list[_Planned]:
    """Plan each material, the hardest last, for it gets all the time that the others leave; return them as in the job.

    Of the time left when a material's turn comes, it may use an equal share.
    """
    demands = [demand_of(job, material, items) for material, items in _by_material(job)]
    done: dict[str, _Planned] = {}
    for waiting, demand in zip(range(len(demands), 0, -1), sorted(demands, key=_hardness), strict=True):
        before = [(each.demand, each.filled) for each in done.values()]
        tell = progress_of(before, demand, report, money=job.priced)
        share = watch.within(watch.left / waiting).telling(tell)
        last = waiting == 1
        settled = progress_of(before, demand, report, money=job.priced, phase=Phase.TIDYING) if last else tell
        filled = planned_by_settings(demand, share, partial(_filled, settled=settled))
        stopped = StoppedBy.of(proven=_proven(filled), exhausted=filled.exhausted, cancelled=watch.cancelled())
        short = tuple(_cut_short(demand.material, filled, share))
        done[demand.material.id] = _Planned(demand, filled, stopped, short)
    return [done[demand.material.id] for demand in demands]


def _hardness(demand: Demand) -> tuple[int, int]:
    """Return how hard a material is to plan beside others: by its runs, then by its kinds of pieces."""
    return sum(demand.job.required[item].pieces for item in demand.runs), len(demand.kinds)


def _filled(demand: Demand, watch: Watch, settled: Callable[[int, int], None]) -> Filled:
    if on_terms(demand):
        return covered(demand, watch, cover_and_compare) if demand.runs else bought(demand, watch)
    return cover_and_compare(demand, watch) if demand.runs else cut(demand, watch, settled)


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


def _material_plan(planned: _Planned, names: Iterator[str]) -> MaterialPlan:
    demand, filled = planned.demand, planned.filled
    material = demand.material
    settings = material.settings
    patterns = patterns_of(filled.sticks, settings.kerf, settings.keep_offcuts_from, names)
    runs = runs_of(demand, filled, patterns)
    part = MaterialPlan(
        material=material.id,
        settings=settings,
        priced=material.priced,
        cost_step=demand.cost_step,
        cost=filled.cost,
        bound=filled.bound,
        least_uncut=filled.least_uncut,
        proof=filled.proof,
        stopped_by=planned.stopped_by,
        patterns=patterns,
        runs=runs,
        lap_cost=lap_cost_of(settings, runs),
        fewest=filled.fewest,
    )
    return replace(part, looks=looks_of(demand.job, part))


def _proven(filled: Filled) -> bool:
    return filled.least_uncut and filled.cost == filled.bound
