"""``/rack``: what lies on the rack and for whom; put there by hand or from a plan, used up, and labelled."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import catalogue, plans, racks
from service.counter.form import whole_of
from service.counter.labels import RACK
from service.counter.pages import blueprint, page_of
from service.counter.request import Json
from service.drawing.lettering import taped
from service.http.problems import Problem, not_found
from service.views.facts import factory_ends
from service.wire import limits
from service.wire.rack import RackPieceSchema, read_pieces
from service.wire.typed import asked
from solver.lengths import Unit
from solver.materials import FactoryEnd
from workers.rack.store import Entry, Hold

_PIECE = RackPieceSchema().fields
_NOTHING: Mapping[str, str] = {"count": "1", "factory_end": FactoryEnd.NONE}
Faults = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Row:
    """What has one label, in words; ``holds`` are those that have not used all of theirs."""

    entry: Entry
    length: str
    ends: str
    came: str
    holds: tuple[Hold, ...]


@blueprint.get("/rack")
def rack() -> Response:
    """Show what lies there."""
    return _page({**_NOTHING, "units": _unit(request.args), "material": request.args.get("material", "")}, {})


@blueprint.post("/rack")
def put_on_rack() -> AnyResponse:
    """Put something there: what was typed, or what a plan keeps."""
    from_plan = request.form.get("do") == "keep"
    try:
        found = _kept(request.form.get("from", "")) if from_plan else _put(request.form)
    except Problem as problem:
        faults = {_field(error.pointer): error.detail for error in problem.errors}
        return _page(dict(request.form), faults or {"from" if from_plan else "length": problem.detail}, 422)
    units = _unit(request.form)
    return redirect(url_for("counter.rack", units=units, put=len(found), _anchor="rack-list"), 303)


@blueprint.get("/rack/<label>")
def on_rack(label: str) -> Response:
    """Show what has one label."""
    return _one(label, {})


@blueprint.post("/rack/<label>")
def use_up(label: str) -> AnyResponse:
    """Take pieces off the rack that were used, or thrown away."""
    count = whole_of(request.form.get("count", "1").strip(), 1, limits.QUANTITY)
    try:
        if count is None:
            return _one(label, {"count": "How many? Write a whole number."})
        racks.use_up(label, count)
    except Problem as problem:
        if not problem.errors:
            raise
        return _one(label, {"count": problem.errors[0].detail})
    return redirect(url_for("counter.rack", units=_unit(request.form), used=label, _anchor="rack-list"), 303)


def _put(typed: Mapping[str, str]) -> list[Entry]:
    said = {name: text for name in _PIECE if (text := typed.get(name, "").strip())}
    piece: Json = {name: asked(text, _PIECE[name]) for name, text in said.items()}
    return racks.put(read_pieces({"units": _unit(typed), "pieces": [piece]}))


def _kept(of: str) -> list[Entry]:
    named, stick = racks.plan_named(of)
    record = plans.named(named)
    _, plan = plans.planned(record.id)
    return racks.keep_of(record, plan, stick)


def _field(pointer: str) -> str:
    """Return the field of the page that a fault is about."""
    last = pointer.rpartition("/")[2]
    return last if last in (*_PIECE, "from") else "length"


def _unit(given: Mapping[str, str]) -> Unit:
    return Unit(given["units"]) if given.get("units") in list(Unit) else Unit.IN


def _page(typed: Mapping[str, str], faults: Faults, status: int = 200) -> Response:
    entries, unit = racks.rack().entries(), _unit(typed)
    groups = [(material, _rows(of, unit)) for material, of in groupby(entries, key=lambda entry: entry.material)]
    shown = {name: text if name == "from" else f"{RACK[name]}: {text}" for name, text in faults.items()}
    names = sorted({entry.id for entry in catalogue.every()} | {entry.material for entry in entries})
    put, used = request.args.get("put", ""), request.args.get("used", "")
    return page_of("rack", status, groups=groups, typed=typed, faults=shown, unit=unit, put=put, used=used,
                   names=names)  # fmt: skip


def _rows(entries: Iterator[Entry] | Sequence[Entry], unit: Unit) -> list[Row]:
    return [_row(entry, unit) for entry in entries]


def _row(entry: Entry, unit: Unit) -> Row:
    ends = "" if entry.factory_end is FactoryEnd.NONE else factory_ends(entry.factory_end)
    day = f", {entry.at.astimezone():%Y-%m-%d}" if entry.at else ""
    came = f"from {entry.of}" if entry.of else "put there by hand"
    holds = tuple(hold for hold in entry.holds if hold.count > hold.used)
    return Row(entry, taped(entry.length, unit), ends, came + day, holds)


def _one(label: str, faults: Faults) -> Response:
    entry = racks.rack().fetch(label)
    if entry is None:
        raise not_found(f"Nothing on the rack has the label {label[:64]}: it was used up, or never lay there.")
    row = _row(entry, _unit(request.values))
    return page_of("on_rack", 422 if faults else 200, row=row, faults=faults, unit=_unit(request.values))
