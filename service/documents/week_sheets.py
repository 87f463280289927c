"""A crew's week on one page, and the order for each of its deliveries."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal

from service.documents.blocks import Block, Column, Facts, Figure, Heading, Links, Page, Paper, Paragraph, Sheet, Table
from service.documents.morning_sheet import in_order, jobs_of, offcut_row, pull_row
from service.documents.title_block import long_date, midnight
from service.drawing.lettering import clean
from service.drawing.week_flow import chains_of, draw_flow
from service.views.facts import LOT, called, in_a_sentence, no_total, packed
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import say
from solver.plan import total_of
from solver.weekly.plan import Compared, DeliveryOrder, Figures, WeekPlan
from solver.weekly.week import Week

ANY_VAN = "Lower bound: van space not counted."
RUNS = "Laps are planned job by job; only offcuts are shared between days."
_RACK = (
    Column("", 6), Column("Label", 20), Column("Material", 26), Column("Length", 16), Column("Factory end", 16),
    Column("Wanted", 16),
)  # fmt: skip
_ORDER = (
    Column("", 4), Column("How many", 18), Column("Material", 36), Column("Length", 16), Column("Packed", 24),
    Column("Amount", 14, figures=True),
)  # fmt: skip
_CALENDAR = (
    Column("Day", 16), Column("Jobs", 40), Column("Whole sticks", 15, figures=True),
    Column("Offcuts brought", 15, figures=True), Column("Kept", 14, figures=True),
)  # fmt: skip
_COMPARED = (Column("Material", 28), Column("Each job alone", 24), Column("Together", 24), Column("Lower bound", 24))


def order_sheet(week: Week, order: DeliveryOrder, paper: Paper) -> Sheet:
    """Return the order for one delivery."""
    title = f"Order for {long_date(order.date)}"
    blocks: list[Block] = [
        Facts((("Crew", clean(week.crew)), ("Week", week.name), ("Delivery", long_date(order.date))))
    ]
    blocks += [*_order(week, order), Paragraph(LOT, strong=True)]
    return Sheet(title, (Page(title, tuple(blocks)),), clean(week.crew), midnight(order.date), paper)


def week_sheet(week: Week, plan: WeekPlan, paper: Paper) -> Sheet:
    """Return the week on one page: its jobs by day, the rack, the orders, how it compares, and the flow of sticks."""
    title = f"{clean(week.crew)}: week {week.name}"
    blocks: list[Block] = [*_noted(plan), *_calendar(week, plan), *_rack(week, plan)]
    for order in plan.orders:
        state = " (closed)" if order.closed else ""
        blocks += [Heading(f"Delivery on {long_date(order.date)}{state}"), *_order(week, order)]
    links = tuple((f"Order for {order.date:%A}", f"deliveries/{order.date}/order.html") for order in plan.orders)
    blocks += [Links(links), *_comparison(week, plan), *_flow(week, plan)]
    return Sheet(title, (Page(title, tuple(blocks)),), title, midnight(week.monday), paper)


def _order(week: Week, order: DeliveryOrder) -> Iterator[Block]:
    job = Job("", week.units, week.materials, ())
    rows = [
        (*pull_row(job, replace(line, sticks=line.sticks + line.spares)), packed(line), money(line.amount) or "")
        for line in order.lines
    ]
    total = total_of(order.lines)
    if rows and total is not None:
        rows.append(("", "Total", "", "", "", money(total) or ""))
    yield Table(_ORDER, tuple(rows), total=total is not None) if rows else Paragraph("Nothing.")
    if why := no_total(order.lines):
        yield Paragraph(why, strong=True)


def _calendar(week: Week, plan: WeekPlan) -> Iterator[Block]:
    rows = []
    for day in plan.days:
        counts = (sum(line.sticks for line in day.plan.order), sum(o.quantity for o in day.job.offcuts), len(day.kept))
        frozen = " (frozen)" if day.frozen else ""
        rows.append((f"{day.date:%a} {day.date.day} {day.date:%b}{frozen}", jobs_of(week, day), *map(str, counts)))
    yield Heading("Jobs by day")
    yield Table(_CALENDAR, tuple(rows)) if rows else Paragraph("No job is left to plan.")
    yield Links(tuple((f"Sheet for {day.date:%A}", f"days/{day.date}/sheet.html") for day in plan.days))


def _rack(week: Week, plan: WeekPlan) -> Iterator[Block]:
    used = Counter(label for report in week.reports for label in report.used)
    kept = [entry.offcut for report in week.reports for entry in report.kept]
    lying = sorted((*week.rack, *kept), key=lambda offcut: in_order(offcut.id))
    wanted = _wanted(plan)
    job = Job("", week.units, week.materials, ())
    rows = []
    for offcut in lying:
        for place in range(offcut.quantity - used[offcut.id]):
            days = wanted[offcut.id]
            rows.append((*offcut_row(job, offcut), f"{days[place]:%A}" if place < len(days) else ""))
    yield Heading("Offcuts on the rack")
    yield Table(_RACK, tuple(rows)) if rows else Paragraph("Nothing.")


def _wanted(plan: WeekPlan) -> dict[str, list[date]]:
    """Return on which open days each offcut is brought."""
    found: dict[str, list[date]] = defaultdict(list)
    for day in (day for day in plan.days if not day.frozen):
        for offcut in day.job.offcuts:
            found[offcut.id] += [day.date] * offcut.quantity
    return found


def _comparison(week: Week, plan: WeekPlan) -> Iterator[Block]:
    rows = [
        (clean(entry.material), _figures(week, entry, entry.alone), _figures(week, entry, entry.pooled),
         _figures(week, entry, entry.bound) if entry.bound else "not known")
        for entry in plan.compared
    ]  # fmt: skip
    priced = [entry for entry in plan.compared if entry.priced]
    if len(priced) > 1:
        bounds = [entry.bound for entry in priced if entry.bound]
        below = _sum(bounds) if len(bounds) == len(priced) else "not known"
        total = "Total" if len(priced) == len(plan.compared) else "Total, priced materials"
        rows.append((total, _sum([e.alone for e in priced]), _sum([e.pooled for e in priced]), below))
    yield Heading("What planning together saves")
    yield Table(_COMPARED, tuple(rows), total=len(priced) > 1)
    if week.limits.carry is not None and not plan.proven:
        yield Paragraph(ANY_VAN)
    if plan.bound is not None:
        least = "no plan of the week costs less" if plan.proven else f"no plan costs less than {money(plan.bound)}"
        van = "" if week.limits.carry is None else "with the van limit, "
        claim = f"The week's sticks cost {money(plan.cost)}; {van}{least}."
        yield Paragraph(f"{claim} {in_a_sentence(plan.basis)}", strong=True)
    if any(part.runs for day in plan.days for part in day.plan.materials):
        yield Paragraph(RUNS)
    yield Paragraph(_overnight(week, plan))


def _sum(figures: list[Figures]) -> str:
    return f"{sum(f.sticks for f in figures)} for {money(sum((f.cost for f in figures), Decimal(0)))}"


def _figures(week: Week, entry: Compared, found: Figures) -> str:
    cost = money(found.cost) if entry.priced else say(int(found.cost), week.units)
    return f"{found.sticks} for {cost}"


def _overnight(week: Week, plan: WeekPlan) -> str:
    nights = [f"{week.date(night):%A} {count}" for night, count in enumerate(plan.nights) if count]
    limit = "" if week.limits.carry is None else f" Limit: {week.limits.carry} a night."
    return f"Offcuts in the van overnight: {', '.join(nights) or 'none'}.{limit}"


def _noted(plan: WeekPlan) -> Iterator[Block]:
    missing = [f"{m.job}: {m.quantity} of {m.mark} missing, {m.detail}" for m in plan.missing]
    if missing or plan.notes:
        yield Heading("Notes")
        yield from (Paragraph(f"! {clean(text)}", strong=True) for text in (*missing, *plan.notes))


def _flow(week: Week, plan: WeekPlan) -> Iterator[Block]:
    chains = [chain for chain in chains_of(plan, week.units) if len(chain.steps) > 1]
    days = [day.date for day in plan.days]
    for material in week.materials:
        own = [chain for chain in chains if chain.material == material.id]
        if own:
            yield Heading(f"From day to day: {called(material)}")
            yield Figure(draw_flow(material.id, own, days))
