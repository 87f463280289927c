"""From what was typed to the request that anybody posts, and from its faults back to the fields they are in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.counter.form import (
    MATERIAL,
    OFFCUT,
    SETTINGS,
    STOCK,
    MaterialRow,
    OffcutRow,
    StockForm,
    StockRow,
    place_of,
)
from service.counter.labels import in_page_words, place_in_words
from service.counter.merging import Opened, free_name, merged
from service.http.problems import FieldError
from service.wire.materials.breaks import breaks_of
from service.wire.typed import asked
from solver.categories import Category
from solver.lengths import Unit

Json = dict[str, Any]

_SOLD = ("code", "carton", "available", "carton_price", "breaks", "fixed_cost", "wait_days")


@dataclass(frozen=True, slots=True)
class Fault:
    """Something to put right: the id of the field or line on the page, and what to do there."""

    place: str
    text: str


class Refused(Exception):
    """The form can't be planned as it stands; ``faults`` says why, in the order of the page."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        """Keep the faults."""
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


@dataclass(slots=True)
class Request:
    """A request in the making.

    ``places`` leads from its JSON pointers to the fields of the page, ``nowhere`` is the field for all else;
    ``of`` says which row of a stored request a pointer's object was opened from, ``behind`` what rows of the catalogue
    are copies of.
    """

    nowhere: str = "text"
    body: Json = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    of: dict[str, str] = field(default_factory=dict)
    behind: Mapping[str, Opened] = field(default_factory=dict)

    def field_of(self, error: FieldError) -> str:
        """Return the field in which a fault is, or the nearest thing around it."""
        pointer = error.pointer
        while pointer not in self.places and "/" in pointer:
            pointer = pointer.rpartition("/")[0]
        return self.places.get(pointer, self.nowhere)


def fault_of(request: Request, form: StockForm, error: FieldError) -> Fault:
    """Return a fault of the request as one of the page, with the page's own words for where it is."""
    place, detail = request.field_of(error), in_page_words(error.detail)
    if place.startswith("line-"):
        return Fault(place, f"Line {place.removeprefix('line-')}: {detail}")
    where = place_in_words(place, form.names)
    return Fault(place, f"{where[:1].upper()}{where[1:]}: {detail}" if where else detail)


def stock_faults(form: StockForm, used: set[str]) -> Iterator[Fault]:
    """Yield a fault for each material that is used and that nobody could pull: without a name, or without a length."""
    for place, (name, row) in enumerate(zip(form.names, form.materials, strict=True)):
        if name in used and (unclear := _unclear(row, name)):
            yield Fault(f"m{place}-name", unclear)
        if name in used and all(stock.blank for stock in row.stock):
            yield Fault(f"m{place}-s0-length", f"In which lengths is {name} sold? Give at least one.")
        for at, stock in enumerate(row.stock if name in used else ()):
            if doubt := feet_meant(stock.length, form.unit):
                yield Fault(f"m{place}-s{at}-length", f"{name}, length {at + 1}: {doubt}")


_VAGUE = (Category.CHANNEL, Category.OTHER)


def _unclear(row: MaterialRow, name: str) -> str:
    """Return why a yard would not know which material is meant, empty where it would."""
    if not row.name.strip() and not row.role and row.category in _VAGUE:
        return f"What {name} is it? Name it, as in J-channel, utility trim, soffit channel or drip cap."
    said = row.name.strip() or row.product
    return "" if name == said[: len(name)] else f"Two materials are called {said}: give one another name."


_BARE = re.compile(r"[0-9]{1,2}(?:[.,]5)?")
_MOST_FEET = 40


def doubtful_lengths(form: StockForm) -> dict[str, tuple[str, str]]:
    """Return by its field each stock length that is a number by itself, with what it is in feet and in inches."""
    return {
        f"m{place}-s{at}-length": (f"{stock.length.strip()} ft", f"{stock.length.strip()} in")
        for place, row in enumerate(form.materials)
        for at, stock in enumerate(row.stock)
        if feet_meant(stock.length, form.unit)
    }


def feet_meant(text: str, unit: Unit) -> str:
    """Return a question where a stock length is a number by itself, of inches, that must mean feet; else nothing."""
    bare = text.strip()
    if unit is not Unit.IN or not _BARE.fullmatch(bare) or float(bare.replace(",", ".")) > _MOST_FEET:
        return ""
    return f"{bare} ft? A number by itself is in inches: write {bare} ft, or {bare} in if it is so short."


def material_of(request: Request, form: StockForm, pointer: str, place: int) -> Json:
    """Return the material at a place of the form; its fields are noted."""
    row, name = form.materials[place], form.names[place]
    request.places |= {pointer: f"m{place}-name", f"{pointer}/stock": f"m{place}-s0-length"}
    request.places |= {f"{pointer}/{it}": f"m{place}-{it}" for it in SETTINGS}
    request.of[pointer] = row.of
    told: Json = {"id": name, "category": row.category, "stock": list(_stock(request, row, pointer, place))}
    told |= {it: asked(text, MATERIAL[it]) for it, text in row.settings.items() if text.strip()}
    behind = request.behind.get(row.catalogue)
    return merged(behind, told, [stock.of for stock in row.stock if not stock.blank]) if behind else told


def _stock(request: Request, row: MaterialRow, pointer: str, place: int) -> Iterator[Json]:
    ids: list[str] = []
    for at, stock in enumerate(row.stock):
        if stock.blank:
            continue
        here, there = f"{pointer}/stock/{len(ids)}", f"m{place}-s{at}"
        request.places |= {here: f"{there}-length", f"{here}/price": f"{there}-price"}
        request.places |= {f"{here}/{it}": f"{there}-{it}" for it in _SOLD}
        request.places[f"{here}/singles"] = f"{there}-whole"
        request.of[here] = stock.of
        ids.append(free_name(stock.length.strip()[:50] or "?", set(ids)))
        yield _stock_row(ids[-1], stock)


def _stock_row(name: str, stock: StockRow) -> Json:
    told: Json = {"id": name, "length": stock.length, "code": stock.code.strip() or None}
    texts = {it: getattr(stock, it).strip() for it in ("price", "carton", "available")}
    told |= {it: asked(text, STOCK[it]) if text else None for it, text in texts.items()}
    told |= {it: text for it in ("carton_price", "fixed_cost") if (text := getattr(stock, it).strip())}
    told |= {"wait_days": asked(wait, STOCK["wait_days"])} if (wait := stock.wait_days.strip()) else {}
    told |= {"breaks": breaks} if (breaks := breaks_of(stock.breaks)) else {}
    told |= {"singles": False} if stock.whole else {}
    return told | ({"available": 0} if stock.out else {})


def offcuts_of(request: Request, form: StockForm, used: set[str]) -> Iterator[Json]:
    """Yield what is on hand of the materials that are used; its fields are noted."""
    count, taken = 0, {name for row in form.offcuts if (name := row.id.strip())}
    for place, row in enumerate(form.offcuts):
        material = form.names[place_of(row.material, form.names) or 0]
        if row.blank or material not in used:
            continue
        pointer = f"#/offcuts/{count}"
        request.places |= {pointer: f"o{place}-length", f"{pointer}/quantity": f"o{place}-quantity"}
        request.places |= {f"{pointer}/id": f"o{place}-id"}
        request.of[pointer] = row.of
        count += 1
        name = row.id.strip() or next(label for n in range(1, len(taken) + 2) if (label := f"L{n}") not in taken)
        taken.add(name)
        yield _offcut(row, material, name)


def _offcut(row: OffcutRow, material: str, name: str) -> Json:
    told: Json = {"id": name, "material": material, "length": row.length}
    told |= {"quantity": asked(row.quantity, OFFCUT["quantity"])} if row.quantity.strip() else {}
    return told | ({"factory_end": row.factory_end} if row.factory_end else {})
