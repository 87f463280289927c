"""From the week's sticks to a sheet for each day: a cut plan that stands by itself, and what is kept of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import count

from solver.cautions import cautions_for
from solver.cutting.problem import Stick
from solver.demand import Source, cost_step
from solver.filling import FilledStick
from solver.job import Notice
from solver.materials import Offcut
from solver.order import order_lines
from solver.patterns import patterns_of
from solver.plan import CutPlan, LeftOver, MaterialPlan, NotCut, PatternUse, Proof
from solver.weekly.alone import AloneJob
from solver.weekly.day_job import DayJob, day_job
from solver.weekly.day_runs import day_notices, day_runs
from solver.weekly.plan import DayPlan, KeptOffcut
from solver.weekly.pooling import Pooled
from solver.weekly.standing import Standing
from solver.weekly.sticks import WeekStick, left_unserved

DAY_NAMES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
NO_STICK = "no stick is left for it on its day; add a delivery, stock or another length"


class Sheets:
    """Makes the sheets of the days still open, from Monday on, following every stick from day to day."""

    def __init__(self, standing: Standing, pooled: Sequence[Pooled], sticks: Sequence[WeekStick]) -> None:
        self._standing, self._pooled, self._sticks = standing, pooled, sticks
        self._labels = _labels_taken(standing)

    def days(self) -> Iterator[DayPlan]:
        """Yield the sheet of every day that has a job still open."""
        for day in sorted({job.day for job in self._standing.jobs}):
            yield self._day(day)

    def _day(self, number: int) -> DayPlan:
        cut = [stick for stick in self._sticks if number in stick.days]
        day = day_job(self._standing, number, cut)
        names = map("S{}".format, count(1))
        parts: list[MaterialPlan] = []
        kept: list[KeptOffcut] = []
        notices: list[Notice] = []
        for pooled in self._pooled:
            alone = [one for one in pooled.week.alone if one.job.day == number]
            if alone:
                own = [stick for stick in cut if stick.material == pooled.week.material.id]
                parts.append(_part(day, number, pooled, alone, own, names))
                kept += self._carry_on(day, number, own, parts[-1])
                notices += day_notices(day, alone)
        materials = {material.id: material for material in day.job.materials}
        order = tuple(line for part in parts for line in order_lines(materials[part.material], part))
        not_cut = tuple(_not_cut(day, self._pooled))
        plan = CutPlan(tuple(parts), not_cut, order, tuple(notices), cautions_for(day.job.materials))
        return DayPlan(self._standing.week.date(number), day.job, day.origins, plan, tuple(kept))

    def _carry_on(self, day: DayJob, number: int, own: Sequence[WeekStick], part: MaterialPlan) -> Iterator[KeptOffcut]:
        """Label what is kept, and let each stick go on as what is left of it."""
        by_piece = {day.placed(stick.days[number][0][1]): stick for stick in own}
        for use, stick_use in part.sticks():
            stick, left = by_piece[stick_use.pieces[0]], use.left_over
            if left.keep:
                label, following = self._label(number), stick.next_day(number)
                wanted = None if following is None else self._standing.week.date(following)
                yield KeptOffcut(label, part.material, stick_use.stick, left.length, left.factory_end, wanted)
                stick.source = _left_source(label, part.material, left)

    def _label(self, day: int) -> str:
        stem = f"{self._standing.week.number:02}-{DAY_NAMES[day]}"
        label = next(name for n in count(1) if (name := f"{stem}{n}") not in self._labels)
        self._labels.add(label)
        return label


def _labels_taken(standing: Standing) -> set[str]:
    week = standing.week
    taken = {offcut.id for offcut in week.rack}
    taken |= {kept.offcut.id for report in week.reports for kept in report.kept}
    return taken | {kept.label for day in standing.frozen for kept in day.kept}


def _left_source(label: str, material: str, left: LeftOver) -> Source:
    ends = left.factory_end
    stick = Stick(left.length, 0, 1, ends.has_left, ends.has_right)
    return Source(Offcut(label, material, left.length, 1, ends), stick)


def _part(
    day: DayJob, number: int, pooled: Pooled, alone: Sequence[AloneJob], own: Sequence[WeekStick], names: Iterator[str]
) -> MaterialPlan:
    material = next(m for m in day.job.materials if m.id == pooled.week.material.id)
    settings = material.settings
    filled = [
        FilledStick(stick.source, tuple((kind, day.placed(c)) for kind, c in stick.days[number]), stick.after(number))
        for stick in own
    ]
    patterns = patterns_of(filled, settings.kerf, settings.keep_offcuts_from, names)
    cost = _cost(pooled, patterns)
    proof = Proof("search", text="planned together with the whole week, whose bound stands with the week")
    runs = day_runs(day, material, alone, patterns)
    step, priced = cost_step(material), material.priced
    return MaterialPlan(material.id, settings, priced, step, cost, 0, False, proof, pooled.stopped_by, patterns, runs)


def _cost(pooled: Pooled, patterns: Sequence[PatternUse]) -> int:
    hand = pooled.week.hand
    prices: dict[str, int] = {}
    for source, supply in zip(hand.sources, hand.supplies, strict=True):
        if source.stock is not None:
            prices.setdefault(source.stock, supply.cost)
    return sum(use.count * prices[use.stock] for use in patterns if use.stock is not None)


def _not_cut(day: DayJob, pooled: Sequence[Pooled]) -> Iterator[NotCut]:
    short: Counter[int] = Counter()
    for part in pooled:
        for _, claim in left_unserved(part):
            if any(job.id == claim[0] for job in day.jobs):
                short[day.placed(claim).item] += 1
        for one in part.week.alone:
            if one.job in day.jobs:
                place = {item: day.items[origin] for item, origin in enumerate(one.job.origins)}
                short.update({place[e.item]: e.quantity for e in one.filled.not_cut if e.item in one.demand.runs})
    for item, quantity in sorted(short.items()):
        yield NotCut(item, day.job.required[item].mark, quantity, "stock_exhausted", NO_STICK)
