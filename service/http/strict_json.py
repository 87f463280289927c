"""Reading a body as strict JSON: UTF-8, one value, no key twice, no NaN, decimals exact."""

from __future__ import annotations

import json
from codecs import BOM_UTF8
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from hashlib import sha256
from typing import Any

from service.http.problems import FieldError, Problem

_LONG = 30
_CHARSETS = ("", "utf-8", "utf8", "us-ascii", "ascii")
"""What a charset may say of a body that is UTF-8; JSON itself knows no other (RFC 8259, 8.1)."""
_WORDS = (
    ("Expecting value", "a value is missing"),
    ("Expecting property name", "a key in quotes is missing"),
    ("Expecting ':'", "a colon is missing"),
    ("Expecting ','", "a comma is missing"),
    ("Unterminated string", "a text has no closing quote"),
    ("Invalid control character", "a text holds a control character"),
    ("Invalid \\", "a text holds a backslash that means nothing"),
    ("Extra data", "there is more after its end"),
    ("Illegal trailing comma", "a comma has nothing after it"),
)
"""How the library's messages begin, and what is said here."""


def read_body() -> dict[str, Any]:
    """Return the request's body, which must be a JSON object; numbers with a point are ``Decimal``.

    Raises ``Problem`` for everything else.
    """
    from flask import request  # noqa: PLC0415 - the command that plans without a server reads JSON too

    if request.content_length is None:
        raise Problem("length-required", "A body must come with its Content-Length.")
    if request.mimetype != "application/json":
        raise Problem("not-accepted", "The body must be sent as application/json.")
    if request.mimetype_params.get("charset", "").lower() not in _CHARSETS:
        raise Problem("not-accepted", "The body must be UTF-8, and its charset, if it names one, utf-8.")
    coding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if coding != "identity":
        detail = f"The body must be sent as it is, not in the content coding {coding[:40]}."
        raise Problem("not-accepted", detail, headers={"Accept-Encoding": "identity"})
    return require_object(parse(request.get_data(cache=False)))


def require_object(value: object) -> dict[str, Any]:
    """Return the value, which must be a JSON object. Raises ``Problem`` where it is none."""
    if not isinstance(value, dict):
        wrong = FieldError("#", "must be an object", "wrong_type")
        raise Problem("unplannable", "A request must be a JSON object.", [wrong])
    return value


def parse(data: bytes) -> Any:  # noqa: ANN401 - JSON is anything
    """Return what the bytes say as strict JSON. Raises ``Problem`` where they are none."""
    if data.startswith(BOM_UTF8):
        raise _not_json("it begins with a byte order mark; send UTF-8 without one")
    try:
        value = json.loads(
            data.decode("utf-8"),
            object_pairs_hook=_object,
            parse_constant=_refuse_constant,
            parse_float=_decimal,
            parse_int=_whole,
        )
        fingerprint(value)
    except UnicodeDecodeError as error:
        raise _not_json(f"byte {error.start} is not UTF-8") from None
    except UnicodeEncodeError:
        raise _not_json("a text holds half a surrogate pair") from None
    except RecursionError:
        raise _not_json("it is nested too deep") from None
    except json.JSONDecodeError as error:
        what = next((ours for theirs, ours in _WORDS if error.msg.startswith(theirs)), "it can't be read")
        raise _not_json(f"{what} at line {error.lineno}, column {error.colno}") from None
    return value


def fingerprint(value: object) -> str:
    """Return a digest that is equal for equal JSON values, whatever their spacing and the order of their keys."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=str)
    return sha256(text.encode()).hexdigest()


def plain(value: Any) -> Any:  # noqa: ANN401 - JSON is anything
    """Return what was read with exact decimals as JSON writes it."""
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, dict):
        return {name: plain(below) for name, below in value.items()}
    return [plain(below) for below in value] if isinstance(value, list) else value


def _not_json(why: str) -> Problem:
    return Problem("not-json", f"The body is not JSON: {why}.")


def _object(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    made = dict(pairs)
    if len(made) < len(pairs):
        raise _not_json(f"the key {json.dumps(_twice(pairs)[:40])} stands twice in one object")
    return made


def _twice(pairs: Sequence[tuple[str, object]]) -> str:
    """Return the first key that stands again, in one pass: a body of a megabyte may hold a hundred thousand keys."""
    seen: set[str] = set()
    return next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]


def _refuse_constant(name: str) -> object:
    raise _not_json(f"{name} is no JSON number")


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        return Decimal("Infinity")


def _whole(text: str) -> int | Decimal:
    # Python refuses to read integers of thousands of digits; as decimals they are simply out of every range
    return int(text) if len(text) <= _LONG else Decimal(text)
