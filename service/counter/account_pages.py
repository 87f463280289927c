"""``/settings``: whose orders these are, typed once for everybody; ``/sign-in``, ``/sign-out``: who is at the browser.

With an API key one is let in at a browser, and with nothing else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from urllib.parse import parse_qsl

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import letterhead
from service.counter import drafted
from service.counter.labels import COMPANY, SUPPLIER
from service.counter.pages import blueprint, page_of
from service.counter.request import Json
from service.http import sessions
from service.http.problems import FieldError, Problem
from service.wire import limits
from service.wire.particulars import CompanySchema, read_company
from service.wire.typed import asked
from solver.job import BelowMinimum, Supplier
from workers.orders.company import Company

_SCHEMA = CompanySchema().fields
_OF_MINIMUM = ("amount", "below", "fee")


@blueprint.route("/settings", methods=["GET", "POST"])
def settings() -> AnyResponse:
    """Show the settings; sent, they are kept, or shown again with what is wrong."""
    if request.method == "GET":
        company = letterhead.company()
        rows, kept = [*map(_row, company.suppliers)], "kept" in request.args
        return page_of("settings", typed=_typed(company), rows=[*rows, {}], faults={}, kept=kept)
    typed = {name: request.form.get(name, "") for name in COMPANY}
    rows = _rows(request.form)
    try:
        letterhead.put(read_company(_body(typed) | {"suppliers": [*map(_supplier, rows)]}))
    except Problem as problem:
        faults = dict(_fault(error) for error in problem.errors)
        return page_of("settings", 422, typed=typed, rows=[*rows, {}], faults=faults, kept=False)
    return redirect(url_for("counter.settings", kept=1), 303)


def _rows(given: Mapping[str, str]) -> list[dict[str, str]]:
    """Return the rows of suppliers in which anything is typed; what becomes of small orders alone is nothing."""
    rows: list[dict[str, str]] = []
    # one more than there may be, so that it is refused in words
    while len(rows) <= limits.SUPPLIERS and f"s{len(rows)}-name" in given:
        rows.append({name: given.get(f"s{len(rows)}-{name}", "").strip() for name in SUPPLIER})
    return [row for row in rows if any(text for name, text in row.items() if name != "below")]


def _row(supplier: Supplier) -> dict[str, str]:
    """Return a supplier as typed."""
    rule = supplier.minimum_order
    # elsewhere nothing is 0: here an order from 0 on is brought for nothing, and without an amount none is
    amounts = {"free_delivery_from": supplier.free_delivery_from}
    amounts |= {"order_cost": supplier.order_cost or None, "delivery": supplier.delivery or None}
    if rule:
        amounts |= {"amount": rule.amount, "fee": rule.fee if rule.below is BelowMinimum.FEE else None}
    told = {name: f"{amount:f}" for name, amount in amounts.items() if amount is not None}
    return {"name": supplier.name, "below": str(rule.below) if rule else "", **told}


def _supplier(row: Mapping[str, str]) -> Json:
    """Return a supplier as a request says it."""
    told: Json = {name: row[name] for name in SUPPLIER if row[name] and name not in _OF_MINIMUM}
    if minimum := {name: row[name] for name in _OF_MINIMUM if row[name] and (row["amount"] or name != "below")}:
        told["minimum_order"] = minimum
    return told


def _fault(error: FieldError) -> tuple[str, str]:
    """Return the field in which a fault is, and what is wrong there."""
    _, name, *below = error.pointer.split("/")
    if name != "suppliers" or len(below) < 2:
        return name, f"{COMPANY.get(name, 'Suppliers')}: {error.detail}"
    field = below[-1] if below[-1] in SUPPLIER else "amount"
    return f"s{below[0]}-{field}", f"Supplier {int(below[0]) + 1}, {SUPPLIER[field].lower()}: {error.detail}"


def _typed(company: Company) -> dict[str, str]:
    typed = {field.name: getattr(company, field.name) for field in fields(Company) if field.name in COMPANY}
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
