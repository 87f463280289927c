"""Reading a body as strict JSON: UTF-8, one value, no key twice, no NaN, decimals exact."""

from __future__ import annotations

import json
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from hashlib import sha256
from typing import Any

from flask import request

from service.problems import FieldError, Problem

_LONG = 30


def read_body() -> dict[str, Any]:
    """Return the request's body, which must be a JSON object; numbers with a point are ``Decimal``.

    Raises ``Problem`` for everything else.
    """
    if request.content_length is None:
        raise Problem("length-required", "A body must come with its Content-Length.")
    if request.mimetype != "application/json":
        raise Problem("not-accepted", "The body must be sent as application/json.")
    return require_object(parse(request.get_data(cache=False)))


def require_object(value: object) -> dict[str, Any]:
    """Return the value, which must be a JSON object. Raises ``Problem`` where it is none."""
    if not isinstance(value, dict):
        raise Problem("unplannable", "A request must be a JSON object.", [FieldError("#", "must be an object")])
    return value


def parse(data: bytes) -> Any:  # noqa: ANN401 - JSON is anything
    """Return what the bytes say as strict JSON. Raises ``Problem`` where they are none."""
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
        raise _not_json(f"{error.msg} at line {error.lineno}, column {error.colno}") from None
    return value


def fingerprint(value: object) -> str:
    """Return a digest that is equal for equal JSON values, whatever their spacing and the order of their keys."""
    text = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), default=str)
    return sha256(text.encode()).hexdigest()


def _not_json(why: str) -> Problem:
    return Problem("not-json", f"The body is not JSON: {why}.")


def _object(pairs: Sequence[tuple[str, object]]) -> dict[str, object]:
    made = dict(pairs)
    if len(made) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise _not_json(f"the key {json.dumps(twice[:40])} stands twice in one object")
    return made


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
