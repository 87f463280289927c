"""The physical sticks of the week: whom each piece is for, how each day's pieces lie in what is left, and its order.

There is one order for each delivery: sticks come with the last delivery before they are first cut, spares with them.
Where they are sold by rules they come with an earlier one if the bills of all deliveries together are less then.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from solver.assignment import in_cutting_order
from solver.buying.order import over_deliveries
from solver.buying.terms import Terms, has_terms
from solver.demand import Kind, Source
from solver.materials import Material
from solver.order import lines_of, over_stock
from solver.plan import OrderLine
from solver.sticks import PlacedPiece
from solver.watch import Watch
from solver.weekly.material_week import Claim, claim_of
from solver.weekly.plan import DeliveryOrder
from solver.weekly.pooling import Pooled
from solver.weekly.state import StockCounts, WeekState
from solver.weekly.week import Delivery, Week

ClaimedCut = tuple[Kind, Claim]
"""A piece cut, and the job's piece it is for."""


@dataclass(slots=True)
class WeekStick:
    """One stick from its first to its last day: ``days[d]`` is what is cut from it on day ``d``, from its left end.

    ``source`` is the stick as it begins that day; it changes as the week is gone through. ``ordered`` is the stock
    length to order, None where the stick is there already.
    """

    material: str
    source: Source
    ordered: str | None
    days: dict[int, tuple[ClaimedCut, ...]] = field(default_factory=dict)

    def after(self, day: int) -> int | None:
        """Return how many of the day's cuts what is left must lie behind, so that a later day finds its end."""
        later = [kind for d, cuts in self.days.items() if d > day for kind, _ in cuts]
        today = [kind for kind, _ in self.days[day]]
        if not later:
            return None
        if any(kind.needs_left for kind in later):
            return 0
        if any(kind.needs_right for kind in later) or not any(kind.needs_right for kind in today):
            return len(today)
        return len(today) - 1 if any(kind.needs_left for kind in today) else 0

    def next_day(self, day: int) -> int | None:
        """Return the next day on which the stick is cut."""
        return min((d for d in self.days if d > day), default=None)


def sticks_of(pooled: Pooled) -> list[WeekStick]:
    """Deal every kind's pieces to the patterns chosen, in the order of the jobs."""
    return list(_as_baseline(pooled) if pooled.week.fixed else _dealt(pooled))


def _as_baseline(pooled: Pooled) -> Iterator[WeekStick]:
    hand = pooled.week.hand
    for one in pooled.week.baselines:
        for place, stick in zip(one.places, one.filled.sticks, strict=True):
            source = hand.sources[place]
            ordered = source.stock if hand.orderable(place) else None
            cuts = tuple((kind, claim_of(one, piece)) for kind, piece in stick.cuts)
            yield WeekStick(pooled.week.material.id, source, ordered, {one.job.day: cuts})


def _dealt(pooled: Pooled) -> Iterator[WeekStick]:
    pieces, hand = pooled.week.pieces, pooled.week.hand
    waiting = [deque(claims) for claims in pieces.claims]
    for pattern in sorted(pooled.uses):
        source = hand.sources[pattern.stick]
        ordered = source.stock if hand.orderable(pattern.stick) else None
        for _ in range(pooled.uses[pattern]):
            stick = WeekStick(pooled.week.material.id, source, ordered)
            dated: dict[int, list[ClaimedCut]] = {}
            for i in pattern.pieces:
                kind, day = pieces.kinds[i]
                dated.setdefault(day, []).append((kind, waiting[i].popleft()))
            stick.days = {day: _in_order(cuts) for day, cuts in sorted(dated.items())}
            yield stick


def _in_order(cuts: Sequence[ClaimedCut]) -> tuple[ClaimedCut, ...]:
    claims: dict[int, Claim] = dict(enumerate(claim for _, claim in cuts))
    numbered = [(kind, PlacedPiece(place, "", None, 0)) for place, (kind, _) in enumerate(cuts)]
    return tuple((kind, claims[number.item]) for kind, number in in_cutting_order(numbered))


def left_unserved(pooled: Pooled) -> Iterator[tuple[Kind, Claim]]:
    """Yield the pieces that no stick is left for: the last of each kind."""
    made = [0] * len(pooled.week.pieces.kinds)
    for pattern, times in pooled.uses.items():
        for i in pattern.pieces:
            made[i] += times
    for (kind, _), claims, count in zip(pooled.week.pieces.kinds, pooled.week.pieces.claims, made, strict=True):
        yield from ((kind, claim) for claim in claims[count:])


def is_laid_in_part(pooled: Pooled) -> bool:
    """Whether a piece of a run that was laid is left without a stick, so that the run can't be made."""
    laid = {
        (one.job.id, one.job.origins[one.filled.runs[cover.run].item].item)
        for one in pooled.week.laid
        for cover in one.filled.covers
    }
    return any((job, piece.item) in laid for _, (job, piece) in left_unserved(pooled))


Counts = dict[str, Counter[str]]
"""Sticks by material, then by stock length."""


def orders_of(
    state: WeekState, sticks: Sequence[WeekStick], watch: Watch
) -> tuple[tuple[DeliveryOrder, ...], tuple[str, ...]]:
    """Return what every delivery brings, in the order of dates; what has come stands by itself.

    With it comes a sentence for each order that asks for more than there is, has too few spares, or comes too soon.
    """
    wanted = _wanted(state, sticks)
    for material in filter(has_terms, state.week.materials):
        _bring_cheapest(material, state.terms(material), wanted, watch)
    orders, notes = [*_closed(state)], list[str]()
    taken = StockCounts()
    for counts in wanted.values():
        taken.update({(material, row): n for material, rows in counts.items() for row, n in rows.items()})
    for day, counts in wanted.items():
        lines = list[OrderLine]()
        for material in (m for m in state.week.materials if any(counts[m.id].values())):
            there = _beside(state, material, taken, counts[material.id])
            own = lines_of(there, counts[material.id])
            taken.update({(line.material, line.stock): line.spares for line in own})
            notes += [*(notice.detail for notice in over_stock(there, own, ())), *_too_late(state, day, own)]
            lines += own
        orders += [DeliveryOrder(day, tuple(lines))] if lines else []
    return tuple(sorted(orders, key=lambda order: (order.date, not order.closed))), tuple(notes)


def _too_late(state: WeekState, day: date, lines: Sequence[OrderLine]) -> Iterator[str]:
    """Yield a sentence for each length that can't come by a delivery in time, unless it was announced for it."""
    announced = state.moment.announced.orders if state.moment.announced else ()
    known = StockCounts()
    for line in (line for order in announced if order.date == day for line in order.lines):
        known[line.material, line.stock] += line.sticks + line.spares
    for line in lines:
        last = day - timedelta(days=line.wait_days)
        if last < state.moment.today and line.sticks + line.spares > known[line.material, line.stock]:
            wait = f"{line.wait_days} {'day' if line.wait_days == 1 else 'days'}"
            yield (
                f"{line.material} {line.stock} takes {wait} to come: for {day.isoformat()} it had to be ordered by "
                f"{last.isoformat()}"
            )


def _beside(state: WeekState, material: Material, taken: StockCounts, own: Counter[str]) -> Material:
    """Return a material with as many available as can still come beside what others take; ``own`` is of the taken."""
    pairs = zip(material.stock, state.terms(material).lengths, strict=True)
    left = (
        row if sold.limit is None
        else replace(row, available=max(0, sold.limit - taken[material.id, row.id] + own[row.id]))
        for row, sold in pairs
    )  # fmt: skip
    return replace(material, stock=tuple(left))


def _wanted(state: WeekState, sticks: Sequence[WeekStick]) -> dict[date, Counts]:
    dates = sorted({d.date for d in state.week.deliveries if d.date >= state.moment.orders_from})
    wanted: dict[date, Counts] = {day: defaultdict(Counter) for day in dates}
    for stick in sticks:
        if stick.ordered is not None:
            first = state.week.date(min(stick.days))
            comes = max(day for day in dates if day <= first)
            wanted[comes][stick.material][stick.ordered] += 1
    return wanted


def _bring_cheapest(material: Material, terms: Terms, wanted: dict[date, Counts], watch: Watch) -> None:
    """Let sticks come with earlier deliveries where that is cheaper."""
    rows = [row.id for row in material.stock]
    counts = [[of[material.id][row] for row in rows] for of in wanted.values()]
    if sum(map(any, counts)) == 0 or len(counts) == 1:
        return
    dealt = over_deliveries(terms, counts, watch) or counts
    for of, brought in zip(wanted.values(), dealt, strict=True):
        of[material.id] = +Counter(dict(zip(rows, brought, strict=True)))


def _closed(state: WeekState) -> Iterator[DeliveryOrder]:
    announced = state.moment.announced
    known = {order.date: order for order in announced.orders} if announced else {}
    for delivery in state.week.deliveries:
        if delivery.received is not None:
            yield DeliveryOrder(delivery.date, _received(state, delivery), closed=True)
        elif delivery.date < state.moment.orders_from and delivery.date in known:
            yield replace(known[delivery.date], closed=True)


def _received(state: WeekState, delivery: Delivery) -> tuple[OrderLine, ...]:
    counts: Counts = defaultdict(Counter)
    for entry in delivery.received or ():
        counts[entry.material][entry.stock] += entry.count
    plain = [
        replace(m, settings=replace(m.settings, spare_percent=m.settings.spare_percent * 0, spare_sticks=0))
        for m in state.week.materials
    ]
    return tuple(line for material in plain for line in lines_of(material, counts[material.id]))


def lots_of(week: Week, orders: Sequence[DeliveryOrder]) -> Iterator[str]:
    """Yield a sentence for each material that is to be of one lot and comes with more than one delivery."""
    for material in week.materials:
        days = [order.date for order in orders if any(line.material == material.id for line in order.lines)]
        if material.settings.one_lot and len(days) > 1:
            said = " and ".join(day.isoformat() for day in days)
            yield f"{material.id} is to be of one lot and comes on {said}: ask for that lot, or order all of it at once"
