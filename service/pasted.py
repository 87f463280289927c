"""A pasted list as a job: the lengths come from the list, what they are cut from is told beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
    """What a list does not say: the unit of bare numbers, and the stock as ``LENGTH`` or ``LENGTH=PRICE``.

    ``assume`` answers what is ambiguous throughout the list, as ``NOTATION=MEANING``.
    """

    units: Unit
    stock: Sequence[str]
    category: Category
    assume: Sequence[str] = ()


def job_of_list(text: str, beside: Beside) -> Job:
    """Return the job. Raises ``Problem`` naming each line that can't be read, or what is wrong with the stock."""
    assumed = dict(entry.split("=", 1) for entry in beside.assume if "=" in entry)
    read = read_cut_list(text, beside.units, [MATERIAL], assumed)
    errors = [*_line_errors(read), *_questions(read), *_materials(read)]
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


def _questions(read: CutList) -> Iterator[FieldError]:
    for question in read.questions:
        answers = " or ".join(f"{question.notation}={answer}" for answer in question.answers)
        yield FieldError("--assume", f"would settle {len(question.lines)} of these lines: {answers}")


def _materials(read: CutList) -> Iterator[FieldError]:
    for name in sorted({item.material for item in read.required} - {MATERIAL}):
        yield FieldError("--stock", f"is for one material, and the list names {name} too: plan each by itself")


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
