"""Plans made from another plan: its job with something changed, each asked for once however often.

What may be changed of a plan that may make another one of it, for routes and pages alike; and how a plan made from
another is asked for, with what was measured, if it is of the same pieces.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from itertools import islice
from typing import Any

from service import plans
from service.http import access
from service.http.problems import Problem
from service.http.strict_json import fingerprint
from service.state import store
from service.views.facts import called, laps_in, patterns_in
from service.wire.materials.material import render_material, render_offcut
from solver.categories import Settings
from solver.job import Job
from solver.lengths import say
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.validation import find_problems
from workers.plans.record import Record
from workers.plans.store import Ask


def mark_of(record: Record, button: str, pressed: Mapping[str, str]) -> str:
    """Return what tells one change of a plan from another: the button, and what was typed beside it."""
    return fingerprint({"from": record.id, "button": button, **{name: told for name, told in pressed.items() if told}})


def key_of(mark: str) -> str:
    """Return the key under which the plan of a change is asked for."""
    return f"again-{mark}"


def remade(record: Record, before: Job, other: Job, mark: str, queue: str, replaces: str = "") -> Ask:
    """Return the request for a plan of ``other``, made from the plan of ``before``; ``replaces`` as in ``Ask``."""
    measured = restocked(plans.measured(record.id), before.as_asked, other) if record.is_measured else None
    return Ask(
        client=access.client(), queue=queue, job=other, key=key_of(mark), fingerprint=mark, measured=measured,
        written=plans.written(record), particulars=replace(record.particulars, called_off=False), by=access.person(),
        made_from=record.number, replaces=replaces,
    )  # fmt: skip


def restocked(body: dict[str, Any], before: Job, now: Job) -> dict[str, Any] | None:
    """Return a stored request for a plan that was made from its own: with the materials, offcuts and patience of now.

    None where other pieces are planned than were measured.
    """
    if (before.required, before.walls) != (now.required, now.walls):
        return None
    pairs = zip(before.materials, now.materials, strict=True)
    changed = {
        new.id: _changed(render_material(old, now.units), render_material(new, now.units)) for old, new in pairs
    }
    materials = [told | changed.get(told["id"], {}) for told in body["materials"]]
    offcuts = (
        {"offcuts": [render_offcut(cut, now.units) for cut in now.offcuts]} if before.offcuts != now.offcuts else {}
    )
    wait = {"within_days": now.within_days} if before.within_days != now.within_days else {}
    return body | {"materials": materials} | offcuts | wait


def _changed(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in now.items() if before.get(name) != value}


MOST_LENGTHS = 12
"""So many lengths are planned alone, in the order of the request."""

PATTERNS = range(3, 21)
"""Where a material is cut in so many ways fewer are looked for: of more none are found soon."""

TOGETHER = 3
"""Alternatives take together no longer than so many times the plan itself, each an equal share of it."""

LEAST_SECONDS = 2.0
"""A share is no shorter than this."""


class Change(StrEnum):
    """What an alternative changes."""

    AS_ASKED = "as_asked"
    CHEAPEST = "cheapest"
    ONE_LENGTH = "one_length"
    FEWEST_LAPS = "fewest_laps"
    FEWEST_PATTERNS = "fewest_patterns"
    IN_STOCK = "in_stock"
    NO_LIMIT = "no_limit"
    NO_RACK = "no_rack"


_MEASURES: Mapping[Change, Callable[[CutPlan], Decimal | int | None]] = {
    Change.CHEAPEST: lambda plan: plan.order_total,
    Change.FEWEST_LAPS: lambda plan: laps_in(plan.materials),
    Change.FEWEST_PATTERNS: lambda plan: patterns_in(plan.materials),
}
"""What is to be least, where the name of a change says it."""


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

    Of a job that may use the rack all of them leave it alone: each would hold pieces there, and at most one is cut.
    """
    return (change for change in _changes(job, plan) if not find_problems(change.job))


def _changes(job: Job, plan: CutPlan) -> Iterator[Alternative]:
    """Yield all changes, with those of which nothing can be cut: to find that out takes its time on a long list."""
    if job.rack is not None:
        job = replace(job, rack=None, offcuts=tuple(offcut for offcut in job.offcuts if not offcut.on_rack))
        yield Alternative(Change.NO_RACK, job, "New sticks, and nothing from the rack", Change.NO_RACK)
    laid = {part.material for part in plan.materials if part.runs}
    more = {part.material for part in plan.materials if part.fewest is not None}
    wanted = {item.material for item in job.required}
    yield from _of_settings(job, Change.CHEAPEST, "Cheapest, however many laps that takes", laid, _laps_count_nothing)
    yield from islice(_lengths(job, wanted), MOST_LENGTHS)
    yield from _of_settings(job, Change.FEWEST_LAPS, "Fewest laps", more, _no_extra_laps)
    many = {part.material for part in plan.materials if len(part.patterns) in PATTERNS}
    yield from _fewest_patterns(job, many - laid)
    yield from _in_stock(job, wanted)
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


def _fewest_patterns(job: Job, materials: set[str]) -> Iterator[Alternative]:
    """Let each way to cut a stick count as much as a stick, where sticks have prices."""

    def changed(material: Material) -> Material:
        prices = [row.price for row in material.stock if row.price is not None]
        if material.id not in materials or not material.priced:
            return material
        setup = max(material.settings.pattern_price, *prices)
        return replace(material, settings=replace(material.settings, pattern_price=setup))

    yield from _if_other(job, Change.FEWEST_PATTERNS, "Fewest ways of cutting, each counted as a stick", changed)


def _in_stock(job: Job, wanted: set[str]) -> Iterator[Alternative]:
    """Order nothing that has to be waited for, where something may have been."""
    rows = (row for material in job.in_time.materials if material.id in wanted for row in material.stock)
    if any(row.wait_days and row.available != 0 for row in rows):
        yield Alternative(Change.IN_STOCK, replace(job, within_days=0), "With what is in stock today", Change.IN_STOCK)


def _no_limit(job: Job, wanted: set[str]) -> Iterator[Alternative]:
    def changed(material: Material) -> Material:
        return _with_rows(material, lambda row: replace(row, available=None)) if material.id in wanted else material

    yield from _if_other(job, Change.NO_LIMIT, "Whether in stock or not", changed)


def _if_other(job: Job, change: Change, words: str, of: Callable[[Material], Material]) -> Iterator[Alternative]:
    other = replace(job, materials=tuple(map(of, job.materials)))
    if other != job:
        yield Alternative(change, other, words, change)


def _lengths(job: Job, wanted: set[str]) -> Iterator[Alternative]:
    for place, material in enumerate(job.in_time.materials):
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
    changes = list(alternatives_of(job, plan))
    share = max(LEAST_SECONDS, TOGETHER * (record.solve_ms or 0) / 1000 / max(1, len(changes)))
    for alternative in changes:
        mark = mark_of(record, alternative.button, {})
        other = replace(alternative.job, seconds=min(job.seconds, share))
        plans.accept(replace(remade(record, job, other, mark, queue), beside=True))


def asked_of(record: Record, job: Job, plan: CutPlan) -> list[Row]:
    """Return the alternatives of a plan that were asked for and are kept, the plan itself first."""
    rows = [Row(Alternative(Change.AS_ASKED, job, "As it was asked"), record, plan)]
    for alternative in _changes(job, plan):
        key = key_of(mark_of(record, alternative.button, {}))
        standing = store().standing(access.client(), key)
        other = store().fetch(standing[0]) if standing else None
        if other is not None:
            row = _row(alternative, other)
            rows.append(replace(row, alternative=measured(alternative, plan, row.plan)))
    return rows


def measured(alternative: Alternative, asked: CutPlan, plan: CutPlan | None) -> Alternative:
    """Return an alternative that says so where its plan is worse, by what it is named for, than the one asked for.

    A long list is planned for as long as its time lasts, and each plan anew.
    """
    measure = _MEASURES.get(alternative.change)
    if measure is None or plan is None or plan.not_cut or asked.not_cut:
        return alternative
    before, now = measure(asked), measure(plan)
    if before is None or now is None or now <= before:
        return alternative
    return replace(alternative, words=f"{alternative.words}: none better was found in its time than as asked")


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
