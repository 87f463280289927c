"""A pasted list as a job: the lengths come from the list, what they are cut from is told beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from service.problems import FieldError, Problem
from service.schemas import read_job
from solver.cutlist import CutList, read_cut_list
from solver.impossible import find_problems
from solver.job import Job
from solver.lengths import Unit
from solver.materials import Category

MATERIAL = "panel"
"""What the one material of a list is called where the list does not name it."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a list does not say: the unit of bare numbers, and the stock as ``LENGTH`` or ``LENGTH=PRICE``."""

    units: Unit
    stock: Sequence[str]
    category: Category


def job_of_list(text: str, beside: Beside) -> Job:
    """Return the job. Raises ``Problem`` naming each line that can't be read, or what is wrong with the stock."""
    read = read_cut_list(text, beside.units, [MATERIAL])
    errors = list(_line_errors(read))
    if not beside.stock:
        errors.append(FieldError("--stock", 'is missing: name each length to cut from, as in --stock "12\' 6\\"=9.80"'))
    if errors or not read.required:
        raise Problem("unplannable", "The list can't be planned as it stands.", errors)
    job = _with_stock(read, beside)
    if problems := find_problems(job):
        raise Problem("unplannable", "The list can't be planned.", [FieldError(p.pointer, p.detail) for p in problems])
    return job


def _line_errors(read: CutList) -> Sequence[FieldError]:
    return [
        FieldError(f"line {line.number}", line.problem.detail, line.problem.code, line.problem.readings)
        for line in read.problems
        if line.problem
    ]


def _with_stock(read: CutList, beside: Beside) -> Job:
    """Have the stock read as a request's, with one piece of the shortest length there is, then put the list in."""
    rows = [_row(entry) for entry in beside.stock]
    request: dict[str, Any] = {
        "units": beside.units,
        "materials": [{"id": MATERIAL, "category": beside.category, "stock": rows}],
        "required": [{"material": MATERIAL, "length": "1 mm"}],
    }
    job = read_job(request)
    return Job("", job.units, job.materials, tuple(read.required))


def _row(entry: str) -> dict[str, str]:
    length, _, price = entry.partition("=")
    return {"id": length.strip(), "length": length.strip(), **({"price": price.strip()} if price else {})}
