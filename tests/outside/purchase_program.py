"""Cutting and buying as one integer program, put to two solvers: HiGHS and CP-SAT (tests only).

Every way to cut every length is written down, so this is for small lists. A price row holds from its own number of
sticks up to the next row's: both ends are said, although prices that fall make one enough. HiGHS 1.16 is known to call
a dearer plan optimal at fine tolerances, so it is asked at its default ones, CP-SAT beside it, and the better plan and
the lower bound of the two are taken.

``python -m tests.outside.purchase_program 300`` compares so many random lists with the plans of the service, and
``... 300 0 sawn`` such as count cuts, patterns and kept offcuts too.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

import highspy
from ortools.sat.python import cp_model

from solver.job import BelowMinimum, Job, Supplier
from solver.materials import BreaksCount, Material, Offcut, StockLength
from solver.planning import plan_job
from solver.required import Required
from tests.outside.purchase_lists import CENT, sawn_job, small_job
from tests.scenario import inches

MOST = 400
"""More sticks of a length than any of these lists could want."""
SECONDS = 30.0


@dataclass
class Program:
    """Whole numbers with ranges and costs, and rows over them."""

    columns: list[tuple[int, int]] = field(default_factory=list)
    costs: list[int] = field(default_factory=list)
    rows: list[tuple[float, dict[int, int], float]] = field(default_factory=list)
    goods: dict[int, int] = field(default_factory=dict)

    def column(self, most: int, cost: int = 0) -> int:
        """Add a number from 0 to ``most``."""
        self.columns.append((0, most))
        self.costs.append(cost)
        return len(self.columns) - 1

    def row(self, least: float, terms: dict[int, int], most: float = float("inf")) -> None:
        """Add ``least <= terms <= most``."""
        self.rows.append((least, terms, most))

    def cost(self, numbers: Sequence[int]) -> int:
        """Return what whole numbers cost, which must satisfy every row exactly; more than any bill where they don't."""
        totals = (sum(numbers[column] * n for column, n in terms.items()) for _, terms, _ in self.rows)
        right = all(least <= total <= most for (least, _, most), total in zip(self.rows, totals, strict=True))
        return sum(n * cost for n, cost in zip(numbers, self.costs, strict=True)) if right else 2**40


@dataclass(frozen=True)
class Found:
    """The best value known and the greatest proven bound; None where there is no plan at all."""

    best: int | None
    bound: int | None

    @property
    def closed(self) -> bool:
        """Whether they meet."""
        return self.best == self.bound


def least_bill(job: Job) -> Found:
    """Return the least bill of a job in cents, as two solvers find it."""
    program = _program(job)
    found = [_highs(program), _cpsat(program)]
    values = [each.best for each in found if each.best is not None]
    if not values:
        return Found(None, None)
    return Found(min(values), min(each.bound for each in found if each.bound is not None))


def _program(job: Job) -> Program:
    program = Program()
    goods: dict[str, dict[int, int]] = {}
    for material in job.materials:
        items = [item for item in job.required if item.material == material.id]
        before = len(program.goods)
        _material(program, material, items, [o for o in job.offcuts if o.material == material.id])
        goods.setdefault(material.supplier, {}).update([*program.goods.items()][before:])
    for name, bought in goods.items():
        unsaid = Supplier(name, None if name else job.minimum_order)
        _charged(program, next((each for each in job.suppliers if each.name == name), unsaid), bought)
    return program


def _charged(program: Program, supplier: Supplier, goods: dict[int, int]) -> None:
    """Say what an order comes to beside its goods; where nothing is bought, that is nothing."""
    ordered = program.column(1, int(supplier.order_cost / CENT))
    program.row(-float("inf"), {**dict.fromkeys(goods, 1), ordered: -MOST * len(goods)}, 0)
    if supplier.delivery:
        free = supplier.free_delivery_from
        least = MOST * MOST * 100 if free is None else int(free / CENT)
        program.row(0, {**goods, ordered: -least, program.column(1, int(supplier.delivery / CENT)): least})
    if (minimum := supplier.minimum_order) is None:
        return
    least = int(minimum.amount / CENT)
    if minimum.below is BelowMinimum.REFUSED:
        program.row(0, {**goods, ordered: -least})
    elif minimum.below is BelowMinimum.MADE_UP:
        program.row(0, {**goods, ordered: -least, program.column(least, 1): 1})
    else:
        program.row(0, {**goods, ordered: -least, program.column(1, int(minimum.fee / CENT)): least})


def _material(program: Program, material: Material, items: Sequence[Required], offcuts: Sequence[Offcut]) -> None:
    wanted: Counter[int] = Counter()
    for item in items:
        wanted[item.length] += item.quantity
    settings = material.settings
    lengths, kerf = sorted(wanted, reverse=True), settings.kerf
    served: dict[int, dict[int, int]] = {length: {} for length in lengths}

    setups: dict[object, list[int]] = {}

    def cut(stick: int) -> dict[int, int]:
        used = {}
        for ways in _patterns(lengths, [wanted[n] for n in lengths], stick + kerf, kerf):
            taken = sum((length + kerf) * copies for length, copies in ways.items())
            lost = _worth(material, stick) - _worth(material, max(0, stick - taken))
            cuts = max(0, sum(ways.values()) - (taken == stick + kerf))
            column = program.column(MOST, lost + cuts * int(settings.cut_price / CENT))
            used[column] = 1
            if cuts:
                setups.setdefault((stick, tuple(sorted(ways.items()))), []).append(column)
            for length, copies in ways.items():
                served[length][column] = copies
        return used

    for offcut in offcuts:
        program.row(0, cut(offcut.length), offcut.quantity)
    bought = [_buy(program, row, _worth(material, row.length)) for row in material.stock]
    every = {column: n for come, _ in bought for column, n in come.items()}
    for row, (come, tiers) in zip(material.stock, bought, strict=True):
        used = cut(row.length)
        program.row(0, {**come, **dict.fromkeys(used, -1)})
        counted = every if row.breaks_count is BreaksCount.MATERIAL else come
        starts = [0, *(step.sticks for step in row.breaks), MOST * len(material.stock)]
        for (least, end), on in zip(pairwise(starts), tiers, strict=True):
            program.row(least - MOST * 10, {**counted, on: -MOST * 10})
            program.row(-float("inf"), {**counted, on: MOST * 10}, end - 1 + MOST * 10)
    _set_up(program, setups.values(), int(settings.pattern_price / CENT))
    for length in lengths:
        program.row(wanted[length], served[length], wanted[length])


def _set_up(program: Program, ways: Iterable[Sequence[int]], price: int) -> None:
    """Charge for each way to cut a stick once, where any stick is cut so."""
    for columns in ways if price else ():
        program.row(-float("inf"), {**dict.fromkeys(columns, 1), program.column(1, price): -MOST}, 0)


def _worth(material: Material, length: int) -> int:
    """Return what an offcut is worth, in cents: whole cents for each, and a whole stick is one before it is cut."""
    if length < max(1, material.settings.keep_offcuts_from):
        return 0
    return int(material.settings.offcut_value * 100 * length / inches(12))


def _buy(program: Program, row: StockLength, worth: int) -> tuple[dict[int, int], list[int]]:
    """Add what may be bought of a row, where a stick is worth so much when it is kept.

    Return the sticks that come, and whether each price row holds.
    """
    size = row.carton or 1
    come: dict[int, int] = {}
    tiers: list[int] = []
    for price, carton in [(row.price, row.carton_price), *((b.price, b.carton_price) for b in row.breaks)]:
        each = int((price or 0) / CENT)
        on = program.column(1)
        singles = program.column(MOST if row.singles else 0, each)
        cartons = program.column(MOST if row.carton else 0, each * size if carton is None else int(carton / CENT))
        program.row(-float("inf"), {singles: 1, cartons: size, on: -MOST}, 0)
        come |= {singles: 1, cartons: size}
        program.goods |= {singles: program.costs[singles], cartons: program.costs[cartons]}
        program.costs[singles] -= worth
        program.costs[cartons] -= worth * size
        tiers.append(on)
    program.row(1, dict.fromkeys(tiers, 1), 1)
    program.row(0, come, MOST if row.available is None else row.available)
    used = program.column(1, int(row.fixed_cost / CENT))
    program.row(-float("inf"), {**come, used: -MOST}, 0)
    return come, tiers


def _patterns(lengths: Sequence[int], wanted: Sequence[int], room: int, kerf: int) -> Iterator[dict[int, int]]:
    if not lengths:
        yield {}
        return
    takes = lengths[0] + kerf
    for copies in range(min(wanted[0], room // takes) + 1):
        for rest in _patterns(lengths[1:], wanted[1:], room - copies * takes, kerf):
            yield {lengths[0]: copies, **rest} if copies else rest


def _highs(program: Program) -> Found:
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.silent()
    solver.setOptionValue("time_limit", SECONDS)
    solver.setOptionValue("mip_rel_gap", 0.0)
    for (low, high), cost in zip(program.columns, program.costs, strict=True):
        solver.addCol(cost, low, high, 0, [], [])
        solver.changeColIntegrality(solver.getNumCol() - 1, highspy.HighsVarType.kInteger)
    for least, terms, most in program.rows:
        solver.addRow(least, most, len(terms), list(terms), list(terms.values()))
    solver.run()
    if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
        return Found(None, None)
    bound = -int(-(solver.getInfo().mip_dual_bound - 1e-6) // 1)
    numbers = [round(number) for number in solver.getSolution().col_value]
    return Found(program.cost(numbers), bound)


def _cpsat(program: Program) -> Found:
    model = cp_model.CpModel()
    numbers = [model.new_int_var(least, most, "") for least, most in program.columns]
    for least, terms, most in program.rows:
        total = sum(numbers[column] * n for column, n in terms.items())
        if least > -float("inf"):
            model.add(total >= int(least))
        if most < float("inf"):
            model.add(total <= int(most))
    model.minimize(sum(number * cost for number, cost in zip(numbers, program.costs, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = SECONDS
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return Found(None, None)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Found(2**40, int(solver.best_objective_bound))
    return Found(round(solver.objective_value), -int(-(solver.best_objective_bound - 1e-3) // 1))


@dataclass(frozen=True)
class Compared:
    """What the two say of one list: ``wrong`` is empty where they agree as far as both can tell."""

    closed: bool
    proven: bool
    wrong: str


def compared(job: Job) -> Compared:
    """Plan a job, and hold its bill and bound against the program."""
    plan = plan_job(job, time.monotonic)
    other = least_bill(job)
    if other.best is None:
        said = plan.not_cut or any(notice.code == "below_minimum" for notice in plan.warnings)
        return Compared(True, True, "" if said else "a plan where there is none")
    if plan.not_cut:
        return Compared(True, True, "pieces left uncut that need not be")
    own = sum(int(part.reckoning.total / CENT) for part in plan.materials if part.reckoning)
    bill = sum(int(part.cost * part.cost_step / CENT) for part in plan.materials)
    bound = sum(part.bound * part.cost_step / CENT for part in plan.materials)
    proven = all(part.proven for part in plan.materials)
    if plan.bill:
        bill, bound, proven = int(plan.bill.total / CENT) + own, plan.bill.bound / CENT, plan.bill.proven
    wrong = []
    if int((plan.order_total or Decimal(0)) / CENT) + own != bill:
        wrong.append(f"the order comes to {plan.order_total} and {own}, the plan to {bill}")
    if bound > other.best:
        wrong.append(f"a bound of {bound} where {other.best} can be had")
    if bill < (other.bound or 0):
        wrong.append(f"a bill of {bill} below what is proven, {other.bound}")
    if proven and other.closed and bill != other.best:
        wrong.append(f"{bill} is called best, {other.best} can be had")
    return Compared(other.closed, proven, "; ".join(wrong))


if __name__ == "__main__":
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    results, of = [], sawn_job if "sawn" in sys.argv else small_job
    for number in range(first, first + int(sys.argv[1])):
        results.append(compared(of(number)))
        if results[-1].wrong:
            print(number, results[-1].wrong)
    closed, proven = sum(each.closed for each in results), sum(each.proven for each in results)
    print(f"{len(results)} lists, {closed} closed by the program, {proven} proven, "
          f"{sum(bool(each.wrong) for each in results)} wrong")
