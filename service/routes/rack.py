"""``/v1/rack``: offcuts and whole sticks on hand, kept by label and held for the plans and weeks that use them."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint, Response, jsonify, make_response, request

from service import plans, racks
from service.documents.labels import labels_of_rack
from service.documents.sheets import answers_of
from service.http.documented import Answer, Parameter, documented
from service.http.preferences import lead_on, whole_parameter
from service.http.problems import Problem
from service.http.strict_json import read_body
from service.routes.printing import PRINTER, printed
from service.wire.job import units_of
from service.wire.rack import (
    KeptByPlanSchema,
    OnRackListSchema,
    RackPiecesSchema,
    UseSchema,
    read_kept,
    read_pieces,
    read_use,
    render_rack,
)
from solver.lengths import Unit
from workers.rack.store import Entry

_BODY = ("not-json", "length-required", "too-large", "not-accepted", "unplannable", "unreadable")
_UNITS = Parameter("What answered numbers are in", {"enum": [*map(str, Unit)], "default": "in"})
_USUAL, _MOST = 500, 2_000
"""Labels on a page."""
_FURTHEST = 10**9
blueprint = Blueprint("rack", __name__, url_prefix="/v1/rack")


@blueprint.get("")
@documented(
    "List what lies on the rack",
    answers=[Answer(200, "One page of labels; Link leads to the next", OnRackListSchema, headers=["Link"])],
    problems=["malformed-query", "unreadable"],
    query={
        "units": _UNITS, "material": "Only this material, by id",
        "limit": Parameter("Labels on a page",
                           {"type": "integer", "minimum": 1, "maximum": _MOST, "default": _USUAL}),
        "after": Parameter("Labels before this page; Link has the number for the next",
                           {"type": "integer", "minimum": 0, "maximum": _FURTHEST, "default": 0}),
    },
)  # fmt: skip
def look() -> Response:
    """Return what lies there, a page at a time."""
    limit, after = whole_parameter("limit", _USUAL, 1, _MOST), whole_parameter("after", 0, 0, _FURTHEST)
    entries = _asked()
    response = _told(entries, _unit(), after=after, limit=limit)
    if after + limit < len(entries):
        lead_on(response, limit=limit, after=after + limit)
    return response


@blueprint.post("")
@documented("Put pieces on the rack", body=RackPiecesSchema,
            answers=[Answer(201, "They lie there", OnRackListSchema)], problems=_BODY)  # fmt: skip
def put() -> Response:
    """Put pieces on the rack by hand."""
    body = read_body()
    return _told(racks.put(read_pieces(body)), units_of(body), 201)


@blueprint.post("/kept")
@documented(
    "Put what a plan keeps on the rack",
    body=KeptByPlanSchema,
    answers=[Answer(200, "What is new there", OnRackListSchema)],
    problems=[*_BODY, "not-found", "not-ready", "no-plan", "expired"],
)
def keep() -> Response:
    """Put the offcuts that a plan keeps on the rack, or the one whose label is named."""
    named, stick = racks.plan_named(read_kept(read_body()))
    record = plans.named(named)
    job, plan = plans.planned(record.id)
    return _told(racks.keep_of(record, plan, stick), job.units)


@blueprint.get("/labels.pdf")
@documented(
    "Labels for what lies on the rack",
    answers=answers_of("PDF", "application/pdf"),
    problems=["malformed-query", "unreadable"],
    query={"units": _UNITS, "material": "Only this material, by id", "label": "Only this label", **PRINTER},
    headers=["If-None-Match"],
)
def labels() -> Response:
    """Return a label for each piece, with a code that leads to the page of its label."""
    named = request.args.get("label")
    found = [entry for entry in _asked() if named in (None, entry.label)]
    made = max((entry.at for entry in found if entry.at), default=datetime.fromtimestamp(0, UTC))
    return printed(tuple(labels_of_rack(found, _unit(), f"{request.url_root}rack/")), "Labels of the rack", made)


@blueprint.get("/<label>")
@documented("Look at one label of the rack", answers=[Answer(200, "What has that label", OnRackListSchema)],
            problems=["not-found", "malformed-query", "unreadable"], query={"units": _UNITS})  # fmt: skip
def one(label: str) -> Response:
    """Return what has a label, and who holds it."""
    return _told([racks.entry(label)], _unit())


@blueprint.post("/<label>/uses")
@documented(
    "Use pieces of the rack up",
    body=UseSchema,
    answers=[Answer(204, "So many lie there no more")],
    problems=[*_BODY, "not-found"],
)
def use(label: str) -> Response:
    """Take pieces that nobody holds off the rack."""
    racks.use_up(label, read_use(read_body()))
    return make_response("", 204)


@blueprint.delete("/<label>")
@documented("Take a label off the rack", answers=[Answer(204, "It lies there no more")],
            problems=["not-found", "unplannable", "unreadable"])  # fmt: skip
def drop(label: str) -> Response:
    """Take all of a label off the rack, unless somebody holds some of it."""
    racks.use_up(label, None)
    return make_response("", 204)


def _asked() -> list[Entry]:
    """Return what lies there of the material that the query names, or of all."""
    material = request.args.get("material")
    return [entry for entry in racks.rack().entries() if material in (None, entry.material)]


def _unit() -> Unit:
    given = request.args.get("units", Unit.IN)
    if given not in list(Unit):
        raise Problem("malformed-query", f"units must be one of: {', '.join(Unit)}.")
    return Unit(given)


def _told(entries: list[Entry], unit: Unit, status: int = 200, *, after: int = 0, limit: int | None = None) -> Response:
    response = make_response(jsonify(render_rack(entries, unit, after, limit)), status)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
