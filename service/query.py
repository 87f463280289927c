"""The query string: whole numbers in it, and a refusal of parameters that nobody would heed."""

from __future__ import annotations

from flask import Flask, current_app, request

from service.documented import operation_of
from service.problems import Problem


def install(app: Flask) -> None:
    """Refuse unknown parameters under ``/v1``: a client that asks for ``page=2`` must not get page one."""
    app.before_request(_refuse_strangers)


def whole_parameter(name: str, default: int, least: int, most: int) -> int:
    """Return a whole number of the query string. Raises ``Problem`` where it is none, or out of range."""
    given = request.args.get(name)
    if given is None:
        return default
    if not (given.isascii() and given.isdigit() and len(given) < 12 and least <= int(given) <= most):
        raise Problem("malformed-query", f"{name} must be a whole number from {least} to {most}.")
    return int(given)


def _refuse_strangers() -> None:
    if not (request.args and request.endpoint and request.path.startswith("/v1/")):
        return
    operation = operation_of(current_app.view_functions[request.endpoint])
    known = operation.query if operation else {}
    strangers = [name for name in request.args if name not in known]
    if operation and strangers:
        there_are = f"there are {', '.join(known)}" if known else "there are none"
        raise Problem("malformed-query", f"{', '.join(strangers)[:200]}: no parameter of this address; {there_are}.")
