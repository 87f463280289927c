"""What the fields of the form offer: words for categories, ends and units, and the trade's defaults as hints."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from service.counter import form as forms
from service.counter.form import MATERIAL, STOCK, MaterialRow, StockForm
from service.documents.blocks import HANDOVERS as HANDOVER_WORDS
from service.http.access import ANYBODY
from service.wire.typed import typed
from solver.categories import Category, LapEnds
from solver.lengths import Unit, say
from solver.materials import FactoryEnd
from solver.required import End, Meets
from workers.orders.particulars import Act, Deed

_OF_STOCK = ("length", "price", "code", "carton", "available", "carton_price", "breaks", "fixed_cost", "wait_days")
FIELDS: Mapping[str, Mapping[str, str]] = {
    "form": {
        "text": "The list",
        "units": "Plain numbers are in",
        "job": "Job",
        "customer": "Customer",
        "phone": "Telephone",
        "purchase_order": "Purchase order no.",
        "wanted_by": "Wanted by",
        "handover": "Handover",
        "address": "Deliver to",
        "taken_by": "Taken by",
        "note": "Note",
        "within_days": forms.WITHIN_DAYS.metadata["label"],
    },
    "m": {
        "name": "Name",
        "category": MATERIAL["category"].metadata["label"],
        "role": "Used as",
        **{name: MATERIAL[name].metadata["label"] for name in forms.SETTINGS},
    },
    "s": {
        **{name: STOCK[name].metadata["label"] for name in _OF_STOCK},
        "whole": "full cartons only",
        "out": "out of stock",
    },
    "o": {
        "length": "Length",
        "quantity": "How many",
        "material": "Material",
        "id": "Label",
        "factory_end": "Factory ends",
    },
}
"""The label of every field by the kind of row that it is in, as the letters of the fields' ids have it."""
RACK = {
    "material": "Material",
    "length": "Length",
    "units": "Plain numbers are in",
    "count": "How many",
    "label": "Label",
    "factory_end": "Factory ends",
    "note": "Note",
    "from": "Plan number, or the address on an offcut’s label",
}
"""The label of every field of the rack."""
WEEK = {
    "carry": "Offcuts the van carries in a night",
    "shortest_kept": "Shortest offcut to carry",
    "freeze_at": "A day’s sheet is final at",
    "freeze_days": "Days before that day",
    "order_at": "What a delivery brings is final at",
    "order_days": "Days before the delivery",
    "timezone": "Time zone",
}
"""The label of every limit of a crew's week."""
_ROWS = {"o": "offcut", "s": "length"}
_FIELD = re.compile(r"([mo])(\d+)(?:-s(\d+))?-(\w+)")
_NAMES = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
UNITS = {Unit.IN: "inches", Unit.FT: "feet", Unit.MM: "millimetres", Unit.CM: "centimetres", Unit.M: "metres"}
CATEGORIES = {category: category.kind.words for category in Category}
LAP_ENDS = {
    LapEnds.FACTORY: "factory ends only",
    LapEnds.RENOTCHED: "factory, or re-notched field ends",
    LapEnds.ANY: "any end",
}
FACTORY_ENDS = {
    FactoryEnd.NONE: "none",
    FactoryEnd.LEFT: "left",
    FactoryEnd.RIGHT: "right",
    FactoryEnd.BOTH: "both",
}
COMPANY = {
    "name": "Company",
    "address": "Address",
    "phone": "Telephone",
    "email": "E-mail",
    "tax_name": "What the tax is called",
    "tax_percent": "Tax, %",
    "handover": "Handover, where an order says nothing",
    "ready_days": "Working days until an order from stock is ready",
    "paper": "Paper",
    "note": "Note below every order",
}
"""The label of every setting of the company."""
SUPPLIER = {
    "name": "Supplier",
    "amount": "Minimum order",
    "below": "Below it",
    "fee": "Charge below it",
    "order_cost": "Each order",
    "delivery": "Delivery",
    "free_delivery_from": "Delivered free from",
}
"""The label of all that is known of a supplier, as a row of the settings."""
BELOW = {"": "not said", "refused": "is refused", "made_up": "is charged as the minimum", "fee": "costs a charge"}
PAPERS = {"": "what goes with the units", "letter": "Letter", "a4": "A4"}
HANDOVERS: Mapping[str, str] = {"": "not said", **{str(how): words for how, words in HANDOVER_WORDS.items()}}
ROLES = {role: words for role, (words, _) in forms.ROLES.items()}
SETTINGS = tuple((name, FIELDS["m"][name]) for name in forms.SETTINGS)
"""Every setting of a material with its label, in the order in which it is declared."""
PANELS_SERVE = {"job": "any wall", "wall": "one wall only"}
CHOSEN = {"lap_ends": LAP_ENDS, "panels_serve": PANELS_SERVE}
"""Settings that are one of a few."""


def usual(form: StockForm, row: MaterialRow, name: str) -> str:
    """Return what a setting is if its field is left empty."""
    return typed(getattr(Category(row.category).kind.defaults, name), MATERIAL[name], form.unit)


def in_short(form: StockForm, row: MaterialRow) -> str:
    """Return the allowances of a material in a line."""
    told = {name: row.settings.get(name, "").strip() or usual(form, row, name) for name in ("lap", "end_gap", "kerf")}
    lap = "not lapped" if told["lap"] == "none" else f"lap {told['lap']}"
    if told["lap"].startswith("-"):
        lap = f"butted with a gap of {told['lap'][1:]}"
    return f"{lap}, end gap {told['end_gap']}, kerf {told['kerf']}"


def place_in_words(field: str, materials: Sequence[str]) -> str:
    """Return where a field is, by what stands beside it on the page: ``sand panel, length 2, price each``."""
    found = _FIELD.fullmatch(field)
    if not found:
        return FIELDS["form"].get(field, "") or WEEK.get(field, "")
    kind, row, stock, name = found.groups()
    words = [materials[int(row)] if kind == "m" else f"{_ROWS[kind]} {int(row) + 1}"]
    if stock:
        kind = "s"
        words.append(f"{_ROWS[kind]} {int(stock) + 1}")
    label = FIELDS[kind].get(name, name.replace("_", " "))
    return ", ".join([*words, label[0].lower() + label[1:]])


def in_page_words(detail: str) -> str:
    """Return what is wrong with a request with its fields called as they are on the page, or in plain words."""
    labels = {name: label for kind in ("form", "o", "s", "m") for name, label in FIELDS[kind].items()}
    return _NAMES.sub(lambda word: f"“{labels[word[0]]}”" if word[0] in labels else word[0].replace("_", " "), detail)


def end(side: str, what: End) -> str:
    """Return what an end meets, in words; empty where it is plain."""
    return {Meets.PLAIN: "", Meets.LAP: f"lapped {side}", Meets.CHANNEL: f"channel {side}"}[what.meets]


def room(length: int, extra: int, unit: Unit) -> str:
    """Return the length that a piece may grow to."""
    return f"room to {say(length + extra, unit)}"


_ACTS = {
    Act.ASKED: "asked for", Act.CONTINUED: "asked for, to go on with another",
    Act.PLANNED: "planned", Act.FAILED: "could not be planned", Act.CANCELLED: "stopped",
    Act.AMENDED: "changed", Act.STOPPED: "told to stop", Act.CALLED_OFF: "called off", Act.TAKEN_UP: "taken up again",
    Act.TOLD: "told to the caller's program", Act.NOT_TOLD: "not told to the caller's program",
}  # fmt: skip


def deed(done: Deed) -> str:
    """Return what was done, when and by whom, as ``2026-11-29 09:14, by R. Tern: called off``."""
    who = ", ".join(word for word in (done.name, done.client if done.client != ANYBODY else "") if word)
    by = f", by {who}" if who else ""
    return f"{done.at.astimezone():%Y-%m-%d %H:%M}{by}: {_ACTS[done.act]}{f'; {done.detail}' if done.detail else ''}"


def places(names: Iterable[str]) -> list[tuple[str, str]]:
    """Return names as options whose values are their places: a name may be changed."""
    return [(str(place), name) for place, name in enumerate(names)]
