"""Where what a day cuts comes from: an earlier day, the rack, or a delivery.

What a day brings was left by an earlier day or lies on the rack, is used once, and fits in the van every night. Whole
sticks are delivered before they are cut; each order that may still change asks for just what is cut, and spares.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from solver.checking.bench import Fault, mismatch
from solver.checking.bills import brought, has_rules, line_faults, spares_asked, to_be_had
from solver.materials import FactoryEnd, Offcut
from solver.plan import LeftOver, OrderLine
from solver.weekly.plan import DayPlan, KeptOffcut, WeekPlan
from solver.weekly.week import DAYS, Delivery, Week

Kind = tuple[str, str]
"""A material and its stock length."""
Key = tuple[str, str, int, FactoryEnd]
"""An offcut as it can be told apart: material, label, length and factory ends."""


@dataclass(frozen=True, slots=True)
class Lying:
    """An offcut that can be brought: how many, from which day on, and since which night it lies in the van."""

    count: int
    earliest: date
    in_van_since: date | None


def check_carried(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check where every offcut of the open days comes from, then the nights."""
    for day in plan.days:
        yield from _kept(day)
    yield from _wanted(plan)
    labels = Counter(kept.label for day in plan.days for kept in day.kept)
    labels.update(offcut.id for offcut in week.rack)
    labels.update(kept.offcut.id for report in week.reports for kept in report.kept if _new(plan, kept.offcut.id))
    for label, count in labels.items():
        if count > 1:
            yield Fault("label", "#/days", mismatch(f"{label} once", count))
    lying = dict(_lying(week, open_from, plan))
    yield from _brought(lying, plan)
    yield from _nights(week, open_from, plan, lying)


def _new(plan: WeekPlan, label: str) -> bool:
    return all(kept.label != label for day in plan.days for kept in day.kept)


def _kept(day: DayPlan) -> Iterator[Fault]:
    """Check that exactly what the sheet leaves to keep has a label."""
    left: dict[tuple[str, str], LeftOver] = {
        (part.material, stick.stick): use.left_over for part in day.plan.materials for use, stick in part.sticks()
    }
    place = f"#/days/{day.date.isoformat()}/kept"
    for kept in day.kept:
        found = left.get((kept.material, kept.stick))
        if found is None or (found.length, found.factory_end, found.keep) != (kept.length, kept.factory_end, True):
            yield Fault("kept", place, mismatch(f"{kept.label} as the sheet leaves it", found))
        if kept.wanted is not None and kept.wanted <= day.date:
            yield Fault("kept", place, mismatch(f"{kept.label} wanted on a later day", kept.wanted.isoformat()))
    keeps = {key for key, over in left.items() if over.keep}
    labelled = [(kept.material, kept.stick) for kept in day.kept]
    if sorted(labelled) != sorted(keeps):
        yield Fault("kept", place, mismatch(f"a label for each of {sorted(keeps)}", sorted(labelled)))


def _wanted(plan: WeekPlan) -> Iterator[Fault]:
    """Check that what a day keeps says rightly on which day it is wanted again, the sheet of the day final or not."""
    brought = {offcut.id: day.date for day in reversed(plan.days) for offcut in day.job.offcuts}
    for day in plan.days:
        for kept in day.kept:
            if kept.wanted != brought.get(kept.label):
                place = f"#/days/{day.date.isoformat()}/kept"
                yield Fault("kept", place, mismatch(f"{kept.label} wanted {brought.get(kept.label)}", kept.wanted))


def _lying(week: Week, open_from: date, plan: WeekPlan) -> Iterator[tuple[Key, Lying]]:
    """Yield everything that open days can bring, by what it is."""
    reported = {report.date for report in week.reports}
    used = Counter(label for report in week.reports for label in report.used)
    for day in plan.days:
        if day.frozen and day.date not in reported:
            used.update(_brought_labels(day).elements())
    for offcut, since in _reported(week):
        yield _key(offcut), Lying(offcut.quantity - used[offcut.id], open_from, since)
    for day in plan.days:
        if not (day.frozen and day.date in reported):
            for kept in day.kept:
                yield _kept_key(kept), Lying(1 - (used[kept.label] > 0), day.date, day.date)


def _reported(week: Week) -> Iterator[tuple[Offcut, date | None]]:
    every: list[tuple[Offcut, date | None]] = [(offcut, None) for offcut in week.rack]
    every += [(kept.offcut, report.date if kept.in_van else None) for report in week.reports for kept in report.kept]
    yield from ((offcut, since) for offcut, since in every if offcut.id not in week.given_back)


def _brought(lying: dict[Key, Lying], plan: WeekPlan) -> Iterator[Fault]:
    taken: Counter[Key] = Counter()
    for day in (day for day in plan.days if not day.frozen):
        place = f"#/days/{day.date.isoformat()}/offcuts"
        for offcut in day.job.offcuts:
            there = lying.get(_key(offcut))
            if there is None or not _in_time(there, day.date):
                yield Fault("offcut", place, mismatch("an offcut from the rack or an earlier day", offcut))
        labels = _brought_labels(day)
        for offcut in day.job.offcuts:
            taken[_key(offcut)] += labels[offcut.id]
    for key, count in taken.items():
        if key in lying and count > lying[key].count:
            yield Fault("offcut", "#/days", mismatch(f"{lying[key].count} of {key[1]}", count))


def _in_time(there: Lying, day: date) -> bool:
    """Whether an offcut is there on a day: the rack's from the first open day, a left-over only after its own day."""
    return day > there.earliest or (day == there.earliest and there.in_van_since != there.earliest)


def _nights(week: Week, open_from: date, plan: WeekPlan, lying: dict[Key, Lying]) -> Iterator[Fault]:
    """Count the offcuts in the van after each day: from the day they are cut until the day they are used up."""
    nights: Counter[int] = Counter()
    carried = 0
    for day in (day for day in plan.days if not day.frozen):
        for offcut in day.job.offcuts:
            there = lying.get(_key(offcut))
            if there is not None and there.in_van_since is not None:
                brought = _brought_labels(day)[offcut.id]
                carried += brought
                begin = max(week.day(there.in_van_since), week.day(open_from) - 1)
                for night in range(begin, week.day(day.date)):
                    nights[night] += brought
    found = tuple(nights[night] for night in range(DAYS))
    if plan.nights != found or plan.carried != carried:
        yield Fault("carried", "#/nights", mismatch((found, carried), (plan.nights, plan.carried)))
    limit = week.limits.carry
    if limit is not None and max(nights.values(), default=0) > limit:
        yield Fault("carried", "#/nights", mismatch(f"at most {limit} a night", found))


def _brought_labels(day: DayPlan) -> Counter[str]:
    return Counter(s.offcut_id for part in day.plan.materials for _, s in part.sticks() if s.offcut_id is not None)


def _key(offcut: Offcut) -> Key:
    return offcut.material, offcut.id, offcut.length, offcut.factory_end


def _kept_key(kept: KeptOffcut) -> Key:
    return kept.material, kept.label, kept.length, kept.factory_end


def delivered_by(week: Week, plan: WeekPlan, orders_from: date) -> Counter[Kind]:
    """Count what deliveries have brought, or bring whatever is planned."""
    lines = {order.date: order.lines for order in plan.orders if order.closed}
    return sum((_come(delivery, orders_from, lines) for delivery in week.deliveries), Counter[Kind]())


@dataclass(frozen=True, slots=True)
class AtHand:
    """Sticks alike that cost nothing more: how many, from which day on, and since when they lie in the van.

    ``name`` is the label of offcuts, and of ``whole`` sticks the stock length.
    """

    material: str
    name: str
    length: int
    ends: FactoryEnd
    count: int
    first: date
    in_van_since: date | None = None
    whole: bool = False


def at_hand(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> Iterator[AtHand]:
    """Yield what lies there on the first open day, and the sticks that come whatever is planned."""
    new = {kept.label for day in plan.days if not day.frozen for kept in day.kept}
    for (material, label, length, ends), there in _lying(week, open_from, plan):
        if label not in new and there.count > 0:
            yield AtHand(material, label, length, ends, there.count, open_from, there.in_van_since)
    shop, closed = _shop(week, open_from, plan), dict(_still_to_come(week, open_from, plan, orders_from))
    lengths = {(material.id, row.id): row.length for material in week.materials for row in material.stock}
    for day, counts in [(open_from, +shop), *_without_used(closed, -shop).items()]:
        for kind, count in counts.items():
            if count > 0:
                yield AtHand(*kind, lengths[kind], FactoryEnd.BOTH, count, day, whole=True)


def check_orders(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> Iterator[Fault]:
    """Go through the days, deliveries first: what is cut must be there, and all that is ordered must be cut."""
    coming = {order.date: order.lines for order in plan.orders if not order.closed}
    if len(coming) != sum(not order.closed for order in plan.orders):
        yield Fault("order", "#/orders", mismatch("one order for each delivery", "two"))
    allowed = {delivery.date for delivery in week.deliveries if delivery.date >= orders_from}
    for day in sorted(set(coming) - allowed):
        yield Fault("order", f"#/orders/{day.isoformat()}", mismatch("a delivery that may still change", "none"))
    closed = dict(_still_to_come(week, open_from, plan, orders_from))
    shop = _shop(week, open_from, plan)
    yield from _there_in_time(plan, +shop, coming, _without_used(closed, -shop))
    left = left_to_order(week, plan, orders_from)
    for order in plan.orders:
        if not order.closed:
            yield from _lines(week, f"#/orders/{order.date.isoformat()}", order.lines, left)
    yield from _available(left)


def _still_to_come(
    week: Week, open_from: date, plan: WeekPlan, orders_from: date
) -> Iterator[tuple[date, Counter[Kind]]]:
    """Yield what deliveries bring that are to come and can't be changed any more."""
    lines = {order.date: order.lines for order in plan.orders if order.closed}
    for delivery in week.deliveries:
        if delivery.received is None and open_from <= delivery.date < orders_from:
            yield delivery.date, _come(delivery, orders_from, lines)


def _without_used(closed: dict[date, Counter[Kind]], used: Counter[Kind]) -> dict[date, Counter[Kind]]:
    """Return deliveries without what was used of them already, the first first."""
    left = {}
    for day, come in sorted(closed.items()):
        left[day] = come - used
        used = used - come
    return left


def _there_in_time(
    plan: WeekPlan, shop: Counter[Kind], coming: dict[date, tuple[OrderLine, ...]], closed: dict[date, Counter[Kind]]
) -> Iterator[Fault]:
    there = Counter(shop)
    unasked = sum(closed.values(), Counter(shop))
    sheets = {day.date: day for day in plan.days if not day.frozen}
    for day in sorted({*sheets, *coming, *closed}):
        there.update(closed.get(day, {}))
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
        if count > unasked[kind] and ordered:
            left = count - unasked[kind]
            yield Fault("order", "#/orders", mismatch(f"no more of {kind} than is cut", f"{left} left"))


def _shop(week: Week, open_from: date, plan: WeekPlan) -> Counter[Kind]:
    """Count the whole sticks that closed deliveries brought and nobody has cut; less than none where more is used."""
    there: Counter[Kind] = Counter()
    lines = {order.date: order.lines for order in plan.orders if order.closed}
    for delivery in week.deliveries:
        there.update(_come(delivery, open_from, lines))
    for report in week.reports:
        for entry in report.sticks:
            there[entry.material, entry.stock] -= entry.count
    reported = {report.date for report in week.reports}
    for day in plan.days:
        if day.frozen and day.date not in reported:
            there.subtract(_new_sticks(day))
    return there


def _come(delivery: Delivery, open_from: date, lines: dict[date, tuple[OrderLine, ...]]) -> Counter[Kind]:
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


@dataclass(frozen=True, slots=True)
class Left:
    """Of a stock length: how many can be ordered beside what is delivered, cartons being whole, and how many are."""

    most: int
    sticks: int
    spares: int

    @property
    def used_up(self) -> bool:
        """Whether no more can be ordered."""
        return self.sticks + self.spares >= self.most


def left_to_order(week: Week, plan: WeekPlan, orders_from: date) -> dict[Kind, Left]:
    """Return what is left of every stock length of which there is an end."""
    sticks: Counter[Kind] = Counter()
    spares: Counter[Kind] = Counter()
    for line in (line for order in plan.orders if not order.closed for line in order.lines):
        sticks[line.material, line.stock] += line.sticks
        spares[line.material, line.stock] += line.spares
    delivered = delivered_by(week, plan, orders_from)
    found = {}
    for material in week.materials:
        for row in material.stock:
            kind = material.id, row.id
            beside = None if row.available is None else max(0, row.available - delivered[kind])
            most = to_be_had(replace(row, available=beside))
            if most is not None:
                found[kind] = Left(most, sticks[kind], spares[kind])
    return found


def _lines(week: Week, place: str, lines: tuple[OrderLine, ...], left: dict[Kind, Left]) -> Iterator[Fault]:
    for material in week.materials:
        own = [line for line in lines if line.material == material.id]
        rows = {row.id: row for row in material.stock}
        spares = spares_asked(material, sum(line.sticks for line in own))
        found = sum(line.spares for line in own)
        gone = any(kind in left and left[kind].used_up for line in own if (kind := (line.material, line.stock)))
        if (found < spares and not gone) or (found > spares and not has_rules(material)):
            yield Fault("order", place, mismatch(f"{spares} spares of {material.id}", found))
        every = sum(brought(rows[line.stock], line) for line in own if line.stock in rows)
        for line in own:
            if line.stock in rows:
                yield from line_faults(place, material, line, every, ruled=has_rules(material))
            else:
                yield Fault("order", place, mismatch("stock of the week", line))


def _available(left: dict[Kind, Left]) -> Iterator[Fault]:
    """Check that no more is ordered to be cut than can be had beside what is delivered, however much that is."""
    for kind, there in left.items():
        if there.sticks > there.most:
            yield Fault("stock", "#/orders", mismatch(f"at most {there.most} of {kind[1]}", there.sticks))
