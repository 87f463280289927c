"""What a day brings was left by an earlier day or lies on the rack, is used once, and fits in the van every night."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from solver.checking.bench import Fault, mismatch
from solver.materials import FactoryEnd, Offcut
from solver.plan import LeftOver
from solver.weekly.plan import DayPlan, KeptOffcut, WeekPlan
from solver.weekly.week import DAYS, Week

Key = tuple[str, str, int, FactoryEnd]
"""An offcut as it can be told apart: material, label, length and factory ends."""


@dataclass(frozen=True, slots=True)
class Lying:
    """An offcut that can be brought: how many, from which day on, and since which night it lies in the van."""

    count: int
    earliest: date
    in_van_since: date | None


def check_carried(week: Week, open_from: date, plan: WeekPlan) -> Iterator[Fault]:
    """Check where every offcut of the open days comes from, then the nights."""
    for day in plan.days:
        yield from _kept(day)
    yield from _wanted(plan)
    labels = Counter(kept.label for day in plan.days for kept in day.kept)
    labels.update(offcut.id for offcut in week.rack)
    labels.update(kept.offcut.id for report in week.reports for kept in report.kept if _new(plan, kept.offcut.id))
    for label, count in labels.items():
        if count > 1:
            yield Fault("label", "#/days", mismatch(f"{label} once", count))
    lying = dict(_lying(week, open_from, plan))
    yield from _brought(lying, plan)
    yield from _nights(week, open_from, plan, lying)


def _new(plan: WeekPlan, label: str) -> bool:
    return all(kept.label != label for day in plan.days for kept in day.kept)


def _kept(day: DayPlan) -> Iterator[Fault]:
    """Check that exactly what the sheet leaves to keep has a label."""
    left: dict[tuple[str, str], LeftOver] = {
        (part.material, stick.stick): use.left_over for part in day.plan.materials for use, stick in part.sticks()
    }
    place = f"#/days/{day.date.isoformat()}/kept"
    for kept in day.kept:
        found = left.get((kept.material, kept.stick))
        if found is None or (found.length, found.factory_end, found.keep) != (kept.length, kept.factory_end, True):
            yield Fault("kept", place, mismatch(f"{kept.label} as the sheet leaves it", found))
        if kept.wanted is not None and kept.wanted <= day.date:
            yield Fault("kept", place, mismatch(f"{kept.label} wanted on a later day", kept.wanted.isoformat()))
    keeps = {key for key, over in left.items() if over.keep}
    labelled = [(kept.material, kept.stick) for kept in day.kept]
    if sorted(labelled) != sorted(keeps):
        yield Fault("kept", place, mismatch(f"a label for each of {sorted(keeps)}", sorted(labelled)))


def _wanted(plan: WeekPlan) -> Iterator[Fault]:
    """Check that what an open day keeps says rightly on which day it is wanted again."""
    brought = {offcut.id: day.date for day in reversed(plan.days) for offcut in day.job.offcuts if not day.frozen}
    for day in (day for day in plan.days if not day.frozen):
        for kept in day.kept:
            if kept.wanted != brought.get(kept.label):
                place = f"#/days/{day.date.isoformat()}/kept"
                yield Fault("kept", place, mismatch(f"{kept.label} wanted {brought.get(kept.label)}", kept.wanted))


def _lying(week: Week, open_from: date, plan: WeekPlan) -> Iterator[tuple[Key, Lying]]:
    """Yield everything that open days can bring, by what it is."""
    reported = {report.date for report in week.reports}
    used = Counter(label for report in week.reports for label in report.used)
    for day in plan.days:
        if day.frozen and day.date not in reported:
            used.update(_brought_labels(day).elements())
    for offcut, since in _reported(week):
        yield _key(offcut), Lying(offcut.quantity - used[offcut.id], open_from, since)
    for day in plan.days:
        if not (day.frozen and day.date in reported):
            for kept in day.kept:
                yield _kept_key(kept), Lying(1 - (used[kept.label] > 0), day.date, day.date)


def _reported(week: Week) -> Iterator[tuple[Offcut, date | None]]:
    every: list[tuple[Offcut, date | None]] = [(offcut, None) for offcut in week.rack]
    every += [(kept.offcut, report.date if kept.in_van else None) for report in week.reports for kept in report.kept]
    yield from ((offcut, since) for offcut, since in every if offcut.id not in week.given_back)


def _brought(lying: dict[Key, Lying], plan: WeekPlan) -> Iterator[Fault]:
    taken: Counter[Key] = Counter()
    for day in (day for day in plan.days if not day.frozen):
        place = f"#/days/{day.date.isoformat()}/offcuts"
        for offcut in day.job.offcuts:
            there = lying.get(_key(offcut))
            if there is None or not _in_time(there, day.date):
                yield Fault("offcut", place, mismatch("an offcut from the rack or an earlier day", offcut))
        labels = _brought_labels(day)
        for offcut in day.job.offcuts:
            taken[_key(offcut)] += labels[offcut.id]
    for key, count in taken.items():
        if key in lying and count > lying[key].count:
            yield Fault("offcut", "#/days", mismatch(f"{lying[key].count} of {key[1]}", count))


def _in_time(there: Lying, day: date) -> bool:
    """Whether an offcut is there on a day: the rack's from the first open day, a left-over only after its own day."""
    return day > there.earliest or (day == there.earliest and there.in_van_since != there.earliest)


def _nights(week: Week, open_from: date, plan: WeekPlan, lying: dict[Key, Lying]) -> Iterator[Fault]:
    """Count the offcuts in the van after each day: from the day they are cut until the day they are used up."""
    nights: Counter[int] = Counter()
    carried = 0
    for day in (day for day in plan.days if not day.frozen):
        for offcut in day.job.offcuts:
            there = lying.get(_key(offcut))
            if there is not None and there.in_van_since is not None:
                brought = _brought_labels(day)[offcut.id]
                carried += brought
                begin = max(week.day(there.in_van_since), week.day(open_from) - 1)
                for night in range(begin, week.day(day.date)):
                    nights[night] += brought
    found = tuple(nights[night] for night in range(DAYS))
    if plan.nights != found or plan.carried != carried:
        yield Fault("carried", "#/nights", mismatch((found, carried), (plan.nights, plan.carried)))
    limit = week.limits.carry
    if limit is not None and max(nights.values(), default=0) > limit:
        yield Fault("carried", "#/nights", mismatch(f"at most {limit} a night", found))


def _brought_labels(day: DayPlan) -> Counter[str]:
    return Counter(s.offcut_id for part in day.plan.materials for _, s in part.sticks() if s.offcut_id is not None)


def _key(offcut: Offcut) -> Key:
    return offcut.material, offcut.id, offcut.length, offcut.factory_end


def _kept_key(kept: KeptOffcut) -> Key:
    return kept.material, kept.label, kept.length, kept.factory_end
