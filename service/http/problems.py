"""Problem details (RFC 9457): one shape for everything that can be wrong with a request or with this server."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from itertools import islice

from flask import Blueprint, Flask, Response, current_app, render_template, request
from redis.exceptions import RedisError
from werkzeug.exceptions import HTTPException

from service.http import tracing
from service.http.problem_kinds import KINDS
from workers.codec import Unreadable, reading

CONTENT_TYPE = "application/problem+json"
MOST_ERRORS = 200
"""A body with more faults than this is told of the first ones."""

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class FieldError:
    """One fault in a body: where (a JSON pointer), what, and the readings of what is ambiguous."""

    pointer: str
    detail: str
    code: str | None = None
    readings: tuple[str, ...] = ()

    def told(self) -> dict[str, object]:
        """Return it as a member of ``errors``."""
        told: dict[str, object] = {"pointer": self.pointer, "detail": self.detail}
        if self.code:
            told["code"] = self.code
        if self.readings:
            told["readings"] = list(self.readings)
        return told


blueprint = Blueprint("problems", __name__)


class Problem(Exception):
    """A request that is answered with problem details of ``kind``."""

    def __init__(
        self,
        kind: str,
        detail: str,
        errors: Iterable[FieldError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind = kind
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})

    def body(self) -> dict[str, object]:
        """Return the members of the problem document, but its instance."""
        kind = KINDS[self.kind]
        told: dict[str, object] = {
            "type": f"/problems/{self.kind}",
            "title": kind.title,
            "status": kind.status,
            "detail": self._full_detail(),
        }
        if self.errors:
            told["errors"] = [error.told() for error in self.errors[:MOST_ERRORS]]
        return told

    def answer(self) -> Response:
        """Return the response that tells of it."""
        return problem_response(self.body(), KINDS[self.kind].status, self.headers)

    def _full_detail(self) -> str:
        if len(self.errors) <= MOST_ERRORS:
            return self.detail
        return f"{self.detail} The first {MOST_ERRORS} are listed."


def refused(errors: Iterable[FieldError]) -> Problem:
    """Return the problem of a body with these faults; no more are taken than show that there are too many to tell."""
    errors = tuple(islice(errors, MOST_ERRORS + 1))
    count = f"more than {MOST_ERRORS}" if len(errors) > MOST_ERRORS else str(len(errors))
    return Problem("unplannable", f"The request has {count} error{'s' * (len(errors) > 1)}.", errors)


def not_found(detail: str = "There is nothing under this address.") -> Problem:
    """Return the one answer for ids that are unknown and for ids that are another client's."""
    return Problem("not-found", detail)


def too_large(most_bytes: int) -> Problem:
    """Return the one answer for bodies beyond the limit, wherever they are stopped."""
    return Problem("too-large", f"A body may have {most_bytes} bytes at most.")


def install(app: Flask) -> None:
    """Answer everything that goes wrong in this app with problem details."""
    app.register_blueprint(blueprint)
    app.register_error_handler(Problem, Problem.answer)
    app.register_error_handler(HTTPException, _http_error)
    app.register_error_handler(RedisError, _store_away)
    app.register_error_handler(Unreadable, _unreadable)
    app.register_error_handler(Exception, _fault)


@blueprint.get("/problems/<name>")
def explain(name: str) -> Response:
    """Say why a kind of problem is answered and what to do: to people on a page, to programs in plain words."""
    if name not in KINDS:
        raise not_found()
    kind = KINDS[name]
    if "text/html" in request.accept_mimetypes.values():
        return Response(render_template("documentation/problem.html", name=name, kind=kind))
    told = (f"{kind.title} ({kind.status}).", f"Cause: {kind.cause}", f"Remedy: {kind.remedy}")
    return Response("\n".join(told) + "\n", mimetype="text/plain")


def problem_response(body: Mapping[str, object], status: int, headers: Mapping[str, str]) -> Response:
    """Return a problem document as a response."""
    text = json.dumps({**body, "instance": request.path})
    return Response(text, status, {**headers, "Cache-Control": "no-store"}, content_type=CONTENT_TYPE)


_BY_STATUS = {404: "not-found", 415: "not-accepted", 500: "fault"}
_WORDS = {
    400: "The request can't be read, or is for another host than this server answers for.",
    404: "There is nothing under this address; /openapi.json lists what there is.",
    405: "This address does not take this method; Allow lists those that it takes.",
}
"""What the web library says otherwise, in our own words."""


def _http_error(error: HTTPException) -> Response:
    status = error.code or 500
    if status < 400:
        return Response(status=status, headers=[header for header in error.get_headers() if header[0] == "Location"])
    if status == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
        return too_large(current_app.config["MAX_CONTENT_LENGTH"]).answer()
    detail = _WORDS.get(status) or error.description or error.name
    if status in _BY_STATUS:
        return Problem(_BY_STATUS[status], detail).answer()
    headers = {name: value for name, value in error.get_headers() if name in ("Allow", "Retry-After")}
    body = {"type": "about:blank", "title": error.name, "status": status, "detail": detail}
    return problem_response(body, status, headers)


def _store_away(error: RedisError) -> Response:
    try:
        with reading("what is asked for"):
            raise error
    except Unreadable as unreadable:
        return _unreadable(unreadable)
    except RedisError:
        pass
    log.error("no answer from Redis: %s", error)
    detail = "The store does not answer at the moment; nothing was lost that was acknowledged."
    return Problem("store-away", detail, headers={"Retry-After": "2"}).answer()


def _unreadable(error: Unreadable) -> Response:
    log.error("what is kept can't be read", exc_info=error)
    return Problem("unreadable", "What is kept here was damaged, or another version kept it.").answer()


def _fault(error: Exception) -> Response:
    log.error("request %s met a fault", tracing.request_id(), exc_info=error)
    return Problem("fault", f"The request met a fault of this server, logged as {tracing.request_id()}.").answer()
