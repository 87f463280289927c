"""A day's jobs as one job, so that its sheet can be checked, drawn and printed like any other plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from solver.job import Job, Wall
from solver.materials import Offcut
from solver.plan import PlacedPiece
from solver.required import Required
from solver.weekly.pieces import Claim
from solver.weekly.plan import Origin
from solver.weekly.standing import OpenJob, Standing, carried_materials
from solver.weekly.sticks import WeekStick


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


def day_job(standing: Standing, day: int, cut: Iterable[WeekStick]) -> DayJob:
    """Return the one job of a day, with the offcuts that are cut on it."""
    jobs = tuple(job for job in standing.jobs if job.day == day)
    items = {origin: place for place, origin in enumerate(origin for job in jobs for origin in job.origins)}
    bare = DayJob(jobs, jobs[0].job, items)
    name = ", ".join(dict.fromkeys(job.job.name for job in jobs))
    required, walls = tuple(_required(bare)), tuple(_walls(bare))
    materials = carried_materials(standing.week)
    return replace(bare, job=Job(name, standing.week.units, materials, required, tuple(_offcuts(cut)), walls))


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
