"""The independent checker of weeks: no plan of a week leaves without it.

Every day's sheet is a job and a cut plan and passes the checker of plans by itself. This page holds the days
together, from the week as it was asked for and sharing no code with whoever planned it: each job's pieces on its day
and on no other, what is brought there by an earlier day or from the rack and used once, nothing cut before it is
delivered, no more carried at night than the van takes, and the figures a crew leader reads, which follow from the
sheets. Each delivery must order just what is cut from it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from solver.checking import examine
from solver.checking.bench import Fault, mismatch
from solver.checking.bills import brought, has_rules, line_faults, spares_asked, to_be_had
from solver.checking.week_carried import check_carried
from solver.materials import Material, StockLength
from solver.plan import OrderLine
from solver.required import Required
from solver.weekly.plan import Compared, DayPlan, WeekPlan
from solver.weekly.week import Delivery, Week

__all__ = ["CheckedWeek", "check_week", "examine_week"]
Kind = tuple[str, str]
"""A material and its stock length."""


@dataclass(frozen=True, slots=True)
class CheckedWeek:
    """What is wrong with a week's plan, and the plan with what the bounds of its open days were found to rest on."""

    faults: tuple[Fault, ...]
    plan: WeekPlan


def check_week(week: Week, open_from: date, plan: WeekPlan, orders_from: date | None = None) -> tuple[Fault, ...]:
    """Return everything wrong with ``plan``, whose sheets may change from ``open_from`` on; empty means it is right.

    Deliveries may change from ``orders_from`` on, or as the sheets do.
    """
    return examine_week(week, open_from, plan, orders_from).faults


def examine_week(week: Week, open_from: date, plan: WeekPlan, orders_from: date | None = None) -> CheckedWeek:
    """Check a week's plan, and say of each open day's bounds whether they could be worked out again."""
    examined = {day.date: examine(day.job, day.plan) for day in plan.days if day.date >= open_from}
    sheets = _sheets({day: found.faults for day, found in examined.items()})
    faults = (*_faults(week, open_from, plan, max(open_from, orders_from or open_from)), *sheets)
    days = (replace(day, plan=examined[day.date].plan) if day.date in examined else day for day in plan.days)
    return CheckedWeek(faults, replace(plan, days=tuple(days)))


def _faults(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> Iterator[Fault]:
    yield from check_jobs(week, open_from, plan)
    yield from check_carried(week, open_from, plan)
    yield from check_orders(week, open_from, plan, orders_from)
    yield from check_sums(week, plan)


def _sheets(found: Mapping[date, Iterable[Fault]]) -> Iterator[Fault]:
    """Yield what was found of every sheet as a plan of its own; what it lacks is a question of the whole week."""
    for day, faults in found.items():
        for fault in faults:
            if fault.code != "not_cut" or not fault.place.startswith("#/required"):
                place = f"#/days/{day.isoformat()}{fault.place.removeprefix('#')}"
                yield Fault(fault.code, place, fault.detail)


def check_jobs(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check the days and what each asks for; a frozen day is as it was announced and answers for nothing here."""
    dates = [day.date for day in plan.days]
    if dates != sorted(set(dates)):
        yield Fault("day", "#/days", mismatch("each day once, in order", dates))
    for day in plan.days:
        if not week.monday <= day.date < week.monday + timedelta(days=7):
            yield Fault("day", _place(day), mismatch(f"a day of {week.name}", day.date.isoformat()))
        if day.frozen != (day.date < open_from):
            yield Fault("day", _place(day), mismatch(f"frozen {day.date < open_from}", day.frozen))
        if not day.frozen:
            yield from _asked(week, day)
    yield from _every_job(week, open_from, plan)


def _place(day: DayPlan) -> str:
    return f"#/days/{day.date.isoformat()}"


def _asked(week: Week, day: DayPlan) -> Iterator[Fault]:
    jobs = {job.id: job for job in week.jobs}
    if day.job.materials != _materials(week):
        yield Fault("material", _place(day), mismatch("the week's materials", "others"))
    if len(day.origins) != len(day.job.required):
        yield Fault("job", _place(day), mismatch(f"{len(day.job.required)} origins", len(day.origins)))
        return
    for item, (origin, required) in enumerate(zip(day.origins, day.job.required, strict=True)):
        job, place = jobs.get(origin.job), f"{_place(day)}/required/{item}"
        if job is None or not 0 <= origin.item < len(job.required):
            yield Fault("job", place, mismatch("an item of the week", origin))
        elif job.date != day.date:
            yield Fault("job", place, mismatch(f"{origin.job} on {job.date.isoformat()}", day.date.isoformat()))
        elif _measure(required) != _measure(job.required[origin.item]):
            yield Fault("job", place, mismatch(_measure(job.required[origin.item]), _measure(required)))


def _materials(week: Week) -> tuple[Material, ...]:
    shortest = week.limits.shortest_kept
    changed = []
    for material in week.materials:
        settings = replace(material.settings, spare_percent=0 * material.settings.spare_percent, spare_sticks=0)
        if shortest is not None:
            settings = replace(settings, keep_offcuts_from=shortest)
        changed.append(replace(material, settings=settings))
    return tuple(changed)


def _measure(required: Required) -> tuple[object, ...]:
    return (
        required.mark, required.material, required.length, required.left_end, required.right_end, required.room,
    )  # fmt: skip


def _every_job(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check that what is left to be cut of every job still open is asked for, piece by piece."""
    asked: Counter[tuple[str, int]] = Counter()
    for day in plan.days:
        if not day.frozen:
            for origin, required in zip(day.origins, day.job.required, strict=False):
                asked[origin.job, origin.item] += required.quantity * required.courses
    for job in week.jobs:
        for item, required in enumerate(job.required):
            done = sum(e.quantity for r in week.reports for e in r.done if (e.job, e.item) == (job.id, item))
            left = max(0, required.quantity * required.courses - done) if job.date >= open_from else 0
            if asked[job.id, item] != left:
                yield Fault(
                    "job", f"#/jobs/{job.id}/required/{item}", mismatch(f"{left} to be cut", asked[job.id, item])
                )


def check_sums(week: Week, plan: WeekPlan) -> Iterator[Fault]:
    """Check the comparison against the orders that are still open, and what is missing against the sheets."""
    if (plan.crew, plan.week) != (week.crew, week.name):
        yield Fault("week", "#", mismatch((week.crew, week.name), (plan.crew, plan.week)))
    yield from _missing(plan)
    named = [entry.material for entry in plan.compared]
    wanted = {r.material for day in plan.days if not day.frozen for r in day.job.required}
    if sorted(named) != sorted(wanted):
        yield Fault("compared", "#/compared", mismatch(sorted(wanted), sorted(named)))
    for entry in plan.compared:
        yield from _compared(week, plan, entry)
    if plan.bound is not None and (plan.bill is None or plan.bound > plan.bill):
        yield Fault("compared", "#/bound", mismatch(f"a bound not above {plan.bill}", plan.bound))


def _missing(plan: WeekPlan) -> Iterator[Fault]:
    found = Counter({(m.job, m.item): m.quantity for m in plan.missing})
    uncut: Counter[tuple[str, int]] = Counter()
    for day in (day for day in plan.days if not day.frozen):
        for entry in day.plan.not_cut:
            origin = day.origins[entry.item]
            uncut[origin.job, origin.item] += entry.quantity
    if found != uncut:
        yield Fault("missing", "#/missing", mismatch(dict(uncut), dict(found)))


def _compared(week: Week, plan: WeekPlan, entry: Compared) -> Iterator[Fault]:
    place = f"#/compared/{entry.material}"
    material = next((m for m in week.materials if m.id == entry.material), None)
    lines = [line for o in plan.orders if not o.closed for line in o.lines if line.material == entry.material]
    sticks = sum(line.sticks for line in lines)
    if material is None:
        return
    each = {row.id: Decimal(row.length) if row.price is None else row.price for row in material.stock}
    cost = sum((line.sticks * each.get(line.stock, Decimal(0)) for line in lines), Decimal(0))
    if has_rules(material):
        cost = sum(map(_charged, lines), Decimal(0))
    if (entry.pooled.sticks, entry.pooled.cost, entry.priced) != (sticks, cost, material.priced):
        yield Fault("compared", place, mismatch((sticks, cost), entry.pooled))
    if entry.bound is not None and not (entry.bound.cost <= entry.pooled.cost and entry.bound.sticks <= sticks):
        yield Fault("compared", place, mismatch(f"a bound not above {entry.pooled}", entry.bound))


def _charged(line: OrderLine) -> Decimal:
    return Decimal(line.length) * (line.sticks + line.spares) if line.amount is None else line.amount + line.fixed_cost


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
    ordered = _ordered(plan)
    for order in plan.orders:
        if not order.closed:
            yield from _lines(week, f"#/orders/{order.date.isoformat()}", order.lines, ordered)
    yield from _available(week, plan)


def _still_to_come(
    week: Week, open_from: date, plan: WeekPlan, orders_from: date
) -> Iterator[tuple[date, Counter[Kind]]]:
    """Yield what deliveries bring that are to come and can't be changed any more."""
    lines = {order.date: order.lines for order in plan.orders if order.closed}
    for delivery in week.deliveries:
        if delivery.received is None and open_from <= delivery.date < orders_from:
            yield delivery.date, _brought(delivery, orders_from, lines)


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
        there.update(_brought(delivery, open_from, lines))
    for report in week.reports:
        for entry in report.sticks:
            there[entry.material, entry.stock] -= entry.count
    reported = {report.date for report in week.reports}
    for day in plan.days:
        if day.frozen and day.date not in reported:
            there.subtract(_new_sticks(day))
    return there


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


def _ordered(plan: WeekPlan) -> Counter[Kind]:
    """Count every stick on the week's orders, spares with them."""
    counts: Counter[Kind] = Counter()
    for line in (line for order in plan.orders for line in order.lines):
        counts[line.material, line.stock] += line.spares + line.sticks
    return counts


def _used_up(row: StockLength, ordered: int) -> bool:
    most = to_be_had(row)
    return most is not None and ordered >= most


def _lines(week: Week, place: str, lines: tuple[OrderLine, ...], ordered: Counter[Kind]) -> Iterator[Fault]:
    for material in week.materials:
        own = [line for line in lines if line.material == material.id]
        rows = {row.id: row for row in material.stock}
        spares = spares_asked(material, sum(line.sticks for line in own))
        found = sum(line.spares for line in own)
        gone = any(_used_up(rows[line.stock], ordered[material.id, line.stock]) for line in own if line.stock in rows)
        if (found < spares and not gone) or (found > spares and not has_rules(material)):
            yield Fault("order", place, mismatch(f"{spares} spares of {material.id}", found))
        every = sum(brought(rows[line.stock], line) for line in own if line.stock in rows)
        for line in own:
            if line.stock in rows:
                yield from line_faults(place, material, line, every, ruled=has_rules(material))
            else:
                yield Fault("order", place, mismatch("stock of the week", line))


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
