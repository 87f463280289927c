"""The schema of a pasted list: its text as it came, what a bare number means, and the answers given so far."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.http.problems import FieldError, Problem, refused
from service.spreadsheets import Opened, Row, Unreadable, opened
from service.wire import limits
from service.wire.base import WireSchema, field_errors, told
from service.wire.codes import LINES
from service.wire.fields import (
    Choice,
    Code,
    Described,
    Fault,
    FileField,
    Flag,
    Id,
    Json,
    Many,
    One,
    Side,
    Text,
    Words,
    wrong,
)
from service.wire.job import UNITS_ABOUT
from service.wire.numbers import Count, LengthField, SumField
from service.wire.required import EndField, RequiredSchema, WallSchema
from solver.cutlist import ANSWERS, LASTING, CutList, Item, Line, LineKind, read_cut_list
from solver.job import Wall
from solver.lengths import Unit
from solver.required import Meets


class PastedText(Described):
    """Any text at all, within a number of lines and characters."""

    def _deserialize(self, value: object, *_: object, **__: object) -> str:
        if not isinstance(value, str):
            raise wrong("wrong_type", "must be text")
        if value.count("\n") + value.count("\r") - value.count("\r\n") >= limits.PASTED_LINES:
            raise wrong("wrong_size", f"must have {limits.PASTED_LINES} lines at most")
        if len(value) > limits.PASTED_CHARACTERS:
            raise wrong("wrong_size", f"must have {limits.PASTED_CHARACTERS} characters at most")
        return value

    def shape(self, side: Side) -> Json:
        """Any text."""
        del side
        return {"type": "string", "maxLength": limits.PASTED_CHARACTERS}


class ListFileField(FileField):
    """A list as a file."""

    def _deserialize(self, value: object, *_: object, **__: object) -> Opened:
        try:
            return opened(super()._deserialize(value))
        except Unreadable as unreadable:
            raise wrong("unreadable_file", f"the file can't be read: {unreadable}") from None


class AnswersField(Described):
    """Answers to questions about lists, by notation."""

    def __init__(self, about: str, known: Mapping[str, Sequence[str]] = ANSWERS, **settings: Any) -> None:  # noqa: ANN401
        """Take the answers that there are."""
        super().__init__(about, **settings)
        self.known = known

    def _deserialize(self, value: object, *_: object, **__: object) -> dict[str, str]:
        if not isinstance(value, dict):
            raise wrong("wrong_type", "must be an object")
        unknown = [notation for notation, said in value.items() if not self._has(notation, said)]
        if unknown:
            raise ValidationError({name: [Fault(self._expected(name), "not_a_choice")] for name in unknown})
        return value

    def _has(self, notation: str, answer: object) -> bool:
        return isinstance(answer, str) and answer in self.known.get(notation, ())

    def _expected(self, notation: str) -> str:
        if notation not in self.known:
            return f"is no notation to answer for here: {', '.join(self.known)}"
        return f"must be one of: {', '.join(self.known[notation])}"

    def shape(self, side: Side) -> Json:
        """One of the answers for each notation."""
        del side
        answers = {notation: {"type": "string", "enum": [*answers]} for notation, answers in self.known.items()}
        return {"type": "object", "properties": answers, "additionalProperties": False}


class CutListRequestSchema(WireSchema):
    """A pasted list, and how to read it."""

    text = PastedText(
        f"The list as it came, a line to a piece or as rows of a spreadsheet; at most {limits.PASTED_LINES} lines, of "
        f"which {limits.LINES} are items. Either this or `file` must be there."
    )
    file = ListFileField(
        "A list as a file in place of `text`: CSV, TSV, XLSX or ODS, told apart by what is in it. A row is a line, its "
        "cells parted by tabs; formulas count with the values stored for them, hidden sheets are not read."
    )
    units = Choice(UNITS_ABOUT, Unit, required=True)
    materials = Many(
        "Ids of materials to look for in the list; where there is one, everything is of it.",
        Id(), 0, limits.MATERIALS, default=[],
    )  # fmt: skip
    assume = AnswersField("How to read notations that are ambiguous throughout, as `questions` asked.", default={})
    customer = Text("Whose list it is: answers kept for that customer hold where `assume` gives none.", default="")

    @validates_schema
    def _one_list(self, data: Mapping[str, Any], **_: object) -> None:
        if ("text" in data) == ("file" in data):
            raise ValidationError({"text": [Fault("either this or `file` must be there, not both", "missing")]})


class ReadItemSchema(WireSchema):
    """Several identical pieces, as read from a line."""

    sent_again = False

    item = Count("Its place in `required`, from 0.")
    quantity = Count("How many pieces.")
    length = LengthField("How long each is.")
    text = Words("The same as a person would say it.")
    exact = Flag("Whether that is exactly what was written; else it was rounded to a whole tick.")
    material = Words("Id of a material looked for, else the words as written; null is none.", allow_none=True)
    mark = Words("Its mark as written; null is none.", allow_none=True)
    left_end = EndField("What its left end meets, where the line says.", sparse=True)
    right_end = EndField("What its right end meets, where the line says.", sparse=True)
    room = LengthField("Length to keep beside it, where the line says.", sparse=True)
    courses = Count("How many courses it is in, where the line counts courses; `quantity` is of each.", sparse=True)
    wall = Words("The wall of its courses, as written.", sparse=True)


class LineProblemSchema(WireSchema):
    """Why a line can't be read."""

    code = Code("Why.", LINES)
    detail = Words("The same in words.")
    hint = Words("What to write instead.")
    readings = Many("What it may mean.", Words())
    notation = Words("The notation to answer for in `assume`; null where that does not help.", allow_none=True)


class PlaceSchema(WireSchema):
    """Where a line of a file stands."""

    sheet = Words("The sheet's name; empty for a file without sheets.")
    row = Count("The row, from 1.")
    cell = Words("Address of the cell that the line's problem is about; null where it is of none.", allow_none=True)


class LineSchema(WireSchema):
    """One line of the list."""

    line = Count("Its number, from 1.")
    kind = Choice("`item`, pieces to cut; `heading`, `comment` or `blank`, which hold none.", LineKind)
    text = Words("The line as it came.")
    place = One("Where it stands in the file; left out for pasted text and lines that name a sheet.", PlaceSchema,
                sparse=True)  # fmt: skip
    read = One("The item read, the first of several; null where there is none.", ReadItemSchema, allow_none=True)
    also = Many("Further items of the line.", ReadItemSchema)
    problem = One("Why it can't be read; null where it can.", LineProblemSchema, allow_none=True)


class QuestionSchema(WireSchema):
    """A notation that is ambiguous throughout the list."""

    notation = Words("Which; the name to answer by in `assume`.")
    detail = Words("The question.")
    answers = Many("The answers there are.", Words())
    lines = Many("Lines that have it, by number.", Count())
    examples = Many("Some of them as written.", Words())


class TotalSchema(WireSchema):
    """A total that a line of the list states."""

    line = Count("The line, by number.")
    pieces = Count("The number of pieces stated; null where it can't be one.", allow_none=True)
    length = SumField("The length stated; null where it can't be one.", allow_none=True)
    agrees = Flag("Whether the lines above come to it; null where some of them are not read.", allow_none=True)
    found_pieces = Count("How many pieces the lines above come to.")
    found_length = SumField("What length the lines above come to.")


class AccountSchema(WireSchema):
    """Every line counted once, as what became of it, and the sum of what was read."""

    lines = Count("Lines of the list: the sum of the six counts that follow.")
    read = Count("Lines read into pieces.")
    asked = Count("Lines with a question: their problem has readings, or a notation to answer for.")
    refused = Count("Lines that can't be read, with the reason.")
    headings = Count("Headings and titles.")
    comments = Count("Lines of words, which hold no pieces.")
    blank = Count("Empty lines.")
    items = Count("Items read, several pieces alike each.")
    pieces = Count("Pieces read.")
    length = SumField("Their lengths together.")
    totals = Many("What the list itself states as totals.", TotalSchema)


class SettledSchema(WireSchema):
    """A notation that needs no answer."""

    notation = Words("Which.")
    answer = Words("How other lines of the list show it is meant.")


class ItemToPlanSchema(RequiredSchema):
    """An item that can be put into a request for a cut plan once it has a material."""

    material = Id("Which material, by id, where the list or its only material says.", sparse=True,
                  of=lambda item: item.material or None)  # fmt: skip


class CustomerAnswersSchema(WireSchema):
    """How a customer's lists are to be read."""

    answers = AnswersField("Answers by notation, as `questions` of a list ask for them.", LASTING, required=True)


class CutListSchema(WireSchema):
    """What a pasted list says, line by line."""

    lines = Many("Every line.", LineSchema)
    questions = Many("What must be asked once for the whole list.", QuestionSchema)
    account = One("What became of the lines, and what they come to.", AccountSchema)
    kept = Many("Notations that the customer's kept answers were taken for.", SettledSchema)
    settled = Many("Notations that would be asked about, did other lines not answer.", SettledSchema)
    walls = Many("The walls that `required` names, as a request for a cut plan takes them.", WallSchema)
    required = Many("The items, as a request for a cut plan takes them.", ItemToPlanSchema)


_SCHEMA = CutListRequestSchema()
_ANSWER = CutListSchema()
_ANSWERS = CustomerAnswersSchema()


@dataclass(frozen=True, slots=True)
class Asked:
    """A request as read: the list, the unit of bare numbers, and where each line stands in its file, if it came as one.

    ``kept`` is the customer's answers that were taken.
    """

    list: CutList
    unit: Unit
    rows: Sequence[Row | None]
    kept: Mapping[str, str]


def render_cut_list(asked: Asked) -> Json:
    """Return the answer; ``required`` can be put into a request for a cut plan once every item has a material."""
    read, rows = asked.list, asked.rows
    places = count()
    standing = rows or [None] * len(read.lines)
    lines = [_line(line, places, row) for line, row in zip(read.lines, standing, strict=True)]
    answer = {"lines": lines, "questions": read.questions, "account": read.account}
    answer |= {"kept": _pairs(asked.kept), "settled": _pairs(read.settled)}
    walls = [Wall(wall) for wall in dict.fromkeys(item.wall for item in read.required if item.wall)]
    answer |= {"walls": walls}
    return told(_ANSWER, answer | {"required": read.worded}, asked.unit)


def _pairs(answers: Mapping[str, str]) -> Sequence[Mapping[str, str]]:
    return [{"notation": notation, "answer": answer} for notation, answer in answers.items()]


def _line(line: Line, places: Iterator[int], row: Row | None) -> Mapping[str, object]:
    """Return a line; where it holds several items, ``read`` is the first and ``also`` are the others."""
    read = [_item(item, next(places)) for item in line.read]
    first = read[0] if read else None
    cell = row.address(line.problem.detail) if row and line.problem else None
    place = {"sheet": row.sheet, "row": row.number, "cell": cell} if row else None
    return {"line": line.number, "kind": line.kind, "text": line.text, "place": place, "read": first,
            "also": read[1:], "problem": line.problem}  # fmt: skip


def _item(item: Item, place: int) -> Mapping[str, object]:
    names = ("quantity", "length", "text", "exact", "material", "mark")
    ends = {"left_end": item.left_end, "right_end": item.right_end}
    asked = {name: end if end.meets is not Meets.PLAIN else None for name, end in ends.items()}
    courses = {"courses": item.courses, "wall": item.wall} if item.courses > 1 else {}
    said = {name: getattr(item, name) for name in names}
    return {"item": place} | said | asked | {"room": item.room or None} | courses


def read_pasted(body: Mapping[str, Any], answers_of: Callable[[str], Mapping[str, str]]) -> Asked:
    """Return the list as read. Raises ``Problem`` where the request is wrong. ``answers_of`` knows a customer's."""
    try:
        data = _SCHEMA.load(body)
    except ValidationError as error:
        raise Problem("unplannable", "The list can't be read.", list(_errors(error))) from None
    file: Opened = data.get("file") or Opened(data.get("text", ""), ())
    assume = data.get("assume") or {}
    kept = {name: said for name, said in answers_of(data.get("customer", "")).items() if name not in assume}
    read = read_cut_list(file.text, data["units"], data.get("materials", ()), kept | assume)
    if len(read.required) > limits.LINES:
        detail = f"has {len(read.required)} items; one plan takes {limits.LINES}: divide the list"
        too_long = FieldError("#/text", detail, "too_many_pieces")
        raise Problem("unplannable", "The list is too long for one plan.", [too_long])
    return Asked(read, data["units"], file.rows, kept)


def read_answers(body: Mapping[str, Any]) -> Mapping[str, str]:
    """Return a customer's answers. Raises ``Problem`` naming every fault."""
    try:
        answers: Mapping[str, str] = _ANSWERS.load(body)["answers"]
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    return answers


def _errors(error: ValidationError) -> list[FieldError]:
    return list(field_errors(error.messages))
