"""From what was typed to the request that anybody posts, and from its faults back to the fields they are in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from service.counter.rows import MaterialRow, OffcutRow, StockForm, StockRow
from service.problems import FieldError

Json = dict[str, Any]
_ALLOWANCES = ("lap", "end_gap", "kerf", "lap_ends", "shortest_piece", "keep_offcuts_from", "spare_percent")
_NOT_AT_ALL = ("lap", "shortest_piece")
_ONE = {
    "walls": "wall", "openings": "opening", "ceilings": "ceiling", "eaves": "eave", "materials": "material",
    "stock": "stock length", "offcuts": "left over",
}  # fmt: skip
_NO = ("none", "no", "no lap")


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

    ``places`` leads from its JSON pointers to the fields of the page, ``nowhere`` is the field for all else.
    """

    nowhere: str = "text"
    body: Json = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)

    def place_of(self, error: FieldError) -> str:
        """Return the field in which a fault is, or the nearest thing around it."""
        pointer = error.pointer
        while pointer not in self.places and "/" in pointer:
            pointer = pointer.rpartition("/")[0]
        return self.places.get(pointer, self.nowhere)


def fault_of(request: Request, error: FieldError) -> Fault:
    """Return a fault of the request as one of the page."""
    place = request.place_of(error)
    where = f"Line {place.removeprefix('line-')} " if place.startswith("line-") else _in_words(error.pointer)
    return Fault(place, f"{where}{error.detail}".strip())


def _in_words(pointer: str) -> str:
    """Return where a pointer leads, as ``wall 1, opening 2, width: ``."""
    words: list[str] = []
    for step in pointer.split("/")[1:]:
        if step.isdigit() and words:
            words[-1] = f"{_ONE.get(words[-1], words[-1])} {int(step) + 1}"
        else:
            words.append(step.replace("_", " "))
    return f"{', '.join(words)}: " if words else ""


def stock_faults(form: StockForm, used: set[str]) -> Iterator[Fault]:
    """Yield a fault for each material that is used and of which no length is known."""
    for place, (name, row) in enumerate(zip(form.names, form.materials, strict=True)):
        if name in used and all(stock.blank for stock in row.stock):
            yield Fault(f"m{place}-s0-length", f"In which lengths is {name} sold? Give at least one.")


def material_of(request: Request, form: StockForm, pointer: str, place: int) -> Json:
    """Return the material at a place of the form; its fields are noted."""
    row, name = form.materials[place], form.names[place]
    request.places |= {pointer: f"m{place}-name", f"{pointer}/stock": f"m{place}-s0-length"}
    request.places |= {f"{pointer}/{it}": f"m{place}-{it}" for it in _ALLOWANCES}
    told: Json = {"id": name, "category": row.category, "stock": list(_stock(request, row, pointer, place))}
    typed = {it: text for it in _ALLOWANCES if (text := getattr(row, it).strip())}
    return told | typed | {it: None for it in _NOT_AT_ALL if typed.get(it, "").lower() in _NO}


def _stock(request: Request, row: MaterialRow, pointer: str, place: int) -> Iterator[Json]:
    ids: list[str] = []
    for at, stock in enumerate(row.stock):
        if stock.blank:
            continue
        here, there = f"{pointer}/stock/{len(ids)}", f"m{place}-s{at}"
        request.places |= {here: f"{there}-length", f"{here}/price": f"{there}-price"}
        request.places |= {f"{here}/code": f"{there}-code", f"{here}/carton": f"{there}-carton"}
        base = stock.length.strip()[:50] or "?"
        ids.append(base if base not in ids else f"{base} ({len(ids) + 1})")
        yield _stock_row(ids[-1], stock)


def _stock_row(name: str, stock: StockRow) -> Json:
    told: Json = {"id": name, "length": stock.length, "available": 0 if stock.out else None}
    told["code"] = stock.code.strip() or None
    told["price"] = _money(stock.price) or None
    told["carton"] = _whole(stock.carton) or None
    return told


def offcuts_of(request: Request, form: StockForm, used: set[str]) -> Iterator[Json]:
    """Yield what is on hand of the materials that are used; its fields are noted."""
    count = 0
    for place, row in enumerate(form.offcuts):
        material = row.material if row.material in form.names else form.names[0]
        if row.blank or material not in used:
            continue
        pointer = f"#/offcuts/{count}"
        request.places |= {pointer: f"o{place}-length", f"{pointer}/quantity": f"o{place}-quantity"}
        request.places |= {f"{pointer}/id": f"o{place}-id"}
        count += 1
        yield _offcut(row, material, count)


def _offcut(row: OffcutRow, material: str, number: int) -> Json:
    told: Json = {"id": row.id.strip() or f"L{number}", "material": material, "length": row.length}
    told |= {"quantity": _whole(row.quantity)} if row.quantity.strip() else {}
    return told | ({"factory_end": row.factory_end} if row.factory_end else {})


def _whole(text: str) -> int | str:
    """Return a number if the text is one, else the text, which the schema will refuse in words."""
    bare = text.strip()
    return int(bare) if bare.isascii() and bare.isdigit() and len(bare) < 10 else bare


def _money(text: str) -> str:
    """Return an amount as decimal digits: without a currency's sign, and with a point for a decimal comma."""
    bare = text.strip().strip("$€£ ")
    whole, comma, cents = bare.partition(",")
    return f"{whole}.{cents}" if comma and len(cents) <= 2 and "." not in bare else bare
