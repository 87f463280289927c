"""``/v1/materials``: the catalogue by the material or by the page; ``/v1/price-list``: as a file, out and in."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify, make_response, request

from service import catalogue
from service.http.documented import Answer, Parameter, documented
from service.http.preferences import is_known, lead_on, whole_parameter
from service.http.problems import FieldError, Problem, refused
from service.http.strict_json import read_body
from service.spreadsheets import Unreadable
from service.spreadsheets.writing import XLSX, csv_of, workbook_of
from service.weeks import name_of
from service.wire import limits
from service.wire.materials.catalogue import (
    CatalogueMaterialSchema,
    CataloguePageSchema,
    PriceListSchema,
    TakenInSchema,
    read_price_file,
    render_entry,
    render_taken_in,
)
from service.wire.materials.price_list import PriceListFaults, table_of
from solver.categories import Category
from workers.orders.catalogue import Entry

blueprint = Blueprint("materials", __name__, url_prefix="/v1/materials")
price_list = Blueprint("price_list", __name__)
_CSV = "text/csv"
_VERSIONS = 10**11
_VERSION = {"type": "integer", "minimum": 1, "maximum": _VERSIONS}
_CURSOR = {"type": "string", "minLength": 1, "maxLength": limits.ID}


@blueprint.get("")
@documented(
    "List the catalogue",
    answers=[Answer(200, "One page of materials; Link leads to the next", CataloguePageSchema, headers=["Link"])],
    problems=["unreadable"],
    query={
        "q": "Beginnings of words of id, description, other names and supplier's codes; all must be there",
        "category": Parameter("Materials of this category alone", {"enum": [*map(str, Category)]}),
        "limit": "Materials on a page",
        "cursor": Parameter("Where the page begins: `next` of the page before", _CURSOR),
    },
)
def found() -> Response:
    """Return the materials that are as sought a page at a time."""
    limit = whole_parameter("limit", 500, 1, 2_000)
    sought, after = request.args.get("q", ""), request.args.get("cursor", "")
    if len(sought) > limits.TEXT or len(after) > limits.ID:
        raise Problem("malformed-query", f"q may have {limits.TEXT} characters, and cursor is what `next` says.")
    entries, following = catalogue.found(sought, _category(), after, limit)
    response = jsonify({"materials": [render_entry(entry) for entry in entries], "next": following})
    response.headers["Cache-Control"] = "private, no-cache"
    if following:
        lead_on(response, cursor=following)
    return response


def _category() -> Category | None:
    given = request.args.get("category")
    if given is not None and given not in [*Category]:
        raise Problem("malformed-query", f"category must be one of: {', '.join(Category)}.")
    return None if given is None else Category(given)


@blueprint.get("/<material>")
@documented(
    "Look at a material",
    answers=[
        Answer(200, "The material as it is now, or was", CatalogueMaterialSchema, headers=["ETag"]),
        Answer(304, "Nothing has changed", headers=["ETag"]),
    ],
    problems=["not-found", "unreadable"],
    headers=["If-None-Match"],
    query={"version": Parameter("As it was in this version, which plans name; else as it is now", _VERSION)},
)
def look(material: str) -> Response:
    """Return the material; also one that was taken out, where a version is asked for."""
    name = name_of(material)
    asked = "version" in request.args
    entry = catalogue.look_back(name, whole_parameter("version", 1, 1, _VERSIONS)) if asked else catalogue.look(name)
    return _told(entry, 304 if is_known(catalogue.etag_of(entry)) else 200)


@blueprint.put("/<material>")
@documented(
    "Put a material",
    body=CatalogueMaterialSchema,
    answers=[
        Answer(200, "It is kept in place of what it was", CatalogueMaterialSchema, headers=["ETag"]),
        Answer(201, "It is new in the catalogue", CatalogueMaterialSchema, headers=["ETag"]),
    ],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "not-found", "changed",
              "unreadable"],
    headers=["If-Match"],
)  # fmt: skip
def put(material: str) -> Response:
    """Keep the material; plans made before stay as they are."""
    entry, is_new = catalogue.put(name_of(material), read_body())
    return _told(entry, 201 if is_new else 200)


@blueprint.delete("/<material>")
@documented(
    "Take a material out",
    answers=[Answer(204, "It is taken out; plans made with it keep their copies")],
    problems=["not-found", "changed", "unreadable"],
    headers=["If-Match"],
)
def take_out(material: str) -> Response:
    """Take the material out of the catalogue."""
    catalogue.take_out(name_of(material))
    return Response(status=204)


def _told(entry: Entry, status: int) -> Response:
    response = make_response("" if status == 304 else jsonify(render_entry(entry)), status)
    response.set_etag(catalogue.etag_of(entry))
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@price_list.post("/v1/price-list")
@documented(
    "Take a price list in",
    body=PriceListSchema,
    answers=[Answer(200, "All its materials are kept; those that it does not name stay as they are", TakenInSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable", "changed", "unreadable"],
)
def take_in() -> Response:
    """Keep what the list says; with any fault nothing of it, and each is told with sheet, row and column."""
    file = read_price_file(read_body())
    try:
        taken = catalogue.take_in(file)
    except Unreadable as unreadable:
        words = f"the file can't be read: {unreadable}"
        raise refused([FieldError("#/file", words, "unreadable_file")]) from None
    except PriceListFaults as wrong:
        raise refused(FieldError("#/file", fault.said, fault.code) for fault in wrong.faults) from None
    return jsonify(render_taken_in(taken))


@price_list.get("/v1/price-list.csv")
@documented(
    "Get the price list as CSV",
    answers=[Answer(200, "RFC 4180, UTF-8; headings alone where the catalogue is empty", media_type=_CSV)],
    problems=["unreadable"],
)
def as_csv() -> Response:
    """Return the catalogue as CSV, which can be taken in again."""
    return _file(csv_of(table_of(catalogue.every())).encode(), f"{_CSV}; charset=utf-8; header=present", "csv")


@price_list.get("/v1/price-list.xlsx")
@documented(
    "Get the price list as XLSX",
    answers=[Answer(200, "ISO/IEC 29500, with prices as numbers and dates as dates", media_type=XLSX)],
    problems=["unreadable"],
)
def as_workbook() -> Response:
    """Return the catalogue as a workbook, which can be taken in again."""
    return _file(workbook_of("Price list", table_of(catalogue.every())), XLSX, "xlsx")


def _file(data: bytes, content_type: str, ending: str) -> Response:
    response = Response(data, content_type=content_type)
    response.headers["Content-Disposition"] = f"attachment; filename=price-list.{ending}"
    response.headers["Cache-Control"] = "private, no-cache"
    return response
