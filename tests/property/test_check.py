"""Whatever single field of a right plan is broken, the checker notices; and its knapsack is exact."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from solver.check import check
from solver.checking.knapsack import Item, steps_of
from solver.job import Job
from solver.plan import CutPlan
from tests import plans, scenario
from tests.mutants import Mutant, mutants_of

PAIRS = {name: (getattr(scenario, name)(), getattr(plans, name)()) for name in (
    "porch", "with_kerf", "with_offcuts", "with_two_lengths", "with_limited_stock", "with_spares", "with_cartons",
)}  # fmt: skip


def still_right(plan: CutPlan, path: str) -> bool:
    """Whether the change leaves the plan right: a weaker bound, or nothing left over lying elsewhere."""
    used_up = (index for index, use in enumerate(plan.materials[0].patterns) if not use.left_over.length)
    return path.endswith(("/bound", *(f"/patterns/{index}/left_over/after" for index in used_up)))


MUTANTS = [
    (job, mutant)
    for job, plan in PAIRS.values()
    for mutant in mutants_of(plan)
    if not still_right(plan, mutant.path)
]


def unnoticed(job: Job, mutant: Mutant) -> bool:
    """Whether the checker lets the mutant pass."""
    return check(job, mutant.plan) == ()


@given(st.sampled_from(MUTANTS))
def test_one_broken_field_is_noticed(case: tuple[Job, Mutant]) -> None:
    """A right plan with any one field changed is refused."""
    assert not unnoticed(*case), case[1].path


ITEMS = st.lists(st.builds(Item, st.integers(0, 40), st.integers(-5, 60), st.integers(0, 3)), max_size=4)


@given(ITEMS, st.integers(0, 120), st.integers(1, 10**6))
def test_the_knapsack_equals_trying_everything(items: list[Item], capacity: int, unit: int) -> None:
    """The best value at every capacity is what trying every choice of copies finds, in any unit of length."""
    scaled = [Item(item.weight * unit, item.value, item.copies) for item in items]
    found = steps_of(scaled, capacity * unit).best(np.arange(capacity + 1) * unit)
    for room in range(capacity + 1):
        assert found[room] == _tried(items, room)


@given(st.lists(st.integers(900, 4000), min_size=30, max_size=30, unique=True))
def test_many_near_equal_sums_are_still_exact(lengths: list[int]) -> None:
    """Where sums are too many to list, the array takes over: a subset sum is found as a set of bits finds it."""
    bits = 1
    for length in lengths:
        bits |= bits << length
    best = max(total for total in range(10_001) if bits >> total & 1)
    assert steps_of([Item(length, length, 1) for length in lengths], 10_000).best(np.array([10_000]))[0] == best


def _tried(items: list[Item], room: int) -> int:
    choices = itertools.product(*(range(item.copies + 1) for item in items))
    pairs = [[(count * item.weight, count * item.value) for count, item in zip(c, items, strict=True)] for c in choices]
    return max(sum(v for _, v in pair) for pair in pairs if sum(w for w, _ in pair) <= room)
