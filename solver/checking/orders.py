"""What the plan costs is what its new sticks cost, and the order buys those sticks and the spares.

What laps count is told beside it and is in neither. It buys in whole cartons and loose, at the prices given.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from math import ceil

from solver.checking.bench import Bench, Fault, mismatch, money
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
    prices = {row.id: price_of(row, material) for row in material.stock}
    bought = sum((prices.get(use.stock, Fraction(0)) for _, use, _ in bench.sticks() if use.stock), Fraction(0))
    if not plan.cost_step > 0:
        yield Fault("cost", bench.place, mismatch("a step above 0", plan.cost_step))
    elif plan.cost * Fraction(plan.cost_step) != bought:
        yield Fault("cost", bench.place, mismatch(bench.cost(bought), bench.steps(plan.cost)))


    laps = sum(len(run.pieces) - 1 for run in plan.runs)
    if plan.lap_cost != laps * material.settings.lap_price:
        words = f"{laps} laps of {material.settings.lap_price} each"
        yield Fault("lap_cost", bench.place, mismatch(words, plan.lap_cost))


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
    yield from _spares(bench, used, lines)
    for row in bench.material.stock:
        line = lines.get(row.id)
        if line is not None:
            yield from _line(bench, f"#/order/{places[row.id]}", line, used[row.id])
        elif used[row.id]:
            yield Fault("order", bench.place, mismatch(f"a line for {used[row.id]} of {row.id}", "none"))


def _spares(bench: Bench, used: Counter[str], lines: dict[str, OrderLine]) -> Iterator[Fault]:
    needed = ceil(used.total() * Fraction(bench.material.settings.spare_percent) / 100)
    found = {stock: line.spares for stock, line in lines.items() if line.spares}
    most = {stock for stock, count in used.items() if count == max(used.values())}
    right = dict.fromkeys(found, needed) if len(found) == 1 and set(found) <= most else {}
    if found != right or (needed and not found):
        spares = ", ".join(f"{count} of {stock}" for stock, count in found.items()) or "none"
        yield Fault("order", bench.place, mismatch(f"{needed} spares of {' or '.join(sorted(most))}", spares))


def _line(bench: Bench, place: str, line: OrderLine, used: int) -> Iterator[Fault]:
    row = bench.rows[line.stock]
    if line.sticks != used or line.sticks + line.spares <= 0:
        yield Fault("order", place, mismatch(f"{used} sticks", line.sticks))
    if (line.length, line.code, line.unit_price) != (row.length, row.code, row.price):
        needed = _bought(bench, row.length, row.code, row.price)
        yield Fault("order", place, mismatch(needed, _bought(bench, line.length, line.code, line.unit_price)))
    packed = _packed(row, line.sticks + line.spares)
    if (line.cartons, line.loose) != packed:
        yield Fault("order", place, mismatch(_packs(*packed), _packs(line.cartons, line.loose)))
    amount = _amount(row, line)
    if line.amount != amount:
        yield Fault("order", place, mismatch(_amount_in_words(amount), _amount_in_words(line.amount)))


def _bought(bench: Bench, length: int, code: str | None, price: Decimal | None) -> str:
    return f"{bench.say(length)}, code {code}, at {_amount_in_words(price)}"


def _packs(cartons: int, loose: int) -> str:
    return f"{cartons} cartons and {loose} loose"


def _amount_in_words(amount: Decimal | None) -> str:
    return "no amount" if amount is None else money(amount)


def _packed(row: StockLength, sticks: int) -> tuple[int, int]:
    """Return whole cartons and loose sticks: the rest is a carton too if sold only so, or if that costs no more."""
    if row.carton is None:
        return 0, sticks
    full, rest = divmod(sticks, row.carton)
    dearer = row.carton_price is None or row.price is None or row.carton_price > rest * row.price
    return (full, rest) if not rest or (row.singles and dearer) else (full + 1, 0)


def _amount(row: StockLength, line: OrderLine) -> Decimal | None:
    if row.price is None:
        return None
    whole = row.carton_price if row.carton_price is not None else row.price * (row.carton or 0)
    return line.cartons * whole + line.loose * row.price
