"""A crew's week as the contract has it: what was asked, the plan day by day, orders, and how it compares."""

from __future__ import annotations

from typing import Any

from service.rendering.request import render_material, render_required, render_wall, written
from service.rendering.result import money, render_order_line, render_result
from solver.lengths import Unit, say, to_number
from solver.materials import Offcut
from solver.plan import total_of, unpriced_in
from solver.weekly.plan import Compared, DayPlan, DeliveryOrder, Figures, KeptOffcut, Missing, WeekPlan
from solver.weekly.week import DatedJob, Delivery, Report, Sticks, Week
from workers.week_record import KeptWeek, Run

Json = dict[str, Any]


def render_week(kept: KeptWeek) -> Json:
    """Return the resource of a week."""
    week = kept.week
    return {
        "crew": week.crew,
        "week": week.name,
        "monday": week.monday.isoformat(),
        "version": kept.version,
        "planned_version": kept.planned,
        "up_to_date": kept.plan is not None and kept.planned == kept.version,
        "planning": kept.asked > 0,
        "units": week.units,
        "materials": [render_material(material, week.units) for material in week.materials],
        "jobs": [render_job(week, job) for job in week.jobs],
        "deliveries": [_delivery(delivery) for delivery in week.deliveries],
        "rack": [_offcut(offcut, week.units) for offcut in week.rack],
        "limits": _limits(week),
        "reports": [_report(report, week.units) for report in week.reports],
        "plan": render_plan(week, kept.plan) if kept.plan else None,
    }


def render_job(week: Week, job: DatedJob) -> Json:
    """Return one job of a week."""
    walls = [render_wall(wall, week.units) for wall in job.walls]
    told: Json = {"id": job.id, "name": job.name, "date": job.date.isoformat()}
    told["required"] = [render_required(required, week.units) for required in job.required]
    return {**told, "walls": walls} if walls else told


def render_run(run: Run) -> Json:
    """Return the record of a run."""
    return {
        "at": run.at.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
        "why": run.why,
        "night": run.night.isoformat() if run.night else None,
        "outcome": run.outcome,
        "changes": run.changes,
        "bill_before": money(run.bill_before),
        "bill_after": money(run.bill_after),
        "seconds": run.seconds,
        "details": list(run.details),
    }


def render_plan(week: Week, plan: WeekPlan) -> Json:
    """Return the plan of a week."""
    return {
        "days": [_day(week, day) for day in plan.days],
        "orders": [_order(week, order) for order in plan.orders],
        "bill": money(plan.bill),
        "unpriced": list(plan.unpriced),
        "bound": money(plan.bound),
        "compared": [_compared(week, entry) for entry in plan.compared],
        "proven": plan.proven,
        "proof": {"basis": plan.basis, "kind": "search"},
        "missing": [_missing(entry) for entry in plan.missing],
        "nights": list(plan.nights),
        "carried": plan.carried,
        "changes": plan.changes,
        "notes": list(plan.notes),
    }


def _day(week: Week, day: DayPlan) -> Json:
    return {
        "date": day.date.isoformat(),
        "frozen": day.frozen,
        "items": [{"job": origin.job, "item": origin.item} for origin in day.origins],
        "bring": [_offcut(offcut, week.units) for offcut in day.job.offcuts],
        "keep": [_keep(kept, week.units) for kept in day.kept],
        "result": render_result(day.job, day.plan),
    }


def _keep(kept: KeptOffcut, unit: Unit) -> Json:
    return {
        "label": kept.label,
        "material": kept.material,
        "stick": kept.stick,
        "length": to_number(kept.length, unit),
        "text": say(kept.length, unit),
        "factory_end": kept.factory_end,
        "wanted": kept.wanted.isoformat() if kept.wanted else None,
    }


def _order(week: Week, order: DeliveryOrder) -> Json:
    return {
        "date": order.date.isoformat(),
        "closed": order.closed,
        "lines": [render_order_line(line, week.units) for line in order.lines],
        "total": money(total_of(order.lines)) if order.lines else None,
        "unpriced": list(unpriced_in(order.lines)),
    }


def _compared(week: Week, entry: Compared) -> Json:
    def figures(found: Figures) -> Json:
        cost = float(found.cost) if entry.priced else to_number(int(found.cost), week.units)
        return {"sticks": found.sticks, "cost": cost}

    return {
        "material": entry.material,
        "cost_unit": "money" if entry.priced else "length",
        "alone": figures(entry.alone),
        "pooled": figures(entry.pooled),
        "bound": figures(entry.bound) if entry.bound else None,
    }


def _missing(entry: Missing) -> Json:
    return {
        "job": entry.job, "item": entry.item, "mark": entry.mark, "quantity": entry.quantity, "detail": entry.detail,
    }  # fmt: skip


def _delivery(delivery: Delivery) -> Json:
    received = None if delivery.received is None else [_sticks(entry) for entry in delivery.received]
    return {"date": delivery.date.isoformat(), "received": received}


def _sticks(entry: Sticks) -> Json:
    return {"material": entry.material, "stock": entry.stock, "count": entry.count}


def _offcut(offcut: Offcut, unit: Unit) -> Json:
    return {
        "id": offcut.id,
        "material": offcut.material,
        "length": written(offcut.length, unit),
        "quantity": offcut.quantity,
        "factory_end": offcut.factory_end,
    }


def _limits(week: Week) -> Json:
    limits = week.limits
    return {
        "carry": limits.carry,
        "shortest_kept": None if limits.shortest_kept is None else written(limits.shortest_kept, week.units),
        "freeze_at": limits.freeze_at.isoformat(timespec="minutes"),
        "freeze_days": limits.freeze_days,
        "timezone": limits.timezone,
    }


def _report(report: Report, unit: Unit) -> Json:
    return {
        "date": report.date.isoformat(),
        "done": [{"job": entry.job, "item": entry.item, "quantity": entry.quantity} for entry in report.done],
        "sticks": [_sticks(entry) for entry in report.sticks],
        "used": list(report.used),
        "kept": [{**_offcut(kept.offcut, unit), "in_van": kept.in_van} for kept in report.kept],
    }
