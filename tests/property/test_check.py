"""Whatever single field of a right plan is broken, the checker notices; and its knapsack is exact."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.checking import check
from solver.checking.knapsack import Item, Row, TooLargeToCheck, any_numbers, most_worth, steps_of
from solver.job import Job
from solver.plan import CutPlan
from tests import scenario
from tests.support import plans, wall_plans
from tests.support.mutants import Mutant, mutants_of
from tests.support.untimed import UNTIMED

SHEDS = (
    "shed", "with_kerf", "with_offcuts", "with_two_lengths", "with_limited_stock", "with_spares", "with_cartons",
)  # fmt: skip
WALLS = (
    wall_plans.spacing_of_40, wall_plans.in_line_within_43, wall_plans.shortest_of_30, wall_plans.wider_window,
    wall_plans.field_end,
)  # fmt: skip
PAIRS = [
    *((getattr(scenario, name)(), getattr(plans, name)()) for name in SHEDS),
    (scenario.north_wall(), wall_plans.north_wall()),
    *(wall() for wall in WALLS),
]


def still_right(plan: CutPlan, path: str) -> bool:
    """Whether the change leaves the plan right: a weaker bound, or nothing left over lying elsewhere."""
    used_up = (index for index, use in enumerate(plan.materials[0].patterns) if not use.left_over.length)
    return path.endswith(("/bound", *(f"/patterns/{index}/left_over/after" for index in used_up)))


def wrong_mutants(plan: CutPlan, step: int = 1) -> list[Mutant]:
    """Return the plans that one changed field makes wrong."""
    return [mutant for mutant in mutants_of(plan, step) if not still_right(plan, mutant.path)]


@pytest.mark.parametrize("case", range(len(PAIRS)))
def test_every_single_broken_field_is_noticed(case: int) -> None:
    """A right plan with any one field changed, part dropped or part doubled is refused."""
    job, plan = PAIRS[case]
    assert [mutant.path for mutant in wrong_mutants(plan) if check(job, mutant.plan) == ()] == []


@UNTIMED
@given(st.data(), st.sampled_from(PAIRS), st.integers(2, 10**7))
def test_a_field_broken_by_any_amount_is_noticed(data: st.DataObject, pair: tuple[Job, CutPlan], step: int) -> None:
    """However large the change, it neither passes nor crashes the checker."""
    job, plan = pair
    mutant = data.draw(st.sampled_from(wrong_mutants(plan, step)))
    assert check(job, mutant.plan) != (), mutant.path


@UNTIMED
@given(st.data(), st.sampled_from(PAIRS))
def test_a_plan_broken_twice_never_crashes_the_checker(data: st.DataObject, pair: tuple[Job, CutPlan]) -> None:
    """Faults come back as faults, whatever else is wrong."""
    job, plan = pair
    once = data.draw(st.sampled_from(mutants_of(plan)))
    twice = data.draw(st.sampled_from(mutants_of(once.plan, 3)))
    check(job, twice.plan)


ITEMS = st.lists(st.builds(Item, st.integers(0, 40), st.integers(-5, 60), st.integers(0, 3)), max_size=4)


@UNTIMED
@given(ITEMS, st.integers(0, 120), st.integers(1, 10**6))
def test_the_knapsack_equals_trying_everything(items: list[Item], capacity: int, unit: int) -> None:
    """The best value at every capacity is what trying every choice of copies finds, in any unit of length."""
    scaled = [Item(item.weight * unit, item.value, item.copies) for item in items]
    found = steps_of(scaled, capacity * unit).best(np.arange(capacity + 1) * unit)
    for room in range(capacity + 1):
        assert found[room] == _tried(items, room)


MANY = st.lists(st.builds(Item, st.integers(0, 12), st.integers(-5, 60), st.sampled_from((0, 1, 2, 400))), max_size=4)


@UNTIMED
@given(MANY, st.integers(0, 120), st.integers(1, 10**6))
def test_the_most_that_fits_is_the_highest_step(items: list[Item], capacity: int, unit: int) -> None:
    """However many there are of each item: as the staircase of all of them has it."""
    scaled = [Item(item.weight * unit, item.value, item.copies) for item in items]
    for room in (capacity * unit, capacity * unit + unit - 1):
        assert most_worth(scaled, room) == steps_of(scaled, room).best(np.array([room]))[0]


@st.composite
def rows_of_sticks(draw: st.DrawFn) -> tuple[list[Row], list[int], list[int], int]:
    """One to three kinds of stick with prices and limits, up to three rows of what they yield, and money."""
    kinds = draw(st.integers(1, 3))
    yields = st.lists(st.integers(0, 9), min_size=kinds, max_size=kinds).map(tuple)
    rows = draw(st.lists(st.builds(Row, st.integers(-3, 40), yields), min_size=1, max_size=3))
    prices = draw(st.lists(st.integers(0, 9), min_size=kinds, max_size=kinds))
    limits = draw(st.lists(st.integers(0, 6), min_size=kinds, max_size=kinds))
    return rows, prices, limits, draw(st.integers(0, 60))


@UNTIMED
@given(rows_of_sticks(), st.sampled_from((1, 10**6, 2**33 + 1)), st.sampled_from((1, 10**6 + 3)))
def test_numbers_of_sticks_are_found_where_trying_all_finds_them(
    problem: tuple[list[Row], list[int], list[int], int], worth: int, money: int
) -> None:
    """Numbers within the money that satisfy every row exist or not, however large the figures of rows and prices."""
    rows, prices, limits, capacity = problem
    choices = itertools.product(*(range(limit + 1) for limit in limits))
    paid = [numbers for numbers in choices if sum(n * p for n, p in zip(numbers, prices, strict=True)) <= capacity]
    there_are = any(all(_total(numbers, row.yields) >= row.worth for row in rows) for numbers in paid)
    large = [Row(row.worth * worth, tuple(n * worth for n in row.yields)) for row in rows]
    assert any_numbers(large, [price * money for price in prices], limits, capacity * money) == there_are


def _total(numbers: tuple[int, ...], yields: tuple[int, ...]) -> int:
    return sum(n * each for n, each in zip(numbers, yields, strict=True))


@UNTIMED
@given(st.lists(st.integers(900, 4000), min_size=30, max_size=30, unique=True))
def test_many_near_equal_sums_are_still_exact(lengths: list[int]) -> None:
    """Where sums are too many to list, the array takes over: a subset sum is found as a set of bits finds it."""
    bits = 1
    for length in lengths:
        bits |= bits << length
    best = max(total for total in range(10_001) if bits >> total & 1)
    items = [Item(length, length, 1) for length in lengths]
    assert steps_of(items, 10_000).best(np.array([10_000]))[0] == best
    with pytest.raises(TooLargeToCheck):
        steps_of(items, 10_000, most_work=1000)


def _tried(items: list[Item], room: int) -> int:
    choices = itertools.product(*(range(item.copies + 1) for item in items))
    pairs = [[(count * item.weight, count * item.value) for count, item in zip(c, items, strict=True)] for c in choices]
    return max(sum(v for _, v in pair) for pair in pairs if sum(w for w, _ in pair) <= room)
