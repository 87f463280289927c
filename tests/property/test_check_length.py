"""What the checker says that length alone proves of runs, held against every plan there is."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from solver.categories import DEFAULTS, Category, LapEnds
from solver.checking.bench import Bench
from solver.checking.bound import judge_bound
from solver.demand import demand_of, is_run
from solver.job import Job
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutPlan, MaterialPlan, StoppedBy
from solver.proof import Basis, Proof
from solver.required import End, Meets, Required
from solver.walls.runs import lap_problem_of
from tests.scenario import shed
from tests.support.lap_optimum import least_cost

MOST = 60
"""More than any of these jobs costs, unless it can't be done."""
ENDS = st.builds(End, st.sampled_from(Meets))
OWN = st.none() | st.integers(0, 2)
ROWS = st.builds(
    lambda length, price, available, lap, end_gap: StockLength(
        str(length), length, price=Decimal(price), available=available, lap=lap, end_gap=end_gap
    ),
    st.integers(4, 7),
    st.integers(3, 8),
    st.sampled_from((None, None, 2)),
    OWN,
    OWN,
)


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Draw one run, a few pieces beside it, one or two stock lengths and an offcut or none, in single ticks."""
    of_siding = replace(
        DEFAULTS[Category.SIDING],
        lap=draw(st.integers(0, 2)),
        end_gap=draw(st.integers(0, 1)),
        kerf=draw(st.integers(0, 2)),
        lap_ends=draw(st.sampled_from(LapEnds)),
        extra_laps=draw(st.integers(0, 2)),
    )
    stock = draw(st.lists(ROWS, min_size=1, max_size=2, unique_by=lambda row: row.length))
    material = Material("m", Category.SIDING, tuple(stock), of_siding)
    run = Required("R", "m", draw(st.integers(5, 13)), left_end=draw(ENDS), right_end=draw(ENDS))
    assume(is_run(run, material))
    pieces = [Required("P", "m", n, draw(st.integers(1, 2))) for n in draw(st.lists(st.integers(2, 4), max_size=1))]
    offcut = st.builds(Offcut, st.just("o"), st.just("m"), st.integers(3, 9), factory_end=st.sampled_from(FactoryEnd))
    return replace(
        shed(),
        materials=(material,),
        required=(run, *pieces),
        offcuts=tuple(draw(st.lists(offcut, max_size=1))),
    )


def basis_of(job: Job, bound: int) -> Basis:
    """Return what the checker finds that a bound rests on which is said to come from a search."""
    material = job.materials[0]
    plan = MaterialPlan(
        material="m",
        settings=material.settings,
        priced=True,
        cost_step=Decimal(1),
        cost=bound,
        bound=bound,
        least_uncut=True,
        proof=Proof("search", text="all plans were tried"),
        stopped_by=StoppedBy.PROOF,
        patterns=(),
    )
    verdict = judge_bound(Bench(job, material, CutPlan((plan,), (), (), (), ()), plan, "#/materials/0"))
    assert verdict.fault is None
    return verdict.basis


@settings(deadline=None, max_examples=200, suppress_health_check=(HealthCheck.too_slow, HealthCheck.filter_too_much))
@given(jobs())
def test_length_proves_no_more_of_runs_than_the_best_plan_costs(job: Job) -> None:
    """Whichever laps, gaps, kerfs and ends there are, no bound above the least cost is certified."""
    problem = lap_problem_of(demand_of(job, job.materials[0], range(len(job.required))))
    best = least_cost(problem, MOST)
    assume(best < MOST)
    assert basis_of(job, best + 1) is Basis.SEARCHED


def test_length_proves_what_a_run_takes() -> None:
    """14 in sticks of 5 lapped by 1: three of them take 16 with their laps and hold 15, so it takes four."""
    plain = replace(DEFAULTS[Category.SIDING], lap=1, end_gap=0, kerf=0)
    material = Material("m", Category.SIDING, (StockLength("5", 5, price=Decimal(3)),), plain)
    job = replace(shed(), materials=(material,), required=(Required("R", "m", 14),), offcuts=())
    assert [basis_of(job, bound) for bound in (12, 13)] == [Basis.CERTIFIED, Basis.SEARCHED]
