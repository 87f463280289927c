"""A pasted list as the contract has it: every line with what was read or why not, and the items to plan."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from typing import Any

from service.rendering.request import render_end, render_required
from solver.cutlist import CutList, Item, Line, Problem, Question
from solver.lengths import Unit, to_number
from solver.required import Meets

Json = dict[str, Any]


def render_cut_list(read: CutList, unit: Unit) -> Json:
    """Return the answer; ``required`` can be put into a request for a cut plan once every item has a material."""
    places = count()
    return {
        "lines": [_line(line, unit, places) for line in read.lines],
        "questions": [_question(question) for question in read.questions],
        "required": [_required(item) for item in (render_required(required, unit) for required in read.required)],
    }


def _required(item: Json) -> Json:
    return {name: value for name, value in item.items() if name != "material" or value}


def _line(line: Line, unit: Unit, places: Iterator[int]) -> Json:
    """Return a line; where it holds several items, ``read`` is the first and ``also`` are the others."""
    read = [_item(item, unit, next(places)) for item in line.read]
    return {
        "line": line.number,
        "kind": line.kind,
        "text": line.text,
        "read": read[0] if read else None,
        "also": read[1:],
        "problem": _problem(line.problem) if line.problem else None,
    }


def _item(item: Item, unit: Unit, place: int) -> Json:
    told: Json = {
        "item": place,
        "quantity": item.quantity,
        "length": to_number(item.length, unit),
        "text": item.text,
        "exact": item.exact,
        "material": item.material,
        "mark": item.mark,
    }
    ends = {"left_end": item.left_end, "right_end": item.right_end}
    told |= {name: render_end(end) for name, end in ends.items() if end.meets is not Meets.PLAIN}
    return told | {"room": to_number(item.room, unit)} if item.room else told


def _problem(problem: Problem) -> Json:
    told: Json = {"code": problem.code, "detail": problem.detail, "hint": problem.hint}
    return told | {"readings": list(problem.readings), "notation": problem.notation}


def _question(question: Question) -> Json:
    return {
        "notation": question.notation,
        "detail": question.detail,
        "answers": list(question.answers),
        "lines": list(question.lines),
        "examples": list(question.examples),
    }
