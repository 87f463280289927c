"""What a week alone shows to be wrong: dates, deliveries, offcuts and reports that can't be, each by its name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

from solver.errors import Problem
from solver.job import Job
from solver.lengths import say
from solver.validation import find_problems
from solver.weekly.moment import Moment
from solver.weekly.plan import DeliveryOrder
from solver.weekly.state import day_materials
from solver.weekly.week import DAYS, DatedJob, Report, Sticks, Week

EARLIEST_DELIVERY = -14
"""Deliveries may come so many days before the week begins."""


def find_week_problems(week: Week, moment: Moment | None = None) -> tuple[Problem, ...]:
    """Return everything that keeps the week from being planned; a moment leaves the days before it out."""
    jobs = [job for job in week.jobs if moment is None or _open(week, job, moment)]
    return (*_jobs(week, moment, jobs), *_deliveries(week), *_offcuts(week), *_reports(week))


def _open(week: Week, job: DatedJob, moment: Moment) -> bool:
    """Whether a job is still to be planned; one that is out of the week is wrong whenever it is."""
    return job.date >= moment.open_from or week.day(job.date) < 0


def _jobs(week: Week, moment: Moment | None, jobs: Iterable[DatedJob]) -> Iterator[Problem]:
    first = min((delivery.date for delivery in week.deliveries), default=None)
    counts = Counter(job.id for job in week.jobs)
    for job in jobs:
        pointer = f"#/jobs/{job.id}"
        if counts[job.id] > 1:
            yield Problem("job_twice", pointer, f"{job.id} is listed twice in {week.name}; withdraw one")
        if not 0 <= week.day(job.date) < DAYS:
            last = week.date(DAYS - 1).isoformat()
            detail = f"{job.date.isoformat()} is not in {week.name}, which is {week.monday.isoformat()} to {last}"
            yield Problem("date_outside_week", f"{pointer}/date", detail)
        elif (first is None or job.date < first) and not _on_rack(week, job):
            yield _before_delivery(job, pointer)
        yield from _impossible(week, moment, job, pointer)


def _on_rack(week: Week, job: DatedJob) -> bool:
    """Whether what lies there may do for a job: no shorter, of each material, than its pieces.

    Of the rack that all share nobody knows before the week is planned. Pieces that it does not do for are missing then.
    """
    used = Counter(label for report in week.reports for label in report.used)
    there = Counter[str]()
    for offcut in (*week.rack, *(kept.offcut for report in week.reports for kept in report.kept)):
        if offcut.id not in week.given_back:
            there[offcut.material] += offcut.length * max(0, offcut.quantity - used[offcut.id])
    wanted = Counter[str]()
    for required in job.required:
        wanted[required.material] += required.length * required.pieces
    return week.use_rack or wanted <= there


def _before_delivery(job: DatedJob, pointer: str) -> Problem:
    detail = f"{job.id} is on {job.date.isoformat()}, before any delivery; give it a later date or add a delivery"
    return Problem("before_any_delivery", f"{pointer}/date", detail)


def _impossible(week: Week, moment: Moment | None, job: DatedJob, pointer: str) -> Iterator[Problem]:
    known = {material.id for material in week.materials}
    unknown = [i for i, required in enumerate(job.required) if required.material not in known]
    for i in unknown:
        detail = f"{job.required[i].material} is not a material of the week; add it to the week first"
        yield Problem("material_unknown", f"{pointer}/required/{i}/material", detail)
    if not unknown:
        whole = Job(
            name=job.name,
            units=week.units,
            materials=day_materials(week, moment),
            required=job.required,
            offcuts=week.rack,
            walls=job.walls,
        )
        for problem in find_problems(whole):
            yield replace(problem, pointer=pointer + problem.pointer.removeprefix("#"))


def _deliveries(week: Week) -> Iterator[Problem]:
    counts = Counter(delivery.date for delivery in week.deliveries)
    rows = {(material.id, row.id) for material in week.materials for row in material.stock}
    for place, delivery in enumerate(week.deliveries):
        pointer = f"#/deliveries/{place}"
        if not EARLIEST_DELIVERY <= week.day(delivery.date) < DAYS:
            detail = f"{delivery.date.isoformat()} is not in {week.name} or the two weeks before it"
            yield Problem("date_outside_week", f"{pointer}/date", detail)
        if counts[delivery.date] > 1:
            yield Problem("delivery_twice", f"{pointer}/date", f"two deliveries on {delivery.date.isoformat()}")
        yield from _sticks(delivery.received or (), rows, f"{pointer}/received")


def _sticks(sticks: Iterable[Sticks], known: set[tuple[str, str]], pointer: str) -> Iterator[Problem]:
    counts = Counter((entry.material, entry.stock) for entry in sticks)
    for (material, stock), count in counts.items():
        if (material, stock) not in known:
            yield Problem("stock_unknown", pointer, f"no stock {stock} of {material}")
        elif count > 1:
            yield Problem("stock_twice", pointer, f"{stock} of {material} is listed {count} times; add its counts up")


def _offcuts(week: Week) -> Iterator[Problem]:
    known = {material.id for material in week.materials}
    labels = [offcut.id for offcut in week.rack]
    labels += [kept.offcut.id for report in week.reports for kept in report.kept]
    for label, count in Counter(labels).items():
        if count > 1:
            detail = f"{label} is reported {count} times; give every offcut its own label"
            yield Problem("offcut_twice", f"#/rack/{label}", detail)
    for offcut in (*week.rack, *(kept.offcut for report in week.reports for kept in report.kept)):
        if offcut.material not in known:
            detail = f"{offcut.material} is not a material of the week; add it to the week first"
            yield Problem("material_unknown", f"#/rack/{offcut.id}/material", detail)


def _reports(week: Week) -> Iterator[Problem]:
    yield from _report_dates(week)
    yield from _used_offcuts(week)
    yield from _done(week)
    if all(delivery.received is not None for delivery in week.deliveries):
        yield from _used_sticks(week, ())
    yield from _too_long(week)
    rows = {(material.id, row.id) for material in week.materials for row in material.stock}
    for report in week.reports:
        yield from _sticks(report.sticks, rows, f"{_place(report)}/sticks")


def _place(report: Report) -> str:
    return f"#/reports/{report.date.isoformat()}"


def find_report_problems(week: Week, orders: Iterable[DeliveryOrder] | None) -> Iterator[Problem]:
    """Yield what can't have been: more sticks used than came or are ordered, more cut and kept than they are long.

    Without ``orders`` nobody knows what came.
    """
    if orders is not None:
        yield from _used_sticks(week, orders)
    yield from _more_than_used(week)


def _more_than_used(week: Week) -> Iterator[Problem]:
    lengths = {(material.id, row.id): row.length for material in week.materials for row in material.stock}
    offcuts = {offcut.id: offcut for offcut in week.rack}
    offcuts |= {kept.offcut.id: kept.offcut for report in week.reports for kept in report.kept}
    for report in week.reports:
        used, left = Counter[str](), _cut(week, report)
        for entry in report.sticks:
            used[entry.material] += entry.count * lengths.get((entry.material, entry.stock), 0)
        for offcut in (offcuts[label] for label in report.used if label in offcuts):
            used[offcut.material] += offcut.length
        for kept in report.kept:
            left[kept.offcut.material] += kept.offcut.length * kept.offcut.quantity
        for material in dict.fromkeys(kept.offcut.material for kept in report.kept):
            if left[material] > used[material] > 0:
                detail = (
                    f"what was cut and kept of {material} is {say(left[material], week.units)} long together, but the "
                    f"sticks and offcuts used are {say(used[material], week.units)}"
                )
                yield Problem("offcut_too_long", f"{_place(report)}/kept", detail)


def _cut(week: Week, report: Report) -> Counter[str]:
    """Return the length that was cut of each material at least: as measured, less a gap at either end."""
    gaps = {m.id: max(m.settings.end_gap, *(row.end_gap or 0 for row in m.stock), 0) for m in week.materials}
    asked = {(job.id, item): required for job in week.jobs for item, required in enumerate(job.required)}
    cut = Counter[str]()
    for entry in report.done:
        if required := asked.get((entry.job, entry.item)):
            cut[required.material] += entry.quantity * max(0, required.length - 2 * gaps.get(required.material, 0))
    return cut


def _used_sticks(week: Week, orders: Iterable[DeliveryOrder]) -> Iterator[Problem]:
    rows = {(material.id, row.id) for material in week.materials for row in material.stock}
    said, left = {delivery.date: delivery.received for delivery in week.deliveries}, Counter[tuple[str, str]]()
    for order in orders:
        if said.get(order.date) is None:
            left.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
    for entry in (entry for received in said.values() for entry in received or ()):
        left[entry.material, entry.stock] += entry.count
    for report in week.reports:
        for entry in report.sticks:
            there = left[entry.material, entry.stock]
            if entry.count > there and (entry.material, entry.stock) in rows:
                detail = (
                    f"{entry.count} of {entry.stock} of {entry.material} are reported used, of {there} left that came "
                    "or are ordered; mend the report, or say what its delivery brought"
                )
                yield Problem("used_too_many", f"{_place(report)}/sticks", detail)
            left[entry.material, entry.stock] = max(there - entry.count, 0)


def _too_long(week: Week) -> Iterator[Problem]:
    """An offcut kept that is longer than every stick and every offcut on the rack of its material."""
    longest = {material.id: max((row.length for row in material.stock), default=0) for material in week.materials}
    for offcut in week.rack:
        longest[offcut.material] = max(longest.get(offcut.material, 0), offcut.length)
    for report in week.reports:
        for kept in report.kept:
            offcut = kept.offcut
            if offcut.length > longest.get(offcut.material, offcut.length):
                detail = f"{offcut.id} is longer than any stick or offcut of {offcut.material} there was"
                yield Problem("offcut_too_long", f"{_place(report)}/kept/{offcut.id}", detail)


def _report_dates(week: Week) -> Iterator[Problem]:
    counts = Counter(report.date for report in week.reports)
    for day, count in counts.items():
        pointer = f"#/reports/{day.isoformat()}"
        if not 0 <= week.day(day) < DAYS:
            yield Problem("date_outside_week", pointer, f"{day.isoformat()} is not in {week.name}")
        if count > 1:
            yield Problem("report_twice", pointer, f"{day.isoformat()} is reported {count} times")


def _used_offcuts(week: Week) -> Iterator[Problem]:
    there = {offcut.id: offcut.quantity for offcut in week.rack}
    there |= {kept.offcut.id: kept.offcut.quantity for report in week.reports for kept in report.kept}
    used = Counter(label for report in week.reports for label in report.used)
    for label, count in used.items():
        if label not in there:
            detail = f"{label} was reported used, but is not on the rack and was not kept"
            yield Problem("offcut_unknown", f"#/rack/{label}", detail)
        elif count > there[label]:
            detail = f"{label} is reported used {count} times, but there were {there[label]}"
            yield Problem("offcut_twice", f"#/rack/{label}", detail)


def _done(week: Week) -> Iterator[Problem]:
    wanted = {(job.id, item): required.pieces for job in week.jobs for item, required in enumerate(job.required)}
    done: Counter[tuple[str, int]] = Counter()
    for report in week.reports:
        for entry in report.done:
            done[entry.job, entry.item] += entry.quantity
    for (job, item), count in done.items():
        if (job, item) not in wanted:
            yield Problem("piece_unknown", f"#/jobs/{job}/required/{item}", f"{job} has no item {item} in {week.name}")
        elif count > wanted[job, item]:
            detail = f"{count} are reported cut, but {wanted[job, item]} are required"
            yield Problem("cut_too_many", f"#/jobs/{job}/required/{item}", detail)
