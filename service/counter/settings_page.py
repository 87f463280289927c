"""``/settings``: whose orders these are, typed once for everybody at the counter."""

from __future__ import annotations

from dataclasses import fields

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import letterhead
from service.counter.labels import COMPANY
from service.counter.pages import blueprint, page_of
from service.counter.request import Json
from service.http.problems import Problem
from service.wire.particulars import CompanySchema, read_company
from service.wire.typed import asked
from workers.orders.company import Company

_SCHEMA = CompanySchema().fields


@blueprint.route("/settings", methods=["GET", "POST"])
def settings() -> AnyResponse:
    """Show the settings; sent, they are kept, or shown again with what is wrong."""
    if request.method == "GET":
        return page_of("settings", typed=_typed(letterhead.company()), faults={}, kept="kept" in request.args)
    typed = {name: request.form.get(name, "") for name in COMPANY}
    try:
        letterhead.put(read_company(_body(typed)))
    except Problem as problem:
        wrong = {error.pointer.split("/")[1]: error.detail for error in problem.errors}
        faults = {name: f"{COMPANY[name]}: {detail}" for name, detail in wrong.items()}
        return page_of("settings", 422, typed=typed, faults=faults, kept=False)
    return redirect(url_for("counter.settings", kept=1), 303)


def _typed(company: Company) -> dict[str, str]:
    typed = {field.name: getattr(company, field.name) for field in fields(Company)}
    shown = {name: "" if value is None else str(value) for name, value in typed.items()}
    return shown | {"address": "\n".join(company.address), "tax_percent": f"{company.tax_percent:f}"}


def _body(typed: dict[str, str]) -> Json:
    """Return the request that puts what was typed; what was left empty is as without settings."""
    body: Json = {name: asked(text, _SCHEMA[name]) for name, text in typed.items() if text.strip()}
    if "address" in body:
        body["address"] = [line.strip() for line in typed["address"].splitlines() if line.strip()]
    return body
