"""One material's plan: its settings, cost, bound and proof, and its lengths."""

from __future__ import annotations

from typing import Any

from service.rendering.patterns import render_pattern
from service.rendering.runs import render_run
from service.rendering.waste import lap_length, waste_percent
from solver.job import Job
from solver.lengths import Unit, to_number
from solver.materials import Settings
from solver.plan import MaterialPlan

Json = dict[str, Any]


def render_material(job: Job, plan: MaterialPlan, *, sticks: bool) -> Json:
    """Return one material's part of the result, with or without its sticks one by one."""
    return {
        "material": plan.material,
        "settings": _settings(plan.settings, job.units),
        **_quality(plan, job.units),
        **_lengths(job, plan),
        "patterns": [render_pattern(job, use, sticks=sticks) for use in plan.patterns],
        "runs": [render_run(job, run) for run in plan.runs],
    }


def _quality(plan: MaterialPlan, unit: Unit) -> Json:
    return {
        "sticks": plan.new_sticks,
        "cost": _cost(plan, plan.cost, unit),
        "cost_unit": "money" if plan.priced else "length",
        "bound": _cost(plan, plan.bound, unit),
        "proven": plan.proven,
        "proof": _proof(plan, unit),
        "stopped_by": plan.stopped_by,
    }


def _lengths(job: Job, plan: MaterialPlan) -> Json:
    lengths = {
        "bought_length": plan.bought_length,
        "offcut_length": plan.offcut_length,
        "used_length": plan.used_length,
        "lap_length": lap_length(job, plan),
        "kept_length": plan.kept_length,
        "scrap_length": plan.scrap_length,
    }
    told: Json = {name: to_number(ticks, job.units) for name, ticks in lengths.items()}
    return told | {"waste_percent": waste_percent([plan])}


def _cost(plan: MaterialPlan, cost: int, unit: Unit) -> int | float:
    return float(cost * plan.cost_step) if plan.priced else to_number(cost * int(plan.cost_step), unit)


def _proof(plan: MaterialPlan, unit: Unit) -> Json:
    proof = plan.proof
    told: Json = {"basis": proof.basis, "kind": proof.kind}
    if proof.text:
        told["text"] = proof.text
    if proof.values:
        told["scale"] = proof.scale
        told["values"] = [
            {
                "length": to_number(piece.length, unit),
                "needs_left": piece.needs_left,
                "needs_right": piece.needs_right,
                "value": piece.value,
            }
            for piece in proof.values
        ]
    if proof.further:
        told["further"] = [list(values) for values in proof.further]
    return told


def _settings(settings: Settings, unit: Unit) -> Json:
    def number(ticks: int | None) -> int | float | None:
        return None if ticks is None else to_number(ticks, unit)

    return {
        "lap": number(settings.lap),
        "end_gap": number(settings.end_gap),
        "kerf": number(settings.kerf),
        "lap_ends": settings.lap_ends,
        "shortest_piece": number(settings.shortest_piece),
        "lap_spacing": number(settings.lap_spacing),
        "lap_repeat": settings.lap_repeat,
        "in_line_within": number(settings.in_line_within),
        "extra_laps": settings.extra_laps,
        "keep_offcuts_from": number(settings.keep_offcuts_from),
        "spare_percent": float(settings.spare_percent),
    }
