"""The resource of a requested plan, as the contract has it: state, progress, and the result once there is one."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from service.rendering.result import render_result
from solver.job import Job
from solver.lengths import to_number
from solver.plan import CutPlan
from workers.record import Record

Json = dict[str, Any]


def render(record: Record, job: Job | None, plan: CutPlan | None, *, all_sticks: bool = False) -> Json:
    """Return the resource; sticks are left out of large results unless ``all_sticks``.

    ``job`` is None where what was kept of it can't be read.
    """
    told: Json = {
        "id": record.id,
        "name": job.name if job else "",
        "state": record.state,
        "created_at": _time(record.created_at),
        "started_at": _time(record.started_at),
        "finished_at": _time(record.finished_at),
        "expires_at": _time(record.expires_at),
        "queue_ms": record.queue_ms,
        "solve_ms": record.solve_ms,
        "progress": _how_far(record, job, plan),
        "result": render_result(job, plan, all_sticks=all_sticks) if job and plan else None,
    }
    if record.failure:
        told["problem"] = {"code": record.failure.code, "detail": record.failure.detail}
    return told


def _how_far(record: Record, job: Job | None, plan: CutPlan | None) -> Json:
    if job is None:
        return {"cost": None, "bound": None, "cost_unit": "length", "left_out": []}
    return progress_of(job, plan) if plan else _progress(job, record.cost, record.bound)


def progress_of(job: Job, plan: CutPlan) -> Json:
    """Return the cost and the bound that a plan came to."""
    counted = [part for part in plan.materials if part.priced is job.priced]
    cost = sum((part.cost * part.cost_step for part in counted), Decimal(0))
    bound = sum((part.bound * part.cost_step for part in counted), Decimal(0))
    return _progress(job, cost, bound)


def _progress(job: Job, cost: Decimal | None, bound: Decimal | None) -> Json:
    """Return cost and bound: money where anything has a price, else length in the request's units.

    ``left_out`` are the materials that count nothing in them, for they have no price and others have.
    """
    wanted = {item.material for item in job.required}
    left_out = [each.id for each in job.materials if job.priced and not each.priced and each.id in wanted]
    return {
        "cost": _figure(cost, job),
        "bound": _figure(bound, job),
        "cost_unit": "money" if job.priced else "length",
        "left_out": left_out,
    }


def _figure(value: Decimal | None, job: Job) -> float | None:
    if value is None:
        return None
    return float(value) if job.priced else to_number(int(value), job.units)


def _time(moment: datetime | None) -> str | None:
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z") if moment else None
