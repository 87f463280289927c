"""The independent checker: no plan leaves without it.

It proves a plan from the request and the printed settings alone and shares no code with the solver: it imports
nothing of ``solver.cutting``, ``solver.laps`` or the planning, and works every length, end, cost and bound out again.
This page is the table of contents, ``solver.checking.week`` that of weeks. Each part takes a ``Bench``, one
material's share of a job and of a plan, and yields faults; none changes anything. Every rule is written from the
meaning of the request, not from the way plans are made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.bills import check_bill
from solver.checking.bound import Verdict, judge_bound
from solver.checking.declared import check_breaches, check_fewest, check_looks, check_strays
from solver.checking.distance import bound_of
from solver.checking.orders import check_costs, check_lines, check_order
from solver.checking.pieces import check_ends, check_entries, check_names, check_not_cut, check_pieces, check_sticks
from solver.checking.reckoning import check_reckoning
from solver.checking.runs import check_coverage, check_runs
from solver.checking.wanted import there_in_time
from solver.job import Job
from solver.plan import CutPlan, MaterialPlan
from solver.proof import Basis

__all__ = ["Checked", "Fault", "bounds_of", "check", "examine"]


@dataclass(frozen=True, slots=True)
class Checked:
    """What is wrong with a plan, and the plan with what each of its bounds was found to rest on."""

    faults: tuple[Fault, ...]
    plan: CutPlan


def check(job: Job, plan: CutPlan) -> tuple[Fault, ...]:
    """Return everything wrong with ``plan`` as an answer to ``job``; empty means that nothing is."""
    return examine(job, plan).faults


def examine(job: Job, plan: CutPlan) -> Checked:
    """Check a plan, and say of each bound whether it could be worked out again."""
    job = there_in_time(job)
    benches = list(_benches(job, plan))
    verdicts = [judge_bound(bench) for bench in benches]
    judged = {id(bench.plan): verdict for bench, verdict in zip(benches, verdicts, strict=True)}
    faults = (*_faults(job, plan, benches), *(verdict.fault for verdict in verdicts if verdict.fault))
    based = tuple(_based(part, judged.get(id(part))) for part in plan.materials)
    return Checked(faults, replace(plan, materials=based))


def bounds_of(job: Job, plan: CutPlan) -> dict[str, int | None]:
    """Return for each material what no plan of it costs less than, as it is worked out here, in its cost steps.

    None where pieces stay uncut of which nobody knows that they must.
    """
    return {bench.material.id: bound_of(bench) for bench in _benches(there_in_time(job), plan)}


def _based(part: MaterialPlan, verdict: Verdict | None) -> MaterialPlan:
    basis = verdict.basis if verdict else Basis.SEARCHED
    return replace(part, proof=replace(part.proof, basis=basis))


def _faults(job: Job, plan: CutPlan, benches: Iterable[Bench]) -> Iterator[Fault]:
    yield from _materials(job, plan)
    yield from check_names(plan)
    yield from check_entries(job, plan)
    yield from check_lines(job, plan)
    yield from check_bill(job, plan)
    yield from check_strays(plan)
    for bench in benches:
        yield from _material_faults(bench)


def _material_faults(bench: Bench) -> Iterator[Fault]:
    yield from check_costs(bench)
    yield from check_reckoning(bench)
    yield from check_pieces(bench)
    yield from check_sticks(bench)
    yield from check_ends(bench)
    yield from check_runs(bench)
    yield from check_coverage(bench)
    yield from check_breaches(bench)
    yield from check_looks(bench)
    yield from check_fewest(bench)
    yield from check_not_cut(bench)
    yield from check_order(bench)


def _materials(job: Job, plan: CutPlan) -> Iterator[Fault]:
    """Check that each material with something required has one plan, and that no other has any."""
    found = Counter(part.material for part in plan.materials)
    known = {material.id for material in job.materials}
    needed = {item.material for item in job.required}
    for material in sorted(needed | set(found)):
        if found[material] > 1 or material not in known or (material in needed and not found[material]):
            yield Fault("material", "#/materials", mismatch(f"one plan for {material}", found[material]))


def _benches(job: Job, plan: CutPlan) -> Iterator[Bench]:
    materials = {material.id: material for material in job.materials}
    for index, part in enumerate(plan.materials):
        if part.material in materials:
            yield Bench(job, materials[part.material], plan, part, f"#/materials/{index}")
