"""What would have to be bought for the pieces that no stick is left for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from solver.errors import PlanRefused, Unplannable
from solver.job import Job
from solver.plan import OrderLine
from solver.planning import plan_job
from solver.required import Required
from solver.watch import Watch
from solver.weekly.plan import Missing
from solver.weekly.state import carried_materials
from solver.weekly.week import Week

SECONDS = 5.0
"""What reckoning it may take: it is a list of few pieces, as a rule."""


def to_buy(week: Week, missing: Sequence[Missing], watch: Watch) -> tuple[OrderLine, ...]:
    """Return whole sticks that do for the pieces that are missing, cut by themselves; what there is of each counts not.

    Nothing where nothing is missing.
    """
    wanted = tuple(_wanted(week, missing))
    used = {required.material for required in wanted}
    materials = [m for m in carried_materials(week) if m.id in used]
    free = tuple(replace(m, stock=tuple(replace(row, available=None) for row in m.stock)) for m in materials)
    job = Job("missing", week.units, free, wanted, seconds=max(1.0, min(SECONDS, watch.left)))
    try:
        return plan_job(job, watch.clock, watch.cancelled).order if wanted else ()
    except (Unplannable, PlanRefused):
        # the week has its plan; this is a word beside it
        return ()


def _wanted(week: Week, missing: Sequence[Missing]) -> Iterator[Required]:
    """Yield each item with as many pieces as are missing of it; of a run it is the whole run."""
    counts = Counter[tuple[str, int]]()
    for entry in missing:
        counts[entry.job, entry.item] += entry.quantity
    for job in week.jobs:
        for item, required in enumerate(job.required):
            if count := counts[job.id, item]:
                yield replace(required, quantity=count, courses=1, first_course=None, wall=None, keep_clear=())
