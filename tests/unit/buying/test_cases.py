"""Buying rules by hand: what sticks, cartons, breaks and fixed costs come to, each in the arithmetic of its docstring.

The figures and the arithmetic are our own, by hand; what the rules mean is common practice of yards, no source.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal

from solver import plan_job
from solver.categories import DEFAULTS, Category
from solver.job import BelowMinimum, Job, MinimumOrder
from solver.lengths import Unit
from solver.materials import BreaksCount, Material, Offcut, PriceBreak, StockLength
from solver.plan import CutPlan
from solver.proof import Basis
from solver.required import Required
from tests.scenario import inches


def row(name: str, length: int, price: str, **changes: object) -> StockLength:
    """Return a stock length of so many inches at a price each."""
    return replace(StockLength(name, inches(length), price=Decimal(price)), **changes)  # type: ignore[arg-type]


def bought(
    rows: tuple[StockLength, ...], *pieces: tuple[int, int], minimum: MinimumOrder | None = None, **changes: object
) -> CutPlan:
    """Plan pieces (inches, how many) of one material without kerf, some of its settings changed."""
    settings = replace(DEFAULTS[Category.OTHER], kerf=0, **changes)  # type: ignore[arg-type]
    material = Material("trim", Category.OTHER, rows, settings)
    items = tuple(Required(f"P{n}", "trim", inches(length), many) for n, (length, many) in enumerate(pieces))
    return plan_job(Job("by hand", Unit.IN, (material,), items, minimum_order=minimum), time.monotonic)


def packs(plan: CutPlan) -> dict[str, tuple[int, int]]:
    """Return the cartons and singles of each length ordered."""
    return {line.stock: (line.cartons, line.loose) for line in plan.order}


def test_a_carton_of_one_length_and_a_single_of_another() -> None:
    """Either length gives two 70s, so five sticks: five singles 47.50, two cartons 72.00, one of each 45.50."""
    plan = bought((row("A", 144, "9.00", carton=4, singles=False), row("B", 150, "9.50")), (70, 10))
    assert packs(plan) == {"A": (1, 0), "B": (0, 1)}
    assert (plan.order_total, plan.materials[0].proven) == (Decimal("45.50"), True)


def test_one_stick_more_reaches_the_break() -> None:
    """Nine sticks at 10.00 are 90.00; ten at 8.50 are 85.00, one of them spare, and no length is wasted by it."""
    plan = bought((row("A", 144, "10.00", breaks=(PriceBreak(10, Decimal("8.50")),)),), (144, 9))
    (line,) = plan.order
    assert (line.sticks, line.spares, line.unit_price, line.amount) == (9, 1, Decimal("8.50"), Decimal("85.00"))
    assert plan.materials[0].scrap_length == 0


def test_a_line_names_the_price_of_its_cartons_at_the_break_reached() -> None:
    """Thirteen sticks, in cartons of 4 at 30.00 and 27.00 from 10 on, singles 9.00 and 8.00: 3 x 27.00 + 8.00."""
    breaks = (PriceBreak(10, Decimal(8), Decimal(27)),)
    plan = bought((row("A", 144, "9.00", carton=4, carton_price=Decimal(30), breaks=breaks),), (144, 13))
    (line,) = plan.order
    assert (line.cartons, line.loose, line.amount) == (3, 1, Decimal("89.00"))
    assert (line.unit_price, line.carton_price) == (Decimal(8), Decimal(27))
    (alone,) = bought((row("A", 144, "9.00"),), (144, 13)).order
    assert alone.carton_price is None


def test_a_dearer_stick_may_just_pass_a_minimum() -> None:
    """Three B are 24.00, under 25.00; a fourth makes 32.00; two B and an A are 25.00: just at the minimum is enough."""
    minimum = MinimumOrder(Decimal(25), BelowMinimum.REFUSED)
    plan = bought((row("A", 144, "9.00"), row("B", 120, "8.00")), (100, 3), minimum=minimum)
    assert {line.stock: line.sticks + line.spares for line in plan.order} == {"A": 1, "B": 2}
    assert plan.order_total == Decimal("25.00")
    assert plan.bill is not None
    assert plan.bill.proven


def test_a_fixed_cost_of_each_length_keeps_to_one() -> None:
    """Four 90s, one to a stick, and four 72s, two to an A and one to a B; 10.00 for each length bought.

    At list four B at 7.00 and two A at 10.00 are 48.00, with two fixed costs 68.00. Eight B and one are 66.00, six A
    and one 70.00.
    """
    fixed = {"fixed_cost": Decimal(10)}
    plan = bought((row("A", 144, "10.00", **fixed), row("B", 100, "7.00", **fixed)), (90, 4), (72, 4))
    assert packs(plan) == {"B": (0, 8)}
    assert (plan.order[0].amount, plan.order[0].fixed_cost) == (Decimal("56.00"), Decimal(10))
    assert (plan.order_total, plan.materials[0].proven) == (Decimal("66.00"), True)


def test_a_break_counts_cartons_and_singles_of_its_length() -> None:
    """Eleven sticks, ten in a carton: carton and one 94.50; carton and two are twelve, all at the break, 93.80.

    Singles: eleven 104.50, twelve 12 x 8.40 = 100.80. Carton and two: 77.00 + 2 x 8.40 = 93.80.
    """
    at_twelve = (PriceBreak(12, Decimal("8.40"), Decimal(77)),)
    plan = bought((row("A", 144, "9.50", carton=10, carton_price=Decimal(85), breaks=at_twelve),), (140, 11))
    assert packs(plan) == {"A": (1, 2)}
    assert (plan.order_total, plan.materials[0].proven) == (Decimal("93.80"), True)


def test_a_break_may_count_all_lengths_of_a_material() -> None:
    """Four 140s, which A alone holds, and four 90s: eight sticks, 4 x 7.00 + 4 x 5.00 = 48.00.

    Where each length counts for itself, six of A at 7.00 and two of B at 6.00 are 54.00; four of each were 60.00, and
    eight of A 56.00.
    """
    rows = (
        row("A", 144, "9.00", breaks=(PriceBreak(6, Decimal("7.00")),)),
        row("B", 96, "6.00", breaks=(PriceBreak(6, Decimal("5.00")),)),
    )
    together = tuple(replace(each, breaks_count=BreaksCount.MATERIAL) for each in rows)
    alone, both = bought(rows, (140, 4), (90, 4)), bought(together, (140, 4), (90, 4))
    assert (alone.order_total, both.order_total) == (Decimal("54.00"), Decimal("48.00"))
    assert alone.materials[0].proven
    assert both.materials[0].proven


def test_a_kept_offcut_may_be_worth_a_dearer_stick() -> None:
    """Pieces of 72, 70 and 64; A of 144 at 10.00, B of 74 at 7.00; a foot of an offcut of 24 or more is worth 0.48.

    At list A (72 and 70) and B (64) are 17.00, and their offcuts of 2 and 10 are not kept. Two A are 20.00, and the
    second leaves 80 in: 80 / 12 x 0.48 = 3.20, which makes 16.80. Three B are 21.00.
    """
    rows = row("A", 144, "10.00"), row("B", 74, "7.00")
    plan = bought(rows, (72, 1), (70, 1), (64, 1), offcut_value=Decimal("0.48"), keep_offcuts_from=inches(24))
    (part,) = plan.materials
    assert part.reckoning is not None
    assert (packs(plan), plan.order_total, part.reckoning.kept_value) == ({"A": (0, 2)}, Decimal(20), Decimal("3.20"))
    assert (part.cost * part.cost_step, part.proven) == (Decimal("16.80"), True)


def test_carton_break_fixed_cost_and_minimum_together() -> None:
    """Ten sticks: A in sixes, 50.00 each carton, 45.00 from twelve sticks on; B 8.20; 6.00 for each length; from 85.00.

    Ten B are 82.00, under; eleven are 90.20 and 6.00. Two cartons of A are twelve sticks, 90.00 and 6.00 = 96.00.
    """
    breaks = (PriceBreak(12, Decimal("7.50"), Decimal(45)),)
    cartons = {"carton": 6, "singles": False, "carton_price": Decimal(50), "breaks": breaks}
    a = row("A", 144, "9.00", **cartons, fixed_cost=Decimal(6))
    b = row("B", 120, "8.20", fixed_cost=Decimal(6))
    plan = bought((a, b), (100, 10), minimum=MinimumOrder(Decimal(85), BelowMinimum.REFUSED))
    assert plan.bill is not None
    assert (plan.bill.goods, plan.bill.fixed_costs, plan.bill.total) == (Decimal(90), Decimal(6), Decimal(96))
    assert plan.bill.proven


def test_enough_by_the_stick_is_not_enough_by_the_carton() -> None:
    """Thirty are there in twelves, so 24 can be bought: two of 26 pieces stay uncut, and no plan cuts more of them."""
    plan = bought((row("A", 144, "1.00", carton=12, singles=False, available=30),), (140, 26))
    assert [(entry.quantity, entry.code) for entry in plan.not_cut] == [(2, "stock_exhausted")]
    assert (packs(plan), plan.materials[0].proven) == ({"A": (2, 0)}, True)


def test_spares_come_before_cartons_are_rounded_and_a_carton_may_bring_them() -> None:
    """Eleven sticks and a tenth of them, two: thirteen are two cartons of ten, nine more than are cut."""
    plan = bought((row("A", 144, "2.00", carton=10, singles=False),), (140, 11), spare_percent=Decimal(10))
    (line,) = plan.order
    assert (line.cartons, line.spares, line.amount) == (2, 9, Decimal("40.00"))
    assert (plan.materials[0].cost * plan.materials[0].cost_step, plan.materials[0].proven) == (Decimal(40), True)


def test_ten_and_their_spare_are_eleven() -> None:
    """Nine sticks and a tenth, one more, are a carton of ten: no second carton."""
    plan = bought((row("A", 144, "2.00", carton=10, singles=False),), (140, 9), spare_percent=Decimal(10))
    assert (packs(plan), plan.order[0].spares) == ({"A": (1, 0)}, 1)


def test_sticks_on_hand_cost_nothing_and_count_towards_no_break() -> None:
    """One of ten pieces comes out of an offcut: nine are bought at 2.00, for only ten would be cheaper each."""
    rows = (row("A", 144, "2.00", breaks=(PriceBreak(10, Decimal("1.90")),)),)
    settings = replace(DEFAULTS[Category.OTHER], kerf=0)
    job = Job(
        "by hand", Unit.IN, (Material("trim", Category.OTHER, rows, settings),),
        (Required("P", "trim", inches(140), 10),), (Offcut("R-17", "trim", inches(141)),),
    )  # fmt: skip
    plan = plan_job(job, time.monotonic)
    assert (plan.order_total, plan.order[0].sticks) == (Decimal("18.00"), 9)


def test_without_prices_cartons_count_by_their_length() -> None:
    """Three 70s: a carton of four 72s is 288 in, two 144s are no more, and one of them is cut in half."""
    rows = tuple(replace(each, price=None) for each in (row("A", 72, "1", carton=4, singles=False), row("B", 144, "1")))
    plan = bought(rows, (70, 3))
    assert plan.materials[0].cost == inches(288)
    assert plan.materials[0].proven


def test_the_checker_works_out_by_itself_that_no_purchase_is_cheaper() -> None:
    """The bound of a list on terms rests on values of pieces that the checker has added up again."""
    plan = bought((row("A", 144, "9.00", carton=4, singles=False), row("B", 150, "9.50")), (70, 10), (33, 7))
    assert plan.materials[0].proof.basis is Basis.CERTIFIED
