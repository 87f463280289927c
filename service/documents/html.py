"""A sheet as one HTML file: no scripts, nothing fetched, its one style allowed by its hash."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from service.documents.blocks import Block, Paper, Sheet, Together, unbroken
from service.drawing.shapes import Drawing
from service.drawing.svg import svg

_TEMPLATES = Path(__file__).with_name("templates")
_STYLE = (_TEMPLATES / "cut-sheet.css").read_text("utf-8")
_SIZES = {Paper.LETTER: "letter", Paper.A4: "A4"}


def html(sheet: Sheet) -> str:
    """Return the sheet as a complete HTML document."""
    return _SHEET.render(sheet=sheet, style=Markup(style(sheet.paper)))  # noqa: S704 - the style is our own file


def style(paper: Paper) -> str:
    """Return the style of a sheet on this paper."""
    return _STYLE.replace("PAPER", _SIZES[paper])


def policy(paper: Paper) -> str:
    """Return the Content-Security-Policy that lets nothing in but the sheet's own style."""
    digest = b64encode(sha256(style(paper).encode()).digest()).decode()
    own = f"style-src 'sha256-{digest}'"
    return f"default-src 'none'; {own}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"


def _kind(block: Block | Together) -> str:
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
