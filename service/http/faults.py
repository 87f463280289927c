"""Whatever goes wrong in the app is answered with problem details, whose types have a page each."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping
from http import HTTPStatus

from flask import Blueprint, Flask, Response, current_app, render_template, request
from redis.exceptions import RedisError
from werkzeug.exceptions import HTTPException

from service.http import tracing
from service.http.problem_kinds import KINDS
from service.http.problems import CONTENT_TYPE, Problem, not_found, too_large
from service.state import service, store
from workers.codec import Unreadable, reading
from workers.connection import TooFewReplicas, refuses_writes, require_replicas

log = logging.getLogger(__name__)
blueprint = Blueprint("problems", __name__)


def answer_to(problem: Problem) -> Response:
    """Return the response that tells of a problem."""
    return problem_response(problem.body(), KINDS[problem.kind].status, problem.headers)


def install(app: Flask) -> None:
    """Answer everything that goes wrong in this app with problem details."""
    app.register_blueprint(blueprint)
    app.register_error_handler(Problem, answer_to)
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


def confirm(response: Response) -> Response:
    """Return the answer to a change once as many replicas have it as were asked for; else that it is to come again."""
    if _changes() and response.status_code < 400:
        try:
            require_replicas(store().redis, service().config.replicas)
        except RedisError as error:
            return _store_away(error)
    return response


def _changes() -> bool:
    if request.method in ("GET", "HEAD", "OPTIONS") or request.endpoint in _KEEPS_NOTHING:
        return False
    return request.endpoint != "takeoffs.take" or request.args.get("plan") == "true"


_KEEPS_NOTHING = frozenset(
    {"cut_lists.read", "plan_checks.check_plan", "take_off_sheets.page", "take_off_sheets.file"}
)
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
        return answer_to(too_large(current_app.config["MAX_CONTENT_LENGTH"]))
    detail = _WORDS.get(status) or error.description or error.name
    if status in _BY_STATUS:
        return answer_to(Problem(_BY_STATUS[status], detail))
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
    detail = f"{_why(error)}; nothing was lost that was acknowledged."
    return answer_to(Problem("store-away", detail, headers={"Retry-After": "2"}))


def _why(error: RedisError) -> str:
    if isinstance(error, TooFewReplicas):
        return "Too few replicas of the store have what was done"
    if refuses_writes(error):
        return (
            "The store takes nothing new at the moment: its memory or its disk is full, it is a replica, or it has too "
            "few of them"
        )
    return "The store does not answer at the moment"


def _unreadable(error: Unreadable) -> Response:
    log.error("what is kept can't be read", exc_info=error)
    return answer_to(Problem("unreadable", "What is kept here was damaged, or another version kept it."))


def _fault(error: Exception) -> Response:
    log.error("request %s met a fault", tracing.request_id(), exc_info=error)
    return answer_to(Problem("fault", f"The request met a fault of this server, logged as {tracing.request_id()}."))
