"""Fields of the wire: each reads a value, writes it back, and says in the contract what it is.

A field refuses what it can't take in words a person can act on. ``asked`` is the request's side of the contract,
the other side is the answer's.
"""

from __future__ import annotations

import unicodedata
from base64 import b64decode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any

from marshmallow import Schema, ValidationError, fields, missing, validate
from marshmallow.exceptions import SCHEMA

from service.http.problems import MOST_ERRORS
from service.wire import limits

Json = dict[str, Any]
NO_CONTROL = r"^[^\u0000-\u001f\u007f-\u009f]*$"
"""Pattern of a text without control characters."""
NO_CONTROL_BUT_TABS = r"^[^\u0000-\u0008\u000a-\u001f\u007f-\u009f]*$"


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the contract: of requests (``asked``) or of answers; ``ref`` refers to a schema's component there."""

    asked: bool
    ref: Callable[[type[Schema]], Json]


class Described(fields.Field[Any]):
    """A field with what the contract says ``about`` it.

    ``of`` gives its value from the object answered, where that is not simply the attribute of its name. A ``sparse``
    one is left out of answers where it is null or an empty list. ``label`` is what the page calls it, if it shows it.
    """

    def __init__(
        self,
        about: str = "",
        *args: Any,  # noqa: ANN401 - handed on to marshmallow
        of: Callable[[Any], object] | None = None,
        sparse: bool = False,
        default: object = missing,
        label: str = "",
        **settings: Any,  # noqa: ANN401
    ) -> None:
        told = {name: text for name, text in (("description", about), ("label", label)) if text}
        metadata = told | ({} if default is missing else {"default": default})
        super().__init__(*args, metadata=metadata, **settings)
        self.of, self.sparse = of, sparse

    @property
    def sent_again(self) -> bool:
        """Whether what it writes is meant to be sent again, so that it must be exact."""
        return getattr(self.root, "sent_again", True)

    def serialize(self, attr: str, obj: Any, accessor: Any = None, **settings: Any) -> Any:  # noqa: ANN401
        """Return the value as JSON, ``missing`` where there is nothing to say.

        This takes the short way: large plans have a million values.
        """
        value = self.of(obj) if self.of else accessor(obj, attr, missing)
        if value is missing:
            return missing
        told = self._serialize(value, attr, obj, **settings)
        return missing if self.sparse and told in (None, []) else told

    def shape(self, side: Side) -> Json:
        """Return the JSON Schema of a value on one side of the contract, without null and without words."""
        del side
        return {}

    def keeps_to(self, side: Side) -> str:
        """Return in words what a value must keep to on one side of the contract; empty where the shape says it all."""
        del side
        return ""


def as_it_is(field: fields.Field[Any]) -> bool:
    """Whether a field writes any value as it is, nulls too, so that it need not be asked."""
    own = type(field)._serialize is not fields.Field._serialize  # noqa: SLF001 - what a subclass may override
    return not own and isinstance(field, Described) and field.of is None and not field.sparse


class Size(validate.Length):
    """How many entries a list may have, as a fault with its code."""

    def _format_error(self, value: Any, message: str) -> Fault:  # noqa: ANN401
        return Fault(super()._format_error(value, message), "wrong_size")


class One(Described, fields.Nested):
    """An object of its own schema: ``One(about, schema)``."""


class Many(Described, fields.List[Any]):
    """A list of ``least`` to ``most`` entries, each of a schema or a field: ``Many(about, schema, least, most)``."""

    def __init__(
        self,
        about: str,
        entry: type[Schema] | fields.Field[Any],
        least: int = 0,
        most: int | None = None,
        *,
        what: str = "entries",
        words: str = "",
        **settings: Any,  # noqa: ANN401
    ) -> None:
        inner = fields.Nested(entry) if isinstance(entry, type) else entry
        self.most = most
        if most is not None:
            size = f"must have from {least} to {most} {what}" if least else f"must have {most} {what} at most"
            settings["validate"] = Size(least, most, error=words or size)
        super().__init__(about, inner, **settings)

    def _deserialize(self, value: object, *_: object, **settings: Any) -> list[Any]:  # noqa: ANN401
        """Look into no entry of a list that is too long, and no further than enough entries are faulty.

        What costs a caller three bytes must not cost the server a schema: a megabyte may hold 300,000 entries.
        """
        if not isinstance(value, list):
            raise self.make_error("invalid")
        if self.most is not None and len(value) > self.most:
            self._validate(value)
        loaded: list[Any] = []
        faults: dict[int, Any] = {}
        for place, entry in enumerate(value):
            try:
                loaded.append(self.inner.deserialize(entry, **settings))
            except ValidationError as error:
                loaded += [] if error.valid_data is None else [error.valid_data]
                faults[place] = error.messages
                if len(faults) > MOST_ERRORS:
                    break
        if faults:
            raise ValidationError(faults, valid_data=loaded)
        return loaded


class Flag(Described):
    """True or false, and nothing that merely looks so."""

    def _deserialize(self, value: object, *_: object, **__: object) -> bool:
        if not isinstance(value, bool):
            raise wrong("wrong_type", "must be true or false")
        return value

    def shape(self, side: Side) -> Json:
        """True or false."""
        del side
        return {"type": "boolean"}


class Companion(Described):
    """An object that travels with a request and is not looked at: what a take-off says beside its items."""

    def _deserialize(self, value: object, *_: object, **__: object) -> None:
        if not isinstance(value, dict):
            raise wrong("wrong_type", "must be an object")

    def shape(self, side: Side) -> Json:
        """Any object."""
        del side
        return {"type": "object"}


class Text(Described):
    """A text of limited length without control characters."""

    def __init__(self, about: str = "", least: int = 0, most: int = limits.TEXT, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, **settings)
        self.least, self.most = least, most

    def _deserialize(self, value: object, *_: object, **__: object) -> str:
        if not isinstance(value, str):
            raise wrong("wrong_type", "must be text")
        if not self.least <= len(value) <= self.most:
            raise wrong("wrong_size", f"must have from {self.least} to {self.most} characters")
        if any(unicodedata.category(character) == "Cc" for character in value):
            raise wrong("control_character", "must not hold control characters")
        return value

    def shape(self, side: Side) -> Json:
        """Text within the limits."""
        del side
        return {"type": "string", "minLength": self.least, "maxLength": self.most, "pattern": NO_CONTROL}


class Written(Text):
    """A line as somebody wrote it, with its tabs."""

    def __init__(self, about: str = "", **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, 0, limits.WRITTEN, **settings)

    def _deserialize(self, value: object, *names: object, **settings: object) -> str:
        super()._deserialize(value.replace("\t", " ") if isinstance(value, str) else value, *names, **settings)
        return str(value)

    def shape(self, side: Side) -> Json:
        """Text within the limit; a tab is no control character here."""
        return {**super().shape(side), "pattern": NO_CONTROL_BUT_TABS}


class Id(Text):
    """A name that other parts of a request refer to."""

    def __init__(self, about: str = "", **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, 1, limits.ID, **settings)


class Words(Described):
    """Text that is only answered."""

    def shape(self, side: Side) -> Json:
        """Any text."""
        del side
        return {"type": "string"}


class Code(Described):
    """A word for programs to branch on: ``codes`` names each and says when it is given."""

    def __init__(self, about: str, codes: Mapping[str, str], **settings: Any) -> None:  # noqa: ANN401
        meanings = "; ".join(f"`{code}`: {meaning}" for code, meaning in codes.items())
        super().__init__(f"{about} {meanings}.", **settings)
        self.codes = codes

    def shape(self, side: Side) -> Json:
        """One of the codes."""
        del side
        return {"type": "string", "enum": [*self.codes]}


class FileField(Described):
    """A file's bytes in base64."""

    def _deserialize(self, value: object, *_: object, **__: object) -> Any:  # noqa: ANN401 - bytes, or what is read
        if not isinstance(value, str):
            raise wrong("wrong_type", "must be text in base64")
        try:
            return b64decode(value, validate=True)
        except ValueError:
            raise wrong("wrong_type", "must be text in base64") from None

    def shape(self, side: Side) -> Json:
        """Text in base64."""
        del side
        return {"type": "string", "contentEncoding": "base64"}


class Moment(Described):
    """A moment in UTC, to the millisecond, as RFC 3339 writes it."""

    def _serialize(self, value: datetime | None, *_: object, **__: object) -> str | None:
        if value is None:
            return None
        return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

    def shape(self, side: Side) -> Json:
        """A date and time."""
        del side
        return {"type": "string", "format": "date-time"}


class DateField(Described):
    """A date as ISO 8601 writes it, ``2026-11-23``."""

    def _deserialize(self, value: object, *_: object, **__: object) -> date:
        found = date_of(value)
        if found is None:
            raise wrong("wrong_form", 'must be a date, as in "2026-11-23"')
        return found

    def _serialize(self, value: date | None, *_: object, **__: object) -> str | None:
        return None if value is None else value.isoformat()

    def shape(self, side: Side) -> Json:
        """A date."""
        del side
        return {"type": "string", "format": "date"}


def date_of(value: object) -> date | None:
    """Return the date an ISO text stands for, or None."""
    try:
        return date.fromisoformat(value) if isinstance(value, str) and len(value) == 10 else None
    except ValueError:
        return None


class Choice(Described):
    """One word of an enumeration; ``without`` takes words out."""

    def __init__(self, about: str, words: type[StrEnum], without: Sequence[StrEnum] = (), **settings: Any) -> None:  # noqa: ANN401
        super().__init__(about, **settings)
        self.words = [word for word in words if word not in without]

    def _deserialize(self, value: object, *_: object, **__: object) -> StrEnum:
        for word in self.words:
            if word == value:
                return word
        raise wrong("not_a_choice", f"must be one of: {', '.join(self.words)}")

    def shape(self, side: Side) -> Json:
        """One of the words."""
        del side
        return {"type": "string", "enum": [str(word) for word in self.words]}


class Fault(str):
    """A message that also carries a code, and the readings of an ambiguous length."""

    __slots__ = ("code", "readings")

    def __new__(cls, detail: str, code: str, readings: tuple[str, ...] = ()) -> Fault:  # noqa: PYI034
        """Return the message with its code and readings."""
        fault = super().__new__(cls, detail)
        fault.code, fault.readings = code, readings
        return fault

    code: str
    readings: tuple[str, ...]


def wrong(code: str, detail: str, field: str = SCHEMA) -> ValidationError:
    """Return an error with one fault, in a field of what is read or in the whole of it."""
    return ValidationError([Fault(detail, code)], field)
