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
from fractions import Fraction
from math import ceil

from solver.checking import examine
from solver.checking.bench import Fault, mismatch
from solver.checking.bills import has_rules
from solver.checking.week_bound import with_bases
from solver.checking.week_supply import check_carried, check_orders, delivered_by
from solver.materials import Material, StockLength
from solver.plan import OrderLine
from solver.required import Required
from solver.weekly.plan import Compared, DayPlan, WeekPlan
from solver.weekly.week import Week

__all__ = ["CheckedWeek", "check_week", "examine_week"]


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
    """Check a week's plan, and say of its bounds and of each open day's whether they could be worked out again."""
    orders_from = max(open_from, orders_from or open_from)
    examined = {day.date: examine(day.job, day.plan) for day in plan.days if day.date >= open_from}
    sheets = _sheets({day: found.faults for day, found in examined.items()})
    faults = (*_faults(week, open_from, plan, orders_from), *sheets)
    days = (replace(day, plan=examined[day.date].plan) if day.date in examined else day for day in plan.days)
    based = with_bases(week, open_from, replace(plan, days=tuple(days)), orders_from) if not faults else plan
    return CheckedWeek(faults, based)


def _faults(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> Iterator[Fault]:
    yield from check_jobs(week, open_from, plan, orders_from)
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


def check_jobs(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> Iterator[Fault]:
    """Check the days and what each asks for; a frozen day is as it was announced and answers for nothing here."""
    dates, materials = [day.date for day in plan.days], _materials(week, delivered_by(week, plan, orders_from))
    if dates != sorted(set(dates)):
        yield Fault("day", "#/days", mismatch("each day once, in order", dates))
    for day in plan.days:
        if not week.monday <= day.date < week.monday + timedelta(days=7):
            yield Fault("day", _place(day), mismatch(f"a day of {week.name}", day.date.isoformat()))
        if day.frozen != (day.date < open_from):
            yield Fault("day", _place(day), mismatch(f"frozen {day.date < open_from}", day.frozen))
        if not day.frozen:
            yield from _asked(week, day, materials)
    yield from _every_job(week, open_from, plan)


def _place(day: DayPlan) -> str:
    return f"#/days/{day.date.isoformat()}"


def _asked(week: Week, day: DayPlan, materials: tuple[Material, ...]) -> Iterator[Fault]:
    jobs = {job.id: job for job in week.jobs}
    if day.job.materials != materials:
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


def _materials(week: Week, delivered: Counter[tuple[str, str]]) -> tuple[Material, ...]:
    """Return the materials as every day has them: of no stick fewer are available than are delivered."""
    shortest = week.limits.shortest_kept
    changed = []
    for material in week.materials:
        settings = replace(material.settings, spare_percent=0 * material.settings.spare_percent, spare_sticks=0)
        if shortest is not None:
            settings = replace(settings, keep_offcuts_from=shortest)
        stock = tuple(_at_least(row, delivered[material.id, row.id]) for row in material.stock)
        changed.append(replace(material, stock=stock, settings=settings))
    return tuple(changed)


def _at_least(row: StockLength, count: int) -> StockLength:
    if row.available is None:
        return row
    whole = count if row.singles or row.carton is None else row.carton * ceil(Fraction(count, row.carton))
    return replace(row, available=max(row.available, whole))


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
