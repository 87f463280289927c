"""The result: status, waste, materials, order, what could not be cut, warnings and cautions."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from service.rendering.material import render_material
from service.rendering.waste import waste_percent
from solver.job import Job, Notice
from solver.lengths import Unit, say, to_number
from solver.plan import CutPlan, NotCut, OrderLine

MOST_STICKS = 2_000
"""A result with more sticks leaves them out; they are always under ``/sticks``."""
Json = dict[str, Any]


def render_result(job: Job, plan: CutPlan, *, all_sticks: bool = False) -> Json:
    """Return the result of a job."""
    sticks = sum(use.count for part in plan.materials for use in part.patterns)
    told = all_sticks or sticks <= MOST_STICKS
    return {
        "status": status(plan),
        "stopped_by": plan.stopped_by,
        "waste_percent": waste_percent(plan.materials),
        "materials": [render_material(job, part, sticks=told) for part in plan.materials],
        "order": [render_order_line(line, job.units) for line in plan.order],
        "order_total": money(plan.order_total),
        "unpriced": list(plan.unpriced),
        "not_cut": [_not_cut(job, entry) for entry in plan.not_cut],
        "warnings": [render_notice(notice, job.units) for notice in plan.warnings],
        "cautions": list(plan.cautions),
    }


def status(plan: CutPlan) -> str:
    """Return ``partial`` where something could not be cut, else ``optimal`` if all is proven, else ``feasible``."""
    if plan.not_cut:
        return "partial"
    return "optimal" if all(part.proven for part in plan.materials) else "feasible"


def render_order_line(line: OrderLine, unit: Unit) -> Json:
    """Return one line of an order."""
    return {
        "material": line.material,
        "stock": line.stock,
        "text": say(line.length, unit),
        "code": line.code,
        "sticks": line.sticks,
        "spares": line.spares,
        "cartons": line.cartons,
        "loose": line.loose,
        "unit_price": money(line.unit_price),
        "amount": money(line.amount),
    }


def money(amount: Decimal | None) -> str | None:
    """Return money as a decimal string with at least two decimals."""
    if amount is None:
        return None
    exponent = amount.normalize().as_tuple().exponent
    places = max(2, -exponent) if isinstance(exponent, int) else 2
    return f"{amount:.{places}f}"


def _not_cut(job: Job, entry: NotCut) -> Json:
    told: Json = {
        "item": entry.item,
        "mark": entry.mark,
        "quantity": entry.quantity,
        "code": entry.code,
        "detail": entry.detail,
    }
    ref = job.required[entry.item].ref
    return told if ref is None else {**told, "ref": ref}


def render_notice(notice: Notice, unit: Unit) -> Json:
    """Return a notice with its lengths in ``unit``."""
    told: Json = {"code": notice.code, "detail": notice.detail}
    for name in ("pointer", "material", "wall", "course"):
        if (value := getattr(notice, name)) is not None:
            told[name] = value
    for name in ("place", "needed", "got"):
        if (ticks := getattr(notice, name)) is not None:
            told[name] = to_number(ticks, unit)
    return told
