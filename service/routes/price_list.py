"""``/v1/price-list``: the catalogue as a file, out and in."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from service import catalogue
from service.http.documented import Answer, documented
from service.http.problems import FieldError, refused
from service.http.strict_json import read_body
from service.spreadsheets import Unreadable
from service.spreadsheets.writing import XLSX, csv_of, workbook_of
from service.wire.materials.catalogue import PriceListSchema, TakenInSchema, read_price_file, render_taken_in
from service.wire.materials.price_list import PriceListFaults, table_of

_CSV = "text/csv"
blueprint = Blueprint("price_list", __name__)


@blueprint.post("/v1/price-list")
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


@blueprint.get("/v1/price-list.csv")
@documented(
    "Get the price list as CSV",
    answers=[Answer(200, "RFC 4180, UTF-8; headings alone where the catalogue is empty", media_type=_CSV)],
    problems=["unreadable"],
)
def as_csv() -> Response:
    """Return the catalogue as CSV, which can be taken in again."""
    return _file(csv_of(table_of(catalogue.every())).encode(), f"{_CSV}; charset=utf-8; header=present", "csv")


@blueprint.get("/v1/price-list.xlsx")
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
