"""A stored request opened on the page: what the page shows of it can be changed, all else stays as it is.

Nobody lists fields here. The page as it was opened and the page as it was sent back are made into requests the
same way, and where those two differ, the stored request is changed. So what the page does not show, or shows
rounded, comes back exactly, and a field that is new to the request is kept from its first day.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from service.counter.form import (
    MATERIAL,
    SETTINGS,
    STOCK,
    ListForm,
    MaterialRow,
    OffcutRow,
    StockForm,
    StockRow,
    mended,
    place_of,
)
from service.counter.merging import Opened, changed, merged
from service.counter.request import Json, Request, material_of, offcuts_of
from service.wire.job import rack_told, render_good
from service.wire.materials.breaks import typed_breaks
from service.wire.materials.material import render_material, render_offcut
from service.wire.required import render_wall
from service.wire.suppliers import minimum_told, render_supplier
from service.wire.typed import typed
from solver.cutlist import CutList, Item, Line, read_cut_list, write_cut_list
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import BreaksCount, Material, StockLength
from solver.required import End, Required

_BRACKETS = str.maketrans("[]", "()")


@dataclass(frozen=True, slots=True)
class Stored:
    """A stored job, the form it was opened as, and each of its items as its line is read, None where it can't be."""

    job: Job
    form: ListForm
    lines: tuple[Item | None, ...]

    @property
    def readable(self) -> bool:
        """Whether every item can be written in a line of a list."""
        return all(self.lines)

    def kept(self, now: ListForm, read: Sequence[tuple[Item, Required]]) -> Iterator[Required]:
        """Yield the items of the list as it is now, each with what its line does not say."""
        names = {row.of: name for row, name in zip(now.materials, now.names, strict=True) if row.of}
        of_id = {material.id: str(place) for place, material in enumerate(self.job.materials)}
        for (item, required), place in zip(read, self._places([item for item, _ in read]), strict=True):
            before = None if place is None else self.lines[place]
            if place is None or before is None:
                yield required
                continue
            kept = _edited(self.job.required[place], before, item, required)
            same = item.material == before.material
            named = names.get(of_id[self.job.required[place].material], "") if same else required.material
            yield replace(kept, material=named)

    def _places(self, read: Sequence[Item]) -> list[int | None]:
        """Return for each item the stored one that it is: the same line, else the only one with its mark."""
        free: dict[Item, list[int]] = {}
        for place, line in enumerate(self.lines):
            if line:
                free.setdefault(line, []).append(place)
        found = [free[item].pop(0) if free.get(item) else None for item in read]
        left = [place for places in free.values() for place in places]
        by_mark = {line.mark: place for place in left if (line := self.lines[place]) and line.mark}
        stored = Counter(line.mark for place in left if (line := self.lines[place]))
        typed_anew = Counter(item.mark for item, place in zip(read, found, strict=True) if place is None)
        alone = {mark for mark in by_mark if stored[mark] == 1 == typed_anew[mark]}
        return [
            by_mark[item.mark] if place is None and item.mark in alone else place
            for item, place in zip(read, found, strict=True)
        ]

    def request(self, asked: Request, unit: Unit) -> Json:
        """Return the stored request with what differs between the page as opened and as sent back."""
        body, nothing = asked.body, Request()
        shown = [material_of(nothing, self.form, "#", place) for place in range(len(self.form.materials))]
        materials = []
        for place, told in enumerate(body["materials"]):
            of = place_of(asked.of.get(f"#/materials/{place}", ""), shown)
            stock_of = [asked.of.get(f"#/materials/{place}/stock/{row}", "") for row in range(len(told["stock"]))]
            behind = None if of is None else Opened(own_words(self.job.materials[of], unit), shown[of])
            materials.append(merged(behind, told, stock_of) if behind else told)
        ids = {told["id"]: kept["id"] for told, kept in zip(body["materials"], materials, strict=True)}
        shown_offcuts = list(offcuts_of(nothing, self.form, set(self.form.names)))
        offcuts = []
        for place, told in enumerate(body["offcuts"]):
            of = place_of(asked.of.get(f"#/offcuts/{place}", ""), shown_offcuts)
            kept = told if of is None else changed(render_offcut(self.job.offcuts[of], unit), shown_offcuts[of], told)
            offcuts.append({**kept, "material": ids[told["material"]]})
        required = [{**told, "material": ids[told["material"]]} for told in body["required"]]
        top = changed(self._top(unit), self._shown(), _top_of(body))
        known = {wall["id"] for wall in top["walls"]}
        top["walls"] = [*top["walls"], *(wall for wall in body["walls"] if wall["id"] not in known)]
        return {**top, "materials": materials, "required": required, "offcuts": offcuts}

    def _shown(self) -> Json:
        told = {"name": self.form.job.strip(), "units": self.job.units, "rack": self.form.rack}
        return told | {"within_days": self.job.within_days}

    def _top(self, unit: Unit) -> Json:
        walls = [render_wall(wall, unit) for wall in self.job.walls]
        top = {"name": self.job.name, "units": self.job.units, "walls": walls, "limits": {"seconds": self.job.seconds}}
        told = {"goods": [render_good(good) for good in self.job.goods], "rack": rack_told(self.job.rack)}
        charges = {"suppliers": [render_supplier(supplier) for supplier in self.job.suppliers]}
        own = {"minimum_order": minimum_told(self.job.minimum_order), "within_days": self.job.within_days}
        return top | told | charges | own


def own_words(material: Material, unit: Unit) -> Json:
    """Return a material as a request that says only what differs from its category."""
    usual, own = material.category.kind.defaults, material.settings
    as_usual = {name for name in SETTINGS if getattr(own, name) == getattr(usual, name)}
    return {name: value for name, value in render_material(material, unit).items() if name not in as_usual}


def opened(job: Job, written: Json | None = None) -> Stored:
    """Return a stored job as the page opens it: as it was ``written``, where that says what the job does.

    Else marks are written in brackets, each piece under its material, and the customer's words behind each.
    """
    job = job.as_asked
    return (_as_written(job, written) if written else None) or _anew(job)


def _as_written(job: Job, written: Json) -> Stored | None:
    """Return the job with its list as it came, None where that is another list by now."""
    assume, same = (tuple(written[name].items()) for name in ("assume", "same"))
    form = replace(form_of(job, written["text"]), rest=written["rest"], assume=assume, same=same)
    read = read_cut_list(form.said, form.unit, form.names, written["assume"])
    items = tuple(item for line in read.lines for item in line.read)
    found = [replace(need, material=form.material_of(item.material))
             for item, need in zip(items, read.required, strict=True)]  # fmt: skip
    return Stored(job, form, items) if list(map(_told, found)) == list(map(_told, job.required)) else None


def _told(item: Required) -> tuple[object, ...]:
    """Return what a line of a list says of an item."""
    ends = item.left_end.meets, item.right_end.meets
    return item.mark, item.material, item.length, item.quantity, item.courses, item.room, *ends


def _anew(job: Job) -> Stored:
    listed = [replace(item, courses=1, mark=item.mark.translate(_BRACKETS)) for item in job.required]
    text = write_cut_list(listed, job.units)
    form = form_of(job, text)
    read = read_cut_list(text, job.units, form.names)
    form = replace(form, text=_with_words(read, job))
    lines = [line for line in read.lines if _is_piece(line)]
    items = tuple(line.read[0] if len(line.read) == 1 else None for line in lines)
    return Stored(job, form, items if len(items) == len(job.required) else (None,) * len(job.required))


def _with_words(read: CutList, job: Job) -> str:
    """Return the list with what the customer wrote of each piece behind it."""
    words = iter([item.words.replace("\t", "  ") for item in job.required])
    return "\n".join(mended(next(words, ""), line.text) if _is_piece(line) else line.text for line in read.lines)


def _is_piece(line: Line) -> bool:
    """Whether a line stands for an item: what is no heading over its pieces; none of these ends with a colon."""
    return bool(line.text) and not line.text.endswith(":")


def form_of(job: Job, text: str) -> ListForm:
    """Return the form for a job whose list is written as ``text``; every row knows which of the job's it is."""
    ids = [material.id for material in job.materials]
    return ListForm(
        text=text,
        units=job.units,
        job=job.name,
        materials=tuple(material_row(material, str(place), job.units) for place, material in enumerate(job.materials)),
        offcuts=tuple(
            OffcutRow(
                length=say(cut.length, job.units),
                quantity=str(cut.quantity),
                material=str(ids.index(cut.material)),
                id=cut.id,
                factory_end=cut.factory_end,
                of=str(place),
            )
            for place, cut in enumerate(job.offcuts)
        ),
        rack=job.rack is not None,
        within_days="" if job.within_days is None else str(job.within_days),
    )


def material_row(material: Material, of: str, unit: Unit, role: str = "") -> MaterialRow:
    """Return a material as the page shows it: ``of`` is its place in the stored request, ``role`` its use."""
    usual, own = material.category.kind.defaults, material.settings
    settings = {
        name: typed(getattr(own, name), MATERIAL[name], unit)
        for name in SETTINGS
        if getattr(own, name) != getattr(usual, name)
    }
    stock = tuple(_stock(row, str(place), unit) for place, row in enumerate(material.stock))
    return MaterialRow(material.id, material.category, role, of, settings, stock)


def _stock(row: StockLength, of: str, unit: Unit) -> StockRow:
    price = "" if row.price is None else typed(row.price, STOCK["price"], unit)
    out, many = row.available == 0, str(row.available or "")
    carton = "" if row.carton_price is None else typed(row.carton_price, STOCK["carton_price"], unit)
    fixed = typed(row.fixed_cost, STOCK["fixed_cost"], unit) if row.fixed_cost else ""
    wait = str(row.wait_days or "")
    return StockRow(
        say(row.length, unit), row.code or "", price, str(row.carton or ""), many, carton, typed_breaks(row.breaks),
        fixed, wait, whole=not row.singles, out=out, of=of,
    )  # fmt: skip


def _edited(stored: Required, before: Item, now: Item, required: Required) -> Required:
    """Return a stored item with what was changed in its line; a slope stays with its end, and so do the words."""
    told: Json = {
        name: getattr(required, name)
        for name in ("mark", "length", "quantity", "room")
        if getattr(before, name) != getattr(now, name)
    }
    for name in ("left_end", "right_end"):
        if getattr(before, name) != getattr(now, name):
            told[name] = End(getattr(now, name).meets, getattr(stored, name).slope)
    return replace(stored, **told)


def _top_of(body: Mapping[str, object]) -> Json:
    return {name: body[name] for name in ("name", "units", "rack", "within_days")}


def besides(stored: Stored, form: StockForm) -> dict[str, str]:
    """Return by field's prefix what is kept of materials and stock lengths that have no field for it."""
    told: dict[str, str] = {}
    for place, row in enumerate(form.materials):
        if (of := place_of(row.of, stored.job.materials)) is not None:
            told |= beyond_row(place, row, stored.job.materials[of], form.unit)
    return told


def beyond_row(place: int, row: MaterialRow, material: Material, unit: Unit) -> dict[str, str]:
    """Return by field's prefix what of a material behind a row of the page has no field there."""
    told = {f"m{place}": material.description}
    for at, line in enumerate(row.stock):
        if (of := place_of(line.of, material.stock)) is not None:
            told[f"m{place}-s{at}"] = "; ".join(_of_stock(material.stock[of], unit))
    return {name: words for name, words in told.items() if words}


def _of_stock(row: StockLength, unit: Unit) -> Iterator[str]:
    if row.breaks and row.breaks_count is BreaksCount.MATERIAL:
        yield "all lengths count towards a price break"
    for name, length in (("lap", row.lap), ("end gap", row.end_gap)):
        if length is not None:
            yield f"{name} {say(length, unit)}"
