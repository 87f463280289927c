"""No certificate of runs, whatever is in it, makes the checker believe a bound beyond the cost of a plan there is."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from solver.checking import examine
from solver.job import Job
from solver.plan import CutPlan
from solver.planning import plan_job
from solver.proof import Basis, EndValues, Proof, RunValues
from tests.benchmarks.small import small_job
from tests.support.untimed import UNTIMED

CERTIFIED = (6, 20, 26, 31, 38, 39, 56, 58, 79)
"""Small jobs whose bounds come with values of runs, of factory ends and of free ones.

In 31 the best cut of one stick is worth less than it costs, and its value as an uncut one proved too little.
"""


@cache
def planned(seed: int) -> tuple[Job, CutPlan]:
    """Return a job and its plan, on a clock that stands still."""
    job = replace(small_job(seed), seconds=60.0)
    return job, plan_job(job, lambda: 0.0)


def basis(job: Job, plan: CutPlan, more: int, proof: Proof) -> Basis:
    """Return what is found of a plan and bound that both cost so many steps more."""
    (part,) = plan.materials
    changed = replace(part, cost=part.cost + more, bound=part.cost + more, proof=proof)
    return examine(job, replace(plan, materials=(changed,))).plan.materials[0].proof.basis


@UNTIMED
@given(st.sampled_from(CERTIFIED), st.data())
def test_values_moved_at_will_prove_nothing_false(seed: int, data: st.DataObject) -> None:
    """Values of slots, pieces and sticks are stretched, the grid is another: a bound above the cost is not believed."""
    job, plan = planned(seed)
    proof = plan.materials[0].proof
    stretch = st.integers(80, 125).map(lambda n: n / 100)

    def ends(some: EndValues) -> EndValues:
        by = data.draw(stretch)
        return replace(some, worth=tuple((n, int(value * by)) for n, value in some.worth))

    def values(some: RunValues) -> RunValues:
        sticks = tuple(replace(stick, value=int(stick.value * data.draw(stretch))) for stick in some.sticks)
        return RunValues(tuple(map(ends, some.ends)), sticks)

    moved = replace(
        proof,
        grid=max(1, (proof.grid or 1) * data.draw(st.sampled_from((2, 2, 2, 3, 4))) // 2),
        values=tuple(replace(piece, value=int(piece.value * data.draw(stretch))) for piece in proof.values),
        runs=tuple(map(values, proof.runs)),
    )
    assert basis(job, plan, 1, moved) is Basis.SEARCHED


def test_as_they_come_they_prove_the_bound_and_no_more() -> None:
    """The plan is a cheapest one, and the certificate shows it."""
    for seed in CERTIFIED:
        job, plan = planned(seed)
        (part,) = plan.materials
        assert (part.proof.kind, part.proof.basis, part.cost) == ("duals", Basis.CERTIFIED, part.bound), seed
        assert part.proof.runs
        assert basis(job, plan, 1, part.proof) is Basis.SEARCHED
