"""What the checker finds a bound to rest on: the values that come with it, length alone, or a search."""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

import pytest

from solver import plan_job
from solver.checking import check, examine
from solver.errors import PlanRefused
from solver.job import Job
from solver.materials import Offcut, StockLength
from solver.plan import CutPlan
from solver.proof import Basis, Proof
from solver.required import End, Meets
from tests import scenario
from tests.scenario import inches
from tests.support import plans
from tests.support.plans import LENGTH, codes, with_part


def bases(job: Job, plan: CutPlan) -> list[Basis]:
    """Return what the checker finds each bound to rest on."""
    return [part.proof.basis for part in examine(job, plan).plan.materials]


def fine_priced() -> StockLength:
    """Return a panel priced so finely that what panels cost together can't be summed in 64 bits."""
    return replace(scenario.PANEL.stock[0], price=Decimal("9.80000000000000000001"))


def test_a_bound_above_what_the_certificate_proves_is_refused() -> None:
    """Valued by length alone, 898 in need 5.99 panels: six. With no value but the B's, two panels would do."""
    proof = Proof("duals", 1, plans.worth(A=242, B=100, C=57))
    assert check(scenario.shed(), with_part(plans.shed(), proof=proof)) == ()
    short = Proof("duals", 1, plans.worth(B=100))
    assert codes(scenario.shed(), with_part(plans.shed(), proof=short)) == {"bound"}


def test_a_value_for_ends_that_nobody_needs_proves_nothing() -> None:
    """An A needs its left end: a value for pieces that need the right one is not its value."""
    values = tuple(replace(v, needs_right=v.needs_left, needs_left=False) for v in plans.SIX_PANELS.values)
    plan = with_part(plans.shed(), proof=Proof("duals", 1, values))
    assert codes(scenario.shed(), plan) == {"bound"}


def test_one_left_end_a_stick_is_part_of_the_bound() -> None:
    """Six pieces of 60 in that all need a left factory end take six panels, though two would fit each."""
    job, plan = plans.six_lapped_left()
    assert check(job, plan) == ()
    plain = replace(job, required=(replace(job.required[0], left_end=End(), length=inches(60)),))
    assert "bound" in codes(plain, plan)


def test_a_refusal_reads_as_words() -> None:
    """Whoever waits for a refused plan is told what is wrong in words, with its place."""
    (fault,) = check(scenario.shed(), with_part(plans.shed(), proof=Proof("duals", 1, plans.worth(B=100))))
    words = "bound, #/materials/0: needed a bound that the certificate proves, found 58.80"
    assert str(PlanRefused([fault])).startswith(words)


def test_values_beyond_64_bits_are_summed_rightly() -> None:
    """The same certificate times 2^70 proves the same, and no more; a false one is not let through by wrapping."""
    large = tuple(replace(value, value=value.value << 70) for value in plans.SIX_PANELS.values)
    assert check(scenario.shed(), with_part(plans.shed(), proof=Proof("duals", 1, large))) == ()
    false = Proof("duals", 1, (plans.value_of(LENGTH["B"], 2**70),))
    assert codes(scenario.shed(), with_part(plans.shed(), proof=false)) == {"bound"}


def test_what_is_rounded_off_a_large_value_makes_no_plan_wrong() -> None:
    """100 in and 90 in from 150 in panels take two: worth 2^55 and 1, they come to more than one, by that 1 alone.

    With 2^70 it is lost where values are rounded to be summed: nothing is certified then, and nothing wrong.
    """
    items = [replace(scenario.B, length=inches(length), quantity=1) for length in (100, 90)]
    job = replace(scenario.shed(), required=tuple(items))
    plan = plan_job(job, time.monotonic)
    for large, least, found, basis in (
        (2**55, 1, set(), Basis.CERTIFIED),
        (2**55, 0, {"bound"}, Basis.SEARCHED),
        (2**70, 1, set(), Basis.SEARCHED),
    ):
        worth = plans.value_of(inches(100), large), plans.value_of(inches(90), least)
        claimed = with_part(plan, proof=Proof("duals", 1, worth))
        assert (codes(job, claimed), bases(job, claimed)) == (found, [basis])


def test_a_list_proven_by_the_last_digits_of_its_values_is_certified() -> None:
    """Common lengths, two stock lengths and an offcut: the bound takes values of 53 bits, and each counts."""
    lengths = {"115": 18, "142.375": 12, "138.25": 4, "114": 4, "82": 1, "50.25": 9, "88.5": 3, "60": 3}
    items = [replace(scenario.B, length=inches(length), quantity=quantity) for length, quantity in lengths.items()]
    stock = (
        replace(scenario.PANEL.stock[0], available=25),
        replace(scenario.PANEL.stock[0], id="16-6", length=inches(198), price=Decimal("13.10")),
    )
    offcut = Offcut("L1", scenario.PANEL.id, inches(120))
    job = replace(scenario.with_panel(stock=stock), required=tuple(items), offcuts=(offcut,))
    plan = plan_job(job, time.monotonic)
    assert plan.materials[0].proven
    assert (codes(job, plan), bases(job, plan)) == (set(), [Basis.CERTIFIED])


def test_only_what_the_checker_worked_out_again_is_certified() -> None:
    """A plan with values, one with a search, and one with values too large to sum: none is wrong, one is certified."""
    huge = replace(scenario.shed(), materials=(replace(scenario.PANEL, stock=(fine_priced(),)),))
    assert bases(scenario.shed(), plans.shed()) == [Basis.CERTIFIED]
    searched = with_part(plans.with_kerf(), proof=Proof("search", text="tried"))
    assert bases(scenario.with_kerf(), searched) == [Basis.SEARCHED]
    claimed = with_part(plans.with_kerf(), proof=Proof("search", basis=Basis.CERTIFIED))
    assert bases(scenario.with_kerf(), claimed) == [Basis.SEARCHED]
    assert not [fault for fault in examine(huge, plans.shed()).faults if "summed" in fault.detail]
    assert bases(huge, plans.shed()) == [Basis.SEARCHED]


def test_length_alone_certifies_what_a_search_claims() -> None:
    """898 in are six panels of 150 in, whoever says so and however; seven is more than length proves."""
    searched = with_part(plans.shed(), proof=Proof("search", text="tried"))
    assert bases(scenario.shed(), searched) == [Basis.CERTIFIED]
    assert bases(scenario.shed(), with_part(searched, cost=343, bound=343)) == [Basis.SEARCHED]


@pytest.mark.parametrize(
    ("length", "meets", "least"),
    [("300", Meets.PLAIN, 3), ("299", Meets.PLAIN, 2), ("299.75", Meets.CHANNEL, 3), ("299.5", Meets.CHANNEL, 2)],
)
def test_length_proves_runs_with_the_laps_they_need(length: str, meets: Meets, least: int) -> None:
    """Two panels of 150 in lapped by 1 in cover 299 in, and a gap of 1/4 in at each channel besides; more takes three.

    Laps of 1 in and gaps of 1/4 in are common practice, no source.
    """
    item = replace(scenario.B, length=inches(length), quantity=1, left_end=End(meets), right_end=End(meets))
    job = replace(scenario.with_panel(), required=(item,))
    plan = plan_job(job, time.monotonic)
    assert (plan.materials[0].new_sticks, bases(job, plan)) == (least, [Basis.CERTIFIED])
    dearer = plan.materials[0].cost * (least + 1) // least
    more = with_part(plan, cost=dearer, bound=dearer)
    assert bases(job, more) == [Basis.SEARCHED]


def test_a_bound_is_not_certified_where_more_might_be_cut() -> None:
    """A bound speaks of plans that leave as little uncut; that no plan leaves less is not worked out again."""
    proof = Proof("duals", 1, plans.worth(A=49, B=17, C=0))
    plan = with_part(plans.with_limited_stock(), proof=proof, bound=49)
    assert (check(scenario.with_limited_stock(), plan), bases(scenario.with_limited_stock(), plan)) == (
        (),
        [Basis.SEARCHED],
    )


def test_two_sets_of_values_prove_what_one_does_not() -> None:
    """One of 110 in and two of 40 in from 100 in at 8.00 and 180 in at 11.00: one of each, 19.00.

    Worth 7 and 4, they come to 15; a 100 in yields 8 and a 180 in 11, so two of 100 in at 16.00 might do. But worth 11
    and 0 they come to 11, and a 100 in yields none: no number of them does without a 180 in.
    """
    short, long = (
        replace(scenario.PANEL.stock[0], id=id_, length=inches(length), price=Decimal(price))
        for id_, length, price in (("8-4", 100, 8), ("15", 180, 11))
    )
    items = tuple(
        replace(scenario.B, mark=mark, length=inches(length), quantity=quantity)
        for mark, length, quantity in (("L", 110, 1), ("S", 40, 2))
    )
    job = replace(scenario.with_panel(stock=(short, long)), required=items)
    plan = plan_job(job, time.monotonic)
    worth = plans.value_of(inches(110), 7), plans.value_of(inches(40), 4)
    assert (plan.materials[0].proven, bases(job, plan)) == (True, [Basis.CERTIFIED])
    assert codes(job, with_part(plan, proof=Proof("duals", 1, worth))) == {"bound"}
    assert codes(job, with_part(plan, proof=Proof("duals", 1, worth, further=((11,),)))) == set()
    assert codes(job, with_part(plan, proof=Proof("duals", 1, worth, further=((0, 1),)))) == {"bound"}


def test_a_bound_without_least_uncut_is_refused() -> None:
    """Until it is known how little can stay uncut, the bound is 0."""
    assert codes(scenario.shed(), with_part(plans.shed(), least_uncut=False)) == {"bound"}
    assert check(scenario.shed(), with_part(plans.shed(), least_uncut=False, bound=0)) == ()
