"""The runs of a day's jobs, laid when each job was planned alone, hung from the sticks that the week gives them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from solver.demand import Demand
from solver.filling import Filled
from solver.job import Notice
from solver.laps.problem import Cover, LapRun
from solver.materials import Material
from solver.plan import PatternUse, Proof, Run
from solver.runs import runs_of
from solver.weekly.alone import AloneJob
from solver.weekly.day_job import DayJob
from solver.weekly.plan import Origin


def day_runs(
    day: DayJob, material: Material, alone: Iterable[AloneJob], patterns: Iterable[PatternUse]
) -> tuple[Run, ...]:
    """Return the runs of one material on one day."""
    runs: list[LapRun] = []
    covers: list[Cover] = []
    for one in alone:
        before = len(runs)
        runs += [_of_day(day, one, run) for run in one.filled.runs]
        covers += [replace(cover, run=cover.run + before) for cover in one.filled.covers]
    if not covers:
        return ()
    demand = Demand(day.job, material, (), (), (), material.settings.spare_percent + 1)
    filled = Filled((), 0, 0, True, Proof("search"), (), (), tuple(runs), tuple(covers))
    return runs_of(demand, filled, patterns)


def day_notices(day: DayJob, alone: Iterable[AloneJob]) -> Iterator[Notice]:
    """Yield what the reader must know of the runs of one material on one day."""
    for one in alone:
        for notice in one.filled.notices:
            item = int((notice.pointer or "").rpartition("/")[2])
            pointer = f"#/required/{_item(day, one, item)}"
            yield replace(notice, pointer=pointer, wall=day.wall(one.job.id, notice.wall))


def _of_day(day: DayJob, one: AloneJob, run: LapRun) -> LapRun:
    return replace(run, item=_item(day, one, run.item), wall=day.wall(one.job.id, run.wall))


def _item(day: DayJob, one: AloneJob, item: int) -> int:
    origin = one.job.origins[item]
    return day.items[Origin(origin.job, origin.item)]
