"""What the plan costs is what its new sticks cost, and the order buys those sticks and the spares.

What laps count is told beside it and is in neither. It buys in whole cartons and loose, at the prices given.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.bills import bill_of, brought, line_faults, ruled, spares_asked
from solver.checking.reckoning import own_cost
from solver.job import Job
from solver.materials import Material, StockLength
from solver.plan import CutPlan, OrderLine


def check_costs(bench: Bench) -> Iterator[Fault]:
    """Check the settings printed, then the cost against the sticks bought."""
    plan, material = bench.plan, bench.material
    if plan.settings != material.settings:
        yield Fault("settings", bench.place, mismatch(material.settings, plan.settings))
    if plan.priced != material.priced:
        yield Fault("cost", bench.place, mismatch(f"priced {material.priced}", plan.priced))
    bought = _cost(bench)
    if not plan.cost_step > 0:
        yield Fault("cost", bench.place, mismatch("a step above 0", plan.cost_step))
    elif plan.cost * Fraction(plan.cost_step) != bought:
        yield Fault("cost", bench.place, mismatch(bench.cost(bought), bench.steps(plan.cost)))
    laps = sum(len(run.pieces) - 1 for run in plan.runs)
    if plan.lap_cost != laps * material.settings.lap_price:
        words = f"{laps} laps of {material.settings.lap_price} each"
        yield Fault("lap_cost", bench.place, mismatch(words, plan.lap_cost))


def _cost(bench: Bench) -> Fraction:
    """Return what the plan costs: its order's bill where sticks are sold by rules, else what its new sticks cost."""
    material = bench.material
    if ruled(bench):
        bill = bill_of(material, (line for line in bench.whole.order if line.material == material.id))
        return bill + own_cost(bench)
    prices = {row.id: price_of(row, material) for row in material.stock}
    return sum((prices.get(use.stock, Fraction(0)) for _, use, _ in bench.sticks() if use.stock), Fraction(0))


def price_of(row: StockLength, material: Material) -> Fraction:
    """Return what one stick of the row costs: its price, or its length in ticks where stock has no prices."""
    return Fraction(row.price) if material.priced and row.price is not None else Fraction(row.length)


def check_lines(job: Job, plan: CutPlan) -> Iterator[Fault]:
    """Check that every order line names a stock length of the job, none twice."""
    known = {(material.id, row.id) for material in job.materials for row in material.stock}
    seen: set[tuple[str, str]] = set()
    for index, line in enumerate(plan.order):
        key = line.material, line.stock
        if key not in known or key in seen:
            found = f"{line.stock} of {line.material}"
            yield Fault("order", f"#/order/{index}", mismatch("a stock length of the request, once", found))
        seen.add(key)


def check_order(bench: Bench) -> Iterator[Fault]:
    """Check this material's order lines against the sticks its patterns use."""
    used = Counter(use.stock for _, use, _ in bench.sticks() if use.stock is not None)
    places = {line.stock: n for n, line in enumerate(bench.whole.order) if line.material == bench.material.id}
    lines = {stock: bench.whole.order[place] for stock, place in places.items()}
    yield from (_left_over if ruled(bench) else _spares)(bench, used, lines)
    every = sum(brought(bench.rows[line.stock], line) for line in lines.values() if line.stock in bench.rows)
    for row in bench.material.stock:
        line = lines.get(row.id)
        if line is not None:
            yield from _line(bench, f"#/order/{places[row.id]}", line, used[row.id], every)
        elif used[row.id]:
            yield Fault("order", bench.place, mismatch(f"a line for {used[row.id]} of {row.id}", "none"))


def _spares(bench: Bench, used: Counter[str], lines: dict[str, OrderLine]) -> Iterator[Fault]:
    needed = spares_asked(bench.material, used.total())
    found = {stock: line.spares for stock, line in lines.items() if line.spares}
    most = {stock for stock, count in used.items() if count == max(used.values())}
    right = dict.fromkeys(found, needed) if len(found) == 1 and set(found) <= most else {}
    if found != right or (needed and not found):
        spares = ", ".join(f"{count} of {stock}" for stock, count in found.items()) or "none"
        yield Fault("order", bench.place, mismatch(f"{needed} spares of {' or '.join(sorted(most))}", spares))


def _left_over(bench: Bench, used: Counter[str], lines: dict[str, OrderLine]) -> Iterator[Fault]:
    """Where sticks are sold by rules all that is not cut is spare, and enough of the length used most."""
    needed = spares_asked(bench.material, used.total())
    most = [stock for stock, count in used.items() if count == max(used.values())]
    spares = max((lines[stock].spares for stock in most if stock in lines), default=0)
    if spares < needed and not _said(bench, "spares_over_stock"):
        yield Fault("order", bench.place, mismatch(f"{needed} spares of {' or '.join(sorted(most))}", spares))


def _line(bench: Bench, place: str, line: OrderLine, used: int, every: int) -> Iterator[Fault]:
    """Check a line where ``every`` stick of the material is so many."""
    if line.sticks != used:
        yield Fault("order", place, mismatch(f"{used} sticks", line.sticks))
    yield from line_faults(place, bench.material, line, every, ruled=ruled(bench))
    available, come = bench.rows[line.stock].available, brought(bench.rows[line.stock], line)
    if available is not None and come > available and not _said(bench, "order_over_stock"):
        yield Fault("order", place, mismatch(f"at most {available} sticks", come))


def _said(bench: Bench, code: str) -> bool:
    return any(notice.code == code and notice.material == bench.material.id for notice in bench.whole.warnings)
