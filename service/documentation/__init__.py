"""The documentation, served in the look of the page: pages of markdown, and a reference made from the contract.

The pages are the ``.md`` files of this folder, to be read here or at ``/docs``; every block of code in them is run by
``tests/integration/test_documentation.py``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

from flask import Blueprint, current_app, render_template

from service.documentation import reference
from service.documentation.markdown import README, Page, inline, page_of
from service.http.problem_kinds import KINDS
from service.http.problems import not_found
from service.routes.openapi import contract
from service.wire.fields import Json

HERE = Path(__file__).parent
ORDER = (
    "tutorial", "estimating-tool", "supplier-counter", "crew-week", "glossary", "waste-bound-proof", "mathematics",
    "running", "runbook",
)  # fmt: skip
"""The pages of this folder in the order of reading."""
_MADE: Mapping[str, Callable[[Json], object]] = {"reference": reference.areas, "fields": reference.objects}
"""Pages that are made from the contract, and what of it."""
_KEPT = "lapstock.reference"
blueprint = Blueprint(
    "documentation", __name__, url_prefix="/docs", template_folder="templates", static_folder="static",
    static_url_path="/look",
)  # fmt: skip
blueprint.add_app_template_filter(inline, "told")


@blueprint.get("")
def start() -> str:
    """List the pages."""
    return render_template("documentation/start.html", pages=[written(name) for name in ORDER])


@blueprint.get("/<name>")
def page(name: str) -> str:
    """Return one page."""
    if name in _MADE:
        return _made(name)
    if name == "codes":
        return render_template("documentation/codes.html", kinds=KINDS, lists=reference.CODES)
    if name not in (*ORDER, README):
        raise not_found("There is no such page; /docs lists them.")
    return render_template("documentation/page.html", page=written(name))


@cache
def written(name: str) -> Page:
    """Return a page of this folder, or README."""
    text = _readme() if name == README else (HERE / f"{name}.md").read_text(encoding="utf-8")
    return page_of(name, text, (*ORDER, README))


def _made(name: str) -> str:
    """Return a page made from the contract; it is made once."""
    kept: dict[str, str] = current_app.extensions.setdefault(_KEPT, {})
    if name not in kept:
        kept[name] = render_template(f"documentation/{name}.html", rows=_MADE[name](contract()))
    return kept[name]


def _readme() -> str:
    """Return README as it was installed, or as it lies beside the code."""
    beside = HERE.parents[1] / "README.md"
    if beside.exists():
        return beside.read_text(encoding="utf-8")
    try:
        return str(metadata("lapstock").json["description"])
    except PackageNotFoundError:
        raise not_found("README was not installed.") from None
