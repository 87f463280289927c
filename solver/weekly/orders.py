"""One order for each delivery: sticks come with the last delivery before they are first cut, spares with them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from solver.order import lines_of
from solver.plan import OrderLine
from solver.weekly.plan import DeliveryOrder
from solver.weekly.standing import Standing
from solver.weekly.sticks import WeekStick
from solver.weekly.week import Delivery

Counts = dict[str, Counter[str]]
"""Sticks by material, then by stock length."""


def orders_of(standing: Standing, sticks: Sequence[WeekStick]) -> tuple[DeliveryOrder, ...]:
    """Return what every delivery brings, in the order of dates; what has come stands by itself."""
    wanted = _wanted(standing, sticks)
    orders = [*_closed(standing)]
    orders += [DeliveryOrder(day, _lines(standing, counts)) for day, counts in wanted.items()]
    return tuple(sorted(orders, key=lambda order: (order.date, not order.closed)))


def _wanted(standing: Standing, sticks: Sequence[WeekStick]) -> dict[date, Counts]:
    open_from = standing.moment.open_from
    dates = sorted({d.date for d in standing.week.deliveries if d.date >= open_from})
    wanted: dict[date, Counts] = defaultdict(lambda: defaultdict(Counter))
    for stick in sticks:
        if stick.ordered is not None:
            first = standing.week.date(min(stick.days))
            comes = max(day for day in dates if day <= first)
            wanted[comes][stick.material][stick.ordered] += 1
    return wanted


def _closed(standing: Standing) -> Iterator[DeliveryOrder]:
    announced = standing.moment.announced
    known = {order.date: order for order in announced.orders} if announced else {}
    for delivery in standing.week.deliveries:
        if delivery.received is not None:
            yield DeliveryOrder(delivery.date, _received(standing, delivery), closed=True)
        elif delivery.date < standing.moment.open_from and delivery.date in known:
            yield replace(known[delivery.date], closed=True)


def _received(standing: Standing, delivery: Delivery) -> tuple[OrderLine, ...]:
    counts: Counts = defaultdict(Counter)
    for entry in delivery.received or ():
        counts[entry.material][entry.stock] += entry.count
    plain = [
        replace(m, settings=replace(m.settings, spare_percent=m.settings.spare_percent * 0))
        for m in standing.week.materials
    ]
    return tuple(line for material in plain for line in lines_of(material, counts[material.id]))


def _lines(standing: Standing, counts: Counts) -> tuple[OrderLine, ...]:
    return tuple(line for m in standing.week.materials if m.id in counts for line in lines_of(m, counts[m.id]))
