"""A plan gone on with: what was cut stays as it is, and the rest becomes a job of its own.

What is still wanted is in ``wanted``, what of the sticks is at hand for it in ``at_hand``. Nobody plans here: the
job is planned like any other, so what must still be bought is its order.
"""

from __future__ import annotations

from dataclasses import replace

from solver.continuing.at_hand import offcuts_left, rows_left
from solver.continuing.report import Report
from solver.continuing.wanted import still_wanted
from solver.job import Job
from solver.plan import CutPlan

__all__ = ["Report", "rest_of"]


def rest_of(job: Job, plan: CutPlan, report: Report, name: str) -> Job:
    """Return the job of what is still to be cut, from what is left; what is left of a stick is called after ``name``.

    What lay on the rack is not in it: it is looked up anew. What the job needs besides was ordered with the plan.
    """
    materials = tuple(replace(each, stock=tuple(rows_left(each, plan))) for each in job.materials)
    rest = replace(job, materials=materials, goods=())
    required, offcuts = still_wanted(rest, plan, report), offcuts_left(job, plan, report, name)
    return replace(rest, required=tuple(required), offcuts=tuple(offcuts))
