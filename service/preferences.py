"""Headers by which a client says how it wants to be served."""

from __future__ import annotations

import re

from flask import request

from service.problems import Problem

_WAIT = re.compile(r"(?:^|[,;\s])wait\s*=\s*\"?(\d{1,6})\"?(?=$|[,;\s])", re.IGNORECASE)
_KEY = re.compile(r"[\x21-\x7e]{1,255}")


def wait_preferred() -> int | None:
    """Return N of ``Prefer: wait=N`` (RFC 7240), or None."""
    match = _WAIT.search(", ".join(request.headers.getlist("Prefer")))
    return int(match[1]) if match else None


def idempotency_key() -> str | None:
    """Return the client's ``Idempotency-Key``, with or without quotes, or None.

    Raises ``Problem`` where it is longer than 255 characters or holds others than printable ASCII.
    """
    given = request.headers.get("Idempotency-Key")
    if given is None:
        return None
    key = given.strip().strip('"')
    if not _KEY.fullmatch(key):
        raise Problem("malformed-header", "Idempotency-Key must be 1 to 255 printable ASCII characters without spaces.")
    return key
