"""One line in the log for each request, under a number that a caller can name when something went wrong."""

from __future__ import annotations

import logging
import re
import secrets
import time

from flask import Flask, Response, g, request

from workers import logs

HEADER = "Request-Id"
_PLAN = re.compile(r"/v1/cut-plans/([0-9a-f]{32})$")
log = logging.getLogger(__name__)


def install(app: Flask) -> None:
    """Number and log every request; bodies and keys are never logged."""
    app.before_request(_begin)
    app.after_request(_end)


def request_id() -> str:
    """Return the number of this request."""
    return str(g.get("request_id", ""))


def new_request_id() -> str:
    """Return a number for a request."""
    return secrets.token_hex(8)


def _begin() -> None:
    g.request_id, g.began = new_request_id(), time.monotonic()
    plan_id = (request.view_args or {}).get("plan_id")
    logs.about(request_id=g.request_id, **({"plan_id": plan_id} if plan_id else {}))


def _end(response: Response) -> Response:
    response.headers[HEADER] = request_id()
    spent = (time.monotonic() - g.began) * 1000 if "began" in g else 0.0
    figures = {"method": request.method, "path": request.path, "status": response.status_code, "ms": round(spent)}
    if made := _PLAN.search(response.headers.get("Location", "")):
        figures["plan_id"] = made[1]
    line = (request_id(), request.method, request.path, response.status_code, spent)
    log.info("%s %s %s %d %.0f ms", *line, extra={"figures": figures})
    return response
