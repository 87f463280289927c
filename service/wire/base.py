"""What all schemas of the wire share, and how faults of a request become fields with JSON pointers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from functools import cached_property
from itertools import islice
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, missing
from marshmallow.exceptions import SCHEMA
from marshmallow.fields import Field

from service.http.problems import MOST_ERRORS, FieldError
from service.wire import limits
from service.wire.fields import Fault, as_it_is
from service.wire.numbers import in_units
from solver.categories import DEFAULTS
from solver.lengths import Unit, say

_OURS = {
    "Missing data for required field.": Fault("is missing", "missing"),
    "Field may not be null.": Fault("must not be null", "null"),
    "Invalid input type.": Fault("must be an object", "wrong_type"),
    "Not a valid list.": Fault("must be a list", "wrong_type"),
}
"""Marshmallow's own messages, in the words used here, with their codes."""
_LONGEST_COMPARED = 40
"""A longer name is no slip of the hand."""


class Misnamed(Fault):
    """A name that is none of those known. The one it was meant to be is sought only when the fault is told."""

    name: str
    known: Iterable[str]

    @classmethod
    def of(cls, detail: str, code: str, name: str, known: Iterable[str]) -> Misnamed:
        """Return the fault of a name that ``known`` has not."""
        fault = cls(detail, code)
        fault.name, fault.known = name, known
        return fault

    @property
    def question(self) -> str:
        """A question for the known name that a slip of the hand may have made this one of, or no words."""
        near = get_close_matches(self.name, self.known, n=1, cutoff=0.75) if len(self.name) <= _LONGEST_COMPARED else []
        return f"; did you mean {near[0]}?" if near else ""


class WireSchema(Schema):
    """The one description of a resource: what is read, what is written, and what the contract says of it.

    The first paragraph of its docstring stands in the contract. A field that is ``dump_only`` is only answered.
    """

    class Meta:
        """Unknown fields are faults."""

        unknown = RAISE

    def get_attribute(self, obj: Any, attr: str, default: Any) -> Any:  # noqa: ANN401
        """Return an attribute, or an entry where figures were put together by name."""
        return obj.get(attr, default) if isinstance(obj, dict) else getattr(obj, attr, default)

    either: tuple[tuple[str, ...], ...] = ()
    """Groups of fields of which one must be there whole; none for what is simply required."""
    as_given = False
    """Whether answers leave out what nobody gave."""
    sent_again = True
    """Whether what it writes is meant to be sent again, so that lengths and amounts are written exactly."""

    def load(self, data: Any, **settings: Any) -> Any:  # noqa: ANN401
        """Read an object, or several; of unknown fields no more are looked at than are told of.

        A body of some megabytes may have some hundred thousand of them.
        """
        if isinstance(data, dict) and len(data) > len(self.load_fields) + MOST_ERRORS:
            known = {field.data_key or name for name, field in self.load_fields.items()}
            looked_at = {*known, *islice((name for name in data if name not in known), MOST_ERRORS + 1)}
            data = {name: value for name, value in data.items() if name in looked_at}
        return super().load(data, **settings)

    def handle_error(self, error: ValidationError, data: Any, *, many: bool, **kwargs: Any) -> None:  # noqa: ANN401, ARG002
        """Name, beside an unknown field, the one that it may have been meant to be. Called for each object read."""
        messages: Any = error.messages
        for of_one in messages.values() if many and isinstance(messages, dict) else [messages]:
            for name, said in of_one.items() if isinstance(of_one, dict) else ():
                if said == ["Unknown field."]:
                    of_one[name] = [Misnamed.of("unknown field", "unknown_field", str(name), self.load_fields)]

    def dump(self, obj: Any, *, many: bool | None = None) -> Any:  # noqa: ANN401
        """Return an object, or ``many``, as JSON.

        This takes the short way, without hooks: large plans have a million values, most of them plain attributes.
        """
        if self.many if many is None else many:
            return [self.dump(entry, many=False) for entry in obj]
        answer: dict[str, Any] = {}
        get = self.get_attribute
        for name, key, field in self._answered:
            value = get(obj, name, missing) if field is None else field.serialize(name, obj, get)
            if value is not missing:
                answer[key] = value
        return answer

    @cached_property
    def _answered(self) -> list[tuple[str, str, Field[Any] | None]]:
        """What is answered, by attribute and name; without its field where a value is written as it is."""
        return [
            (name, field.data_key or name, None if as_it_is(field) else field)
            for name, field in self.dump_fields.items()
        ]


class AnsweredSchema(WireSchema):
    """What is only answered, never sent again."""

    sent_again = False


def told(schema: WireSchema, value: object, units: Unit) -> dict[str, Any]:
    """Return a resource as JSON with its lengths in ``units``."""
    with in_units(units):
        answer: dict[str, Any] = schema.dump(value)
    return answer


def field_errors(messages: object, pointer: str = "#") -> Iterator[FieldError]:
    """Yield every fault in marshmallow's messages with its pointer, in the order of the body."""
    if isinstance(messages, Mapping):
        for name, below in sorted(messages.items(), key=_place):
            yield from field_errors(below, pointer if name == SCHEMA else f"{pointer}/{_escaped(name)}")
    elif isinstance(messages, list | tuple):
        for message in messages:
            yield from field_errors(message, pointer)
    else:
        yield _field_error(messages, pointer)


def put(errors: dict[Any, Any], path: tuple[str | int, ...], message: Fault) -> None:
    """Add a message to a tree of marshmallow's messages at a path.

    A place may have faults of its own and others below it: its own then stand beside those, under marshmallow's name
    for messages of a whole.
    """
    below = errors
    for step in path:
        below = below.setdefault(step, {})
    below.setdefault(SCHEMA, []).append(message)


def refuse(errors: dict[Any, Any]) -> None:
    """Raise the collected messages, if there are any."""
    if errors:
        raise ValidationError(errors)


def _field_error(message: object, pointer: str) -> FieldError:
    fault = message if isinstance(message, Fault) else _OURS.get(str(message), Fault(str(message), "wrong_form"))
    question = fault.question if isinstance(fault, Misnamed) else ""
    return FieldError(pointer, f"{fault}{question}", fault.code, fault.readings)


def _place(entry: tuple[object, object]) -> tuple[bool, int, str]:
    name = entry[0]
    return (isinstance(name, int), name if isinstance(name, int) else 0, str(name))


def _escaped(name: object) -> str:
    return str(name).replace("~", "~0").replace("/", "~1")


def by_category(name: str) -> str:
    """Say the default of a setting for each category, from the solver's own table."""
    values: dict[str, list[str]] = {}
    for category, settings in DEFAULTS.items():
        values.setdefault(_said(getattr(settings, name)), []).append(category)
    if len(values) == 1:
        return f"Default {next(iter(values))}."
    told = "; ".join(f"{value} for {', '.join(categories)}" for value, categories in values.items())
    return f"Default by category: {told}."


def _said(value: object) -> str:
    if value is None:
        return "null"
    return say(value, Unit.IN) if isinstance(value, int) and abs(value) > limits.REPEAT else str(value)
