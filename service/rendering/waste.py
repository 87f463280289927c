"""How much of what is consumed is not in pieces, and how much of the pieces lies in laps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from solver.demand import widest_allowances
from solver.job import Job
from solver.plan import MaterialPlan
from solver.required import Meets, Required


def waste_percent(parts: Iterable[MaterialPlan]) -> float:
    """Return what is consumed and not in pieces, in percent of what is consumed; kept offcuts count as waste."""
    consumed = used = 0
    for part in parts:
        consumed += part.bought_length + part.offcut_length
        used += part.used_length
    return round(100 * (consumed - used) / consumed, 2) if consumed else 0.0


def lap_length(job: Job, plan: MaterialPlan) -> int:
    """Return the length that lies under other panels, in ticks: a lap for each lapped end and each lap in a run."""
    material = next(material for material in job.materials if material.id == plan.material)
    lap, _ = widest_allowances(material)
    return max(0, lap or 0) * sum(_laps(job, plan))


def _laps(job: Job, plan: MaterialPlan) -> Iterator[int]:
    runs = {run.item for run in plan.runs}
    for run in plan.runs:
        yield len(run.pieces) - 1 + _lapped_ends(job.required[run.item])
    for _, stick in plan.sticks():
        yield sum(_lapped_ends(job.required[piece.item]) for piece in stick.pieces if piece.item not in runs)


def _lapped_ends(required: Required) -> int:
    return sum(end.meets is Meets.LAP for end in (required.left_end, required.right_end))
