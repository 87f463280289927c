"""``/materials``: the catalogue for whoever keeps the price list: found, changed, taken in and out as a file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import catalogue
from service.counter.catalogue import material_form
from service.counter.catalogue.material_form import MaterialForm
from service.counter.changes import without
from service.counter.pages import blueprint, page_of
from service.http.problems import Problem
from service.spreadsheets import Unreadable
from service.wire import limits
from service.wire.fields import date_of
from service.wire.materials.catalogue import in_force
from service.wire.materials.price_list import NAME, PriceListFaults
from service.wire.numbers import money
from solver.categories import Category
from workers.orders.catalogue import Entry

ON_A_PAGE = 50
_MOST_FAULTS = 100


@dataclass(frozen=True, slots=True)
class Sold:
    """A stock length as the table shows it: its length and price today, and from when it has which other price."""

    length: str
    price: str
    code: str
    later: tuple[tuple[str, str], ...]


@blueprint.get("/materials")
def materials() -> AnyResponse:
    """Show the materials that are as sought."""
    return _listed()


@blueprint.post("/materials")
def take_materials_in() -> AnyResponse:
    """Take a price list or the starter set in; of a list with faults nothing."""
    try:
        if request.form.get("do") == "starter-set":
            taken = catalogue.take_in_starter_set()
        else:
            file = request.files.get("file")
            if not file or not file.filename:
                return _listed(("Choose a file first.",))
            taken = catalogue.take_in(file.read())
    except Unreadable as unreadable:
        return _listed((f"This file can’t be read: {unreadable}.",))
    except PriceListFaults as wrong:
        return _listed(tuple(f"{fault.said[0].upper()}{fault.said[1:]}" for fault in wrong.faults))
    new, changed, unchanged = len(taken.new), len(taken.changed), len(taken.unchanged)
    return redirect(url_for("counter.materials", new=new, changed=changed, unchanged=unchanged), 303)


def _listed(faults: tuple[str, ...] = ()) -> AnyResponse:
    sought = request.args.get("q", "").strip()[: limits.TEXT]
    category = request.args.get("category", "")
    only = Category(category) if category in [*Category] else None
    entries, following = catalogue.found(sought, only, request.args.get("cursor", "")[: limits.ID], ON_A_PAGE)
    return page_of(
        "catalogue", 422 if faults else 200,
        sought=sought, category=category, following=following, faults=faults[:_MOST_FAULTS], more=len(faults),
        rows=[(entry, _sold(entry)) for entry in entries], done=_done(request.args),
    )  # fmt: skip


def _sold(entry: Entry) -> list[Sold]:
    stock = material_form.form_of(entry).stock
    rows = [{**row, "place": at} for at, row in enumerate(entry.body["stock"])]
    today, sold = catalogue.today(), []
    now = in_force(rows, today)
    for row in now or rows[:1]:
        later = [
            (each["from"], _price(each))
            for each in rows
            if each["id"] == row["id"] and "price" in each and (date_of(each.get("from")) or today) > today
        ]
        sold.append(
            Sold(stock[row["place"]]["length"], _price(row) if now else "", row.get("code") or "", tuple(sorted(later)))
        )
    return sold


def _price(row: Mapping[str, Any]) -> str:
    text = row.get("price")
    return money(Decimal(text)) or "" if text else "no price"


def _done(args: Mapping[str, str]) -> str:
    """Return in a sentence what was done before this page."""
    if name := args.get("kept"):
        return f"{name[: limits.ID]} is kept."
    if name := args.get("out"):
        return f"{name[: limits.ID]} is taken out. Plans made with it stay as they are."
    counts = [args.get(name, "") for name in ("new", "changed", "unchanged")]
    if not all(count.isascii() and count.isdigit() and len(count) < 6 for count in counts):
        return ""
    return "Taken in: {} new, {} changed, {} as before.".format(*counts)


@blueprint.get("/material")
def material() -> AnyResponse:
    """Show a material to be changed, or an empty form."""
    id_ = request.args.get("id")
    return _shown(material_form.form_of(catalogue.look(id_)) if id_ else MaterialForm())


@blueprint.post("/material")
def press_material() -> AnyResponse:
    """Do what a button says: change a row, copy, keep, or take out."""
    form, (what, _, where) = material_form.read_form(request.form), request.form.get("do", "keep").partition(":")
    if what == "new-prices":
        day = request.form.get("day", "")
        wrong = {} if date_of(day) else {"day": "New prices from: say the day first."}
        after = material_form.with_prices_from(form, day)
        return _shown(after, wrong, day, f"s{len(form.stock)}-price" if len(after.stock) > len(form.stock) else "")
    return PRESSED.get(what, _as_it_is)(form, where)


def _as_it_is(form: MaterialForm, _: str = "") -> AnyResponse:
    return _shown(form)


def _copy(form: MaterialForm, _: str) -> AnyResponse:
    return _shown(replace(form, id="", version=0))


def _add_length(form: MaterialForm, _: str) -> AnyResponse:
    return _shown(material_form.with_length(form), focus=f"s{len(form.stock)}-length")


def _drop_length(form: MaterialForm, where: str) -> AnyResponse:
    return _shown(replace(form, stock=without(form.stock, where) or ({},)))


def _keep(form: MaterialForm, _: str) -> AnyResponse:
    body, places = material_form.request_of(form)
    if not NAME.fullmatch(form.id):
        return _shown(form, {"id": f"Material: must have 1 to {limits.ID} characters and no stroke."})
    try:
        catalogue.put(form.id, body, form.version)
    except Problem as problem:
        return _shown(form, _told(problem, form, places))
    return redirect(url_for("counter.materials", kept=form.id), 303)


def _take_out(form: MaterialForm, _: str) -> AnyResponse:
    try:
        catalogue.take_out(form.id, form.version)
    except Problem as problem:
        return _shown(form, _told(problem, form, {}))
    return redirect(url_for("counter.materials", out=form.id), 303)


PRESSED: Mapping[str, Callable[[MaterialForm, str], AnyResponse]] = {
    "keep": _keep, "copy": _copy, "take-out": _take_out, "add-length": _add_length, "drop-length": _drop_length,
}  # fmt: skip
"""Every button of a material by its name; it is told what stands behind the name's colon."""


def _told(problem: Problem, form: MaterialForm, places: Mapping[str, str]) -> dict[str, str]:
    """Return by field what is wrong; the first thing in each."""
    if problem.kind == "changed":
        words = "somebody else changed it meanwhile; open it anew." if form.version else "is in the catalogue already."
        return {"id": f"{form.id}: {words}"}
    told: dict[str, str] = {}
    for error in problem.errors:
        told.setdefault(*material_form.fault_of(error, places))
    return told or {"id": problem.detail}


def _shown(
    form: MaterialForm, faults: Mapping[str, str] = MappingProxyType({}), day: str = "", focus: str = ""
) -> AnyResponse:
    """Show the form, with the cursor in the field ``focus``."""
    told = {"typed_in": form, "faults": faults, "columns": material_form, "day": day, "focus": focus}
    return page_of("material", 422 if faults else 200, **told)
