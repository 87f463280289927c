"""The figures a crew leader reads follow from the sheets: the pooled cost, what is missing, and a bound below it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from solver.checking.fault import Fault, told
from solver.weekly.plan import Compared, WeekPlan
from solver.weekly.week import Week


def check_sums(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check the comparison against the orders that are still open, and what is missing against the sheets."""
    del open_from
    if (plan.crew, plan.week) != (week.crew, week.name):
        yield Fault("week", "#", told((week.crew, week.name), (plan.crew, plan.week)))
    yield from _missing(plan)
    named = [entry.material for entry in plan.compared]
    wanted = {r.material for day in plan.days if not day.frozen for r in day.job.required}
    if sorted(named) != sorted(wanted):
        yield Fault("compared", "#/compared", told(sorted(wanted), sorted(named)))
    for entry in plan.compared:
        yield from _compared(week, plan, entry)
    cost = sum((entry.pooled.cost for entry in plan.compared if entry.priced), Decimal(0))
    if plan.bound is not None and plan.bound > cost:
        yield Fault("compared", "#/bound", told(f"a bound not above {cost}", plan.bound))


def _missing(plan: WeekPlan) -> Iterator[Fault]:
    found = Counter({(m.job, m.item): m.quantity for m in plan.missing})
    uncut: Counter[tuple[str, int]] = Counter()
    for day in (day for day in plan.days if not day.frozen):
        for entry in day.plan.not_cut:
            origin = day.origins[entry.item]
            uncut[origin.job, origin.item] += entry.quantity
    if found != uncut:
        yield Fault("missing", "#/missing", told(dict(uncut), dict(found)))


def _compared(week: Week, plan: WeekPlan, entry: Compared) -> Iterator[Fault]:
    place = f"#/compared/{entry.material}"
    material = next((m for m in week.materials if m.id == entry.material), None)
    lines = [line for o in plan.orders if not o.closed for line in o.lines if line.material == entry.material]
    sticks = sum(line.sticks for line in lines)
    if material is None:
        return
    cost = sum((line.sticks * (line.unit_price or 0) if material.priced else Decimal(line.sticks * line.length)
                for line in lines), Decimal(0))  # fmt: skip
    if (entry.pooled.sticks, entry.pooled.cost, entry.priced) != (sticks, cost, material.priced):
        yield Fault("compared", place, told((sticks, cost), entry.pooled))
    if entry.bound is not None and not (entry.bound.cost <= entry.pooled.cost and entry.bound.sticks <= sticks):
        yield Fault("compared", place, told(f"a bound not above {entry.pooled}", entry.bound))
