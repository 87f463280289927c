"""A crew's week on paper: the whole on one page, the order for each delivery, and what to take along on a morning."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import groupby

from service.documents.blocks import (
    BOX,
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Links,
    Page,
    Paper,
    Paragraph,
    Sheet,
    Table,
    long_date,
    midnight,
)
from service.documents.cut_sheet import hanging_pages
from service.documents.cutting_page import boxes, cutting_pages
from service.drawing.lettering import Tags, clean
from service.drawing.week_flow import flows_of
from service.views.facts import (
    LOT,
    called,
    counted,
    factory_end,
    in_a_sentence,
    material_of,
    no_total,
    packed,
    suppliers_of,
)
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import say
from solver.materials import Offcut
from solver.plan import OrderLine, total_of
from solver.sticks import PlacedPiece
from solver.weekly.plan import Compared, DayPlan, DeliveryOrder, Figures, KeptOffcut, WeekPlan
from solver.weekly.summary import job_costs, whole_left
from solver.weekly.week import Week

SINCE = "The week was changed since it was planned: sheets, orders and costs are of the week as it was then."
ANY_VAN = "Lower bound: as if the van were each material's own, or larger."
RUNS = "Laps are planned for all the week at once where that is cheaper, else job by job."
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
_SHARES = (Column("Job", 60), Column("Sticks", 20, figures=True))
WRITE = "Write the label on every offcut right away: without one it can't be found on its day."
_PULL = (Column("", 6), Column("How many", 16), Column("Material", 50), Column("Length", 28))
_BRING = (Column("", 6), Column("Label", 22), Column("Material", 32), Column("Length", 18), Column("Factory end", 22))
_KEEP = (
    Column("", 5), Column("Write on it", 19), Column("Length", 15), Column("Material", 21), Column("From", 10),
    Column("Factory end", 14), Column("What for", 16),
)  # fmt: skip
_BY_JOB = (
    Column("", 20), Column("Piece", 14), Column("How many", 10), Column("Cut length", 16), Column("Material", 18),
    Column("From", 22),
)  # fmt: skip
Made = tuple[PlacedPiece, int, str]
"""A piece with its length and the stick it comes from."""


def order_sheet(week: Week, order: DeliveryOrder, paper: Paper) -> Sheet:
    """Return the order for one delivery, a page for each supplier."""
    title = f"Order for {long_date(order.date)}"
    facts = ("Crew", clean(week.crew)), ("Week", week.name), ("Delivery", long_date(order.date))
    pages = []
    for name in suppliers_of(order.lines):
        own = replace(order, lines=tuple(line for line in order.lines if line.supplier == name))
        whose = (("Supplier", clean(name)),) if name else ()
        blocks: list[Block] = [Facts((*facts, *whose)), *_order(week, own), Paragraph(LOT, strong=True)]
        pages.append(Page(f"{title}, {clean(name)}" if name else title, tuple(blocks)))
    return Sheet(title, tuple(pages), clean(week.crew), midnight(order.date), paper)


def week_sheet(week: Week, plan: WeekPlan, paper: Paper, *, up_to_date: bool = True) -> Sheet:
    """Return the week on one page: its jobs by day, the rack, the orders, how it compares, and the flow of sticks."""
    title = f"{clean(week.crew)}: week {week.name}"
    blocks: list[Block] = [] if up_to_date else [Paragraph(SINCE, strong=True)]
    blocks += [*_noted(plan), *_calendar(week, plan), *_rack(week, plan)]
    for order in plan.orders:
        state = " (closed)" if order.closed else ""
        blocks += [Heading(f"Delivery on {long_date(order.date)}{state}"), *_order(week, order)]
    blocks += [*_shares(week, plan), *_left(week, plan)]
    links = tuple((f"Order for {order.date:%A}", f"deliveries/{order.date}/order.html") for order in plan.orders)
    blocks += [Links(links), *_comparison(week, plan), *_flow(week, plan)]
    return Sheet(title, (Page(title, tuple(blocks)),), title, midnight(week.monday), paper)


def _shares(week: Week, plan: WeekPlan) -> Iterator[Block]:
    names = {job.id: job.name or job.id for job in week.jobs}
    rows = [(clean(names.get(one.job, one.job)), money(one.cost) or "no price") for one in job_costs(plan)]
    if rows:
        yield Heading("What each job’s sticks cost")
        yield Table(_SHARES, tuple(rows))


def _left(week: Week, plan: WeekPlan) -> Iterator[Block]:
    lengths = {(m.id, row.id): (m, row.length) for m in week.materials for row in m.stock}
    left = [one for one in whole_left(week, plan) if (one.material, one.stock) in lengths]
    if left:
        yield Heading("Whole sticks left, to return or for the next week")
    for one in left:
        material, length = lengths[one.material, one.stock]
        yield Paragraph(f"{counted(material, one.count)} {say(length, week.units)} {called(material)}")


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
    closed = any(order.closed and order.lines for order in plan.orders)
    yield Heading("What planning together saves" + " on orders still open" * closed)
    yield Table(_COMPARED, tuple(rows), total=len(priced) > 1)
    if week.limits.carry is not None and not plan.proven and any(entry.bound for entry in plan.compared):
        yield Paragraph(ANY_VAN)
    if plan.bound is not None and plan.bill is not None:
        least = "no plan of the week costs less" if plan.proven else f"no plan costs less than {money(plan.bound)}"
        van = "" if week.limits.carry is None else "with the van limit, "
        orders = "orders, with those closed," if closed else "orders"
        claim = f"The week's {orders} come to {money(plan.bill)}; {van}{least}."
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
    for material, drawing in flows_of(week, plan):
        yield Heading(f"From day to day: {called(material)}")
        yield Figure(drawing)


def morning_sheet(week: Week, day: DayPlan, paper: Paper) -> Sheet:
    """Return one day's sheet: what to load and bring, each job's pieces, how every stick is cut, what to keep."""
    title = f"{clean(week.crew)}: {long_date(day.date)}"
    labels = {kept.stick: clean(kept.label) for kept in day.kept}
    pages = (
        _load(week, day),
        *_by_job(week, day),
        *cutting_pages(day.job, day.plan, labels),
        *hanging_pages(day.job, day.plan, paper),
    )
    return Sheet(title, pages, title, midnight(day.date), paper)


def jobs_of(week: Week, day: DayPlan) -> str:
    """Return the names of a day's jobs."""
    names = {job.id: job.name or job.id for job in week.jobs}
    return "; ".join(clean(names.get(job, job)) for job in dict.fromkeys(origin.job for origin in day.origins))


def pull_row(job: Job, line: OrderLine) -> tuple[str, ...]:
    """Return one row of whole sticks: a box, how many, of what, how long."""
    material = material_of(job, line.material)
    return BOX, counted(material, line.sticks), called(material), say(line.length, job.units)


def offcut_row(job: Job, offcut: Offcut) -> tuple[str, ...]:
    """Return one row of offcuts: a box, the label, of what, how long, its factory end."""
    return BOX, clean(offcut.id), clean(offcut.material), say(offcut.length, job.units), factory_end(offcut.factory_end)


def in_order(label: str) -> list[tuple[int, str]]:
    """Return what labels are sorted by, so that MO10 comes after MO9."""
    return [(int(part or 0), part) if part.isdigit() else (0, part) for part in re.split(r"([0-9]+)", label)]


def _load(week: Week, day: DayPlan) -> Page:
    blocks: list[Block] = [Paragraph(f"{clean(week.crew)}: {jobs_of(week, day)}", strong=True)]
    rows = tuple(pull_row(day.job, line) for line in day.plan.order)
    blocks.append(Heading("Whole sticks to load"))
    blocks.append(Table(_PULL, rows) if rows else Paragraph("None: offcuts are enough today."))
    if day.job.offcuts:
        offcuts = sorted(day.job.offcuts, key=lambda offcut: in_order(offcut.id))
        bring = tuple(row for offcut in offcuts for row in [offcut_row(day.job, offcut)] * offcut.quantity)
        blocks += [Heading("Offcuts to bring"), Table(_BRING, bring)]
    if day.kept:
        blocks += [Heading("Offcuts to keep tonight"), Paragraph(WRITE, strong=True), Table(_KEEP, tuple(_keep(day)))]
    for entry in day.plan.not_cut:
        blocks.append(Paragraph(f"! {entry.quantity} of {clean(entry.mark)}: {clean(entry.detail)}", strong=True))
    return Page(f"To load: {long_date(day.date)}", tuple(blocks))


def _keep(day: DayPlan) -> Iterator[tuple[str, ...]]:
    def order(kept: KeptOffcut) -> tuple[bool, date, list[tuple[int, str]]]:
        return kept.wanted is None, kept.wanted or day.date, in_order(kept.label)

    for kept in sorted(day.kept, key=order):
        what_for = f"for {kept.wanted:%A}" if kept.wanted else "to the rack"
        length = say(kept.length, day.job.units)
        yield BOX, clean(kept.label), length, clean(kept.material), kept.stick, factory_end(kept.factory_end), what_for


def _by_job(week: Week, day: DayPlan) -> Iterator[Page]:
    """Yield a page for each job where the day has several: its pieces, and the sticks they come from."""
    jobs = list(dict.fromkeys(origin.job for origin in day.origins))
    names = {job.id: job.name for job in week.jobs}
    for job in jobs if len(jobs) > 1 else ():
        title = f"{names[job]} ({job})" if names.get(job) else job
        yield Page(f"Pieces for {clean(title)}", (Table(_BY_JOB, tuple(_pieces(day, job))),))


def _pieces(day: DayPlan, job: str) -> Iterator[tuple[str, ...]]:
    """Yield a row for pieces alike, in the order in which the job lists them."""
    for part in day.plan.materials:
        tags, alike = Tags.of(day.job, day.plan), defaultdict[tuple[int, int, int, str, int], list[str]](list)
        for use, stick in part.sticks():
            for piece, cut in zip(stick.pieces, use.cuts, strict=True):
                if day.origins[piece.item].job == job:
                    place = (piece.course or 0, piece.piece) if piece.item in tags.runs else (0, 0)
                    source = f"{stick.stick} ({clean(stick.offcut_id)})" if stick.offcut_id else stick.stick
                    alike[piece.item, *place, tags.tag(piece), cut.length].append(source)
        for (*_, tag, length), sticks in sorted(alike.items()):
            count = len(sticks)
            yield boxes(count), tag, str(count), say(length, day.job.units), clean(part.material), _ranges(sticks)


def _ranges(sticks: Iterable[str]) -> str:
    """Return sticks as one says them, ``S3, S5 to S9``; those of offcuts by themselves, with their labels."""
    every = sorted(dict.fromkeys(sticks), key=in_order)

    def row(place: int) -> int:
        name = every[place]
        return int(name[1:]) - place if name[1:].isdigit() else -place - 1

    groups = [[every[place] for place in group] for _, group in groupby(range(len(every)), key=row)]
    return ", ".join(group[0] if len(group) == 1 else f"{group[0]} to {group[-1]}" for group in groups)
