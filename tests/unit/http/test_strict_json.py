"""Bodies as strict JSON: what is refused is refused in plain words, and in one pass over the body."""

from __future__ import annotations

import json

import pytest
from marshmallow import ValidationError, fields

from service.http.problems import Problem
from service.http.strict_json import parse
from service.wire import read_job
from service.wire.base import WireSchema
from tests.support.shed import SHED


def refused(data: bytes) -> str:
    """Return what is said of bytes that are no strict JSON."""
    with pytest.raises(Problem) as caught:
        parse(data)
    assert caught.value.kind == "not-json"
    return caught.value.detail


@pytest.mark.timeout(30)
def test_a_key_that_stands_twice_is_found_in_one_pass() -> None:
    """Sixty thousand keys and the last of them again: comparing each with every other would take minutes."""
    keys = [f"k{number}" for number in range(60_000)]
    body = "{" + ",".join(f'"{key}":1' for key in (*keys, keys[-1])) + "}"
    assert refused(body.encode()) == 'The body is not JSON: the key "k59999" stands twice in one object.'


def test_the_first_key_that_comes_again_is_named() -> None:
    """Of several keys that stand twice, the one whose second place comes first in the body."""
    assert '"b"' in refused(b'{"a": 1, "b": 2, "b": 3, "a": 4}')


@pytest.mark.timeout(30)
def test_seventy_thousand_unknown_fields_are_told_of_in_one_pass() -> None:
    """The first ones are listed, and none is compared with every other."""
    body = parse(json.dumps({**SHED, **{f"k{number}": 1 for number in range(70_000)}}).encode())
    with pytest.raises(Problem) as caught:
        read_job(body)
    told = caught.value.body()
    assert told["detail"] == "The request has more than 200 errors. The first 200 are listed."


class OddSchema(WireSchema):
    """A field that is called otherwise in JSON."""

    source = fields.Integer(data_key="from", required=True)


@pytest.mark.parametrize("known", [{"from": 3}, {}])
def test_a_known_field_is_read_among_any_number_of_unknown_ones(known: dict[str, int]) -> None:
    """Of a thousand unknown ones, one more than is told of is looked at; whether the known one is there is seen."""
    with pytest.raises(ValidationError) as caught:
        OddSchema().load({**{f"k{number}": 1 for number in range(1_000)}, **known})
    messages = set(caught.value.messages)
    assert ("from" in messages, len(messages - {"from"})) == (not known, 201)


@pytest.mark.parametrize(("data", "words"), [
    (b"\xef\xbb\xbf{}", "it begins with a byte order mark; send UTF-8 without one"),
    (b"\x1f\x8b\x08\x00", "byte 1 is not UTF-8"),
    ('{"a": 1}'.encode("utf-16-le"), "a key in quotes is missing at line 1, column 2"),
    (b"", "a value is missing at line 1, column 1"),
    (b'{"a": }', "a value is missing at line 1, column 7"),
    (b'{"a" 1}', "a colon is missing at line 1, column 6"),
    (b'{"a": 1 "b"}', "a comma is missing at line 1, column 9"),
    (b"{a: 1}", "a key in quotes is missing at line 1, column 2"),
    (b'{"a": "b}', "a text has no closing quote at line 1, column 7"),
    (b'{"a": "\x01"}', "a text holds a control character at line 1, column 8"),
    (b'{"a": "\\x"}', "a text holds a backslash that means nothing at line 1, column 8"),
    (b'{"a": "\\u12"}', "a text holds a backslash that means nothing at line 1, column 9"),
    (b"{} {}", "there is more after its end at line 1, column 4"),
    (b'{"a": NaN}', "NaN is no JSON number"),
    (b"[" * 100_000, "it is nested too deep"),
    (b'"\\ud800"', "a text holds half a surrogate pair"),
])  # fmt: skip
def test_what_is_no_json_is_said_in_our_words(data: bytes, words: str) -> None:
    """No word of the library that read it; where it is, by line and column."""
    assert refused(data) == f"The body is not JSON: {words}."
