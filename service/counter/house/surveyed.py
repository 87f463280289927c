"""As much as can be taken off of what was typed so far, and all that is wrong with the rest, at once.

What is being typed is half finished most of the time. For what is at fault another of its kind stands in, and the rest
is taken off again, so that one wall's missing figure hides neither the drawing nor the faults of the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from marshmallow import ValidationError

from service.counter.house.asked import fault_of, take_off_request
from service.counter.house.entries import HOUSE
from service.counter.house.form import HouseForm
from service.counter.house.stored import Measured
from service.counter.request import Fault, Json, Refused, Request, stock_faults
from service.http.problems import FieldError, Problem
from service.racks import with_rack
from service.wire import limits, read_job
from service.wire.numbers import in_units
from service.wire.takeoffs.measured import MeasuredWallSchema, OpeningSchema, measured_wall_of
from service.wire.takeoffs.taken_off import cut_plan_request
from service.wire.takeoffs.takeoff import read_take_off
from solver.categories import Category
from solver.job import Job
from solver.lengths import Unit
from solver.takeoff import TakeOff
from solver.takeoff.measured import Wall

_WALL, _OPENING = MeasuredWallSchema(), OpeningSchema()
_STAND_IN: Mapping[str, str] = {"exposure": "8 in", "face": "3/4 in", "coverage": "12 in"}
_ROWS: Mapping[str, Json] = {
    "walls": {"width": "10 ft", "height": "8 ft", "left": "channel", "right": "channel"},
    "ceilings": {"length": "10 ft", "width": "4 ft"},
    "eaves": {"length": "10 ft", "overhang": "1 ft"},
}
_OPENING_STAND_IN = {"id": "1", "kind": "window", "from": "1 ft", "bottom": "1 ft", "width": "1 ft", "height": "1 ft"}
"""What stands for a measure or a row at fault while the others are looked at; none of it is shown."""
_STANDS_IN = "\N{WORD JOINER}"
"""How the names of such rows begin."""
ANY = "any"
"""The stock that stands in: nobody is asked in which lengths panels are sold before an elevation is drawn."""


@dataclass(frozen=True, slots=True)
class Surveyed:
    """What of the form could be taken off, None if nothing; its faults; the walls that can at least be outlined."""

    found: TakeOff | None
    faults: tuple[Fault, ...]
    outlined: tuple[Wall, ...]

    @property
    def whole(self) -> TakeOff:
        """The take-off of everything. Raises ``Refused`` where something is at fault."""
        if self.faults or self.found is None:
            raise Refused(self.faults)
        return self.found


def surveyed(form: HouseForm, kept: Measured | None = None) -> Surveyed:
    """Take off what can be of a form; ``kept`` are the measurements that it was opened from."""
    request = take_off_request(form)
    body = kept.request(request) if kept else request.body
    lists: Json = {name: [] for name in _ROWS}
    sold = [told | {"stock": told["stock"] or _any_stock(told)} for told in body["materials"]]
    body = lists | body | {"materials": sold}
    found, errors = _as_far_as_can_be(body)
    if found:
        real = tuple(taken for taken in found.walls if not taken.wall.id.startswith(_STANDS_IN))
        found = replace(found, walls=real)
    taken = {taken.wall.id for taken in found.walls} if found else set()
    rest = [told for told in body["walls"] if told["id"] not in taken]
    return Surveyed(found, _faults(request, form, errors), tuple(_outlined(rest, form.unit)))


def job_of_house(form: HouseForm, kept: Measured | None = None) -> tuple[Job, Json, Json]:
    """Return the job that the take-off asks for, the request it was read from, and the request for the take-off.

    Raises ``Refused`` with every fault of form and stock.
    """
    request = take_off_request(form)
    body = kept.request(request) if kept else request.body
    faults = (*surveyed(form, kept).faults, *stock_faults(form, set(form.names)))
    if faults:
        raise Refused(faults)
    try:
        told = cut_plan_request(read_take_off(body), body)
        return read_job(told, with_rack), told, body
    except Problem as problem:
        raise Refused(_faults(request, form, problem.errors or [FieldError("#", problem.detail)])) from None


def _faults(request: Request, form: HouseForm, errors: Iterable[FieldError]) -> tuple[Fault, ...]:
    """Return faults in the words and in the order of the page."""
    places = [*request.places.values()]
    found = dict.fromkeys(fault_of(request, form, error) for error in errors)
    return tuple(sorted(found, key=lambda fault: places.index(fault.place) if fault.place in places else -1))


def _as_far_as_can_be(body: Json) -> tuple[TakeOff | None, list[FieldError]]:
    """Return the take-off with stand-ins for what is at fault, None where its figures then would be, and all faults."""
    errors: list[FieldError] = []
    told, right = body, True
    while True:
        try:
            found = read_take_off(told)
        except Problem as problem:
            errors += (error for error in problem.errors if error not in errors)
            cured = _with_stand_ins(body, errors)
            if cured == told:
                return None, errors
            told, right = cured, right and not any(_sways_figures(error) for error in problem.errors)
        else:
            return found if right else None, errors


def _row_of(error: FieldError) -> tuple[str, int] | None:
    """Return the list and the place of the row that a fault is in."""
    _, name, place, *_rest = (*error.pointer.split("/"), "", "")
    return (name, int(place)) if place.isdecimal() else None


def _sways_figures(error: FieldError) -> bool:
    """Whether a fault lies in what the figures of all walls rest on; in which lengths panels are sold is not that."""
    row = _row_of(error)
    of_material = row is not None and row[0] == "materials"
    return row is None or row[0] == "panels" or (of_material and "/stock" not in error.pointer)


def _with_stand_ins(body: Json, errors: Iterable[FieldError]) -> Json:
    """Return the body with a stand-in for each row and measure at fault, and without other fields at fault."""
    told: Json = body | {"settings": dict(body.get("settings", {}))}
    for error in errors:
        row, names = _row_of(error), error.pointer.split("/")[1:]
        if row and row[0] == "goods":
            told["goods"] = []
        elif row and row[0] in (*_ROWS, "panels", "materials"):
            told[row[0]] = [*told[row[0]]]
            told[row[0]][row[1]] = _stand_in(*row, body[row[0]][row[1]])
        elif names[:1] == ["settings"]:
            told["settings"].pop(names[-1], None)
        elif names and names[0] in _STAND_IN:
            told[names[0]] = _STAND_IN[names[0]]
        elif names and names[0] in HOUSE.entries:
            told.pop(names[0], None)
    return told


def _stand_in(name: str, place: int, row: Json) -> Json:
    if name == "materials":
        return {it: row[it] for it in ("id", "category")} | {"stock": _any_stock(row)}
    if name == "panels":
        return {"material": row.get("material", ""), "exposure": _STAND_IN["exposure"]}
    openings = {"openings": [_OPENING_STAND_IN]} if row.get("openings") else {}
    return {"id": _STANDS_IN + str(place), **_ROWS[name], **openings}


def _any_stock(material: Json) -> list[Json]:
    """Return stock that is long enough for whatever can't be lapped."""
    length = f"{limits.STICK_FEET} ft" if material["category"] == Category.VERTICAL else "12 ft"
    return [{"id": ANY, "length": length}]


def _outlined(walls: Iterable[Json], unit: Unit) -> Iterator[Wall]:
    """Yield the walls whose outline can be drawn, each with the openings that can be."""
    for told in walls:
        with in_units(unit):
            openings = [it for it in told.get("openings", ()) if not _OPENING.validate(it)]
            try:
                yield measured_wall_of(_WALL.load(told | {"openings": openings}))
            except ValidationError:
                continue
