"""Numbers of sticks, by hand: two kinds, 10 long for 6 and 7 long for 4."""

from __future__ import annotations

import time
from itertools import islice, product

import pytest

from solver.cutting import CuttingProblem, Piece, Stick, solve
from solver.cutting.bounds import Asked, Certificate, Counts, certify
from solver.cutting.count_bounds import Box, CountProgram, Numbers, candidates, rules_out
from solver.cutting.stick_counts import CountChoice, StickCounts, Undecided
from solver.watch import Watch

PATIENT = Watch(time.monotonic, float("inf"))
COSTS = (6, 4)


def at_least(worth: int, ceilings: tuple[int, int] = (10, 7)) -> Certificate:
    """Return what certificates say: together the sticks must be worth so much."""
    certificate = certify(Asked([1], COSTS, Counts((0, 0), (9, 9))), [worth], ceilings, 1)
    assert certificate is not None
    return certificate


def test_a_certificate_rules_out_what_is_worth_too_little() -> None:
    """Two long and one short are 27: enough for 27, not for 28."""
    assert not rules_out(at_least(27), (2, 1))
    assert rules_out(at_least(28), (2, 1))


def test_candidates_come_cheapest_first() -> None:
    """For 27: four short for 16; two long and one short for 16; one long and three short for 18; ..."""
    found = list(candidates(Box(0, (0, 0), (9, 9)), COSTS, [at_least(27)], 19, PATIENT))
    assert found == [(0, 4), (2, 1), (1, 3), (3, 0)]


def test_ranges_are_narrowed_to_what_is_left_to_spend() -> None:
    """For less than 18 there are at most two long, so at least one short, and at most four."""
    program = CountProgram(COSTS)
    program.add(at_least(27))
    box = program.narrowed(Box(0, (0, 0), (9, 9)), 18)
    assert box is not None
    assert (box.least, box.most) == ((0, 1), (2, 4))


def test_nothing_is_left_below_the_bound() -> None:
    """27 can't be had for less than 16, by the linear program alone."""
    program = CountProgram(COSTS)
    program.add(at_least(27))
    assert program.narrowed(Box(0, (0, 0), (9, 9)), 15) is None


def test_each_number_is_given_once_and_the_bound_goes_up() -> None:
    """Cheapest first, until everything below 19 has been given; then 19 is the bound."""
    counting = StickCounts(COSTS, (9, 9))
    counting.add(at_least(27))
    given = [counting.cheapest(19, PATIENT) for _ in range(5)]
    assert given == [(16, (0, 4)), (16, (2, 1)), (18, (1, 3)), (18, (3, 0)), (19, None)]


def test_a_new_certificate_takes_numbers_away() -> None:
    """Where short sticks turn out to be worth 6 only, four of them won't do."""
    counting = StickCounts(COSTS, (9, 9))
    counting.add(at_least(27))
    counting.add(at_least(27, (10, 6)))
    assert counting.cheapest(19, PATIENT) == (18, (1, 3))


@pytest.mark.parametrize("worth", [0, 40, 61, 90])
def test_choices_are_all_that_the_cuts_allow(worth: int) -> None:
    """The integer program gives them too, one after the other, each as cheap as can be, and then says that is all."""
    least, most, costs = (1, 0, 2, 0), (3, 6, 2, 2), (5, 3, 9, 4)
    cut = certify(Asked([1], costs, Counts(least, most)), [worth], (8, 5, 11, 7), 1)
    assert cut is not None
    every = product(*(range(low, high + 1) for low, high in zip(least, most, strict=True)))
    wanted = {numbers: sum(c * n for c, n in zip(costs, numbers, strict=True)) for numbers in every}
    wanted = {numbers: cost for numbers, cost in wanted.items() if cost < 40 and not rules_out(cut, numbers)}
    program, given = CountChoice(Box(0, least, most), costs, [cut], 40), list[Numbers]()
    while (numbers := program.cheapest(PATIENT)) is not None:
        given.append(numbers)
        program.exclude(numbers)
    assert sorted(given) == sorted(wanted)
    assert [wanted[numbers] for numbers in given] == sorted(wanted.values())


def test_numbers_outside_the_ranges_take_nothing_out_of_them() -> None:
    """One long and three short differ from none and three only in the kind that has no choice left."""
    program = CountChoice(Box(0, (0, 0), (0, 9)), COSTS, [at_least(21)], 19)
    program.exclude((1, 3))
    assert program.cheapest(PATIENT) == (0, 3)
    program.exclude((0, 3))
    assert program.cheapest(PATIENT) == (0, 4)


def test_a_choice_that_is_stopped_is_undecided() -> None:
    """No time, no answer: neither numbers nor that there are none."""
    with pytest.raises(Undecided):
        CountChoice(Box(0, (0, 0), (9, 9)), COSTS, [at_least(27)], 19).cheapest(Watch(lambda: 1.0, 0.0))


@pytest.mark.parametrize("worth", [0, 40, 61, 90])
def test_candidates_are_all_that_the_cuts_allow(worth: int) -> None:
    """Four kinds, one without a choice, against every choice there is, in order of cost."""
    least, most, costs = (1, 0, 2, 0), (3, 6, 2, 2), (5, 3, 9, 4)
    cut = certify(Asked([1], costs, Counts(least, most)), [worth], (8, 5, 11, 7), 1)
    assert cut is not None
    every = product(*(range(low, high + 1) for low, high in zip(least, most, strict=True)))
    priced = sorted((sum(c * n for c, n in zip(costs, numbers, strict=True)), numbers) for numbers in every)
    wanted = [numbers for cost, numbers in priced if cost < 50 and not rules_out(cut, numbers)]
    found = candidates(Box(0, least, most), costs, [cut], 50, PATIENT)
    assert [numbers for numbers in found if not rules_out(cut, numbers)] == wanted


def test_numbers_come_as_they_are_asked_for() -> None:
    """Of a thousand times a million choices the cheapest few come at once, by cost and then by kind."""
    box = Box(0, (0, 0), (1_000, 1_000_000))
    found = candidates(box, (3, 2), [], 10**7, PATIENT)
    assert list(islice(found, 7)) == [(0, 0), (0, 1), (1, 0), (0, 2), (1, 1), (0, 3), (2, 0)]


def test_stopped_it_tells_what_the_ranges_say() -> None:
    """Stopped before it heeds the cut, it gives no numbers, and as the bound the 16 that narrowing came to."""
    counting = StickCounts(COSTS, (9, 9))
    counting.add(at_least(27))
    assert counting.cheapest(19, Watch(lambda: 0.0, -1.0)) == (16, None)


def test_forty_limited_kinds_with_a_choice_each() -> None:
    """More kinds than an array has dimensions, each of which there may be none or one, beside two without limit."""
    sticks = (Stick(200, 100), Stick(150, 80), *(Stick(60 + k, 20 + k % 7, 1) for k in range(40)))
    pieces = tuple(Piece(31 + 3 * i, 3) for i in range(12))
    cutting = solve(CuttingProblem(sticks, pieces), Watch(time.monotonic, time.monotonic() + 2))
    assert not any(cutting.uncut)
    assert cutting.bound <= cutting.cost


def test_kinds_without_a_choice_do_not_count() -> None:
    """A hundred kinds of stick of which there can be none, more than an array has dimensions, beside two."""
    none = (0,) * 100
    costs = (*COSTS, *(1 for _ in none))
    cut = certify(Asked([1], costs, Counts((0, 0, *none), (9, 9, *none))), [27], (10, 7, *none), 1)
    assert cut is not None
    found = candidates(Box(0, (0, 0, *none), (9, 9, *none)), costs, [cut], 17, PATIENT)
    assert [numbers[:2] for numbers in found] == [(0, 4), (2, 1)]
