"""The one way to serve a sheet: as a page and as PDF, on the paper asked for, with its entity tag and its problems.

``serve_sheet(blueprint, "/cut-sheet", …)`` answers ``/cut-sheet.html`` and ``/cut-sheet.pdf`` with the same sheet.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from flask import Blueprint, Response, make_response, request
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from marshmallow import Schema

from service.documents.blocks import Block, Paper, Sheet, unbroken
from service.documents.lettering import faces
from service.documents.paging import SIZES, printed
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from service.http.documented import Answer, documented
from service.http.problems import Problem
from service.letterhead import company
from solver.lengths import Unit

PAPER = {"paper": "letter or a4; without it, the company's, and without that what goes with the units"}
"""The query parameter of every sheet."""
_TEMPLATES = Path(__file__).with_name("templates")
_STYLE = (_TEMPLATES / "cut-sheet.css").read_text("utf-8")


@dataclass(frozen=True, slots=True)
class Form:
    """A sheet in one of its two forms: the name of its endpoint, and what the contract calls it."""

    endpoint: str
    summary: str


def serve_sheet(
    blueprint: Blueprint,
    path: str,
    make: Callable[..., Sheet],
    *,
    page: Form,
    file: Form,
    name: str,
    problems: Sequence[str],
    query: Mapping[str, str] = PAPER,
    body: type[Schema] | None = None,
    serve: Callable[..., Response] = lambda make, **_: make(),
) -> None:
    """Serve what ``make`` returns for the parts of the path, as HTML and as PDF called ``name``.

    With a body the sheet is asked for by a post, and nobody keeps it. ``serve`` is given what makes the response, and
    the parts of the path, and may have it already.
    """

    def as_page(**where: str) -> Response:
        return serve(lambda: page_of_sheet(make(**where)), **where)

    def as_file(**where: str) -> Response:
        return serve(lambda: _file_of_sheet(make(**where), name), **where)

    for form, view, suffix, what, media_type in (
        (page, as_page, "html", "HTML", "text/html"),
        (file, as_file, "pdf", "PDF", "application/pdf"),
    ):
        # an endpoint is documented under the name of its view
        view.__qualname__ = f"{blueprint.name}.{form.endpoint}"
        answers = answers_of(what, media_type) if body is None else [Answer(200, what, media_type=media_type)]
        headers = () if body else ("If-None-Match",)
        note = documented(form.summary, body=body, answers=answers, problems=problems, query=query, headers=headers)
        methods = ["POST" if body else "GET"]
        blueprint.add_url_rule(f"{path}.{suffix}", form.endpoint, note(view), methods=methods)


def page_of_sheet(sheet: Sheet) -> Response:
    """Return a sheet as one page that a browser prints on its paper."""
    return document(html(sheet).encode(), "text/html; charset=utf-8", security=policy(sheet.paper))


def _file_of_sheet(sheet: Sheet, name: str) -> Response:
    from service.documents.pdf import pdf  # noqa: PLC0415 - fpdf2 takes long to import, few requests want a PDF

    return document(pdf(sheet), "application/pdf", disposition=f"inline; filename={name}.pdf")


def answers_of(what: str, media_type: str) -> list[Answer]:
    """Return what a document that is kept may answer."""
    return [
        Answer(200, what, media_type=media_type, headers=["ETag"]),
        Answer(304, "Nothing has changed", headers=["ETag"]),
    ]


def document(content: bytes, content_type: str, *, security: str = "", disposition: str = "") -> Response:
    """Return a document: with its entity tag where it is got, kept by nobody where it answers a post."""
    response = make_response(content)
    response.headers["Content-Type"] = content_type
    if security:
        response.headers["Content-Security-Policy"] = security
    if disposition:
        response.headers["Content-Disposition"] = disposition
    if request.method == "POST":
        response.headers["Cache-Control"] = "no-store"
        return response
    response.headers["Cache-Control"] = "private, no-cache"
    response.add_etag()
    return response


def paper_asked(units: Unit) -> Paper:
    """Return the paper asked for, else the company's, else A4 where lengths are metric. Raises ``Problem``."""
    given = request.args.get("paper") if "paper" in request.args else company().paper
    given = given if given is not None else Paper.A4 if units.metric else Paper.LETTER
    if given not in [*Paper]:
        raise Problem("malformed-query", f"paper must be one of: {', '.join(Paper)}.")
    return Paper(given)


def html(sheet: Sheet) -> str:
    """Return the sheet as a complete HTML document."""
    # the style is our own file
    return _SHEET.render(sheet=sheet, pages=printed(sheet), style=Markup(style(sheet.paper)))  # noqa: S704


def style(paper: Paper) -> str:
    """Return the style of a sheet on this paper, with its font."""
    wide, high = SIZES[paper]
    # a hair lower than the paper, or a browser would begin another page for what is rounded up
    sized = (
        _STYLE.replace("PAPER", f"{wide}mm {high}mm").replace("WIDE", f"{wide}mm").replace("HIGH", f"{high - 0.2}mm")
    )
    return faces() + sized


def policy(paper: Paper) -> str:
    """Return the Content-Security-Policy that lets nothing in but the sheet's own style."""
    digest = b64encode(sha256(style(paper).encode()).digest()).decode()
    own = f"style-src 'sha256-{digest}'; font-src data:"
    return f"default-src 'none'; {own}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def _kind(block: Block) -> str:
    return type(block).__name__.lower()


def _drawn(drawing: Drawing) -> Markup:
    return Markup(svg(drawing))  # noqa: S704 - svg escapes every text it writes


def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(kind=_kind, drawn=_drawn, unbroken=unbroken)
    return made


_SHEET = _environment().get_template("cut-sheet.html")
