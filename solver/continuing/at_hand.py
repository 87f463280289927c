"""What is at hand of a plan's sticks: those that are whole, and what is left of those that were begun."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from solver.continuing.report import Report
from solver.job import Job
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import CutPlan, PatternUse
from solver.sticks import StickUse

_MOST_NAME = 64


@dataclass(frozen=True, slots=True)
class Remnant:
    """A stretch of a stick that was not cut yet: its length in ticks, its factory ends, whether any of it is a piece.

    A stretch without a piece is what was to be left over.
    """

    length: int
    ends: FactoryEnd
    wanted: bool


def remnants(use: PatternUse, stick: StickUse, report: Report, kerf: int) -> list[Remnant]:
    """Return what is left of a stick between the pieces done and spoiled, from the left."""
    parts = [(cut.length + cut.room, (stick.stick, n)) for n, cut in enumerate(use.cuts, 1)]
    places: list[tuple[int, tuple[str, int] | None]] = [*parts]
    if use.left_over.length:
        places.insert(use.left_over.after, (use.left_over.length, None))
    found, last = list[Remnant](), len(places) - 1
    numbered = list(enumerate(places))
    for gone, group in groupby(numbered, key=lambda entry: _gone(entry[1][1], stick.stick, report)):
        stretch = list(group)
        if gone:
            continue
        length = sum(taken for _, (taken, _) in stretch) + kerf * (len(stretch) - 1)
        left, right = stretch[0][0] == 0, stretch[-1][0] == last
        ends = FactoryEnd.of(left=left and use.factory_end.has_left, right=right and use.factory_end.has_right)
        found.append(Remnant(length, ends, any(place for _, (_, place) in stretch)))
    return found


def _gone(place: tuple[str, int] | None, stick: str, report: Report) -> bool:
    if place is None:
        return stick in report.promised
    return place in report.cut or place in report.spoiled


def bought(plan: CutPlan, material: Material, row: StockLength) -> int:
    """Return how many sticks of a stock length were ordered, with spares and what is over of a carton."""
    lines = [line for line in plan.order if (line.material, line.stock) == (material.id, row.id)]
    return sum(line.cartons * (row.carton or 0) + line.loose for line in lines)


def whole(plan: CutPlan, material: Material, row: StockLength, report: Report) -> int:
    """Return how many sticks of a stock length would be at hand as they came, had all come that were ordered."""
    begun = sum(
        report.begun(stick.stick, len(use.cuts))
        for part in plan.materials
        for use, stick in part.sticks()
        if (part.material, use.stock) == (material.id, row.id)
    )
    return bought(plan, material, row) - begun


def rows_left(material: Material, plan: CutPlan) -> Iterator[StockLength]:
    """Yield the stock of a material with as many available as are left once the order was filled."""
    for row in material.stock:
        left = None if row.available is None else max(row.available - bought(plan, material, row), 0)
        yield replace(row, available=left)


def offcuts_left(job: Job, plan: CutPlan, report: Report, name: str) -> Iterator[Offcut]:
    """Yield what is at hand of sticks bought and of offcuts that were given by themselves, each with a name."""
    taken: set[str] = set()
    for offcut in _found(job, plan, report, name):
        unique = _free(offcut.id, taken)
        taken.add(unique)
        yield replace(offcut, id=unique)


def _found(job: Job, plan: CutPlan, report: Report, name: str) -> Iterator[Offcut]:
    yield from _given(job, plan, report)
    for material in job.materials:
        for row in material.stock:
            count = whole(plan, material, row, report) - report.missing.get((material.id, row.id), 0)
            if count > 0:
                yield Offcut(f"{row.id} at hand", material.id, row.length, count, FactoryEnd.BOTH)
        for part in plan.materials:
            if part.material == material.id:
                for use, stick in part.sticks():
                    yield from _of_stick(material, use, stick, report, f"{name}-{stick.stick}")


def _given(job: Job, plan: CutPlan, report: Report) -> Iterator[Offcut]:
    begun = Counter(
        stick.offcut_id
        for part in plan.materials
        for use, stick in part.sticks()
        if stick.offcut_id and report.begun(stick.stick, len(use.cuts))
    )
    for offcut in job.offcuts:
        if not offcut.on_rack and offcut.quantity > begun[offcut.id]:
            yield replace(offcut, quantity=offcut.quantity - begun[offcut.id])


def _of_stick(material: Material, use: PatternUse, stick: StickUse, report: Report, name: str) -> Iterator[Offcut]:
    """Yield what is left of a stick that was begun; what was to be scrap stays scrap."""
    if not report.begun(stick.stick, len(use.cuts)):
        return
    settings = material.settings
    if stick.stick in report.broken:
        lengths = [(length, FactoryEnd.NONE) for length in report.broken[stick.stick]]
    else:
        left = remnants(use, stick, report, settings.kerf)
        lengths = [(one.length, one.ends) for one in left if one.wanted or one.length >= settings.keep_offcuts_from]
    places = ((stick.stick, cut) for cut in range(1, len(use.cuts) + 1))
    lengths += [(length, FactoryEnd.NONE) for place in places for length in report.spoiled.get(place, ())]
    for length, ends in lengths:
        yield Offcut(name, material.id, length, 1, ends)


def _free(name: str, taken: set[str]) -> str:
    """Return a name that nothing has yet, with a number behind it if it must."""
    number, free = 1, name[:_MOST_NAME]
    while free in taken:
        number += 1
        free = f"{name[: _MOST_NAME - 8]} ({number})"
    return free
