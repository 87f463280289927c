"""From sticks to an order: whole cartons, loose sticks, spares, and what they come to in decimal money.

What is ordered is the cheapest purchase of the sticks cut and the spares asked for (``solver.buying.bill``).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal

from solver.buying.bill import Bought, Purchase, cheapest
from solver.buying.saw import VALUED_IN, Saw, Way, cuts_of, saw_of
from solver.buying.terms import Terms, has_terms, terms_of
from solver.demand import cost_step
from solver.job import Notice
from solver.materials import BreaksCount, Material, StockLength
from solver.plan import NotCut, OrderLine, PatternUse, Reckoning


def order_lines(material: Material, patterns: Sequence[PatternUse]) -> tuple[OrderLine, ...]:
    """Return one line for each stock length bought, in the order of the stock list."""
    return lines_of(material, new_sticks(patterns), saw_of(material, cost_step(material)))


def new_sticks(patterns: Sequence[PatternUse]) -> Counter[str]:
    """Return how many sticks of each stock length, by its id, patterns are cut from."""
    sticks: Counter[str] = Counter()
    for use in patterns:
        if use.stock is not None:
            sticks[use.stock] += use.count
    return sticks


def lines_of(material: Material, sticks: Counter[str], saw: Saw | None = None) -> tuple[OrderLine, ...]:
    """Return one line for each stock length bought for these sticks, by its id, in the order of the stock list.

    With a ``saw`` what is bought is the cheapest where spares have their worth.
    """
    step = cost_step(material)
    counts = [sticks[row.id] for row in material.stock]
    terms = terms_of(material, step, saw)
    return lines_for(material, counts, terms, _purchase(material, terms, counts), step)


def lines_for(
    material: Material, counts: Sequence[int], terms: Terms, purchase: Purchase, step: Decimal
) -> tuple[OrderLine, ...]:
    """Return the lines of a purchase, made on these terms, for so many sticks cut of each stock length."""
    rows = zip(material.stock, counts, terms.lengths, purchase.bought, strict=True)
    every = sum(purchase.sticks)
    return tuple(
        _line(material, row, n, replace(bought, cost=bought.cost + sold.worth * bought.sticks), every, step)
        for row, n, sold, bought in rows
        if bought.sticks
    )


def reckoning_of(
    material: Material, patterns: Sequence[PatternUse], lines: Sequence[OrderLine]
) -> Reckoning | None:
    """Return what counts beside an order for sticks cut so; None where nothing does."""
    saw = saw_of(material, VALUED_IN)
    if saw is None:
        return None
    settings, kerf, rows = material.settings, material.settings.kerf, {row.id: row for row in material.stock}
    ways = Counter[Way]()
    for use in patterns:
        ways[use.stock_length, tuple(sorted(cut.length + cut.room for cut in use.cuts))] += use.count
    kept = sum(use.count * saw.value(use.left_over.length) for use in patterns)
    spare = sum(line.spares * saw.value(rows[line.stock].length) for line in lines if line.stock in rows)
    used_up = sum(use.count * saw.value(use.stock_length) for use in patterns if use.stock is None)
    cuts = sum(cuts_of(way, kerf) * times for way, times in ways.items())
    setups = sum(cuts_of(way, kerf) > 0 for way in ways)
    return Reckoning(
        cuts=cuts,
        patterns=setups,
        cut_cost=cuts * settings.cut_price,
        pattern_cost=setups * settings.pattern_price,
        kept_value=(kept + spare - used_up) * VALUED_IN,
    )


def cost_of(material: Material, sticks: Counter[str], step: Decimal) -> int:
    """Return what a plan of these sticks costs in steps: its bill where that is more than sticks times a price each."""
    terms, counts = terms_of(material, step), [sticks[row.id] for row in material.stock]
    if has_terms(material):
        return _purchase(material, terms, counts).cost
    return sum(n * (sold.tiers[0].single or 0) for sold, n in zip(terms.lengths, counts, strict=True))


def _purchase(material: Material, terms: Terms, counts: list[int]) -> Purchase:
    """Return the cheapest purchase within what is available; where that is too little, as if there were enough."""
    found = cheapest(terms, counts) if has_terms(material) or saw_of(material, VALUED_IN) else None
    if found is None:
        endless = replace(terms, lengths=tuple(replace(sold, limit=None) for sold in terms.lengths))
        found = cheapest(endless, counts)
    if found is None:
        raise AssertionError("without limits everything can be bought")
    return found


def _line(material: Material, row: StockLength, sticks: int, bought: Bought, every: int, step: Decimal) -> OrderLine:
    """Return a row's line; ``every`` stick of the material counts where its breaks say so."""
    return OrderLine(
        material=material.id,
        stock=row.id,
        length=row.length,
        code=row.code,
        sticks=sticks,
        spares=bought.sticks - sticks,
        cartons=bought.cartons,
        loose=bought.singles,
        unit_price=price_at(row, bought.sticks, every),
        amount=None if row.price is None else bought.cost * step,
        fixed_cost=row.fixed_cost,
        supplier=material.supplier,
        wait_days=row.wait_days,
    )


def ordered(line: OrderLine, row: StockLength) -> int:
    """Return how many sticks an order's line brings of its stock length."""
    return line.cartons * (row.carton or 0) + line.loose


def price_at(row: StockLength, own: int, every: int) -> Decimal | None:
    """Return what a stick costs where so many of its length are bought, and of ``every`` length of its material."""
    sticks = every if row.breaks_count is BreaksCount.MATERIAL else own
    return next((each.price for each in reversed(row.breaks) if each.sticks <= sticks), row.price)


def over_stock(material: Material, lines: Sequence[OrderLine], not_cut: Sequence[NotCut]) -> Iterator[Notice]:
    """Yield a notice for each line that asks for more than is available, where spares are short, and of a second lot.

    ``not_cut`` are the material's pieces that no stick was left for.
    """
    rows = {row.id: row for row in material.stock}
    beyond = any(each.code == "stock_exhausted" for each in not_cut)
    for line in lines:
        row = rows[line.stock]
        count = ordered(line, row)
        if row.available is not None and count > row.available:
            beyond = True
            detail = f"{material.id} {row.id}: the order comes to {count}, but {row.available} are available"
            yield Notice("order_over_stock", detail, material=material.id)
    if material.settings.one_lot and beyond:
        detail = f"{material.id}: more is wanted than is available; what is ordered later may be of another lot"
        yield Notice("second_lot", detail, material=material.id)
    wanted = terms_of(material, cost_step(material)).spares(sum(line.sticks for line in lines))
    used = max((line.sticks for line in lines), default=0)
    spares = max((line.spares for line in lines if line.sticks == used), default=0)
    if spares < wanted:
        detail = f"{material.id}: {wanted} spares are asked for, but {spares} of the length used most are available"
        yield Notice("spares_over_stock", detail, material=material.id)
