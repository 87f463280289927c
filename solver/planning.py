"""The whole way from required lengths to a checked cut plan, as a table of contents.

Each material is planned on its own: its items become an integer problem (``demand``), the
problem is solved with a bound that needs no trust (``cutting.solve``), plans of equal cost are
tidied (``cutting.tidy``), and the answer is dealt to sticks a person can cut (``dealing``). Then
the order is made out (``order``), and no plan leaves without passing the independent ``check``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import count

from solver.cautions import cautions_for
from solver.check import check
from solver.cutting import solve, tidy
from solver.cutting.problem import Cutting, Duals
from solver.dealing import fill, patterns_of
from solver.demand import Demand, demand_of
from solver.errors import PlanRefused, Unplannable
from solver.impossible import find_problems
from solver.job import Job
from solver.materials import Material
from solver.order import order_lines
from solver.plan import CutPlan, MaterialPlan, NotCut, PieceValue, Proof, StoppedBy
from solver.progress import Progress, progress_of
from solver.shortfall import shortfalls
from solver.watch import Watch


def plan_job(
    job: Job,
    clock: Callable[[], float],
    cancelled: Callable[[], bool] = lambda: False,
    report: Callable[[Progress], None] = lambda progress: None,
) -> CutPlan:
    """Return the best plan found for the job within its seconds on ``clock``.

    Raises ``Unplannable`` where the request alone shows that no plan exists, and ``PlanRefused``
    where the independent checker finds a fault in the plan.
    """
    if problems := find_problems(job):
        raise Unplannable(problems)
    plan = _plan(job, Watch(clock, clock() + job.seconds, cancelled), report)
    if faults := check(job, plan):
        raise PlanRefused(faults)
    return plan


def _plan(job: Job, watch: Watch, report: Callable[[Progress], None]) -> CutPlan:
    names = map("S{}".format, count(1))
    plans: list[MaterialPlan] = []
    not_cut: list[NotCut] = []
    wanted = _by_material(job)
    for place, (material, items) in enumerate(wanted):
        demand = demand_of(job, material, items)
        share = watch.within(watch.left / (len(wanted) - place)).telling(progress_of(plans, demand, report))
        answer = tidy(demand.problem(), solve(demand.problem(), share), share)
        plans.append(_material_plan(demand, answer, names, watch))
        not_cut.extend(shortfalls(demand, answer, job.units))
    order = tuple(line for (material, _), plan in zip(wanted, plans, strict=True) for line in order_lines(material, plan))
    return CutPlan(tuple(plans), tuple(not_cut), order, job.roundings, cautions_for(job.materials))


def _by_material(job: Job) -> list[tuple[Material, Sequence[int]]]:
    wanted = ((material, [i for i, r in enumerate(job.required) if r.material == material.id]) for material in job.materials)
    return [(material, items) for material, items in wanted if items]


def _material_plan(demand: Demand, answer: Cutting, names: Iterator[str], watch: Watch) -> MaterialPlan:
    material = demand.material
    settings = material.settings
    return MaterialPlan(
        material.id,
        settings,
        material.priced,
        demand.cost_step,
        answer.cost,
        answer.bound,
        answer.least_uncut,
        _proof(demand, answer),
        _stopped_by(answer, watch),
        patterns_of(fill(demand, answer), settings.kerf, settings.keep_offcuts_from, names),
    )


def _proof(demand: Demand, answer: Cutting) -> Proof:
    if not isinstance(answer.proof, Duals):
        return Proof("search", text=answer.proof.text)
    values = (
        PieceValue(kind.takes, kind.needs_left, kind.needs_right, value)
        for kind, value in zip(demand.kinds, answer.proof.values, strict=True)
    )
    return Proof("duals", answer.proof.scale, tuple(values))


def _stopped_by(answer: Cutting, watch: Watch) -> StoppedBy:
    if answer.proven:
        return StoppedBy.PROOF
    return StoppedBy.CANCEL if watch.cancelled() else StoppedBy.TIME
