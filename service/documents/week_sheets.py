"""What a crew prints: a sheet for each morning, an order for each delivery, and the week on one page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from service.documents.blocks import BOX, Block, Column, Facts, Figure, Heading, Page, Paper, Paragraph, Sheet, Table
from service.documents.cutting_page import cutting_pages
from service.documents.hanging_page import hanging_pages
from service.documents.order_page import LOT, packed
from service.documents.words import called, material_of
from service.drawing.lettering import clean
from service.drawing.tags import Tags
from service.drawing.week_flow import chains_of, draw_flow
from service.printing import noun
from service.rendering.result import money
from solver.job import Job
from solver.lengths import say
from solver.materials import FactoryEnd, Offcut
from solver.plan import OrderLine
from solver.weekly.plan import Compared, DayPlan, DeliveryOrder, Figures, WeekPlan
from solver.weekly.week import Week

WRITE = "Write the label on every offcut that is kept, at once: what is not labelled is not found on its day."
_PULL = (Column("", 6), Column("How many", 16), Column("Of", 50), Column("Length", 28))
_BRING = (Column("", 6), Column("Label", 20), Column("Of", 34), Column("Length", 16), Column("Factory end", 24))
_KEEP = (
    Column("", 5), Column("Write on it", 18), Column("Length", 15), Column("Of", 22), Column("From", 10),
    Column("Factory end", 14), Column("What for", 16),
)  # fmt: skip
_BY_JOB = (Column("", 5), Column("Piece", 20), Column("Cut at", 20), Column("Of", 30), Column("From", 25))
_ORDER = (
    Column("", 4), Column("How many", 18), Column("Of", 36), Column("Length", 16), Column("Packed", 24),
    Column("Amount", 14, figures=True),
)  # fmt: skip
_CALENDAR = (
    Column("Day", 16), Column("Jobs", 40), Column("Whole sticks", 15, figures=True),
    Column("Offcuts brought", 15, figures=True), Column("Kept", 14, figures=True),
)  # fmt: skip
_COMPARED = (Column("Material", 28), Column("Each job alone", 24), Column("Together", 24), Column("No plan below", 24))


def morning_sheet(week: Week, day: DayPlan, paper: Paper) -> Sheet:
    """Return one day's sheet: what to load and bring, each job's pieces, how every stick is cut, what to keep."""
    title = f"{clean(week.crew)}: {long_date(day.date)}"
    pages = (_load(day), *_by_job(week, day), *cutting_pages(day.job, day.plan), *hanging_pages(day.job, day.plan))
    return Sheet(title, pages, title, _made(day.date), paper)


def order_sheet(week: Week, order: DeliveryOrder, paper: Paper) -> Sheet:
    """Return the order for one delivery."""
    title = f"Order for {long_date(order.date)}"
    blocks: list[Block] = [
        Facts((("Crew", clean(week.crew)), ("Week", week.name), ("Delivery", long_date(order.date))))
    ]
    blocks += [*_order(week, order), Paragraph(LOT, strong=True)]
    return Sheet(title, (Page(title, tuple(blocks)),), clean(week.crew), _made(order.date), paper)


def week_sheet(week: Week, plan: WeekPlan, paper: Paper) -> Sheet:
    """Return the week on one page: its jobs by day, the rack, the orders, how it compares, and the flow of sticks."""
    title = f"{clean(week.crew)}: week {week.name}"
    blocks: list[Block] = [*_calendar(week, plan), *_rack(week)]
    for order in plan.orders:
        state = " (closed)" if order.closed else ""
        blocks += [Heading(f"Delivery on {long_date(order.date)}{state}"), *_order(week, order)]
    blocks += [*_comparison(week, plan), *_noted(plan), *_flow(week, plan)]
    return Sheet(title, (Page(title, tuple(blocks)),), title, _made(week.monday), paper)


def long_date(day: date) -> str:
    """Return a date as one says it, ``Monday 23 November 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def _made(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC)


def _load(day: DayPlan) -> Page:
    blocks: list[Block] = [Heading("Whole sticks to load")]
    rows = tuple(_pull(day.job, line) for line in day.plan.order)
    blocks.append(Table(_PULL, rows) if rows else Paragraph("None: offcuts are enough today."))
    if day.job.offcuts:
        bring = tuple(row for offcut in day.job.offcuts for row in [_bring(day.job, offcut)] * offcut.quantity)
        blocks += [Heading("Offcuts to bring"), Table(_BRING, bring)]
    if day.kept:
        blocks += [Heading("Offcuts to keep tonight"), Paragraph(WRITE, strong=True), Table(_KEEP, tuple(_keep(day)))]
    for entry in day.plan.not_cut:
        blocks.append(Paragraph(f"! {entry.quantity} of {clean(entry.mark)}: {clean(entry.detail)}", strong=True))
    return Page(f"To load: {long_date(day.date)}", tuple(blocks))


def _pull(job: Job, line: OrderLine) -> tuple[str, ...]:
    what = called(material_of(job, line.material))
    return BOX, f"{line.sticks} {noun(job, line.material, line.sticks)}", what, say(line.length, job.units)


def _bring(job: Job, offcut: Offcut) -> tuple[str, ...]:
    what = called(material_of(job, offcut.material))
    return BOX, clean(offcut.id), what, say(offcut.length, job.units), _end(offcut.factory_end)


def _keep(day: DayPlan) -> Iterator[tuple[str, ...]]:
    for kept in sorted(day.kept, key=lambda kept: (kept.wanted is None, kept.wanted or day.date, kept.label)):
        what_for = f"for {kept.wanted:%A}" if kept.wanted else "to the rack"
        length = say(kept.length, day.job.units)
        yield BOX, kept.label, length, clean(kept.material), kept.stick, _end(kept.factory_end), what_for


def _end(end: FactoryEnd) -> str:
    return "none" if end is FactoryEnd.NONE else end.value


def _by_job(week: Week, day: DayPlan) -> Iterator[Page]:
    """Yield a page for each job where the day has several: its pieces, and the stick each comes from."""
    jobs = list(dict.fromkeys(origin.job for origin in day.origins))
    names = {job.id: job.name for job in week.jobs}
    for job in jobs if len(jobs) > 1 else ():
        title = f"{names[job]} ({job})" if names.get(job) else job
        yield Page(f"Pieces for {clean(title)}", (Table(_BY_JOB, tuple(_pieces(day, job))),))


def _pieces(day: DayPlan, job: str) -> Iterator[tuple[str, ...]]:
    for part in day.plan.materials:
        tags = Tags.of(part)
        for use, stick in part.sticks():
            for piece, cut in zip(stick.pieces, use.cuts, strict=True):
                if day.origins[piece.item].job == job:
                    source = f"{stick.stick} ({clean(stick.offcut_id)})" if stick.offcut_id else stick.stick
                    yield BOX, tags.tag(piece), say(cut.length, day.job.units), clean(part.material), source


def _order(week: Week, order: DeliveryOrder) -> Iterator[Block]:
    job = Job("", week.units, week.materials, ())
    rows = [
        (*_pull(job, replace(line, sticks=line.sticks + line.spares)), packed(line), money(line.amount) or "")
        for line in order.lines
    ]
    amounts = [line.amount for line in order.lines if line.amount is not None]
    if amounts:
        rows.append(("", "Total", "", "", "", money(sum(amounts, Decimal(0))) or ""))
    yield Table(_ORDER, tuple(rows), total=bool(amounts)) if rows else Paragraph("Nothing.")


def _calendar(week: Week, plan: WeekPlan) -> Iterator[Block]:
    names = {job.id: job.name or job.id for job in week.jobs}
    rows = []
    for day in plan.days:
        jobs = ", ".join(clean(names.get(job, job)) for job in dict.fromkeys(o.job for o in day.origins))
        counts = (sum(line.sticks for line in day.plan.order), sum(o.quantity for o in day.job.offcuts), len(day.kept))
        frozen = " (frozen)" if day.frozen else ""
        rows.append((f"{day.date:%a} {day.date.day} {day.date:%b}{frozen}", jobs, *map(str, counts)))
    yield Heading("Jobs by day")
    yield Table(_CALENDAR, tuple(rows)) if rows else Paragraph("No job is left to plan.")


def _rack(week: Week) -> Iterator[Block]:
    used = {label for report in week.reports for label in report.used}
    kept = [entry.offcut for report in week.reports for entry in report.kept]
    lying = [offcut for offcut in (*week.rack, *kept) if offcut.id not in used]
    job = Job("", week.units, week.materials, ())
    yield Heading("On the rack")
    yield Table(_BRING, tuple(_bring(job, offcut) for offcut in lying)) if lying else Paragraph("Nothing.")


def _comparison(week: Week, plan: WeekPlan) -> Iterator[Block]:
    yield Heading("What planning together saves")
    rows = [
        (clean(entry.material), _figures(week, entry, entry.alone), _figures(week, entry, entry.pooled),
         _figures(week, entry, entry.bound) if entry.bound else "not known")
        for entry in plan.compared
    ]  # fmt: skip
    yield Table(_COMPARED, tuple(rows))
    nights = ", ".join(str(count) for count in plan.nights)
    yield Paragraph(f"Offcuts in the van in the night after each day from Monday: {nights}.")


def _figures(week: Week, entry: Compared, found: Figures) -> str:
    cost = money(found.cost) if entry.priced else say(int(found.cost), week.units)
    return f"{found.sticks} for {cost}"


def _noted(plan: WeekPlan) -> Iterator[Block]:
    missing = [f"{m.job}: {m.quantity} of {m.mark} missing, {m.detail}" for m in plan.missing]
    if missing or plan.notes:
        yield Heading("To be noted")
        yield from (Paragraph(f"! {clean(text)}", strong=True) for text in (*missing, *plan.notes))


def _flow(week: Week, plan: WeekPlan) -> Iterator[Block]:
    chains = [chain for chain in chains_of(plan, week.units) if len(chain.steps) > 1]
    days = [day.date for day in plan.days]
    for material in week.materials:
        own = [chain for chain in chains if chain.material == material.id]
        if own:
            yield Heading(f"From day to day: {called(material)}")
            yield Figure(draw_flow(material.id, own, days))
