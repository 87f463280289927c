"""The resource of a requested plan, as the contract has it: state, progress, and the result once there is one."""

from __future__ import annotations

from collections.abc import Mapping
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


def _how_far(record: Record, job: Job | None, plan: CutPlan | None) -> Mapping[str, float | None]:
    if job is None:
        return {"cost": None, "bound": None}
    return progress_of(job, plan) if plan else _progress(job, record.cost, record.bound)


def progress_of(job: Job, plan: CutPlan) -> Mapping[str, float | None]:
    """Return the cost and the bound that a plan came to."""
    counted = [part for part in plan.materials if part.priced is _priced(job)]
    cost = sum((part.cost * part.cost_step for part in counted), Decimal(0))
    bound = sum((part.bound * part.cost_step for part in counted), Decimal(0))
    return _progress(job, cost, bound)


def _progress(job: Job, cost: Decimal | None, bound: Decimal | None) -> Mapping[str, float | None]:
    """Return cost and bound: money where anything has a price, else length in the request's units."""
    return {"cost": _figure(cost, job), "bound": _figure(bound, job)}


def _figure(value: Decimal | None, job: Job) -> float | None:
    if value is None:
        return None
    return float(value) if _priced(job) else to_number(int(value), job.units)


def _priced(job: Job) -> bool:
    return any(material.priced for material in job.materials)


def _time(moment: datetime | None) -> str | None:
    return moment.isoformat(timespec="milliseconds").replace("+00:00", "Z") if moment else None
