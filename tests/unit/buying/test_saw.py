"""What counts beside the order, by hand: cuts, patterns, and offcuts worth keeping.

The figures and the arithmetic are our own; that people count so is common practice, no source.
"""

from __future__ import annotations

import time
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any

import pytest

from solver import plan_job
from solver.buying import sawn
from solver.buying.saw import Saw, cuts_of, saw_of, way_of, ways_of
from solver.buying.sawn import Pricer, Relaxed
from solver.buying.whole import every_pattern
from solver.categories import DEFAULTS, Category, LapEnds
from solver.checking import check
from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.job import BelowMinimum, Job, MinimumOrder
from solver.lengths import Unit
from solver.materials import Material, Offcut, StockLength
from solver.plan import CutPlan, MaterialPlan
from solver.required import Required
from solver.watch import Watch
from tests.scenario import inches

A = StockLength("A", inches(144), price=Decimal("10.00"))
B = StockLength("B", inches(96), price=Decimal("7.00"))


def job(rows: tuple[StockLength, ...], *pieces: tuple[int, int], offcuts: tuple[int, ...] = (), **asked: Any) -> Job:  # noqa: ANN401
    """Return a job for pieces (inches, how many) of one material without kerf."""
    minimum = asked.pop("minimum", None)
    settings = replace(DEFAULTS[Category.OTHER], kerf=0, keep_offcuts_from=inches(24))
    material = Material("trim", Category.OTHER, rows, replace(settings, **asked))
    items = tuple(Required(f"P{n}", "trim", inches(length), many) for n, (length, many) in enumerate(pieces))
    on_hand = tuple(Offcut(f"R-{length}", "trim", inches(length)) for length in offcuts)
    return Job("by hand", Unit.IN, (material,), items, on_hand, minimum_order=minimum)


def planned(*args: Any, **asked: Any) -> tuple[CutPlan, MaterialPlan]:  # noqa: ANN401
    """Return a plan, with that of its one material."""
    plan = plan_job(job(*args, **asked), time.monotonic)
    return plan, plan.materials[0]


def total(part: MaterialPlan) -> Decimal:
    """Return what a material comes to with what counts beside its order."""
    return part.cost * part.cost_step


def test_a_stick_that_is_used_up_takes_a_cut_less() -> None:
    """Four 72s out of two A take one cut each: 20.00 and 2 x 0.50. A piece alone, trimmed at its end, takes one too."""
    _, part = planned((A,), (72, 4), cut_price=Decimal("0.50"))
    assert part.reckoning is not None
    assert (part.reckoning.cuts, part.reckoning.cut_cost, total(part)) == (2, Decimal("1.00"), Decimal("21.00"))
    _, alone = planned((A,), (100, 1), cut_price=Decimal("0.50"))
    _, whole = planned((A,), (144, 1), cut_price=Decimal("0.50"))
    assert (total(alone), total(whole)) == (Decimal("10.50"), Decimal("10.00"))


def test_a_cut_saved_may_be_worth_a_dearer_stick() -> None:
    """Four 48s: two B take one cut each, 14.00 and 2 x 4.00; an A (three, used up) and a B take three, 17.00 and 12.00.

    Four 36s are an A at 10.00 and three cuts, or four sticks of 36 at 3.60 and none: 14.40, as cuts of 1.466 would be.
    """
    _, part = planned((A, B), (48, 4), cut_price=Decimal(4))
    assert (total(part), part.proven) == (Decimal("22.00"), True)
    small = StockLength("C", inches(36), price=Decimal("3.60"))
    for price, least in (("1.40", "14.20"), ("1.50", "14.40")):
        _, part = planned((A, small), (36, 4), cut_price=Decimal(price))
        assert (total(part), part.proven) == (Decimal(least), True)


def test_a_pattern_is_set_up_for_once_however_many_sticks_are_cut_so() -> None:
    """Four 100s and four 44s are four A cut alike: 40.00 and one set-up of 6.00.

    A fifth 44 has to come out of an A of its own, a pattern more: 50.00 and 12.00.
    """
    _, part = planned((A,), (100, 4), (44, 4), pattern_price=Decimal(6))
    assert (total(part), part.proven) == (Decimal("46.00"), True)
    _, more = planned((A,), (100, 4), (44, 5), pattern_price=Decimal(6))
    assert more.reckoning is not None
    assert (more.reckoning.patterns, total(more), more.proven) == (2, Decimal("62.00"), True)


def test_a_spare_stick_is_an_offcut_and_a_token_cut_earns_nothing() -> None:
    """Two 144s in a carton of four at 40.00: two spares of 12 ft at 0.50 are worth 12.00, be a 12 in cut of one or not.

    With the 12, eleven feet of that stick are left, 5.50, and the other 6.00.
    """
    carton = replace(A, carton=4, singles=False)
    plan, part = planned((carton,), (144, 2), offcut_value=Decimal("0.50"))
    assert (plan.order[0].spares, total(part)) == (2, Decimal("28.00"))
    _, cut = planned((carton,), (144, 2), (12, 1), offcut_value=Decimal("0.50"))
    assert (total(cut), cut.proven) == (Decimal("28.50"), True)


def test_an_offcut_on_hand_counts_for_what_it_would_be_worth() -> None:
    """A 40 out of an offcut of 120 leaves 80 of it: 5.00 less 3.33 (80 / 12 x 0.50 = 3.333, rounded down) are 1.67.

    Out of one of 48 nothing is left to keep, and 2.00 are gone; both are on hand, so the longer one is cut.
    """
    plan, part = planned((A,), (40, 1), offcuts=(120, 48), offcut_value=Decimal("0.50"))
    assert part.reckoning is not None
    assert [use.stock_length for use in part.patterns] == [inches(120)]
    assert (plan.order_total, part.reckoning.kept_value, total(part)) == (Decimal(0), Decimal("-1.67"), Decimal("1.67"))


def test_each_offcut_is_rounded_down_for_itself() -> None:
    """Two A each give a 100 and leave 44: 44 / 12 x 0.50 = 1.833, so 1.83 twice is 3.66, and not 3.67."""
    _, part = planned((A,), (100, 2), offcut_value=Decimal("0.50"))
    assert part.reckoning is not None
    assert part.reckoning.kept_value == Decimal("3.66")


def test_a_minimum_counts_goods_and_not_what_they_are_worth() -> None:
    """Two A at 10.00 come to the minimum of 20.00, though offcuts of 44 in are worth 3.66 and cuts count 1.00."""
    minimum = MinimumOrder(Decimal(20), BelowMinimum.REFUSED)
    asked = {"offcut_value": Decimal("0.50"), "cut_price": Decimal("0.50")}
    plan, _ = planned((A,), (100, 2), minimum=minimum, **asked)
    assert plan.bill is not None
    assert (plan.bill.total, plan.bill.own, plan.bill.bound) == (Decimal(20), Decimal("-2.66"), Decimal("17.34"))
    assert plan.bill.proven
    assert plan.order_total == Decimal(20)


def test_runs_are_reckoned_too_and_their_bound_stays_below() -> None:
    """Two runs of 276 out of sticks of 150: the cost is what the order comes to and the reckoning together."""
    settings = replace(DEFAULTS[Category.SIDING], end_gap=0, lap_ends=LapEnds.ANY, cut_price=Decimal("0.25"))
    rows = (replace(A, length=inches(150)),)
    run = Required("R", "panel", inches(276), 2)
    material = Material("panel", Category.SIDING, rows, settings)
    plan = plan_job(Job("by hand", Unit.IN, (material,), (run,)), time.monotonic)
    (part,) = plan.materials
    assert part.reckoning is not None
    assert plan.order_total is not None
    assert total(part) == plan.order_total + part.reckoning.total
    assert Decimal(0) < part.bound * part.cost_step <= total(part)


def test_cuts_count_nothing_where_sticks_have_no_price() -> None:
    """A carton of two sticks of 144 in for one piece: what it costs is 288 in of length, and money is no length."""
    unpriced = replace(A, price=None, carton=2, singles=False)
    _, part = planned((unpriced,), (100, 1), cut_price=Decimal("0.50"))
    assert (part.cost, part.reckoning) == (inches(288), None)


def test_without_a_price_spares_are_ordered_as_where_no_cut_counts() -> None:
    """One stick is available, two are wanted with the spare: the order asks for both, and a notice says so."""
    few = replace(A, price=None, available=1)
    plan, _ = planned((few,), (100, 1), cut_price=Decimal("0.50"), spare_sticks=1)
    assert (plan.order[0].sticks, plan.order[0].spares) == (1, 1)
    assert [notice.code for notice in plan.warnings] == ["order_over_stock"]


@pytest.mark.parametrize("wrong", ["cuts", "patterns", "cut_cost", "pattern_cost", "kept_value"])
def test_the_checker_adds_it_up_by_itself(wrong: str) -> None:
    """A figure that is one too high is found, and so is a reckoning that is not told, or told where nothing counts."""
    asked = job((A,), (100, 2), offcut_value=Decimal("0.50"), cut_price=Decimal("0.50"), pattern_price=Decimal(1))
    plan = plan_job(asked, time.monotonic)
    (part,) = plan.materials
    assert not check(asked, plan)
    assert part.reckoning is not None
    more = replace(part.reckoning, **{wrong: getattr(part.reckoning, wrong) + 1})
    for other in (more, None):
        found = check(asked, replace(plan, materials=(replace(part, reckoning=other),)))
        assert "reckoning" in {fault.code for fault in found}
    plain = job((A,), (100, 2))
    untold = plan_job(plain, time.monotonic)
    told = replace(untold, materials=(replace(untold.materials[0], reckoning=part.reckoning),))
    assert {fault.code for fault in check(plain, told)} == {"reckoning"}


@pytest.mark.parametrize("seed", range(12))
def test_the_most_valuable_pattern_is_that_of_all_listed(seed: int) -> None:
    """Against every pattern, one by one: with kerf, and with pieces that need a factory end."""
    dice = Random(seed)
    lengths = dice.sample(range(9, 60), 5)
    pieces = tuple(
        Piece(n, dice.randint(1, 4), left=dice.random() < 0.3, right=dice.random() < 0.3) for n in lengths
    )
    sticks = (Stick(dice.randint(60, 120), 10), Stick(60, 0, 2, left=False), Stick(lengths[0], 0, 1))
    problem = CuttingProblem(sticks, pieces, kerf=dice.choice([0, 1]), keep_from=20)
    setup = Decimal(dice.choice(["0", "0.30"]))
    material = job((A,), (1, 1), offcut_value=Decimal(300), cut_price=Decimal("0.02"), pattern_price=setup).materials[0]
    saw = saw_of(replace(material, settings=replace(material.settings, keep_offcuts_from=20)), Decimal("0.01"))
    assert saw is not None
    values, scale = [dice.randint(0, 900) for _ in pieces], 8
    best: dict[int, int] = {}
    for pattern in every_pattern(problem):
        best[pattern.stick] = max(best.get(pattern.stick, 0), net(problem, saw, pattern, values, scale))
    for k, (worth, found) in enumerate(Pricer(problem, saw, scale).best(values)):
        assert worth == best.get(k, 0)
        assert found is None or net(problem, saw, found, values, scale) == worth


@pytest.mark.parametrize("seed", range(6))
def test_on_a_coarse_grid_no_pattern_is_worth_less(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sticks too wide for the table: what is said of each is no less than any of its patterns is worth, and near it."""
    monkeypatch.setattr(sawn, "MOST_WIDTH", 400)
    dice = Random(seed)
    pieces = tuple(Piece(dice.randint(2_001, 9_000), dice.randint(1, 4), left=dice.random() < 0.3) for _ in range(5))
    problem = CuttingProblem((Stick(dice.randint(9_001, 20_000), 10), Stick(9_500, 0, 2, left=False)), pieces, kerf=7)
    material = job((A,), (1, 1), offcut_value=Decimal(3), cut_price=Decimal("0.02")).materials[0]
    saw = saw_of(replace(material, settings=replace(material.settings, keep_offcuts_from=3_000)), Decimal("0.01"))
    assert saw is not None
    values, scale = [piece.length // 9 for piece in pieces], 8
    best: dict[int, int] = {}
    for pattern in every_pattern(problem):
        best[pattern.stick] = max(best.get(pattern.stick, 0), net(problem, saw, pattern, values, scale))
    for k, (worth, found) in enumerate(Pricer(problem, saw, scale).best(values)):
        assert best.get(k, 0) <= worth <= best.get(k, 0) * 1.2 + 200
        assert found is None or net(problem, saw, found, values, scale) <= worth


def test_pieces_of_one_length_share_a_set_up_whatever_their_ends() -> None:
    """Three sticks of 40 give a 30 each, one of them with its factory end: one pattern, set up for once for 6.

    What values say of cutting is no more than that, though one kind is wanted twice and the other once.
    """
    problem = CuttingProblem((Stick(40, 10),), (Piece(30, 2), Piece(30, 1, left=True)))
    saw = Saw(cut=0, pattern=6, rate=Fraction(0), hundredth=1, keep=1)
    plan = {Pattern(0, (0,)): 2, Pattern(0, (1,)): 1}
    cutting = saw.total(ways_of(problem, plan.items()), problem.kerf)
    gains = Relaxed(problem, saw, [10.0]).at_prices(Watch(lambda: 0.0, 1.0))
    assert gains is not None
    assert cutting == 6
    assert gains.worth - 3 * gains.gains[0] <= cutting * gains.scale


def net(problem: CuttingProblem, saw: Saw, pattern: Pattern, values: list[int], scale: int) -> int:
    """Return what a pattern's pieces are worth, less what cutting it costs and its share of being set up for."""
    way = way_of(problem, pattern)
    least = min(problem.pieces[i].demand for i in pattern.pieces)
    share = scale * saw.pattern // least if cuts_of(way, problem.kerf) else 0
    return sum(values[i] for i in pattern.pieces) - scale * saw.cost(way, problem.kerf) - share
