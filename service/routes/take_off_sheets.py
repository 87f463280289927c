"""``/v1/takeoffs/sheet.html|pdf``: the take-off of what was measured, to print; nothing is kept."""

from __future__ import annotations

from datetime import UTC, datetime

from flask import Blueprint

from service import access
from service.documents.blocks import Sheet
from service.documents.sheets import Form, paper_asked, serve_sheet
from service.documents.take_off_pages import take_off_sheet
from service.strict_json import read_body
from service.wire.takeoff import TakeOffSchema, read_take_off

_PROBLEMS = ("not-json", "malformed-query", "length-required", "too-large", "not-accepted", "unplannable", "too-many")
blueprint = Blueprint("take_off_sheets", __name__, url_prefix="/v1/takeoffs")


def sheet() -> Sheet:
    """Return the sheet of the take-off that the request's body asks for."""
    access.spend_turn("take-offs")
    found = read_take_off(read_body())
    return take_off_sheet(found, datetime.now(UTC), paper_asked(found.house.unit))


serve_sheet(
    blueprint,
    "/sheet",
    sheet,
    page=Form("page", "A take-off, to print"),
    file=Form("file", "A take-off on paper"),
    name="take-off",
    problems=_PROBLEMS,
    body=TakeOffSchema,
)
