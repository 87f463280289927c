"""From the week's sticks to a sheet for each day: a cut plan that stands by itself, and what is kept of it.

A day's jobs become one job, so that its sheet can be checked, drawn and printed like any other plan. Its runs, laid
job by job or for all the week, are hung from the sticks that the week gives them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from solver.assignment import Filled, FilledStick, patterns_of
from solver.cutting.problem import Stick
from solver.demand import Demand, Source, cost_step
from solver.job import Job, Notice, Wall
from solver.laps.problem import Cover, LapRun
from solver.materials import Material, Offcut, cautions_for
from solver.order import cost_of, new_sticks, order_lines
from solver.plan import CutPlan, LeftOver, MaterialPlan, NotCut, PatternUse
from solver.proof import Proof
from solver.required import Required
from solver.runs import Run, lap_cost_of
from solver.sticks import PlacedPiece
from solver.walls.runs import runs_of
from solver.weekly.material_week import Claim, JobBaseline
from solver.weekly.plan import DayPlan, KeptOffcut, Origin
from solver.weekly.pooling import Pooled
from solver.weekly.state import OpenJob, WeekState
from solver.weekly.sticks import WeekStick, left_unserved

DAY_NAMES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
NO_STICK = "no stick is left for it on its day; add a delivery, stock or another length"


@dataclass(frozen=True, slots=True)
class DayJob:
    """The jobs of one day, the one job made of them, and where each item of the week's jobs stands in it."""

    jobs: tuple[OpenJob, ...]
    job: Job
    items: dict[Origin, int]

    @property
    def origins(self) -> tuple[Origin, ...]:
        """The item of the week behind each item of the day."""
        return tuple(self.items)

    def placed(self, claim: Claim) -> PlacedPiece:
        """Return a job's piece as a piece of the day's job."""
        job, piece = claim
        return replace(piece, item=self.items[Origin(job, piece.item)])

    def wall(self, job: str, wall: str | None) -> str | None:
        """Return what a job's wall is called where several jobs share the day."""
        return wall if wall is None or len(self.jobs) == 1 else f"{job}: {wall}"


def day_job(state: WeekState, day: int, cut: Iterable[WeekStick]) -> DayJob:
    """Return the one job of a day, with the offcuts that are cut on it."""
    return one_job(state, tuple(job for job in state.jobs if job.day == day), tuple(_offcuts(cut)))


def one_job(state: WeekState, jobs: tuple[OpenJob, ...], offcuts: tuple[Offcut, ...]) -> DayJob:
    """Return one job made of several."""
    items = {origin: place for place, origin in enumerate(origin for job in jobs for origin in job.origins)}
    bare = DayJob(jobs, jobs[0].job, items)
    job = Job(
        name=", ".join(dict.fromkeys(job.job.name for job in jobs)),
        units=state.week.units,
        materials=state.materials,
        required=tuple(_required(bare)),
        offcuts=offcuts,
        walls=tuple(_walls(bare)),
    )
    return replace(bare, job=job)


def _required(day: DayJob) -> Iterator[Required]:
    for job in day.jobs:
        for required in job.job.required:
            yield replace(required, wall=day.wall(job.id, required.wall))


def _walls(day: DayJob) -> Iterator[Wall]:
    for job in day.jobs:
        for wall in job.job.walls:
            yield replace(wall, id=day.wall(job.id, wall.id) or wall.id)


def _offcuts(cut: Iterable[WeekStick]) -> Sequence[Offcut]:
    rows = [stick.source.row for stick in cut]
    offcuts = {row.id: row for row in rows if isinstance(row, Offcut)}
    used = Counter(row.id for row in rows if isinstance(row, Offcut))
    return [replace(offcut, quantity=used[offcut.id]) for offcut in offcuts.values()]


def day_runs(
    day: DayJob, material: Material, laid: Iterable[JobBaseline], patterns: Iterable[PatternUse]
) -> tuple[Run, ...]:
    """Return the runs of one material on one day."""
    runs: list[LapRun] = []
    covers: list[Cover] = []
    for one in laid:
        before = len(runs)
        runs += [_of_day(day, one, run) for run in one.filled.runs]
        covers += [replace(cover, run=cover.run + before) for cover in one.filled.covers]
    if not covers:
        return ()
    demand = Demand(
        job=day.job, material=material, kinds=(), claims=(), sources=(), cost_step=material.settings.spare_percent + 1
    )
    filled = Filled(
        sticks=(),
        cost=0,
        bound=0,
        least_uncut=True,
        proof=Proof("search"),
        not_cut=(),
        notices=(),
        runs=tuple(runs),
        covers=tuple(covers),
    )
    return runs_of(demand, filled, patterns)


def day_notices(day: DayJob, laid: Iterable[JobBaseline]) -> Iterator[Notice]:
    """Yield what the reader must know of the runs of one material on one day."""
    for one in laid:
        for notice in one.filled.notices:
            item = int((notice.pointer or "").rpartition("/")[2])
            pointer = f"#/required/{_item(day, one, item)}"
            yield replace(notice, pointer=pointer, wall=day.wall(one.job.id, notice.wall))


def _of_day(day: DayJob, one: JobBaseline, run: LapRun) -> LapRun:
    return replace(run, item=_item(day, one, run.item), wall=day.wall(one.job.id, run.wall))


def _item(day: DayJob, one: JobBaseline, item: int) -> int:
    origin = one.job.origins[item]
    return day.items[Origin(origin.job, origin.item)]


class Sheets:
    """Makes the sheets of the days still open, from Monday on, following every stick from day to day."""

    def __init__(self, state: WeekState, pooled: Sequence[Pooled], sticks: Sequence[WeekStick]) -> None:
        self._state, self._pooled, self._sticks = state, pooled, sticks
        self._labels = _labels_taken(state)

    def days(self) -> Iterator[DayPlan]:
        """Yield the sheet of every day that has a job still open."""
        for day in sorted({job.day for job in self._state.jobs}):
            yield self._day(day)

    def _day(self, number: int) -> DayPlan:
        cut = [stick for stick in self._sticks if number in stick.days]
        day = day_job(self._state, number, cut)
        names = map("S{}".format, count(1))
        parts: list[MaterialPlan] = []
        kept: list[KeptOffcut] = []
        notices: list[Notice] = []
        for pooled in self._pooled:
            laid = [one for one in pooled.week.laid if one.job.day == number]
            if laid:
                own = [stick for stick in cut if stick.material == pooled.week.material.id]
                parts.append(_part(day, number, pooled, laid, own, names))
                kept += self._carry_on(day, number, own, parts[-1])
                notices += day_notices(day, laid)
        materials = {material.id: material for material in day.job.materials}
        order = tuple(line for part in parts for line in order_lines(materials[part.material], part.patterns))
        not_cut = tuple(_not_cut(day, self._pooled))
        plan = CutPlan(tuple(parts), not_cut, order, tuple(notices), cautions_for(day.job.materials, day.job.units))
        return DayPlan(
            date=self._state.week.date(number), job=day.job, origins=day.origins, plan=plan, kept=tuple(kept)
        )

    def _carry_on(self, day: DayJob, number: int, own: Sequence[WeekStick], part: MaterialPlan) -> Iterator[KeptOffcut]:
        """Label what is kept, and let each stick go on as what is left of it."""
        by_piece = {day.placed(stick.days[number][0][1]): stick for stick in own}
        for use, stick_use in part.sticks():
            stick, left = by_piece[stick_use.pieces[0]], use.left_over
            if left.keep:
                label, following = self._label(number), stick.next_day(number)
                wanted = None if following is None else self._state.week.date(following)
                yield KeptOffcut(
                    label=label,
                    material=part.material,
                    stick=stick_use.stick,
                    length=left.length,
                    factory_end=left.factory_end,
                    wanted=wanted,
                )
                stick.source = _left_source(label, part.material, left)

    def _label(self, day: int) -> str:
        stem = f"{self._state.week.number:02}-{DAY_NAMES[day]}"
        label = next(name for n in count(1) if (name := f"{stem}{n}") not in self._labels)
        self._labels.add(label)
        return label


def kept_for(days: Sequence[DayPlan]) -> tuple[DayPlan, ...]:
    """Return days that keep each offcut for the day that brings it, final sheets as well: others may bring it now."""
    brought = {offcut.id: day.date for day in reversed(days) for offcut in day.job.offcuts}
    return tuple(
        replace(day, kept=tuple(replace(kept, wanted=brought.get(kept.label)) for kept in day.kept)) for day in days
    )


def _labels_taken(state: WeekState) -> set[str]:
    week = state.week
    taken = {offcut.id for offcut in week.rack}
    taken |= {kept.offcut.id for report in week.reports for kept in report.kept}
    return taken | {kept.label for day in state.frozen for kept in day.kept}


def _left_source(label: str, material: str, left: LeftOver) -> Source:
    ends = left.factory_end
    stick = Stick(left.length, 0, 1, ends.has_left, ends.has_right)
    return Source(Offcut(label, material, left.length, 1, ends), stick)


def _part(
    day: DayJob,
    number: int,
    pooled: Pooled,
    laid: Sequence[JobBaseline],
    own: Sequence[WeekStick],
    names: Iterator[str],
) -> MaterialPlan:
    material = next(m for m in day.job.materials if m.id == pooled.week.material.id)
    settings = material.settings
    filled = [
        FilledStick(stick.source, tuple((kind, day.placed(c)) for kind, c in stick.days[number]), stick.after(number))
        for stick in own
    ]
    patterns = patterns_of(filled, settings.kerf, settings.keep_offcuts_from, names)
    proof = Proof("search", text="planned jointly for the week; see the week's bound")
    runs = day_runs(day, material, laid, patterns)
    step, priced = cost_step(material), material.priced
    return MaterialPlan(
        material=material.id,
        settings=settings,
        priced=priced,
        cost_step=step,
        cost=cost_of(material, new_sticks(patterns), step),
        bound=0,
        least_uncut=False,
        proof=proof,
        stopped_by=pooled.stopped_by,
        patterns=patterns,
        runs=runs,
        lap_cost=lap_cost_of(settings, runs),
    )


def _not_cut(day: DayJob, pooled: Sequence[Pooled]) -> Iterator[NotCut]:
    short: Counter[int] = Counter()
    for part in pooled:
        for _, claim in left_unserved(part):
            if any(job.id == claim[0] for job in day.jobs):
                short[day.placed(claim).item] += 1
        for one in part.week.laid:
            if one.job in day.jobs:
                place = {item: day.items[origin] for item, origin in enumerate(one.job.origins)}
                short.update({place[e.item]: e.quantity for e in one.filled.not_cut if e.item in one.demand.runs})
    for item, quantity in sorted(short.items()):
        yield NotCut(item, day.job.required[item].mark, quantity, "stock_exhausted", NO_STICK)
