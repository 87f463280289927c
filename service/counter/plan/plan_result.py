"""A plan as its page shows it: the order in rows, its figures in words, its drawings, its alternatives beside it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from markupsafe import Markup

from service import alternatives
from service.documents.blocks import TitleBlock
from service.drawing.bills import Plotted, draw_bills
from service.drawing.lap_map import draw_wall, name_of
from service.drawing.layout import layouts_of
from service.drawing.lettering import Tags, clean
from service.drawing.pattern import draw_patterns, legend_of
from service.drawing.svg import svg
from service.views.facts import (
    CALLED_OFF,
    LOT,
    besides,
    bought_length,
    broken_rules,
    called,
    each,
    laps,
    laps_in,
    marks,
    material_of,
    no_total,
    on_hand,
    packed,
    patterns_in,
    quality,
    reckoned,
    totals_of,
    waste,
    why_nothing,
)
from service.wire.fields import Json
from service.wire.numbers import money
from service.wire.plans.alternatives import render_alternatives
from service.wire.plans.plan import Status
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.plan import CutPlan, OrderLine, PatternUse
from workers.orders.company import Company
from workers.plans.record import Record, State

_MOST_DRAWN = 40
"""Patterns of one material on the page; the cut sheet has all of them."""


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the order: how many of what, in which length; ``there`` says how many there are, if that is known."""

    count: int
    noun: str
    of: str
    length: str
    code: str
    packed: str
    each: str
    amount: str
    there: str
    supplier: str


@dataclass(frozen=True, slots=True)
class Length:
    """A stock length to ask about: what names it to the buttons, its words, whether it is out of stock."""

    key: str
    words: str
    out: bool


@dataclass(frozen=True, slots=True)
class Choices:
    """The stock lengths of one material, by its place in the job; ``priced`` says whether they have prices."""

    place: int
    name: str
    lengths: tuple[Length, ...]
    priced: bool


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
    totals: tuple[tuple[str, str], ...]
    no_total: str
    on_hand: tuple[str, ...]
    besides: tuple[tuple[str, str, str], ...]
    parts: tuple[Part, ...]
    walls: tuple[tuple[str, Markup], ...]
    out: tuple[str, ...]
    choices: tuple[Choices, ...]
    left_over: tuple[str, ...]
    proven: bool


def result_of(job: Job, plan: CutPlan, company: Company) -> Result:
    """Return a plan as the page shows it."""
    walls = tuple(
        (name_of(wall), markup_of(svg(draw_wall(wall, job.units, plan.warnings)))) for wall in layouts_of(job, plan)
    )
    return Result(
        tuple(_row(job, line) for line in plan.order),
        why_nothing(plan),
        tuple(totals_of(plan, company)),
        no_total(plan.order),
        tuple(on_hand(job, plan)),
        tuple(besides(job)),
        tuple(_parts(job, plan)),
        walls,
        tuple(_out(job)),
        tuple(_choices(job)),
        tuple(_left_over(job, plan)),
        all(part.proven for part in plan.materials),
    )


def _row(job: Job, line: OrderLine) -> Row:
    count, material = line.sticks + line.spares, material_of(job, line.material)
    return Row(
        count,
        material.category.kind.noun(count),
        called(material),
        say(line.length, job.units),
        clean(line.code or ""),
        packed(line),
        each(line),
        money(line.amount) or "",
        _there(material, line),
        clean(line.supplier),
    )


def _there(material: Material, line: OrderLine) -> str:
    count = next(row.available for row in material.stock if row.id == line.stock)
    return "" if count is None else f"{count:,} there"


def _choices(job: Job) -> Iterator[Choices]:
    for place, material in enumerate(job.materials):
        rows = ((f"{place}:{row.id}", say(row.length, job.units), row.available == 0) for row in material.stock)
        yield Choices(place, called(material), tuple(Length(*row) for row in rows), material.priced)


def _left_over(job: Job, plan: CutPlan) -> Iterator[str]:
    """Yield what is left over and long enough to keep, alike ones together, longest first."""
    for part in plan.materials:
        kept: Counter[int] = Counter()
        for use in part.patterns:
            kept[use.left_over.length] += use.count if use.left_over.keep else 0
        for length, count in sorted(kept.items(), reverse=True):
            if count:
                yield f"{count} × {say(length, job.units)} {called(material_of(job, part.material))}"


def _parts(job: Job, plan: CutPlan) -> Iterator[Part]:
    for part in (part for part in plan.materials if part.patterns):
        material = material_of(job, part.material)
        pairs = zip(part.patterns, draw_patterns(job, part, Tags.of(job, plan)), strict=True)
        drawn = tuple((_in_words(job, use), markup_of(svg(drawing))) for use, drawing in islice(pairs, _MOST_DRAWN))
        undrawn = len(part.patterns) - len(drawn)
        goes = " ".join(filter(None, (waste(job, part), laps(job, plan, part), reckoned(part))))
        yield Part(called(material), quality(job, plan, part), goes, legend_of(material), drawn, undrawn)


def _in_words(job: Job, use: PatternUse) -> str:
    """Return how a stick is cut, for screens on which a drawing is too small to read."""
    cuts = [f"{say(cut.length, job.units)} ({clean(mark)})" for cut, mark in zip(use.cuts, marks(use), strict=True)]
    left = use.left_over
    rest = f"{'keep' if left.keep else 'scrap'} {say(left.length, job.units)}" if left.length else "used up"
    return f"{use.count} × {say(use.stock_length, job.units)}: {', '.join(cuts)}; {rest}"


def markup_of(text: str) -> Markup:
    """Return an SVG as a page takes it."""
    return Markup(text)  # noqa: S704 - svg escapes every text it writes


def _out(job: Job) -> Iterator[str]:
    """Yield the stock that was switched off, or comes too late, in words."""
    for material in job.in_time.materials:
        what = f"{material.category.kind.noun()} {called(material)}"
        yield from (f"{what}, {say(row.length, job.units)}" for row in material.stock if row.available == 0)


def order_text(result: Result, block: TitleBlock) -> str:
    """Return the order as plain text, to paste into a message."""
    told = [f"{name}: {value}" for name, value in block.facts().entries if value and name != "Job"]
    rows = [_row_text(row) for row in result.rows] or [f"Nothing to order: {result.why_nothing}."]
    sums = [f"{name} {amount}" for name, amount in result.totals] or [result.no_total] * bool(result.no_total)
    goods = [f"{what}: {quantity}, {product}" for what, quantity, product in result.besides]
    notes = [clean(text) for text in (block.note, block.company.note) if text]
    head = [text for text in (block.letterhead(), CALLED_OFF * block.called_off) if text]
    return "\n".join([*head, clean(block.job) or "Order", *told, "", *rows, *sums, *goods, LOT, *notes])


def _row_text(row: Row) -> str:
    words = [f"{row.count} {row.noun}", row.length, row.of, row.code and f"(code {row.code})", f"- {row.packed}"]
    words += [f"from {row.supplier}"] if row.supplier else []
    words += [f"at {row.each} = {row.amount}"] if row.each else []
    return " ".join(filter(None, words))


_STATES = {State.QUEUED: "being planned", State.RUNNING: "being planned", State.FAILED: "no plan"}


def side_by_side(record: Record, job: Job, plan: CutPlan) -> Json:
    """Return what the page tells of alternatives: whether there are any to ask for still, and the table."""
    rows = alternatives.asked_of(record, job, plan)
    answer = render_alternatives(job.units, rows)["alternatives"]
    pairs = zip(answer, rows, strict=True)
    table = [told | {"bill": _bill(job, row, told), "told": words_of(told)} for told, row in pairs]
    return {"can_change": alternatives.are_left(rows, job, plan), "alternatives": table, "charts": [*charts_of(rows)]}


def charts_of(rows: Sequence[alternatives.Row]) -> Iterator[Markup]:
    """Yield bills against laps and against patterns, where plans of the whole list differ in them.

    What is cheaper because it breaks more rules than the plan itself is not to be held against it.
    """
    kept = broken_rules(rows[0].plan) if rows[0].plan else 0
    done = ((row.record.number, row.plan) for row in rows if row.plan and not row.plan.not_cut)
    whole = [(number, plan) for number, plan in done if broken_rules(plan) <= kept]
    for what, count in (("laps", laps_in), ("patterns", patterns_in)):
        points = [
            Plotted(name, plan.order_total, count(plan.materials))
            for name, plan in whole
            if plan.order_total is not None
        ]
        drawing = draw_bills(points, what)
        if drawing:
            yield markup_of(svg(drawing))


def _bill(job: Job, row: alternatives.Row, told: Json) -> str:
    """Return what the order comes to, or its length where nothing has a price."""
    if row.plan is None or job.priced:
        return told["order_total"] or ""
    return say(bought_length(row.plan), job.units)


def words_of(told: Json) -> str:
    """Return what is to be known of an alternative before its figures."""
    partial, broken = told["status"] == Status.PARTIAL, told["broken_rules"] or 0
    said = ["not all of it can be cut"] * partial + [f"breaks {broken} rule{'s' * (broken > 1)} of laps"] * bool(broken)
    if said:
        return ", ".join(said)
    return _STATES.get(told["state"], "") if told["status"] is None else ""
