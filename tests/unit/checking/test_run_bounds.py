"""Bounds of runs that the checker works out again from values of what runs are made of: by hand, out of tens."""

from __future__ import annotations

from dataclasses import replace

from solver.categories import DEFAULTS, Category, LapEnds
from solver.checking import examine
from solver.checking.run_rows import straight
from solver.checking.run_ways import Lapped, Way, cells_of
from solver.job import Job
from solver.lengths import TICKS_PER_INCH, Unit
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.planning import plan_job
from solver.proof import Basis, EndValues, Proof, RunValues, StickValue
from solver.required import KeepClear, Required, Side

INCH = TICKS_PER_INCH


def job(
    *runs: int, ends: LapEnds = LapEnds.FACTORY, stick: int = 10 * INCH, extra_laps: int = 0, shortest: int = 0
) -> Job:
    """Return runs, in ticks, out of sticks with butted laps, and no rules but for the shortest piece."""
    settings = replace(
        DEFAULTS[Category.SIDING], lap=0, end_gap=0, lap_ends=ends, lap_spacing=0, lap_repeat=0, in_line_within=0,
        shortest_piece=shortest, extra_laps=extra_laps,
    )  # fmt: skip
    material = Material("p", Category.SIDING, (StockLength("ten", stick),), settings)
    return Job("", Unit.IN, (material,), tuple(Required(str(n), "p", run) for n, run in enumerate(runs)), seconds=60.0)


def planned(asked: Job) -> CutPlan:
    """Return the plan of a job, on a clock that stands still."""
    return plan_job(asked, lambda: 0.0)


def basis(asked: Job, plan: CutPlan, sticks: int, grid: int, *knots: tuple[int, int], value: int = 0) -> Basis:
    """Return what a bound of so many sticks is found to rest on, both ends' pieces being worth the same."""
    sides = (None,) if asked.materials[0].settings.lap_ends is not LapEnds.FACTORY else (Side.LEFT, Side.RIGHT)
    ends = tuple(EndValues(side, ("ten",), (), knots) for side in sides)
    values = RunValues(ends, (StickValue("ten", None, value),))
    (part,) = plan.materials
    bound = sticks * asked.materials[0].stock[0].length
    proof = Proof("duals", 1, grid=grid, runs=(values,))
    found = examine(
        asked, replace(plan, materials=(replace(part, cost=max(part.cost, bound), bound=bound, proof=proof),))
    )
    return found.plan.materials[0].proof.basis


def test_two_pieces_over_half_a_stick_take_a_stick_each() -> None:
    """18 is two pieces of 8 or more, and a ten holds one such: six runs take twelve tens, though 10.8 are as long.

    A piece of four cells of 2 in is worth 5, as the best cut of a ten is; the runs together are worth 60.
    """
    eighteens = job(*[18 * INCH] * 6)
    plan = planned(eighteens)
    assert plan.materials[0].new_sticks == 12
    assert basis(eighteens, plan, 12, 2 * INCH, (3, 0), (4, 5), (5, 5)) is Basis.CERTIFIED
    assert basis(eighteens, plan, 12, 2 * INCH, (1, 0), (2, 5), (5, 5)) is Basis.SEARCHED
    assert basis(eighteens, plan, 13, 2 * INCH, (3, 0), (4, 5), (5, 5)) is Basis.SEARCHED


def test_on_a_grid_that_divides_less_pieces_are_rounded_down() -> None:
    """In cells of 4 in a ten is two, and so is 8: worth as much. In cells of 5 in 8 is one, and two of them fit."""
    eighteens = job(*[18 * INCH] * 6)
    plan = planned(eighteens)
    assert basis(eighteens, plan, 12, 4 * INCH, (1, 0), (2, 5)) is Basis.CERTIFIED
    assert basis(eighteens, plan, 12, 5 * INCH, (0, 0), (1, 5)) is Basis.SEARCHED


def test_on_a_coarse_grid_the_longest_first_piece_of_each_cell_counts() -> None:
    """10,001 and 5,000, 5,001 and 10,000 out of three sticks of 10,001 ticks, in cells of 3.

    A first piece of 3n + 2 leaves 14,999 - 3n, together 4,999 cells where the shortest would be 5,000: that would make
    the runs worth 10,000, more than three sticks of 3,333.
    """
    asked = job(15_001, 15_001, stick=10_001)
    plan = planned(asked)
    assert plan.materials[0].new_sticks == 3
    assert basis(asked, plan, 3, 3, (0, 0), (3333, 3333), value=3333) is Basis.CERTIFIED
    assert basis(asked, plan, 4, 3, (0, 0), (3333, 3333), value=3333) is Basis.SEARCHED


def test_beside_the_longest_first_piece_of_a_cell_the_last_one_takes_fewest() -> None:
    """15,001 in cells of 3: a first piece of 3n + 2 leaves 14,999 - 3n, together 4,999 cells; on the grid all 5,000."""
    ten = Lapped((0,), 0, 0, 10_002)
    firsts, lasts = cells_of(Way((), ten, ten, 15_001), 3, 0, exact=False)
    assert set((firsts + lasts)[:-1].tolist()) == {4_999}
    firsts, lasts = cells_of(Way((), ten, ten, 15_000), 3, 0, exact=True)
    assert set((firsts + lasts).tolist()) == {5_000}


def test_where_ends_are_free_a_run_is_any_pieces_that_add_up() -> None:
    """Six runs of 18 out of tens, in two pieces of 8 or more each: twelve tens, though 10.8 are as long.

    Three pieces could be shorter: 6, 6 and 6 are worth nothing where only pieces of 8 and more are.
    """
    for extra_laps, found in ((0, Basis.CERTIFIED), (1, Basis.SEARCHED)):
        asked = job(*[18 * INCH] * 6, ends=LapEnds.ANY, extra_laps=extra_laps)
        assert basis(asked, planned(asked), 11, 2 * INCH, (3, 0), (4, 5), (5, 5)) is Basis.CERTIFIED
        assert basis(asked, planned(asked), 12, 2 * INCH, (3, 0), (4, 5), (5, 5)) is found


def test_straight_lines_are_rounded_down_and_never_fall() -> None:
    """From 1 at the second cell to 3 at the seventh, 2 at the ninth; below the first knot there is nothing."""
    assert straight([(2, 1), (7, 3), (9, 2)], 10).tolist() == [0, 0, 1, 1, 1, 2, 2, 3, 3, 3, 3]
    assert straight([(3, 5)], 5).tolist() == [0, 0, 0, 5, 5, 5]
    assert straight([], 2).tolist() == [0, 0, 0]


def test_where_the_plan_breaks_no_rule_a_run_is_cut_only_where_it_keeps_its_own() -> None:
    """12 out of tens, no piece under 5: both pieces are 5, 6 or 7 and two of 5 fill a stick, so 2 and 10 don't count.

    Three cells of 2 in or fewer are worth nothing; a stick holds one of more: two runs need no more than length asks.
    Where stretches are kept clear so that the lap is at 6, both are 6, and a ten has but one of them.
    """
    asked = job(*[12 * INCH] * 3)
    free = planned(asked)
    assert free.materials[0].new_sticks == 4
    assert basis(asked, free, 6, INCH, (5, 0), (6, 1)) is Basis.SEARCHED
    clear = (KeepClear(-INCH, 6 * INCH, 1, 1), KeepClear(6 * INCH, 13 * INCH, 1, 1))
    runs = tuple(replace(item, first_course=1, keep_clear=clear) for item in asked.required)
    strict = replace(asked, required=runs)
    plan = planned(strict)
    assert plan.materials[0].new_sticks == 6
    assert basis(strict, plan, 6, INCH, (5, 0), (6, 1)) is Basis.CERTIFIED


def test_a_certificate_without_grid_or_with_values_out_of_order_proves_nothing() -> None:
    """Cells ascend, and there is a grid."""
    eighteens = job(*[18 * INCH] * 6)
    plan = planned(eighteens)
    assert basis(eighteens, plan, 12, 0, (3, 0), (4, 5), (5, 5)) is Basis.SEARCHED
    assert basis(eighteens, plan, 12, 2 * INCH, (4, 5), (3, 0), (5, 5)) is Basis.SEARCHED
