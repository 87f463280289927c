"""Bills worked out again: what an order comes to by the price rows it reaches.

A row's price is that of the last break whose number is reached, by the sticks of its length or of all lengths, as it
says. Cartons are whole, and where sticks are sold by such rules more may be bought than are cut: all of that is spare.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from decimal import Decimal
from fractions import Fraction
from math import ceil

from solver.checking.bench import Bench, Fault, mismatch, money
from solver.checking.reckoning import counts
from solver.job import BelowMinimum, Job, Supplier
from solver.materials import BreaksCount, Material, StockLength
from solver.plan import Bill, CutPlan, OrderLine


def has_rules(material: Material) -> bool:
    """Whether the bill is more than sticks times a price each."""
    return any(
        row.breaks or row.fixed_cost or (row.carton is not None and (not row.singles or _own_price(row)))
        for row in material.stock
    )


def ruled(bench: Bench) -> bool:
    """Whether cost is more than sticks times a price: by rules, by a minimum order, or because cutting counts."""
    ordered_together = bench.material.priced and _any_charges(bench.job)
    return has_rules(bench.material) or ordered_together or counts(bench.material)


def _own_price(row: StockLength) -> bool:
    if row.carton_price is None or row.price is None or row.carton is None:
        return False
    return row.carton_price != row.price * row.carton


def prices_at(row: StockLength, own: int, every: int) -> tuple[Fraction, Fraction]:
    """Return the price of a stick and of a carton where so many of this length, and of ``every`` one, are bought.

    A stick without price counts its length in ticks.
    """
    counted = every if row.breaks_count is BreaksCount.MATERIAL else own
    price, carton = row.price, row.carton_price
    for step in sorted(row.breaks, key=lambda step: step.sticks):
        if step.sticks <= counted:
            price, carton = step.price, step.carton_price
    stick = Fraction(row.length if price is None else price)
    return stick, stick * (row.carton or 1) if carton is None else Fraction(carton)


def spares_asked(material: Material, sticks: int) -> int:
    """Return how many spares are to be ordered beside so many sticks cut."""
    settings = material.settings
    return ceil(sticks * Fraction(settings.spare_percent) / 100) + settings.spare_sticks if sticks else 0


def to_be_had(row: StockLength) -> int | None:
    """Return how many sticks of a row can be bought, cartons being whole; None without limit."""
    if row.available is None or row.singles or row.carton is None:
        return row.available
    return row.available - row.available % row.carton


def brought(row: StockLength, line: OrderLine) -> int:
    """Return how many sticks a line brings."""
    return line.cartons * (row.carton or 0) + line.loose


def goods(row: StockLength, line: OrderLine, every: int) -> Fraction:
    """Return what a line comes to, where so many sticks of ``every`` length are bought."""
    stick, carton = prices_at(row, brought(row, line), every)
    return line.cartons * carton + line.loose * stick


def bill_of(material: Material, lines: Iterable[OrderLine]) -> Fraction:
    """Return what all lines of a material come to, fixed costs and all."""
    rows = {row.id: row for row in material.stock}
    known = [(rows[line.stock], line) for line in lines if line.stock in rows]
    every = sum(brought(row, line) for row, line in known)
    return sum((goods(row, line, every) + Fraction(row.fixed_cost) for row, line in known), Fraction(0))


def check_bill(job: Job, plan: CutPlan) -> Iterator[Fault]:
    """Check what the order of each supplier comes to beside its lines, and that no bound is above that."""
    materials = {material.id: material for material in job.materials}
    planned = [materials[part.material] for part in plan.materials if part.material in materials]
    names = list(dict.fromkeys(material.supplier for material in planned if material.priced))
    if not _any_charges(job) or not names:
        if plan.bill is not None or plan.bills:
            yield Fault("bill", "#/bill", mismatch("no bill where nothing is charged beside lines", plan.bill))
        return
    bills = plan.bills or (() if plan.bill is None else (plan.bill,))
    if [bill.supplier for bill in bills] != names or (bool(plan.bills) is not any(names)):
        yield Fault("bill", "#/bill", mismatch(f"a bill of each supplier: {names}", [bill.supplier for bill in bills]))
        return
    for place, bill in enumerate(bills):
        whose = {material.id for material in planned if material.supplier == bill.supplier and material.priced}
        pointer = f"#/bills/{place}" if plan.bills else "#/bill"
        yield from _bill_faults(pointer, _charges(job, bill.supplier), plan, whose, bill)
    if plan.bill is not None and plan.bills:
        yield from _sums(plan.bill, bills)
    elif plan.bill is None:
        yield Fault("bill", "#/bill", mismatch("a bill of all orders", None))


def _any_charges(job: Job) -> bool:
    charged = (_charges(job, material.supplier) for material in job.materials if material.priced)
    return any(rule.minimum_order or rule.order_cost or rule.delivery for rule in charged)


def _charges(job: Job, name: str) -> Supplier:
    """Return what a supplier charges; the job's own minimum is for materials of which nobody says who sells them."""
    for supplier in job.suppliers:
        if supplier.name == name:
            return supplier
    return Supplier(name, minimum_order=None if name else job.minimum_order)


def _bill_faults(place: str, rule: Supplier, plan: CutPlan, whose: Container[str], bill: Bill) -> Iterator[Fault]:
    lines = [line for line in plan.order if line.material in whose]
    amount = sum((Fraction(line.amount or 0) for line in lines), Fraction(0))
    fixed = sum((Fraction(line.fixed_cost) for line in lines), Fraction(0))
    minimum, added = rule.minimum_order, Fraction(0)
    if lines and minimum is not None and amount < minimum.amount:
        if minimum.below is BelowMinimum.MADE_UP:
            added = Fraction(minimum.amount) - amount
        elif minimum.below is BelowMinimum.FEE:
            added = Fraction(minimum.fee)
        elif not any(notice.code == "below_minimum" for notice in plan.warnings):
            yield Fault("bill", place, mismatch(f"goods of {money(minimum.amount)} or a warning", money(amount)))
    once = Fraction(rule.order_cost if lines else 0)
    free = rule.free_delivery_from is not None and amount >= rule.free_delivery_from
    delivery = Fraction(rule.delivery if lines and not free else 0)
    right = amount, fixed, added, once, delivery
    found = bill.goods, bill.fixed_costs, bill.small_order, bill.order_cost, bill.delivery
    if tuple(map(Fraction, found)) != right:
        yield Fault("bill", place, mismatch(" + ".join(map(money, right)), " + ".join(map(money, found))))
    reckoned = (part.reckoning for part in plan.materials if part.material in whose)
    own = sum((Fraction(each.total) for each in reckoned if each), Fraction(0))
    if Fraction(bill.own) != own:
        yield Fault("bill", f"{place}/own", mismatch(money(own), money(bill.own)))
    if not 0 <= bill.bound <= bill.total + bill.own:
        yield Fault("bill", f"{place}/bound", mismatch(f"0 to {money(bill.total + bill.own)}", money(bill.bound)))


def _sums(whole: Bill, bills: Sequence[Bill]) -> Iterator[Fault]:
    """Check that the bill of all orders has the sums of each."""
    for name in ("goods", "fixed_costs", "small_order", "order_cost", "delivery", "own", "bound"):
        total = sum((Fraction(getattr(bill, name)) for bill in bills), Fraction(0))
        if Fraction(getattr(whole, name)) != total:
            yield Fault("bill", f"#/bill/{name}", mismatch(money(total), money(getattr(whole, name))))


def line_faults(place: str, material: Material, line: OrderLine, every: int, *, ruled: bool) -> Iterator[Fault]:
    """Check a line's packs, prices and sums, where so many sticks of ``every`` length of the material are bought.

    ``ruled``: more may be bought than are cut, in any packs that are sold.
    """
    row = next(row for row in material.stock if row.id == line.stock)
    if line.sticks + line.spares <= 0 or min(line.sticks, line.spares, line.cartons, line.loose) < 0:
        yield Fault("order", place, mismatch("some sticks, and none below nought", line))
    yield from _packing(place, row, line, ruled=ruled)
    stick, _ = prices_at(row, brought(row, line), every)
    price = None if row.price is None else stick
    if (line.length, line.code, _exact(line.unit_price)) != (row.length, row.code, price):
        wanted = f"{row.length} ticks, code {row.code}, at {_in_words(price)}"
        found = f"{line.length} ticks, code {line.code}, at {_in_words(line.unit_price)}"
        yield Fault("order", place, mismatch(wanted, found))
    amount = None if row.price is None else goods(row, line, every)
    if amount != _exact(line.amount):
        yield Fault("order", place, mismatch(_in_words(amount), _in_words(line.amount)))
    if line.supplier != material.supplier:
        yield Fault("order", place, mismatch(f"supplier {material.supplier}", line.supplier))
    if line.wait_days != row.wait_days:
        yield Fault("order", place, mismatch(f"{row.wait_days} days until it comes", line.wait_days))
    if line.fixed_cost != row.fixed_cost:
        yield Fault("order", place, mismatch(f"a fixed cost of {row.fixed_cost}", line.fixed_cost))


def _packing(place: str, row: StockLength, line: OrderLine, *, ruled: bool) -> Iterator[Fault]:
    sticks = line.sticks + line.spares
    full = ruled or not row.carton or line.loose < row.carton
    if brought(row, line) != sticks or not full or (line.loose and not row.singles):
        found = f"{line.cartons} cartons and {line.loose} loose"
        yield Fault("order", place, mismatch(f"{sticks} sticks as they are sold, full cartons first", found))


def _exact(amount: Decimal | None) -> Fraction | None:
    return None if amount is None else Fraction(amount)


def _in_words(amount: Decimal | Fraction | None) -> str:
    return "no amount" if amount is None else money(amount)
