"""What a stored request says beyond what the page shows, in words beside the line and the row that it belongs to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.counter.list_form import ListForm
from service.counter.pasted import Pasted
from service.counter.request import place_of
from service.counter.stored import Stored
from service.wire.required import pitch
from solver.lengths import Unit, say
from solver.materials import StockLength
from solver.required import Required


def beyond_list(pasted: Pasted, unit: Unit) -> Mapping[int, Sequence[str]]:
    """Return by line what is known of its pieces, in their order, and can't be said in a list."""
    told: dict[int, list[str]] = {}
    for item, number in zip(pasted.required, pasted.at, strict=True):
        told.setdefault(number, []).append("; ".join(_beyond(item, unit)))
    return told


def _beyond(item: Required, unit: Unit) -> Iterator[str]:
    if item.wall:
        yield f"on wall {item.wall}" + (f", {say(item.start, unit)} from its zero" if item.start else "")
    first, count = item.first_course, item.courses
    if first or count > 1:
        last = (first or 1) + count - 1
        yield f"course {last}" if count == 1 else f"courses {first or 1} to {last}: {item.pieces} pieces"
    for side, end in (("left", item.left_end), ("right", item.right_end)):
        if end.slope:
            upright = f", upright for {say(end.slope.upright, unit)}" if end.slope.upright else ""
            yield f"{side} end sloped {pitch(end.slope.pitch)}{upright}"
    for name, marks in (("cut-out", item.cut_outs), ("stretch kept clear", item.keep_clear)):
        if marks:
            yield f"{len(marks)} {name if len(marks) == 1 else _several(name)}"
    if item.ref:
        yield f"ref {item.ref}"


def _several(name: str) -> str:
    return {"cut-out": "cut-outs"}.get(name, "stretches kept clear")


def besides(stored: Stored, form: ListForm) -> Mapping[str, str]:
    """Return by field's prefix what is kept of materials and stock lengths that have no field for it."""
    told: dict[str, str] = {}
    for place, row in enumerate(form.materials):
        if (of := place_of(row.of, stored.job.materials)) is None:
            continue
        material = stored.job.materials[of]
        told[f"m{place}"] = material.description
        for at, line in enumerate(row.stock):
            if (of := place_of(line.of, material.stock)) is not None:
                told[f"m{place}-s{at}"] = "; ".join(_of_stock(material.stock[of], form.unit))
    return {name: words for name, words in told.items() if words}


def _of_stock(row: StockLength, unit: Unit) -> Iterator[str]:
    if not row.singles:
        yield "sold in full cartons only"
    if row.carton_price is not None:
        yield f"carton price {row.carton_price:f}"
    for name, length in (("lap", row.lap), ("end gap", row.end_gap)):
        if length is not None:
            yield f"{name} {say(length, unit)}"
