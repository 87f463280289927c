"""No certificate, however made, gets a bound past the checker that a cheaper plan disproves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from solver.categories import DEFAULTS, Category
from solver.checking.bench import Bench
from solver.checking.bound import Verdict, judge_bound
from solver.job import Job
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutPlan, MaterialPlan, NotCut, StoppedBy
from solver.proof import Basis, PieceValue, Proof
from solver.required import End, Meets, Required
from tests.scenario import shed
from tests.support.untimed import UNTIMED

PLAIN, LAP = End(), End(Meets.LAP)


@dataclass(frozen=True)
class Best:
    """What trying every plan finds: least length uncut, least cost at that, and what is left uncut, by item."""

    uncut: int
    cost: int
    left: tuple[int, ...]


def best_of(job: Job) -> Best:
    """Try every way to fill one stick after another, for each kind of stick in turn."""
    material = job.materials[0]
    demand = tuple(item.pieces for item in job.required)
    kinds = [(row.length, FactoryEnd.BOTH, int(row.price or 0), row.available) for row in material.stock]
    kinds += [(offcut.length, offcut.factory_end, 0, offcut.quantity) for offcut in job.offcuts]

    @cache
    def cheapest(kind: int, used: int, left: tuple[int, ...]) -> Best:
        length, ends, price, limit = kinds[kind]
        rest = Best(_length(job, left), 0, left) if kind + 1 == len(kinds) else cheapest(kind + 1, 0, left)
        found = [rest]
        if limit is None or used < limit:
            for fill in _fills(job, left, length, ends):
                after = cheapest(kind, used + 1, tuple(a - b for a, b in zip(left, fill, strict=True)))
                found.append(replace(after, cost=after.cost + price))
        return min(found, key=lambda best: (best.uncut, best.cost, best.left))

    return cheapest(0, 0, demand)


def _length(job: Job, left: tuple[int, ...]) -> int:
    return sum(count * _cut(item) for count, item in zip(left, job.required, strict=True))


def _cut(item: Required) -> int:
    return item.length + (item.left_end == LAP) + (item.right_end == LAP)


def _fills(job: Job, left: tuple[int, ...], length: int, ends: FactoryEnd) -> Iterator[tuple[int, ...]]:
    kerf = job.materials[0].settings.kerf
    for fill in product(*(range(count + 1) for count in left)):
        chosen = [item for count, item in zip(fill, job.required, strict=True) for _ in range(count)]
        lefts, rights = (sum(getattr(i, side) == LAP for i in chosen) for side in ("left_end", "right_end"))
        whole = [item for item in chosen if item.left_end == item.right_end == LAP]
        fits = sum(map(_cut, chosen)) + kerf * (len(chosen) - 1) <= length
        ended = lefts <= ends.has_left and rights <= ends.has_right
        if chosen and fits and ended and (not whole or (len(chosen) == 1 and _cut(whole[0]) == length)):
            yield fill


STOCK = st.builds(
    lambda length, price, available: StockLength(str(length), length, price=Decimal(price), available=available),
    st.integers(8, 20),
    st.integers(1, 9),
    st.none() | st.integers(1, 3),
)
ITEM = st.builds(
    lambda length, quantity, left, right: Required("", "m", length, quantity, left, right),
    st.integers(2, 14),
    st.integers(1, 3),
    *[st.sampled_from((PLAIN, PLAIN, LAP))] * 2,
)
OFFCUT = st.builds(
    Offcut, st.just("o"), st.just("m"), st.integers(4, 16), st.integers(1, 2), st.sampled_from(FactoryEnd)
)


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """Up to eight short pieces, two stock lengths and an offcut, all in single ticks with a lap of one."""
    settings_ = replace(DEFAULTS[Category.SIDING], lap=1, end_gap=0, kerf=draw(st.integers(0, 1)))
    stock = draw(st.lists(STOCK, min_size=1, max_size=2, unique_by=lambda row: row.length))
    longest = max(row.length for row in stock)
    items = draw(st.lists(ITEM.filter(lambda item: _cut(item) <= longest), min_size=1, max_size=3))
    offcuts = draw(st.lists(OFFCUT, max_size=1))
    material = Material("m", Category.SIDING, tuple(stock), settings_)
    return replace(shed(), materials=(material,), required=tuple(items), offcuts=tuple(offcuts))


@UNTIMED
@given(jobs(), st.integers(0, 5), st.lists(st.integers(-2, 12), min_size=3, max_size=3))
def test_no_certificate_proves_more_than_the_best_plan_costs(job: Job, share: int, extra: list[int]) -> None:
    """Whatever the pieces are said to be worth, the checker refuses every bound above the true least cost."""
    best = best_of(job)
    values = [share * _cut(item) + more for item, more in zip(job.required, extra, strict=False)]
    assert judge_bound(_claim(job, best, best.cost + 1, values)).fault
    assert judge_bound(_claim(job, best, best.cost + 7, values)).fault


@UNTIMED
@given(jobs())
def test_length_alone_proves_no_more_than_the_best_plan_costs(job: Job) -> None:
    """A search that claims too much is not certified, however much length the pieces take."""
    best = best_of(job)
    bench = _claim(job, best, best.cost + 1, [0] * len(job.required))
    claimed = replace(bench.plan, proof=Proof("search", text="all plans were tried"))
    assert judge_bound(replace(bench, plan=claimed)) == Verdict(Basis.SEARCHED)


VALUES = st.lists(st.integers(-2, 60), min_size=3, max_size=3)


@UNTIMED
@given(jobs(), st.lists(VALUES, min_size=2, max_size=4))
def test_no_sets_of_values_together_prove_more_than_the_best_plan_costs(job: Job, sets: list[list[int]]) -> None:
    """Numbers of sticks that a plan has are ruled out by no set, so several prove no more than is true."""
    best = best_of(job)
    first, *further = (tuple(values[: len(job.required)]) for values in sets)
    bench = _claim(job, best, best.cost + 1, list(first))
    proof = replace(bench.plan.proof, further=tuple(further))
    assert judge_bound(replace(bench, plan=replace(bench.plan, proof=proof))).fault


@UNTIMED
@given(jobs())
def test_worth_by_length_proves_what_the_length_needs(job: Job) -> None:
    """Without kerf, ends or limits, valuing by length proves at least what the cheapest length costs."""
    free = replace(job.materials[0].settings, kerf=0)
    stock = tuple(replace(row, available=None) for row in job.materials[0].stock)
    items = tuple(replace(item, left_end=PLAIN, right_end=PLAIN) for item in job.required)
    material = replace(job.materials[0], settings=free, stock=stock)
    job = replace(job, materials=(material,), required=items, offcuts=())
    total = sum(item.length * item.quantity for item in items)
    dearest = max(row.length * 1000 // int(row.price or 1) for row in stock)
    claim = -(-total * 1000 // (dearest + 1))
    verdict = judge_bound(_claim(job, best_of(job), claim, [item.length for item in items]))
    assert (verdict.fault, verdict.basis) == (None, Basis.CERTIFIED)


def _claim(job: Job, best: Best, bound: int, values: list[int]) -> Bench:
    material = job.materials[0]
    worth = [
        PieceValue(_cut(item), item.left_end == LAP, item.right_end == LAP, value)
        for item, value in zip(job.required, values, strict=False)
    ]
    plan = MaterialPlan(
        material="m",
        settings=material.settings,
        priced=True,
        cost_step=Decimal(1),
        cost=max(best.cost, bound),
        bound=bound,
        least_uncut=True,
        proof=Proof("duals", 1, tuple(worth)),
        stopped_by=StoppedBy.PROOF,
        patterns=(),
    )
    left = Counter({index: count for index, count in enumerate(best.left) if count})
    not_cut = tuple(NotCut(index, "", count, "stock_exhausted", "") for index, count in left.items())
    return Bench(job, material, CutPlan((plan,), not_cut, (), (), ()), plan, "#/materials/0")
