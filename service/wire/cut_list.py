"""The schema of a pasted list: its text as it came, what a bare number means, and the answers given so far."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields, validate

from service.problems import FieldError, Problem
from service.wire import limits
from service.wire.base import RequestSchema, field_errors
from service.wire.fields import Choice, Text
from solver.cutlist import ANSWERS, CutList, read_cut_list
from solver.lengths import Unit


class PastedText(fields.Field[str]):
    """Any text at all, within a number of lines."""

    def _deserialize(self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object) -> str:
        del attr, data
        if not isinstance(value, str):
            raise ValidationError("must be text")
        if value.count("\n") + value.count("\r") - value.count("\r\n") >= limits.PASTED_LINES:
            raise ValidationError(f"must have {limits.PASTED_LINES} lines at most")
        return value


class AnswersField(fields.Field[dict[str, str]]):
    """Answers to questions about a list, by notation."""

    def _deserialize(
        self, value: object, attr: str | None, data: Mapping[str, Any] | None, **_: object
    ) -> dict[str, str]:
        del attr, data
        if not isinstance(value, dict):
            raise ValidationError("must be an object")
        wrong = {notation: [_expected(notation)] for notation, said in value.items() if not _known(notation, said)}
        if wrong:
            raise ValidationError(wrong)
        return value


def _known(notation: str, answer: object) -> bool:
    return isinstance(answer, str) and answer in ANSWERS.get(notation, ())


def _expected(notation: str) -> str:
    if notation not in ANSWERS:
        return f"is no notation to ask about: {', '.join(ANSWERS)}"
    return f"must be one of: {', '.join(ANSWERS[notation])}"


class CutListSchema(RequestSchema):
    """A pasted list; ``materials`` are the ids to look for, ``assume`` answers what is ambiguous throughout."""

    text = PastedText(required=True)
    units = Choice(Unit, required=True)
    materials = fields.List(
        Text(1, limits.ID),
        validate=validate.Length(0, limits.MATERIALS, error="must have {max} entries at most"),
    )
    assume = AnswersField()


_SCHEMA = CutListSchema()


def read_pasted(body: Mapping[str, Any]) -> tuple[CutList, Unit]:
    """Return the list as read, and its unit. Raises ``Problem`` where the request itself is wrong."""
    try:
        data = _SCHEMA.load(body)
    except ValidationError as error:
        raise Problem("unplannable", "The list can't be read.", list(_errors(error))) from None
    read = read_cut_list(data["text"], data["units"], data.get("materials", ()), data.get("assume"))
    if len(read.required) > limits.LINES:
        detail = f"has {len(read.required)} items; one plan takes {limits.LINES}: divide the list"
        raise Problem("unplannable", "The list is too long for one plan.", [FieldError("#/text", detail)])
    return read, data["units"]


def _errors(error: ValidationError) -> list[FieldError]:
    return list(field_errors(error.messages))
