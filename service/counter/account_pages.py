"""``/settings``: whose orders these are, typed once for everybody; ``/sign-in``, ``/sign-out``: who is at the browser.

With an API key one is let in at a browser, and with nothing else.
"""

from __future__ import annotations

from dataclasses import fields
from urllib.parse import parse_qsl

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import letterhead
from service.counter import drafted
from service.counter.labels import COMPANY
from service.counter.pages import blueprint, page_of
from service.counter.request import Json
from service.http import sessions
from service.http.problems import Problem
from service.wire import limits
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


_START = "/"


@blueprint.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> AnyResponse:
    """Ask for a key, and lead on where one wanted to go; what was being typed meanwhile is kept."""
    if not sessions.key_of("")[0]:
        return redirect(_START, 303)
    if request.method == "GET":
        return page_of("sign_in", to=_local(request.args.get("to", "")), carried="", wrong=False, name="")
    key, name = request.form.get("key", ""), " ".join(request.form.get("name", "").split())[: limits.TEXT]
    to, carried = _local(request.form.get("to", "")), request.form.get("carried", "")
    _, known = sessions.key_of(key)
    if known is None:
        return page_of("sign_in", 422, to=to, carried=carried, wrong=True, name=name)
    if carried:
        fields = dict(parse_qsl(carried, keep_blank_values=True))
        token = drafted.keep(to, fields, client=known.client)
        to = url_for(drafted.WAYS[to], draft=token) if token else to
    answer = redirect(to, 303)
    sessions.begin(answer, known, name)
    return answer


@blueprint.post("/sign-out")
def sign_out() -> AnyResponse:
    """Sign out."""
    answer = redirect(url_for("counter.sign_in"), 303)
    sessions.end(answer)
    return answer


def _local(address: str) -> str:
    """Return an address if it is one of our own, else where one begins."""
    own = address.startswith("/") and not address.startswith("//") and "\\" not in address
    return address if own and address.isprintable() else _START
