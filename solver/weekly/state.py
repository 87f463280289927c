"""What stands on the day a week is planned: jobs still open, and what there is to cut them from.

What was cut and used is taken from the reports, never from a plan. Of a day that is over and was not reported, what
its sheet used is taken as gone, and what it would have left as not there. A frozen sheet of today still counts on
what it leaves.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from solver.buying.terms import Terms, terms_of
from solver.cutting.problem import Stick
from solver.demand import Source, cost_step
from solver.job import Job
from solver.materials import Material, Offcut, StockLength
from solver.required import Required
from solver.weekly.moment import Moment
from solver.weekly.plan import DayPlan, Origin
from solver.weekly.timed import Supply
from solver.weekly.week import DAYS, DatedJob, Week

StockCounts = Counter[tuple[str, str]]
"""Sticks by material and stock length."""


@dataclass(frozen=True, slots=True)
class OpenJob:
    """A job with what is still to be cut of it; ``origins`` says which item of the week's job each item is."""

    id: str
    day: int
    job: Job
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True)
class Hand:
    """What one material can be cut from: ``sources[k]`` as a day's sheet names it, ``supplies[k]`` as planned with.

    The first ``rows`` of them are to be ordered, the others are there.
    """

    sources: tuple[Source, ...]
    supplies: tuple[Supply, ...]
    rows: int

    def orderable(self, place: int) -> bool:
        """Whether a supply has to be ordered."""
        return place < self.rows


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekState:
    """Everything a plan begins from; ``frozen`` are the sheets that stay, ``stocked`` the whole sticks in the shop.

    ``coming`` are those of deliveries that can't be changed any more, but are not there yet, by day, and ``delivered``
    all that have come or are coming so, used or not. ``materials`` are as days plan with them.
    """

    week: Week
    moment: Moment
    jobs: tuple[OpenJob, ...]
    frozen: tuple[DayPlan, ...]
    rack: tuple[tuple[Offcut, int | None], ...]
    stocked: StockCounts
    coming: Mapping[int, StockCounts]
    delivered: StockCounts
    materials: tuple[Material, ...]

    @property
    def first_delivery(self) -> int | None:
        """The first day on which sticks that are not ordered yet can come; None if there is no delivery left."""
        days = [self.week.day(d.date) for d in self.week.deliveries if d.date >= self.moment.orders_from]
        return min(days, default=None)

    def hand(self, material: Material) -> Hand:
        """Return what there is of one material: sticks to order, sticks in the shop, then offcuts."""
        pairs = [*self._orderable(material), *self._stocked(material)]
        pairs += [
            (Source(offcut, _stick(supply)), supply)
            for offcut, supply in self._offcuts()
            if offcut.material == material.id
        ]
        return Hand(tuple(source for source, _ in pairs), tuple(supply for _, supply in pairs), len(material.stock))

    def terms(self, material: Material) -> Terms:
        """Return what a material's sticks are sold for: as many as can still come."""
        terms = terms_of(material, cost_step(material))
        pairs = zip(terms.lengths, material.stock, strict=True)
        left = (replace(sold, limit=self._to_come(sold.limit, material.id, row.id)) for sold, row in pairs)
        return replace(terms, lengths=tuple(left))

    def _to_come(self, available: int | None, material: str, stock: str) -> int | None:
        if self.first_delivery is None:
            return 0
        return None if available is None else max(0, available - self.delivered[material, stock])

    def _orderable(self, material: Material) -> Iterator[tuple[Source, Supply]]:
        step, first = cost_step(material), self.first_delivery
        for row, sold in zip(material.stock, self.terms(material).lengths, strict=True):
            supply = Supply(
                length=row.length,
                cost=row.length if row.price is None else int(row.price / step),
                limit=sold.most,
                left=True,
                right=True,
                first=DAYS if first is None else first,
            )
            yield Source(row, _stick(supply)), supply

    def _stocked(self, material: Material) -> Iterator[tuple[Source, Supply]]:
        for first, counts in ((0, self.stocked), *sorted(self.coming.items())):
            for row in material.stock:
                if count := counts[material.id, row.id]:
                    supply = Supply(length=row.length, cost=0, limit=count, left=True, right=True, first=first)
                    yield Source(row, _stick(supply)), supply

    def _offcuts(self) -> Iterator[tuple[Offcut, Supply]]:
        night = self.week.day(self.moment.open_from) - 1
        for offcut, opened in self.rack:
            ends = offcut.factory_end
            lies_since = None if opened is None else max(opened, night)
            yield (
                offcut,
                Supply(
                    length=offcut.length,
                    cost=0,
                    limit=offcut.quantity,
                    left=ends.has_left,
                    right=ends.has_right,
                    first=0,
                    opened=lies_since,
                ),
            )


def snapshot(week: Week, moment: Moment) -> WeekState:
    """Return what stands at a moment."""
    frozen = _frozen(moment)
    closed, materials = closed_deliveries(week, moment), day_materials(week, moment)
    stocked = StockCounts(closed.pop(0, {}))
    delivered = sum(closed.values(), StockCounts(stocked))
    stocked.subtract(_used(week, frozen))
    for entry in week.given_sticks:
        stocked[entry.material, entry.stock] -= entry.count
    used = -stocked
    for day in sorted(closed):
        closed[day], used = closed[day] - used, used - closed[day]
    return WeekState(
        week=week,
        moment=moment,
        jobs=tuple(_open_jobs(week, moment, materials)),
        frozen=frozen,
        rack=tuple(_rack(week, moment, frozen)),
        stocked=+stocked,
        coming=closed,
        delivered=delivered,
        materials=materials,
    )


def _frozen(moment: Moment) -> tuple[DayPlan, ...]:
    days = moment.standing.days if moment.standing else ()
    return tuple(day for day in days if day.date < moment.open_from)


def _unreported(week: Week, frozen: tuple[DayPlan, ...]) -> Iterator[DayPlan]:
    reported = {report.date for report in week.reports}
    return (day for day in frozen if day.date not in reported)


def closed_deliveries(week: Week, moment: Moment | None) -> dict[int, StockCounts]:
    """Count the sticks of deliveries that can't be changed: as received, else, at a moment, as they were ordered.

    By the day on which they come; 0 is for what is there on the first open day.
    """
    counts: dict[int, StockCounts] = defaultdict(StockCounts)
    announced = moment and moment.announced
    ordered = {order.date: order.lines for order in (announced.orders if announced else ())}
    for delivery in week.deliveries:
        if delivery.received is not None:
            for entry in delivery.received:
                counts[0][entry.material, entry.stock] += entry.count
        elif moment and delivery.date < moment.orders_from:
            day = max(0, week.day(delivery.date)) if delivery.date >= moment.open_from else 0
            for line in ordered.get(delivery.date, ()):
                counts[day][line.material, line.stock] += line.sticks + line.spares
    return counts


def _used(week: Week, frozen: tuple[DayPlan, ...]) -> StockCounts:
    counts = StockCounts()
    for report in (*week.reports, *(day.as_planned() for day in _unreported(week, frozen))):
        for entry in report.sticks:
            counts[entry.material, entry.stock] += entry.count
    return counts


def _rack(week: Week, moment: Moment, frozen: tuple[DayPlan, ...]) -> Iterator[tuple[Offcut, int | None]]:
    """Yield offcuts that can still be used, and since when they lie in the van."""
    reports = (*week.reports, *(day.as_planned() for day in _unreported(week, frozen)))
    used = Counter(label for report in reports for label in report.used)
    for offcut, opened in _all_offcuts(week, moment, frozen):
        left = offcut.quantity - used[offcut.id]
        if left > 0 and offcut.id not in week.given_back:
            yield replace(offcut, quantity=left), opened


def _all_offcuts(week: Week, moment: Moment, frozen: tuple[DayPlan, ...]) -> Iterator[tuple[Offcut, int | None]]:
    yield from ((offcut, None) for offcut in week.rack)
    for report in week.reports:
        yield from ((kept.offcut, week.day(report.date) if kept.in_van else None) for kept in report.kept)
    for day in _unreported(week, frozen):
        if day.date >= moment.today:
            for kept in day.kept:
                offcut = Offcut(kept.label, kept.material, kept.length, 1, kept.factory_end)
                yield offcut, week.day(day.date)


def _open_jobs(week: Week, moment: Moment, materials: tuple[Material, ...]) -> Iterator[OpenJob]:
    done = _reported_done(week)
    for job in sorted(week.jobs, key=lambda job: (job.date, job.id)):
        if job.date >= moment.open_from:
            left = list(_left(job, done))
            if left:
                yield OpenJob(job.id, week.day(job.date), *left_job(week, job, left, materials))


def _reported_done(week: Week) -> Counter[tuple[str, int]]:
    """Count the pieces that were reported cut, by job and item."""
    done: Counter[tuple[str, int]] = Counter()
    for report in week.reports:
        for entry in report.done:
            done[entry.job, entry.item] += entry.quantity
    return done


def _left(job: DatedJob, done: Counter[tuple[str, int]]) -> Iterator[tuple[int, int]]:
    for item, required in enumerate(job.required):
        count = required.pieces - done[job.id, item]
        if count > 0:
            yield item, count


def left_job(
    week: Week, job: DatedJob, left: list[tuple[int, int]], materials: tuple[Material, ...]
) -> tuple[Job, tuple[Origin, ...]]:
    """Return a dated job with so many pieces left of these items."""
    asked = ((job.required[item], count) for item, count in left)
    required = tuple(one if count == one.pieces else _uppermost(one, count) for one, count in asked)
    origins = tuple(Origin(job.id, item) for item, _ in left)
    return Job(
        name=job.name or job.id,
        units=week.units,
        materials=materials,
        required=required,
        offcuts=(),
        walls=job.walls,
    ), origins


def _uppermost(required: Required, count: int) -> Required:
    """Return an item with so many pieces left of it: its uppermost courses, for a wall is hung from the lowest.

    Where a course is left in part none of them has its number, and all keep clear of what any has to.
    """
    numbers = required.course_numbers
    if numbers == (None,):
        return required.part(count, numbers)
    whole, rest = divmod(count, required.quantity)
    if not rest:
        return required.part(required.quantity, numbers[-whole:])
    lowest = numbers[-whole - 1]
    clear = tuple(each for each in required.keep_clear if each.last >= (lowest or 0))
    return replace(required, quantity=count, courses=1, first_course=None, keep_clear=clear)


def day_materials(week: Week, moment: Moment | None) -> tuple[Material, ...]:
    """Return the materials as a day plans with them: the week's shortest offcut, and spares left to the order.

    What has come, or is coming, is there, though there be no more where it came from.
    """
    delivered = sum(closed_deliveries(week, moment).values(), StockCounts())
    kept = week.limits.shortest_kept
    return tuple(
        replace(
            m,
            stock=tuple(_with_at_least(row, delivered[m.id, row.id]) for row in m.stock),
            settings=replace(
                m.settings,
                spare_percent=m.settings.spare_percent * 0,
                spare_sticks=0,
                keep_offcuts_from=m.settings.keep_offcuts_from if kept is None else kept,
            ),
        )
        for m in week.materials
    )


def _with_at_least(row: StockLength, count: int) -> StockLength:
    """Return a row of which so many sticks are there at the least, whole cartons where it is sold so."""
    size = 1 if row.singles or row.carton is None else row.carton
    return row if row.available is None else replace(row, available=max(row.available, -(-count // size) * size))


def _stick(supply: Supply) -> Stick:
    return Stick(supply.length, supply.cost, supply.limit, supply.left, supply.right)


def notes_of(state: WeekState) -> Iterator[str]:
    """Yield a sentence for each day not reported, each job not cut in full, and each job that is on no sheet."""
    week, moment = state.week, state.moment
    listed = {(day.date, origin.job) for day in state.frozen for origin in day.origins}
    for job in week.jobs:
        if moment.today <= job.date < moment.open_from and (job.date, job.id) not in listed:
            day = job.date.isoformat()
            yield f"{job.id} was added after the sheet of {day} was frozen and is not on it; give it a later date"
    reported = {report.date for report in week.reports}
    for sheet in state.frozen:
        if sheet.date < moment.today and sheet.date not in reported:
            yield (
                f"{sheet.date.isoformat()} was not reported: the sticks on its sheet count as used, "
                "and its offcuts are not counted on"
            )
    yield from _begun(state)
    done = _reported_done(week)
    for job in week.jobs:
        wanted = sum(required.pieces for required in job.required)
        cut = sum(done[job.id, item] for item in range(len(job.required)))
        if job.date < moment.today and job.date in reported and cut < wanted:
            yield (
                f"{job.id}: {cut} of {wanted} pieces were reported cut on {job.date.isoformat()}; "
                "give it a later date to plan the rest"
            )


def _begun(state: WeekState) -> Iterator[str]:
    """Yield a sentence for each item in courses that was cut in part: a report names no course."""
    asked = {(job.id, item): required for job in state.week.jobs for item, required in enumerate(job.required)}
    for job in state.jobs:
        for origin, left in zip(job.origins, job.job.required, strict=True):
            whole = asked[origin.job, origin.item]
            if whole.courses > 1 and left.pieces < whole.pieces:
                yield (
                    f"{job.id}: {left.pieces} of {whole.pieces} pieces of {whole.mark} are left, which are taken to be "
                    "its uppermost courses; their laps are laid without those that hang below"
                )
