"""What a JSON Schema allows, in the words of the reference."""

from __future__ import annotations

import pytest

from service.documentation.reference import shape_of
from service.wire.fields import Json

REF = {"$ref": "#/components/schemas/Length"}
LINK = '<a href="/docs/fields#Length">Length</a>'


@pytest.mark.parametrize(("schema", "words"), [
    ({"type": "string", "minLength": 1, "maxLength": 40}, "string, 40 characters at most"),
    ({"type": "integer", "minimum": 1, "maximum": 9}, "integer, from 1 to 9"),
    ({"type": "number", "exclusiveMinimum": 0, "maximum": 600}, "number, more than 0, to 600"),
    ({"type": ["string", "number"], "minimum": 0, "maximum": 100, "maxLength": 20}, "string or number, from 0 to 100"),
    ({"type": "string", "format": "date"}, "string, a date"),
    ({"type": "string", "format": "date-time"}, "string, a date and time"),
    ({"type": "string", "anyOf": [{"format": "date-time"}, {"format": "date"}]}, "string"),
    ({"anyOf": [REF, {"type": "null"}]}, f"{LINK} or null"),
    ({"type": "array", "items": REF}, f"list of {LINK}"),
    ({"type": "string", "enum": ["in", "mm"]}, "one of the words told"),
    ({"enum": ["letter", "a4"]}, "one of the words told"),
    ({"type": "string", "pattern": "<b>"}, "string"),
    ({}, "anything"),
])  # fmt: skip
def test_a_shape_is_said_in_words(schema: Json, words: str) -> None:
    """Types, limits and choices; objects by a link to their fields."""
    assert shape_of(schema) == words
