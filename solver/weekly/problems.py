"""What a week alone shows to be wrong: dates, deliveries, offcuts and reports that can't be, each by its name."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import accumulate

from solver.allowances import own
from solver.demand import is_run
from solver.errors import Problem
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import Material
from solver.required import Required
from solver.ticks import TICKS_PER_INCH
from solver.validation import MOST_PIECES, find_problems
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
            detail = f"{job.id} is on {job.date.isoformat()}, before any delivery; move it, or add a delivery"
            yield Problem("before_any_delivery", f"{pointer}/date", detail)
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
    listed: set[tuple[str, str]] = set()
    for place, entry in enumerate(sticks):
        stock = f"{entry.stock} of {entry.material}"
        if (entry.material, entry.stock) not in known:
            yield Problem("stock_unknown", f"{pointer}/{place}/stock", f"no stock {stock}")
        elif (entry.material, entry.stock) in listed:
            yield Problem("stock_twice", f"{pointer}/{place}/stock", f"{stock} is listed before; add its counts up")
        listed.add((entry.material, entry.stock))


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
    """Yield of each material the first day by which more was cut and kept than what was used holds.

    Days are added up, as what one leaves may be cut on another without a label.
    """
    for material in week.materials:
        account = _Account(week, material)
        for report in sorted(week.reports, key=lambda report: report.date):
            if not account.add(report):
                break
            if detail := account.fault(week.units):
                kept = any(kept.offcut.material == material.id for kept in report.kept)
                detail = f"by {report.date.isoformat()}, {detail}; add what else was used, or mend what was cut or kept"
                yield Problem("more_than_used", f"{_place(report)}/{'kept' if kept else 'done'}", detail)
                break


_CUT_SHORT = TICKS_PER_INCH
"""A piece may be so much shorter than asked for: pockets and laps hide it, and a saw takes it. No source."""


class _Account:
    """What was used of a material, and cut and kept of it, by length; ``loose`` may come in parts.

    What was kept and used is neither.
    """

    def __init__(self, week: Week, material: Material) -> None:
        self.material = material
        self.asked = {(job.id, item): asked for job in week.jobs for item, asked in enumerate(job.required)}
        self.rows = {row.id: row.length for row in material.stock}
        self.offcuts = {offcut.id: offcut for offcut in week.rack}
        self.kept = Counter[str]()
        self.used, self.pieces = Counter[int](), Counter[int]()
        self.loose = self.cut = 0

    def add(self, report: Report) -> bool:
        """Add a day; whether everything that it was cut from is known."""
        for kept in report.kept:
            self.offcuts[kept.offcut.id] = kept.offcut
            self.kept[kept.offcut.id] += kept.offcut.quantity
        for label in report.used:
            offcut = self.offcuts.get(label)
            if offcut is None:
                return False
            if label in self.kept:
                self.kept[label] -= 1
            elif offcut.material == self.material.id:
                self.used[offcut.length] += 1
        for sticks in (sticks for sticks in report.sticks if sticks.material == self.material.id):
            if sticks.stock not in self.rows:
                return False
            self.used[self.rows[sticks.stock]] += sticks.count
        for done in report.done:
            required = self.asked.get((done.job, done.item))
            if required and required.material == self.material.id:
                self._add_cut(required, done.quantity)
        return True

    def _add_cut(self, required: Required, count: int) -> None:
        asks = [own(row, self.material) for row in (None, *self.material.stock)]
        length = min(each.cut_length(required) for each in asks)
        needed = max(0, length - _CUT_SHORT)
        if required.rips or required.left_end.slope or required.right_end.slope:
            # what is ripped or cut off aslant may be another such piece
            self.loose += needed // 2 * count
        elif is_run(required, self.material):
            lap, longest = min(each.lap for each in asks), max(self.rows.values())
            laps = -(-(needed - lap) // (longest - lap)) - 1 if 0 <= lap < longest else MOST_PIECES
            self.loose += max(0, needed + lap * laps) * count
            length += max(0, lap * laps)
        else:
            self.pieces[needed] += count
        self.cut += length * count

    def fault(self, unit: Unit) -> str:
        """Return in words what shows that all can't have come out of what was used; no words where nothing does."""
        kept = Counter[int]()
        for offcut, count in ((self.offcuts[label], count) for label, count in self.kept.items()):
            kept[offcut.length] += max(0, count) * (offcut.material == self.material.id)
        made, used = self.pieces + kept, _together(self.used)
        if _together(made) + self.loose > used:
            told = say(self.cut + _together(kept), unit)
            return f"{told} of {self.material.id} was cut and kept, but sticks and offcuts used are {say(used, unit)}"
        least = _too_many_from(made, self.used)
        if least is None:
            return ""
        many, few = (sum(count for length, count in of.items() if length >= least) for of in (made, self.used))
        return (
            f"{many} pieces and offcuts of {self.material.id} can't all have come out of the {few} sticks and offcuts "
            "used that are long enough for them"
        )


def _together(lengths: Counter[int]) -> int:
    return sum(length * count for length, count in lengths.items())


def _too_many_from(made: Counter[int], used: Counter[int]) -> int | None:
    """Return from which length on pieces can't all have come out of sticks, both by length; None where that is open.

    Each came out of a stick no shorter than that. One beside which no other of them fits has a stick to itself, and
    the others have at most what the longest sticks besides hold.
    """
    longest, sizes = max(used, default=0), sorted(length for length in made if length)
    counts, sums = _running(made, sizes)
    sticks = sorted(used)
    there, held = _running(used, sticks[::-1])
    for place, least in enumerate(sizes):
        split = max(place, bisect_right(sizes, longest - least))
        left = there[len(sticks) - bisect_left(sticks, least)] - (counts[-1] - counts[split])
        whole = bisect_right(there, left) - 1
        part = (left - there[whole]) * sticks[-1 - whole] if left > there[whole] else 0
        if left < 0 or sums[split] - sums[place] > held[whole] + part:
            return least
    return None


def _running(counts: Counter[int], order: list[int]) -> tuple[list[int], list[int]]:
    """Return how many there are of the first so many lengths, and how long these are together."""
    return [0, *accumulate(counts[n] for n in order)], [0, *accumulate(n * counts[n] for n in order)]


def _used_sticks(week: Week, orders: Iterable[DeliveryOrder]) -> Iterator[Problem]:
    rows = {(material.id, row.id) for material in week.materials for row in material.stock}
    said, left = {delivery.date: delivery.received for delivery in week.deliveries}, Counter[tuple[str, str]]()
    for order in orders:
        if said.get(order.date) is None:
            left.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
    for entry in (entry for received in said.values() for entry in received or ()):
        left[entry.material, entry.stock] += entry.count
    for report in week.reports:
        for place, entry in enumerate(report.sticks):
            there = left[entry.material, entry.stock]
            if entry.count > there and (entry.material, entry.stock) in rows:
                detail = (
                    f"{entry.count} of {entry.stock} of {entry.material} are reported used, of {there} left that came "
                    "or are ordered; mend the report, or say what its delivery brought"
                )
                yield Problem("used_too_many", f"{_place(report)}/sticks/{place}/count", detail)
            left[entry.material, entry.stock] = max(there - entry.count, 0)


def _too_long(week: Week) -> Iterator[Problem]:
    """An offcut kept that is longer than every stick and every offcut on the rack of its material."""
    longest = {material.id: max((row.length for row in material.stock), default=0) for material in week.materials}
    for offcut in week.rack:
        longest[offcut.material] = max(longest.get(offcut.material, 0), offcut.length)
    for report in week.reports:
        for place, kept in enumerate(report.kept):
            offcut = kept.offcut
            if offcut.length > longest.get(offcut.material, offcut.length):
                detail = f"{offcut.id} is longer than any stick or offcut of {offcut.material} there was"
                yield Problem("offcut_too_long", f"{_place(report)}/kept/{place}/length", detail)


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
