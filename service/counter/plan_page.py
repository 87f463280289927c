"""``/plans/{id}``: how the work goes on, then the order and its drawings; the buttons plan again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice

from flask import Response, redirect, request
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from service import access
from service.counter import labels
from service.counter.pages import ALONG, FACTS, PATIENCE, address, blueprint, once, page_of
from service.counter.stored import opened
from service.drawing.lap_map import draw_wall, name_of
from service.drawing.layout import layouts_of
from service.drawing.lettering import clean
from service.drawing.pattern import draw_patterns, legend_of
from service.drawing.svg import svg
from service.plans import cancel, kept, own, wait_for
from service.problems import Problem
from service.views.facts import (
    LOT,
    MEASURE,
    called,
    marks,
    material_of,
    no_total,
    on_hand,
    packed,
    quality,
    waste,
    why_nothing,
)
from service.wire.cut_plan import render
from service.wire.numbers import money
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.plan import CutPlan, OrderLine, PatternUse
from solver.validation import find_problems
from workers import queues
from workers.record import UNREADABLE, Record
from workers.store import Ask

LONGER = 60.0
"""Seconds for those who want to look for longer."""
_TITLES = {name: labels.FIELDS["form"][name] for name in ("customer", "po", "date", "taken_by")}
_MOST_DRAWN = 40
"""Patterns of one material on the page; the cut sheet has all of them."""


@blueprint.get("/plans/<plan_id>")
def plan(plan_id: str) -> Response:
    """Show a plan, or how far it is, or why there is none."""
    return _page(own(plan_id))


@blueprint.post("/plans/<plan_id>")
def again(plan_id: str) -> AnyResponse:
    """Stop, or plan the same list without a stock length, with it again, or for longer."""
    record = own(plan_id)
    button = request.form.get("do", "")
    if button == "stop":
        wait_for(cancel(record), PATIENCE)
        return redirect(address(plan_id, facts() | along()), 303)
    job = kept(record).job
    before = along().get("before", "")
    other = _changed(job, button, before) if job else None
    if other is None:
        raise Problem("not-found", "There is no such button.")
    if problems := find_problems(other):
        return _page(record, [problem.detail for problem in problems])
    key = f"{plan_id}:{before}:{button}"
    following = once(Ask(access.client(), queues.INTERACTIVE, other, key[:255], key))
    return redirect(address(following.id, {"before": plan_id} | facts() | along()), 303)


def facts() -> dict[str, str]:
    """Return what the address says for the title block."""
    return {name: value for name in FACTS if (value := request.args.get(name, "").strip()[:120])}


def along() -> dict[str, str]:
    """Return what the address says besides."""
    return {name: value for name in ALONG if (value := request.args.get(name, "").strip()[:300])}


def _changed(job: Job, button: str, before: str) -> Job | None:
    """Return the job after a button, None where there is no such button.

    What is back in stock is there in the number that it was in the plan ``before`` any button was pressed.
    """
    what, _, where = button.partition(":")
    if what == "longer":
        return replace(job, seconds=LONGER)
    place, _, stock = where.partition(":")
    if what not in ("out", "back") or not place.isdigit() or int(place) >= len(job.materials):
        return None
    materials = list(job.materials)
    first = kept(own(before)).job if what == "back" and before else None
    known = {(each.id, row.id): row.available for each in first.materials for row in each.stock} if first else {}
    number = 0 if what == "out" else known.get((materials[int(place)].id, stock)) or None
    materials[int(place)] = _switched(materials[int(place)], stock, number)
    return replace(job, materials=tuple(materials))


def _switched(material: Material, stock: str, available: int | None) -> Material:
    rows = (replace(row, available=available) if row.id == stock else row for row in material.stock)
    return replace(material, stock=tuple(rows))


def _page(record: Record, refused: list[str] | None = None) -> Response:
    whole = kept(record)
    record, job, found, known = whole.record, whole.job, whole.plan, facts()
    if job is None:
        raise Problem("no-plan", UNREADABLE.detail)
    told = {
        "record": record, "job": job, "facts": known, "titles": _TITLES, "refused": refused or [],
        "can_reopen": opened(job).readable, "progress": render(record, job, None)["progress"],
        "money": job.priced, "along": along(), "query": known | along(),
    }  # fmt: skip
    if found:
        result = result_of(job, found)
        named = {_TITLES[name]: value for name, value in known.items()}
        told |= {"plan": found, "result": result, "text": order_text(job, result, named, along().get("left_out", ""))}
        told |= {"lot": LOT, "measure": MEASURE}
    name = "plan" if found else "stopped" if record.state.over else "waiting"
    return page_of(name, 422 if refused else 200, **told)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the order: how many of what, in which length; ``key`` names its stock to the buttons."""

    count: int
    noun: str
    of: str
    length: str
    code: str
    packed: str
    each: str
    amount: str
    key: str


@dataclass(frozen=True, slots=True)
class Part:
    """One material of which something is cut: what is proven of it, where its length goes, and its cut drawings."""

    name: str
    quality: str
    waste: str
    legend: str
    drawings: tuple[tuple[str, Markup], ...]
    undrawn: int


@dataclass(frozen=True, slots=True)
class Result:
    """All of the page's figures and drawings; ``why_nothing`` says why there is no row, where there is none."""

    rows: tuple[Row, ...]
    why_nothing: str
    total: str | None
    no_total: str
    on_hand: tuple[str, ...]
    parts: tuple[Part, ...]
    walls: tuple[tuple[str, Markup], ...]
    out: tuple[tuple[str, str], ...]
    proven: bool


def result_of(job: Job, plan: CutPlan) -> Result:
    """Return a plan as the page shows it."""
    walls = tuple(
        (name_of(wall), _drawn(svg(draw_wall(wall, job.units, plan.warnings)))) for wall in layouts_of(job, plan)
    )
    return Result(
        tuple(_row(job, line) for line in plan.order),
        why_nothing(plan),
        money(plan.order_total),
        no_total(plan.order),
        tuple(on_hand(job, plan)),
        tuple(_parts(job, plan)),
        walls,
        tuple(_out(job)),
        all(part.proven for part in plan.materials),
    )


def _row(job: Job, line: OrderLine) -> Row:
    count, material = line.sticks + line.spares, material_of(job, line.material)
    place = next(n for n, known in enumerate(job.materials) if known.id == line.material)
    return Row(
        count,
        material.category.kind.noun(count),
        called(material),
        say(line.length, job.units),
        clean(line.code or ""),
        packed(line),
        money(line.unit_price) or "",
        money(line.amount) or "",
        f"{place}:{line.stock}",
    )


def _parts(job: Job, plan: CutPlan) -> Iterator[Part]:
    for part in (part for part in plan.materials if part.patterns):
        material = material_of(job, part.material)
        pairs = zip(part.patterns, draw_patterns(job, part), strict=True)
        drawn = tuple((_in_words(job, use), _drawn(svg(drawing))) for use, drawing in islice(pairs, _MOST_DRAWN))
        undrawn = len(part.patterns) - len(drawn)
        yield Part(called(material), quality(job, plan, part), waste(job, part), legend_of(material), drawn, undrawn)


def _in_words(job: Job, use: PatternUse) -> str:
    """Return how a stick is cut, for screens on which a drawing is too small to read."""
    cuts = [f"{say(cut.length, job.units)} ({clean(mark)})" for cut, mark in zip(use.cuts, marks(use), strict=True)]
    left = use.left_over
    rest = f"{'keep' if left.keep else 'scrap'} {say(left.length, job.units)}" if left.length else "used up"
    return f"{use.count} × {say(use.stock_length, job.units)}: {', '.join(cuts)}; {rest}"


def _drawn(text: str) -> Markup:
    return Markup(text)  # noqa: S704 - svg escapes every text it writes


def _out(job: Job) -> Iterator[tuple[str, str]]:
    """Yield the stock that was switched off, with its words."""
    for place, material in enumerate(job.materials):
        what = f"{material.category.kind.noun()} {called(material)}"
        for row in material.stock:
            if row.available == 0:
                yield (
                    f"{place}:{row.id}",
                    f"{what}, {say(row.length, job.units)}",
                )


def order_text(job: Job, result: Result, facts: dict[str, str], left_out: str = "") -> str:
    """Return the order as plain text, to paste into a message."""
    told = [f"{name}: {value}" for name, value in facts.items() if value]
    rows = [_row_text(row) for row in result.rows] or [f"Nothing to order: {result.why_nothing}."]
    total = [f"Total {result.total}" if result.total else result.no_total] if result.total or result.no_total else []
    missing = [f"Not in this order: {clean(left_out)}."] if left_out else []
    return "\n".join([clean(job.name) or "Order", *told, "", *rows, *total, *missing, LOT])


def _row_text(row: Row) -> str:
    words = [f"{row.count} {row.noun}", row.length, row.of, row.code and f"(code {row.code})", f"- {row.packed}"]
    words += [f"at {row.each} = {row.amount}"] if row.each else []
    return " ".join(filter(None, words))
