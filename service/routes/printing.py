"""Labels as they come out of the caller's printer: its stock, which of them, and how many of a sheet are used up."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from flask import Response, request

from service.documents.labels import STOCKS, Label, Stock
from service.documents.sheets import document
from service.http.documented import Parameter
from service.http.preferences import whole_parameter
from service.http.problems import Problem

_SIZES = ("width", "height", "left", "top", "pitch_x", "pitch_y")
_COUNTS = ("across", "down")
_MOST_ABREAST, _MOST_SKIPPED = 50, 1_000
_MOST_LABELS = 5_000
"""Labels of one answer: a server sets a few hundred in a second."""
_SIZE = {"type": "string", "pattern": r"^[0-9]{1,3}(\.[0-9]{1,2})?$"}


def _whole(least: int, most: int) -> dict[str, Any]:
    return {"type": "integer", "minimum": least, "maximum": most}


PRINTER = {
    "stock": Parameter("The labels in the printer; the first without it", {"enum": [*STOCKS]}),
    "limit": Parameter("Labels at most", _whole(1, _MOST_LABELS)),
    "after": Parameter("Labels before the first that is wanted", _whole(0, 10**9)),
    "skip": Parameter("Labels of the first sheet that are used up", _whole(0, _MOST_SKIPPED)),
    **{name: Parameter(f"Instead of the stock's own {name.replace('_', ' ')}, in millimetres", _SIZE)
       for name in _SIZES},
    **{name: Parameter(f"Instead of the stock's own labels {name}", _whole(1, _MOST_ABREAST)) for name in _COUNTS},
}  # fmt: skip
"""The parameters of an address that serves labels."""


def printed(found: Sequence[Label], title: str, made: datetime) -> Response:
    """Return those labels that the query asks for as PDF, for the labels in the printer. Raises ``Problem``."""
    after = whole_parameter("after", 0, 0, 10**9)
    limit = whole_parameter("limit", len(found), 1, _MOST_LABELS)
    if (wanted := len(range(len(found))[after : after + limit])) > _MOST_LABELS:
        many = f"These are {wanted:,} labels: take {_MOST_LABELS:,} at a time, with after and limit."
        raise Problem("malformed-query", many)
    skip = whole_parameter("skip", 0, 0, _MOST_SKIPPED)
    from service.documents.pdf import labels_pdf  # noqa: PLC0415 - fpdf2 takes long to import

    content = labels_pdf(found[after : after + limit], _stock(), title, made, skip)
    return document(content, "application/pdf", disposition="inline; filename=labels.pdf")


def _stock() -> Stock:
    """Return the labels that the query tells of. Raises ``Problem`` where they do not fit their page."""
    given = request.args.get("stock", next(iter(STOCKS)))
    if given not in STOCKS:
        raise Problem("malformed-query", f"stock must be one of: {', '.join(STOCKS)}.")
    told: dict[str, Any] = {name: _millimetres(name) for name in _SIZES if name in request.args}
    told |= {name: whole_parameter(name, 1, 1, _MOST_ABREAST) for name in _COUNTS if name in request.args}
    stock = replace(STOCKS[given], **told)
    if given == "roll":
        stock = replace(stock, page=(stock.width, stock.height))
    if not stock.fits:
        raise Problem("malformed-query", "Labels of these sizes do not fit side by side on their page.")
    return stock


def _millimetres(name: str) -> float:
    given = request.args[name]
    least = 15.0 if name in ("width", "height") else 0.0
    if not re.fullmatch(_SIZE["pattern"], given) or not least <= float(given) <= 300:
        raise Problem("malformed-query", f"{name} must be from {least:g} to 300 millimetres, as in 25.4.")
    return float(given)
