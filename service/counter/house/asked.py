"""From the form to the request for a take-off that anybody posts, and from its faults back to the page's words."""

from __future__ import annotations

from collections.abc import Iterator

from service.counter.catalogue.picking import behind
from service.counter.form import place_of
from service.counter.house.entries import EDGES, GOODS, HOUSE, OPENINGS, PANELS, POINTS
from service.counter.house.form import HouseForm, Row, path_of, row_at
from service.counter.house.words import NOUNS, field_words, in_words, label_of, where_is
from service.counter.labels import place_in_words
from service.counter.request import Fault, Json, Request, material_of, offcuts_of
from service.http.problems import FieldError
from solver.takeoff.measured import OpeningKind


def take_off_request(form: HouseForm) -> Request:
    """Return the request for a take-off; rows that nothing was typed in are passed over."""
    request = Request(nowhere="add-wall", behind=behind(form))
    places = range(len(form.materials))
    request.body = {
        "name": form.job.strip(),
        "units": form.units,
        "materials": [material_of(request, form, f"#/materials/{place}", place) for place in places],
        "uses": form.uses,
        **_row(request, form, form.house, "#", ""),
        "without": [*form.without],
        "offcuts": list(offcuts_of(request, form, set(form.names))),
        "rack": form.rack,
    }
    request.places |= {"#/name": "job", "#/rack": "rack", "#/units": "units", "#/uses": "m0-role"}
    request.places |= {f"#/uses/{role}": f"m{form.names.index(name)}-role" for role, name in form.uses.items()}
    return request


def _row(request: Request, form: HouseForm, row: Row, pointer: str, at: str) -> Json:
    """Return the object of a row and all below it; where each of its fields stands is noted."""
    told: Json = {}
    prefix = f"{at}-" if at else ""
    for name, it in row.group.entries.items():
        request.places["/".join((pointer, *it.path))] = f"{prefix}{name}"
        if (text := row[name].strip()) and not (it.words and text == it.start):
            _put(told, it.path, _named_material(form, text) if it.refers else it.asked(text))
    for name, it in row.group.borders.items():
        if it.default is None or name in told:
            told.setdefault(name, {}).setdefault("meets", row[name] or it.start)
    for group in row.group.below:
        here, there = f"{pointer}/{group.name}", f"{prefix}{group.letter}"
        listed = list(_rows(request, form, row.below(group.name), here, there))
        whole = f"{at}-{row.group.first}" if at else f"add-{NOUNS[group.name]}"
        request.places[here] = f"{there}0-{group.first}" if listed else whole
        if listed or row.group is HOUSE or group is OPENINGS:
            told[group.name] = listed
    return told


def _named_material(form: HouseForm, place: str) -> str:
    at = place_of(place, form.names)
    return place if at is None else form.names[at]


def _put(told: Json, path: tuple[str, ...], value: object) -> None:
    for step in path[:-1]:
        told = told.setdefault(step, {})
    told[path[-1]] = value


def _rows(request: Request, form: HouseForm, rows: tuple[Row, ...], pointer: str, at: str) -> Iterator[object]:
    count = 0
    for place, row in enumerate(rows):
        if row.blank:
            continue
        here, there = f"{pointer}/{count}", f"{at}{place}"
        group, points = row.group, row.below(POINTS.name)
        request.places[here] = f"{there}-{POINTS.letter}0-{POINTS.first}" if points else f"{there}-{group.first}"
        request.of[here] = row.of
        told = _row(request, form, row, here, there)
        count += 1
        if group.pair:
            request.places |= {f"{here}/{n}": f"{there}-{name}" for n, name in enumerate(group.entries)}
            yield [told.get(name, "") for name in group.entries]
        else:
            yield _named(told, row, place)


def _named(told: Json, row: Row, place: int) -> Json:
    """Return a row's object with what is left to us: a name for what was measured, the floor as a door's foot."""
    if row.group in (EDGES, GOODS, PANELS):
        return told
    if row.group is OPENINGS:
        told.setdefault("kind", row["kind"])
        if row["kind"] == OpeningKind.DOOR:
            told.setdefault("bottom", "0")
    return {"id": row.name(place)} | told


def fault_of(request: Request, form: HouseForm, error: FieldError) -> Fault:
    """Return a fault of the request as one of the page, with the page's own words for where it is."""
    place, detail = request.field_of(error), in_words(error.detail)
    path = path_of(place)
    row = row_at(form.house, path) if path else None
    if error.pointer.removeprefix("#/") in NOUNS:
        return Fault(place, _sentence("", detail))
    if row is None:
        label = label_of(HOUSE, place) if place in HOUSE.entries else place_in_words(place, form.names)
        return Fault(place, _sentence(label, detail))
    around = where_is(form.house, path)
    whole = error.pointer in request.of or error.pointer.rpartition("/")[2] in NOUNS
    where = around if whole else [*around, *field_words(row.group, place.rpartition("-")[2])]
    if not detail.lower().startswith(around[0].lower()):
        return Fault(place, _sentence(", ".join(where), detail))
    rest = detail[len(around[0]) :]  # such a fault says itself of what it is
    if not rest.startswith(": "):
        return Fault(place, _sentence("", detail))
    return Fault(place, _sentence(", ".join(around[:1] if whole else where), rest[2:]))


def _sentence(where: str, detail: str) -> str:
    told = f"{where}: {detail}" if where else detail
    return told[:1].upper() + told[1:]
