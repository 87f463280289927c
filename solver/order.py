"""From sticks to an order: whole cartons, loose sticks, spares, and what they come to in decimal money."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from decimal import ROUND_CEILING, Decimal

from solver.job import Notice
from solver.materials import Material, StockLength
from solver.plan import MaterialPlan, OrderLine


def order_lines(material: Material, plan: MaterialPlan) -> tuple[OrderLine, ...]:
    """Return one line for each stock length used, in the order of the stock list."""
    sticks: Counter[str] = Counter()
    for use in plan.patterns:
        if use.stock is not None:
            sticks[use.stock] += use.count
    return lines_of(material, sticks)


def lines_of(material: Material, sticks: Counter[str]) -> tuple[OrderLine, ...]:
    """Return one line for each stock length with sticks, by its id, in the order of the stock list."""
    spare_row, spares = spares_of(material, sticks)
    return tuple(
        _line(material, row, sticks[row.id], spares if row.id == spare_row else 0)
        for row in material.stock
        if sticks[row.id]
    )


def spares_of(material: Material, sticks: Counter[str]) -> tuple[str | None, int]:
    """Return the stock length used most and how many spares of it: the material's share, rounded up."""
    share = Decimal(sticks.total()) * material.settings.spare_percent / 100
    most = max(material.stock, key=lambda row: sticks[row.id], default=None)
    return (most.id if most else None), int(share.to_integral_value(ROUND_CEILING))


def cartons_of(material: Material) -> str:
    """Return what becomes of cartons that the price of single sticks does not tell: "rounded up", "priced" or ""."""
    rows = [row for row in material.stock if row.carton is not None and row.available != 0]
    if not all(row.singles for row in rows):
        return "rounded up"
    return "priced" if any(row.carton_price is not None for row in rows) else ""


def _line(material: Material, row: StockLength, sticks: int, spares: int) -> OrderLine:
    cartons, loose = _cartons(row, sticks + spares)
    return OrderLine(
        material=material.id,
        stock=row.id,
        length=row.length,
        code=row.code,
        sticks=sticks,
        spares=spares,
        cartons=cartons,
        loose=loose,
        unit_price=row.price,
        amount=_amount(row, cartons, loose),
    )


def ordered(line: OrderLine, row: StockLength) -> int:
    """Return how many sticks an order's line brings of its stock length."""
    return line.cartons * (row.carton or 0) + line.loose


def over_stock(material: Material, lines: Iterable[OrderLine]) -> Iterator[Notice]:
    """Yield a notice for each line that asks for more than is available: spares and whole cartons may."""
    rows = {row.id: row for row in material.stock}
    for line in lines:
        row = rows[line.stock]
        count = ordered(line, row)
        if row.available is not None and count > row.available:
            detail = f"{material.id} {row.id}: the order comes to {count}, but {row.available} are available"
            yield Notice("order_over_stock", detail, material=material.id)


def _cartons(row: StockLength, wanted: int) -> tuple[int, int]:
    """Return whole cartons and loose sticks; a carton is also taken where it costs no more than the loose ones."""
    if row.carton is None:
        return 0, wanted
    cartons, loose = divmod(wanted, row.carton)
    whole = loose > 0 and (not row.singles or _carton_as_cheap(row, loose))
    return (cartons + 1, 0) if whole else (cartons, loose)


def _carton_as_cheap(row: StockLength, loose: int) -> bool:
    return row.price is not None and row.carton_price is not None and row.carton_price <= loose * row.price


def _amount(row: StockLength, cartons: int, loose: int) -> Decimal | None:
    if row.price is None:
        return None
    carton_price = row.price * (row.carton or 0) if row.carton_price is None else row.carton_price
    return cartons * carton_price + loose * row.price
