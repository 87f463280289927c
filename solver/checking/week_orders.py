"""Nothing is cut before it is delivered, and each delivery orders just what is cut from it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from math import ceil

from solver.checking.bench import Fault, mismatch
from solver.plan import OrderLine
from solver.weekly.plan import DayPlan, WeekPlan
from solver.weekly.week import Delivery, Week

Kind = tuple[str, str]
"""A material and its stock length."""


def check_orders(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Go through the days, deliveries first: what is cut must be there, and all that is ordered must be cut."""
    coming = {order.date: order.lines for order in plan.orders if not order.closed}
    if len(coming) != sum(not order.closed for order in plan.orders):
        yield Fault("order", "#/orders", mismatch("one order for each delivery", "two"))
    allowed = {delivery.date for delivery in week.deliveries if delivery.date >= open_from}
    for day in sorted(set(coming) - allowed):
        yield Fault("order", f"#/orders/{day.isoformat()}", mismatch("a delivery that may still change", "none"))
    yield from _there_in_time(plan, _shop(week, open_from, plan), coming)
    for order in plan.orders:
        if not order.closed:
            yield from _lines(week, f"#/orders/{order.date.isoformat()}", order.lines)
    yield from _available(week, plan)


def _there_in_time(plan: WeekPlan, shop: Counter[Kind], coming: dict[date, tuple[OrderLine, ...]]) -> Iterator[Fault]:
    there = Counter(shop)
    sheets = {day.date: day for day in plan.days if not day.frozen}
    for day in sorted({*sheets, *coming}):
        for line in coming.get(day, ()):
            there[line.material, line.stock] += line.sticks
        if day in sheets:
            there.subtract(_new_sticks(sheets[day]))
            for kind, count in there.items():
                if count < 0:
                    place = f"#/days/{day.isoformat()}"
                    yield Fault("delivery", place, mismatch(f"{-count} more of {kind} delivered by then", "none"))
            there = Counter({kind: max(0, count) for kind, count in there.items()})
    for kind, count in there.items():
        ordered = sum(line.sticks for lines in coming.values() for line in lines if (line.material, line.stock) == kind)
        if count > shop[kind] and ordered:
            yield Fault("order", "#/orders", mismatch(f"no more of {kind} than is cut", f"{count - shop[kind]} left"))


def _shop(week: Week, open_from: date, plan: WeekPlan) -> Counter[Kind]:
    """Count the whole sticks that closed deliveries brought and nobody has cut."""
    there: Counter[Kind] = Counter()
    lines = {order.date: order.lines for order in plan.orders if order.closed}
    for delivery in week.deliveries:
        there.update(_brought(delivery, open_from, lines))
    for report in week.reports:
        for entry in report.sticks:
            there[entry.material, entry.stock] -= entry.count
    reported = {report.date for report in week.reports}
    for day in plan.days:
        if day.frozen and day.date not in reported:
            there.subtract(_new_sticks(day))
    return Counter({kind: count for kind, count in there.items() if count > 0})


def _brought(delivery: Delivery, open_from: date, lines: dict[date, tuple[OrderLine, ...]]) -> Counter[Kind]:
    brought: Counter[Kind] = Counter()
    if delivery.received is not None:
        for entry in delivery.received:
            brought[entry.material, entry.stock] += entry.count
    elif delivery.date < open_from:
        for line in lines.get(delivery.date, ()):
            brought[line.material, line.stock] += line.sticks + line.spares
    return brought


def _new_sticks(day: DayPlan) -> Counter[Kind]:
    return Counter(
        (part.material, use.stock) for part in day.plan.materials for use, _ in part.sticks() if use.stock is not None
    )


def _lines(week: Week, place: str, lines: tuple[OrderLine, ...]) -> Iterator[Fault]:
    rows = {(m.id, row.id): row for m in week.materials for row in m.stock}
    for material in week.materials:
        own = [line for line in lines if line.material == material.id]
        sticks = sum(line.sticks for line in own)
        spares = ceil(sticks * Fraction(material.settings.spare_percent) / 100)
        if sum(line.spares for line in own) != spares:
            yield Fault("order", place, mismatch(f"{spares} spares of {material.id}", sum(line.spares for line in own)))
    for line in lines:
        row = rows.get((line.material, line.stock))
        if row is None or line.sticks <= 0 or (line.length, line.unit_price) != (row.length, row.price):
            yield Fault("order", place, mismatch("stock of the week at its length and price", line))
            continue
        wanted = line.sticks + line.spares
        packs = divmod(wanted, row.carton) if row.carton else (0, wanted)
        if row.carton and not row.singles:
            packs = -(-wanted // row.carton), 0
        if (line.cartons, line.loose) != packs:
            yield Fault("order", place, mismatch(packs, (line.cartons, line.loose)))
        if row.price is not None:
            carton = row.price * (row.carton or 0) if row.carton_price is None else row.carton_price
            if line.amount != packs[0] * carton + packs[1] * row.price:
                yield Fault("order", place, mismatch(packs[0] * carton + packs[1] * row.price, line.amount))


def _available(week: Week, plan: WeekPlan) -> Iterator[Fault]:
    ordered: Counter[Kind] = Counter()
    for order in plan.orders:
        for line in order.lines:
            ordered[line.material, line.stock] += line.sticks
    for material in week.materials:
        for row in material.stock:
            if row.available is not None and ordered[material.id, row.id] > row.available:
                found = ordered[material.id, row.id]
                yield Fault("stock", "#/orders", mismatch(f"at most {row.available} of {row.id}", found))
