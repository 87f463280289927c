"""A pasted list as a job: the lengths come from the list, what they are cut from is told beside it.

What is wrong is named by line or by option: whoever typed a list has no use for JSON pointers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice
from typing import Any

from service.cli.shared import Beside
from service.http.problems import FieldError, Problem
from service.spreadsheets import Unreadable, is_workbook, opened
from service.wire import read_job
from solver.cutlist import ANSWERS, CutList, Item, LineKind, Question, read_cut_list
from solver.job import Job, Wall
from solver.materials import Material
from solver.required import Meets
from solver.validation import find_problems

MATERIAL = "panel"
"""What the one material of a list is called where the list does not name it."""
_MOST_REASONS = 20
_TABLES = (".csv", ".tsv")


def list_in(data: bytes, name: str) -> str:
    """Return the list that a file holds. Raises ``Problem`` where it holds none."""
    if not (is_workbook(data) or name.lower().endswith(_TABLES)):
        return data.decode("utf-8-sig", errors="replace")
    try:
        return opened(data).text
    except Unreadable as unreadable:
        raise Problem("unplannable", f"{name} can't be read: {unreadable}.") from None


def read_list(text: str, beside: Beside) -> CutList:
    """Return the list as read. Raises ``Problem`` where ``assume`` answers what is no question."""
    if strange := [entry for entry in beside.assume if not _answers(entry)]:
        known = "; ".join(f"{notation}={' or '.join(answers)}" for notation, answers in ANSWERS.items())
        errors = [FieldError(f"--assume {entry!r}", f"not an answer; use one of {known}") for entry in strange]
        raise Problem("unplannable", "The list was not read.", errors)
    return read_cut_list(text, beside.units, [MATERIAL], dict(entry.split("=", 1) for entry in beside.assume))


def _answers(entry: str) -> bool:
    notation, _, answer = entry.partition("=")
    return answer in ANSWERS.get(notation, ())


def job_of_list(read: CutList, beside: Beside) -> Job:
    """Return the job. Raises ``Problem`` naming each line that can't be read, or what is wrong with the stock."""
    if not (read.required or read.problems):
        reasons = tuple(islice(_passed_over(read), _MOST_REASONS))
        detail = "Nothing to cut was read." if reasons else "Nothing to cut was read: the list is empty."
        raise Problem("unplannable", detail, reasons)
    errors = [*_line_errors(read), *_questions(read, beside), *_materials(read)]
    if not beside.stock:
        errors.append(FieldError("--stock", 'missing: give each stock length, as in --stock "12\' 6\\"=9.80"'))
    if errors:
        raise Problem("unplannable", "The list can't be planned as it stands.", errors)
    job = Job("", beside.units, (_material(beside),), tuple(read.required), walls=_walls(read))
    if problems := find_problems(job):
        lines = [line.number for line in read.lines for _ in line.read]
        errors = [FieldError(f"line {lines[int(p.pointer.split('/')[2])]}", p.detail, p.code) for p in problems]
        raise Problem("unplannable", "The list can't be planned.", errors)
    return job


def _walls(read: CutList) -> tuple[Wall, ...]:
    return tuple(Wall(wall) for wall in dict.fromkeys(item.wall for item in read.required if item.wall))


def read_as(read: CutList) -> list[list[str]]:
    """Return for each line of pieces its number, what was written and what was read, to be compared by a person."""
    return [
        [f"line {line.number}", line.text.strip()[:60], "; ".join(map(_in_words, line.read))]
        for line in read.lines
        if line.read
    ]


def _in_words(item: Item) -> str:
    named = f" of {item.material}" if item.material else ""
    mark = f", mark {item.mark}" if item.mark else ""
    ends = (("left", item.left_end), ("right", item.right_end))
    meets = "".join(f", {end.meets} {side}" for side, end in ends if end.meets is not Meets.PLAIN)
    count = f"{item.courses} courses" if item.courses > 1 else str(item.quantity)
    return f"{count} x {item.text}{named}{mark}{meets}{', and room' if item.room else ''}"


def _passed_over(read: CutList) -> Iterator[FieldError]:
    """Yield what became of the lines of a list without pieces."""
    for line in read.lines:
        if line.text.strip():
            kind = "heading" if line.kind is LineKind.HEADING else "comment"
            yield FieldError(f"line {line.number}", f"taken as a {kind}: {line.text.strip()[:60]}")


def _line_errors(read: CutList) -> Sequence[FieldError]:
    return [
        FieldError(f"line {line.number}", f"{line.problem.detail}; {line.problem.hint}", line.problem.code)
        for line in read.problems
        if line.problem
    ]


def _questions(read: CutList, beside: Beside) -> Iterator[FieldError]:
    for question in read.questions:
        offered = " or ".join(f'"{question.notation}={answer}" ({said})' for answer, said in _offers(question, beside))
        if offered:
            count = len(question.lines)
            yield FieldError("--assume", f"{offered} would settle {count} line{'s' * (count > 1)} like this")


def _offers(question: Question, beside: Beside) -> Iterator[tuple[str, str]]:
    """Yield each answer that is among the readings found for an example, and how it reads the first such."""
    for answer in question.answers:
        read = (_read_with({question.notation: answer}, example, beside) for example in question.examples)
        if said := next(filter(None, read), ""):
            yield answer, said


def _read_with(answers: dict[str, str], text: str, beside: Beside) -> str:
    """Return how a line is read with answers, "" if that is none of the readings it had without."""
    before, after = (read_cut_list(text, beside.units, [MATERIAL], given).lines[0] for given in ({}, answers))
    found = before.problem.readings if before.problem else ()
    meant = any(item.text in found or f"{item.quantity} of {item.text}" in found for item in after.read)
    return ", ".join(map(_in_words, after.read)) if meant else ""


def _materials(read: CutList) -> Iterator[FieldError]:
    for name in sorted({item.material for item in read.required} - {MATERIAL}):
        yield FieldError("--stock", f"covers one material, but the list also names {name}: plan each separately")


def _material(beside: Beside) -> Material:
    """Have the stock read as a request's, with one piece of the shortest length there is beside it."""
    request: dict[str, Any] = {
        "units": beside.units,
        "materials": [{"id": MATERIAL, "category": beside.category, "stock": list(map(_row, beside.stock))}],
        "required": [{"material": MATERIAL, "length": "1 mm"}],
    }
    try:
        job = read_job(request)
    except Problem as problem:
        errors = [FieldError(_option(error, beside), error.detail, error.code) for error in problem.errors]
        raise Problem("unplannable", "The stock can't be read.", errors) from None
    return job.materials[0]


def _option(error: FieldError, beside: Beside) -> str:
    """Return the option that a fault of the request made of the stock is in."""
    place = next((step for step in error.pointer.split("/")[4:] if step.isdigit()), None)
    return f"--stock {beside.stock[int(place)]!r}" if place else "--stock"


def _row(entry: str) -> dict[str, str]:
    length, _, price = entry.partition("=")
    return {"id": length.strip(), "length": length.strip(), **({"price": price.strip()} if price else {})}
