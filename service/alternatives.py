"""A plan's alternatives: its job with one thing changed, each asked for as a plan of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from itertools import islice

from service import plans
from service.http import access
from service.http.problems import Problem
from service.remade import key_of, mark_of, remade
from service.state import store
from service.views.facts import called
from solver.categories import Settings
from solver.job import Job
from solver.lengths import say
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.validation import find_problems
from workers.plans.record import Record

MOST_LENGTHS = 12
"""So many lengths are planned alone, in the order of the request."""


class Change(StrEnum):
    """What an alternative changes."""

    AS_ASKED = "as_asked"
    CHEAPEST = "cheapest"
    ONE_LENGTH = "one_length"
    FEWEST_LAPS = "fewest_laps"
    NO_LIMIT = "no_limit"


@dataclass(frozen=True, slots=True)
class Alternative:
    """One change: the job that it makes, in words, and as a button says it; a length alone is of a material."""

    change: Change
    job: Job
    words: str
    button: str = ""
    material: str | None = None
    stock: str | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """An alternative that was asked for, as it stands; ``plan`` is None as long as there is none."""

    alternative: Alternative
    record: Record
    plan: CutPlan | None


def alone(material: Material, stock: str) -> Material:
    """Return a material that is sold in this length and no other."""
    return _with_rows(material, lambda row: row if row.id == stock else replace(row, available=0))


def alternatives_of(job: Job, plan: CutPlan) -> Iterator[Alternative]:
    """Yield what can be changed of a plan that may make another one of it.

    There is none of a job that may use the rack: each would hold pieces there, and at most one of them is cut.
    """
    return (change for change in _changes(job, plan) if not find_problems(change.job))


def _changes(job: Job, plan: CutPlan) -> Iterator[Alternative]:
    """Yield all changes, with those of which nothing can be cut: to find that out takes its time on a long list."""
    if job.rack is not None:
        return
    laid = {part.material for part in plan.materials if part.runs}
    more = {part.material for part in plan.materials if part.fewest is not None}
    wanted = {item.material for item in job.required}
    yield from _of_settings(job, Change.CHEAPEST, "Cheapest, however many laps that takes", laid, _laps_count_nothing)
    yield from islice(_lengths(job, wanted), MOST_LENGTHS)
    yield from _of_settings(job, Change.FEWEST_LAPS, "Fewest laps", more, _no_extra_laps)
    yield from _no_limit(job, wanted)


def _of_settings(
    job: Job, change: Change, words: str, materials: set[str], of: Callable[[Settings], Settings]
) -> Iterator[Alternative]:
    def changed(material: Material) -> Material:
        return replace(material, settings=of(material.settings)) if material.id in materials else material

    yield from _if_other(job, change, words, changed)


def _laps_count_nothing(settings: Settings) -> Settings:
    return replace(settings, lap_price=Decimal(0), extra_laps=settings.extra_laps or None)


def _no_extra_laps(settings: Settings) -> Settings:
    return replace(settings, extra_laps=0)


def _no_limit(job: Job, wanted: set[str]) -> Iterator[Alternative]:
    def changed(material: Material) -> Material:
        return _with_rows(material, lambda row: replace(row, available=None)) if material.id in wanted else material

    yield from _if_other(job, Change.NO_LIMIT, "Whether in stock or not", changed)


def _if_other(job: Job, change: Change, words: str, of: Callable[[Material], Material]) -> Iterator[Alternative]:
    other = replace(job, materials=tuple(map(of, job.materials)))
    if other != job:
        yield Alternative(change, other, words, change)


def _lengths(job: Job, wanted: set[str]) -> Iterator[Alternative]:
    for place, material in enumerate(job.materials):
        rows = [row for row in material.stock if row.available != 0]
        if material.id not in wanted or len(rows) == 1:
            continue
        for row in rows:
            materials = (*job.materials[:place], alone(material, row.id), *job.materials[place + 1 :])
            yield Alternative(
                Change.ONE_LENGTH, replace(job, materials=materials),
                f"Only {say(row.length, job.units)} of {called(material)}", f"alone:{place}:{row.id}",
                material.id, row.id,
            )  # fmt: skip


def _with_rows(material: Material, of: Callable[[StockLength], StockLength]) -> Material:
    return replace(material, stock=tuple(map(of, material.stock)))


def ask(record: Record, job: Job, plan: CutPlan, queue: str) -> None:
    """Ask for every alternative of a plan; asked again they are the same plans. Raises ``Problem``."""
    for alternative in alternatives_of(job, plan):
        mark = mark_of(record, alternative.button, {})
        plans.accept(remade(record, job, alternative.job, mark, queue))


def asked_of(record: Record, job: Job, plan: CutPlan) -> list[Row]:
    """Return the alternatives of a plan that were asked for and are kept, the plan itself first."""
    rows = [Row(Alternative(Change.AS_ASKED, job, "As it was asked"), record, plan)]
    for alternative in _changes(job, plan):
        key = key_of(mark_of(record, alternative.button, {}))
        standing = store().standing(access.client(), key)
        other = store().fetch(standing[0]) if standing else None
        if other is not None:
            rows.append(_row(alternative, other))
    return rows


def are_left(rows: Iterable[Row], job: Job, plan: CutPlan) -> bool:
    """Whether there are alternatives of a plan besides these."""
    asked = {row.alternative.button for row in rows}
    return any(one.button not in asked and not find_problems(one.job) for one in _changes(job, plan))


def _row(alternative: Alternative, record: Record) -> Row:
    try:
        whole = plans.kept(record)
    except Problem:
        return Row(alternative, record, None)
    return Row(alternative, whole.record, whole.plan)
