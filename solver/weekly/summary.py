"""What is said beside a week's plan: what of it each job answers for, which sticks are left, and what is short.

And why it is another than before: what of the week has changed since the plan that was announced, in words.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

from solver.errors import PlanRefused, Unplannable
from solver.materials import Material
from solver.plan import OrderLine
from solver.planning import plan_job
from solver.required import Required
from solver.sticks import StickUse
from solver.watch import Watch
from solver.weekly.plan import DayPlan, Missing, WeekPlan
from solver.weekly.sheets import one_job
from solver.weekly.state import OpenJob, WeekState, left_job
from solver.weekly.week import DatedJob, Report, Sticks, Week

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class JobCost:
    """What the sticks cost that a job is cut from, its share of each by length; None where one has no price."""

    job: str
    cost: Decimal | None


def job_costs(plan: WeekPlan) -> tuple[JobCost, ...]:
    """Return the jobs' shares of the sticks that the sheets cut; together they are what those sticks cost.

    A stick is split among the jobs of all its days by the length that each has of it, so that what is left over is
    paid for by whom it was cut for. Offcuts of the rack cost nothing.
    """
    shares: dict[str, Fraction] = defaultdict(Fraction)
    unpriced: set[str] = set()
    for price, lengths in _sticks(plan):
        whole = sum(lengths.values())
        for job, length in lengths.items():
            if price is None:
                unpriced.add(job)
            shares[job] += (price or Fraction(0)) * length / whole
    rounded = _rounded({job: share for job, share in shares.items() if job not in unpriced})
    return tuple(JobCost(job, rounded.get(job)) for job in sorted(shares))


def _rounded(shares: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return shares in whole cents that add up: the cents lost by rounding down go to the largest remainders."""
    down = {job: (Decimal(s.numerator) / s.denominator).quantize(_CENT, ROUND_FLOOR) for job, s in shares.items()}
    lost = round((sum(shares.values(), Fraction()) - sum(map(Fraction, down.values()), Fraction())) * 100)
    by_remainder = sorted(shares, key=lambda job: (Fraction(down[job]) - shares[job], job))
    return down | {job: down[job] + _CENT for job in by_remainder[:lost]}


def _sticks(plan: WeekPlan) -> list[tuple[Fraction | None, Counter[str]]]:
    """Return each stick's price, with the length that each job has of it over all the week."""
    found: list[tuple[Fraction | None, Counter[str]]] = []
    going_on: dict[str, Counter[str]] = {}
    billed = _billed(plan)
    for day in plan.days:
        labels = {(kept.material, kept.stick): kept.label for kept in day.kept}
        materials = {material.id: material for material in day.job.materials}
        for part in day.plan.materials:
            for use, stick in part.sticks():
                lengths = going_on.pop(stick.offcut_id or "", None)
                if lengths is None:
                    lengths = Counter[str]()
                    price = billed.get((part.material, use.stock), _price(materials[part.material], use.stock))
                    found.append((price, lengths))
                for cut, job in zip(use.cuts, _jobs(day, stick), strict=True):
                    lengths[job] += cut.length
                if label := labels.get((part.material, stick.stick)):
                    going_on[label] = lengths
    return found


def _billed(plan: WeekPlan) -> dict[tuple[str, str | None], Fraction]:
    """Return what a stick of each length comes to in all orders: by the carton, at a break, with fixed costs."""
    sums, counts = defaultdict[tuple[str, str | None], Fraction](Fraction), Counter[tuple[str, str | None]]()
    for line in (line for order in plan.orders for line in order.lines):
        if line.amount is not None:
            sums[line.material, line.stock] += Fraction(line.amount + line.fixed_cost)
            counts[line.material, line.stock] += line.sticks + line.spares
    return {stock: total / counts[stock] for stock, total in sums.items()}


def _price(material: Material, stock: str | None) -> Fraction | None:
    """Return what a stick costs singly, for those that no order has; nothing for an offcut."""
    price = next((row.price for row in material.stock if row.id == stock), None) if stock is not None else Decimal(0)
    return None if price is None else Fraction(price)


def _jobs(day: DayPlan, stick: StickUse) -> list[str]:
    return [day.origins[piece.item].job for piece in stick.pieces]


def pieces_cut(day: DayPlan) -> Counter[str]:
    """Return how many pieces the day's sheet cuts of each job; a run is one stretch on its list, and several here."""
    return Counter(job for part in day.plan.materials for _, stick in part.sticks() for job in _jobs(day, stick))


def whole_left(week: Week, plan: WeekPlan) -> tuple[Sticks, ...]:
    """Return the whole sticks that came or are ordered, and that by reports and sheets nobody cuts.

    They can go back to the yard, or be there for the next week.
    """
    left = Counter[tuple[str, str]]()
    for order in plan.orders:
        left.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
    reported = {report.date for report in week.reports}
    unreported = [day.as_planned() for day in plan.days if day.date not in reported]
    used = [*week.given_sticks, *(one for report in (*week.reports, *unreported) for one in report.sticks)]
    for entry in used:
        left[entry.material, entry.stock] -= entry.count
    return tuple(Sticks(material, stock, count) for (material, stock), count in sorted(left.items()) if count > 0)


SECONDS = 5.0
"""What reckoning it may take: it is a list of few pieces, as a rule."""


def to_buy(state: WeekState, missing: Sequence[Missing], watch: Watch) -> tuple[OrderLine, ...]:
    """Return whole sticks that do for the pieces that are missing, cut by themselves; what there is of each counts not.

    Nothing where nothing is missing.
    """
    jobs = tuple(_short(state, missing))
    if not jobs:
        return ()
    used = {required.material for job in jobs for required in job.job.required}
    materials = [m for m in state.materials if m.id in used]
    free = tuple(replace(m, stock=tuple(replace(row, available=None) for row in m.stock)) for m in materials)
    job = one_job(replace(state, materials=free), jobs, ()).job
    try:
        return plan_job(replace(job, seconds=max(1.0, min(SECONDS, watch.left))), watch.clock, watch.cancelled).order
    except (Unplannable, PlanRefused):
        # the week has its plan; this is a word beside it
        return ()


def _short(state: WeekState, missing: Sequence[Missing]) -> Iterator[OpenJob]:
    """Yield each job with as many pieces of each item as are missing, on their walls; of a run it is the whole run."""
    week, counts = state.week, Counter[tuple[str, int]]()
    for entry in missing:
        counts[entry.job, entry.item] += entry.quantity
    for job in week.jobs:
        left = [(item, counts[job.id, item]) for item in range(len(job.required)) if counts[job.id, item]]
        if left:
            yield OpenJob(job.id, week.day(job.date), *left_job(week, job, left, state.materials))


def causes(week: Week, announced: WeekPlan | None, told: Collection[str] = ()) -> tuple[str, ...]:
    """Return a sentence for each job, report and delivery that is not as the announced plan had it.

    A sheet that was reported otherwise stays in every later plan; what was ``told`` of it before is not said again.
    """
    if announced is None:
        return ()
    reports = (words for words in _reports(week, announced) if words not in told)
    return (*_changed_jobs(week, announced), *reports, *_deliveries(week, announced))


def _changed_jobs(week: Week, announced: WeekPlan) -> Iterator[str]:
    sheets = {origin.job: day for day in announced.days for origin in day.origins}
    known = {job.id for job in week.jobs}
    done = {(entry.job, entry.item) for report in week.reports for entry in report.done}
    for job in week.jobs:
        sheet = sheets.get(job.id)
        if sheet is None:
            if not any((job.id, item) in done for item in range(len(job.required))):
                yield f"{job.id} came in"
        elif sheet.date != job.date:
            yield f"{job.id} was moved from {_said(sheet.date)} to {_said(job.date)}"
        elif _listed(job, done) != _on_sheet(job, sheet, done):
            yield f"the list of {job.id} was changed"
    yield from (f"{job} was cancelled" for job, day in sheets.items() if job not in known and not day.frozen)


def _listed(job: DatedJob, done: set[tuple[str, int]]) -> Counter[tuple[object, ...]]:
    """Count the pieces of a job by what they are, but for items of which some were reported cut."""
    items = [required for item, required in enumerate(job.required) if (job.id, item) not in done]
    return _counted(items)


def _on_sheet(job: DatedJob, sheet: DayPlan, done: set[tuple[str, int]]) -> Counter[tuple[object, ...]]:
    pairs = zip(sheet.origins, sheet.job.required, strict=True)
    return _counted([r for origin, r in pairs if origin.job == job.id and (job.id, origin.item) not in done])


def _counted(items: list[Required]) -> Counter[tuple[object, ...]]:
    found = Counter[tuple[object, ...]]()
    for one in items:
        found[one.mark, one.material, one.length, one.left_end, one.right_end, one.room] += one.pieces
    return found


def _reports(week: Week, announced: WeekPlan) -> Iterator[str]:
    sheets = {day.date: day for day in announced.days}
    for report in week.reports:
        sheet = sheets.get(report.date)
        if sheet is not None and _cut(report) != _cut(sheet.as_planned()):
            yield f"{_said(report.date)} was not cut as on its sheet"


def _cut(report: Report) -> tuple[object, ...]:
    """Return a report without regard to the order in which it says things, and to what lies in the van."""
    done, sticks = Counter[tuple[str, int]](), Counter[tuple[str, str]]()
    for entry in report.done:
        done[entry.job, entry.item] += entry.quantity
    for one in report.sticks:
        sticks[one.material, one.stock] += one.count
    kept = sorted((one.offcut.id, one.offcut.length) for one in report.kept)
    return done, sticks, sorted(report.used), kept


def _deliveries(week: Week, announced: WeekPlan) -> Iterator[str]:
    for delivery in week.deliveries:
        ordered, came = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
        for order in announced.orders:
            if order.date == delivery.date:
                ordered.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
        for entry in delivery.received or ():
            came[entry.material, entry.stock] += entry.count
        if delivery.received is not None and +came != +ordered:
            yield f"what came on {_said(delivery.date)} is not what was ordered"


def _said(day: date) -> str:
    return f"{day:%A} {day.day} {day:%B}"
