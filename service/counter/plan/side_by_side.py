"""A plan and its alternatives beside each other, as the page shows them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from markupsafe import Markup

from service import alternatives
from service.alternatives import Row
from service.counter.plan.plan_result import markup_of
from service.drawing.bills import Plotted, draw_bills
from service.drawing.svg import svg
from service.views.facts import bought_length, laps_in, patterns_in
from service.wire.fields import Json
from service.wire.plans.alternatives import render_alternatives
from service.wire.plans.plan import Status
from solver.job import Job
from solver.lengths import say
from solver.plan import CutPlan
from workers.plans.record import Record, State

_STATES = {State.QUEUED: "being planned", State.RUNNING: "being planned", State.FAILED: "no plan"}


def side_by_side(record: Record, job: Job, plan: CutPlan) -> Json:
    """Return what the page tells of alternatives: whether there are any to ask for still, and the table."""
    rows = alternatives.asked_of(record, job, plan)
    answer = render_alternatives(job.units, rows)["alternatives"]
    pairs = zip(answer, rows, strict=True)
    table = [told | {"bill": _bill(job, row, told), "told": _told(told)} for told, row in pairs]
    return {"can_change": alternatives.are_left(rows, job, plan), "alternatives": table, "charts": [*_charts(rows)]}


def _charts(rows: Sequence[Row]) -> Iterator[Markup]:
    """Yield bills against laps and against patterns, where plans of the whole list differ in them."""
    whole = [(row.record.number, row.plan) for row in rows if row.plan and not row.plan.not_cut]
    for what, count in (("laps", laps_in), ("patterns", patterns_in)):
        points = [
            Plotted(name, plan.order_total, count(plan.materials))
            for name, plan in whole
            if plan.order_total is not None
        ]
        drawing = draw_bills(points, what)
        if drawing:
            yield markup_of(svg(drawing))


def _bill(job: Job, row: Row, told: Json) -> str:
    """Return what the order comes to, or its length where nothing has a price."""
    if row.plan is None or job.priced:
        return told["order_total"] or ""
    return say(bought_length(row.plan), job.units)


def _told(told: Json) -> str:
    if told["status"] == Status.PARTIAL:
        return "not all of it can be cut"
    return _STATES.get(told["state"], "") if told["status"] is None else ""
