"""How much of what is consumed is not in pieces, and how much of the pieces lies in laps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from solver.allowances import of_pieces
from solver.job import Job
from solver.plan import MaterialPlan
from solver.required import Meets, Required
from solver.runs import Run


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
    lap, runs = max(0, of_pieces(material).lap), {run.item for run in plan.runs}
    pieces = Counter[int]()
    for _, stick, count in plan.alike():
        for piece in stick.pieces:
            pieces[piece.item] += count * (piece.item not in runs)
    single = sum(times * lap * _lapped_ends(job.required[item]) for item, times in pieces.items())
    return single + sum(max(0, run.lap) * _laps(job, run) for run in plan.runs)


def _laps(job: Job, run: Run) -> int:
    return len(run.pieces) - 1 + _lapped_ends(job.required[run.item])


def _lapped_ends(required: Required) -> int:
    return sum(end.meets is Meets.LAP for end in (required.left_end, required.right_end))
