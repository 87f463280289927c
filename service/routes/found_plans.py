"""``/v1/cut-plans`` as a list, to find a plan again; and the particulars of a plan, which may be put anew."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime

from flask import Blueprint, Response, jsonify, request

from service import plans
from service.http.documented import Answer, documented
from service.http.preferences import lead_on, require_match, whole_parameter
from service.http.problems import Problem
from service.http.strict_json import read_body
from service.routes.cut_plans import etag_of, told
from service.wire import limits
from service.wire.fields import date_of
from service.wire.particulars import ParticularsSchema, read_particulars
from service.wire.plans.cut_plan import CURSOR, CutPlanSchema, PlanListSchema, render_list
from workers.orders.particulars import Particulars
from workers.orders.plan_number import serial_of
from workers.plans.index import Sought
from workers.plans.record import Record, State

_WORDS = {
    "q": "What is known of it: words of customer, job, purchase order or reference, their beginnings too; its number; "
    "the last digits of a telephone number",
    "name": "Words of what the job is called",
    "customer": "Words of the customer's name",
    "purchase_order": "Words of the purchase order number",
    "ref": "Words of the caller's own reference",
    "phone": "The last digits of the telephone number, four or more",
}
"""Parameters that are words, of which all must be found."""
blueprint = Blueprint("found_plans", __name__, url_prefix="/v1/cut-plans")


@blueprint.get("")
@documented(
    "List cut plans",
    answers=[Answer(200, "One page of plans, newest first; Link leads to the next", PlanListSchema, headers=["Link"])],
    query={
        **_WORDS,
        "number": "The plan's number",
        "state": "States, with commas between; without it, all",
        "created_from": "Asked for at this moment or later: RFC 3339, or a date",
        "created_until": "Asked for before this moment",
        "wanted_from": "Wanted by this day or later",
        "wanted_to": "Wanted by this day or earlier",
        "limit": "Plans on a page",
        "cursor": "Where the page begins: `next` of the page before",
    },
)
def found() -> Response:
    """Return the caller's own plans a page at a time; all that is asked for must hold."""
    limit = whole_parameter("limit", 500, 1, 2_000)
    states = _states(request.args.get("state"))
    listed = plans.find(_sought(request.args), lambda record: record.state in states, _cursor(), limit)
    response = jsonify(render_list(listed))
    response.headers["Cache-Control"] = "private, no-cache"
    if listed.following:
        lead_on(response, cursor=listed.following)
    return response


@blueprint.put("/<plan_id>/particulars")
@documented(
    "Put a plan's particulars",
    body=ParticularsSchema,
    answers=[
        Answer(200, "They are kept, and the plan is found by them", CutPlanSchema, headers=["ETag", "Retry-After"])
    ],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "expired",
              "changed", "offcut-taken"],
    headers=["If-Match"],
)  # fmt: skip
def put_particulars(plan_id: str) -> Response:
    """Keep other particulars of a plan, whatever its state; its pieces stay as they are."""

    def change(now: Record) -> Particulars:
        require_match(etag_of(now))
        return particulars

    record = plans.own(plan_id)
    require_match(etag_of(record))
    particulars = read_particulars(read_body())
    return told(plans.amend(record, change), 200)


def _sought(args: Mapping[str, str]) -> Sought:
    words = {name: _text(args.get(name, "")) for name in _WORDS}
    return Sought(
        text=words.pop("q"),
        **words,
        serial=_serial(args.get("number")),
        since=_moment("created_from"),
        until=_moment("created_until"),
        wanted_from=_day("wanted_from"),
        wanted_to=_day("wanted_to"),
    )


def _text(given: str) -> str:
    if len(given) > limits.TEXT:
        raise Problem("malformed-query", f"What is sought must have {limits.TEXT} characters at most.")
    return given


def _serial(given: str | None) -> int | None:
    serial = None if given is None else serial_of(given)
    if given is not None and serial is None:
        raise Problem("malformed-query", "number must be a plan's number; in this one a digit is wrong or missing.")
    return serial


def _states(given: str | None) -> Collection[State]:
    names = [*State] if given is None else given.split(",")
    if not set(names) <= set(State):
        raise Problem("malformed-query", f"state must be of: {', '.join(State)}.")
    return [State(name) for name in names]


def _cursor() -> str:
    given = request.args.get("cursor", "")
    if given and not re.fullmatch(CURSOR, given):
        raise Problem("malformed-query", "cursor must be what `next` of another page says.")
    return given


def _moment(name: str) -> datetime | None:
    given = request.args.get(name)
    try:
        moment = None if given is None else datetime.fromisoformat(given)
    except ValueError:
        detail = f'{name} must be a moment or a date, as in "2026-11-23T08:00:00Z" or "2026-11-23".'
        raise Problem("malformed-query", detail) from None
    return moment.replace(tzinfo=UTC) if moment and moment.tzinfo is None else moment


def _day(name: str) -> date | None:
    given = request.args.get(name)
    day = None if given is None else date_of(given)
    if given is not None and day is None:
        raise Problem("malformed-query", f'{name} must be a date, as in "2026-11-23".')
    return day
