"""The measurements of a plan opened on the page again: what the page does not show of them stays as it was posted.

The page as it was opened and the page as it was sent back are made into requests the same way, and where those two
differ, the stored request is changed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from service.counter.form import OffcutRow, place_of
from service.counter.house.asked import take_off_request
from service.counter.house.entries import HOUSE, WITHOUT, Entry, Group
from service.counter.house.form import UNUSED, HouseForm, Row
from service.counter.merging import free_name
from service.counter.request import Json, Request
from service.counter.stored import material_row
from service.wire.materials.material import MaterialSchema, material_of
from service.wire.numbers import in_units
from solver.lengths import Unit

_MATERIAL = MaterialSchema()
_ABSENT: Any = object()


@dataclass(frozen=True, slots=True)
class Measured:
    """A stored request for a take-off, and the form that it was opened as."""

    body: Json
    form: HouseForm

    def request(self, asked: Request) -> Json:
        """Return the stored request with what differs between the page as opened and as sent back."""
        shown = take_off_request(self.form)
        body: Json = _merged(self.body, shown.body, asked.body, "#", asked.of)
        return body | {"materials": [*map(_named_apart, body["materials"])]}


def opened(body: Json) -> Measured:
    """Return a stored request as the page opens it; every row knows which of the request's it is.

    Particulars are in the plan's record, where they may have been changed since.
    """
    body = {name: value for name, value in body.items() if name != "particulars"}
    unit = Unit(body["units"])
    ids = [told["id"] for told in body["materials"]]
    first, also = _uses(body["uses"], ids)
    with in_units(unit):
        materials = [material_of(_MATERIAL.load(told)) for told in body["materials"]]
    rows = (material_row(it, str(place), unit, first.get(it.id, UNUSED)) for place, it in enumerate(materials))
    form = HouseForm(
        units=unit,
        job=body.get("name", ""),
        materials=tuple(rows),
        offcuts=tuple(_offcut(told, str(place), ids) for place, told in enumerate(body.get("offcuts", ()))),
        rack=bool(body.get("rack")),
        house=_row(HOUSE, body, ids),
        also=also,
        without=tuple(name for name in WITHOUT if name in body.get("without", ())),
    )
    return Measured(body, form)


def _uses(uses: Mapping[str, str], ids: list[str]) -> tuple[dict[str, str], tuple[tuple[str, str], ...]]:
    """Return the first use of each material, and all others with their materials' places."""
    first: dict[str, str] = {}
    for role, name in uses.items():
        first.setdefault(name, role)
    also = ((role, str(ids.index(name))) for role, name in uses.items() if name in ids and first[name] != role)
    return first, tuple(also)


def _offcut(told: Json, of: str, ids: list[str]) -> OffcutRow:
    return OffcutRow(
        length=str(told["length"]),
        quantity=str(told.get("quantity", "")),
        material=str(ids.index(told["material"])) if told["material"] in ids else "0",
        id=told["id"],
        factory_end=told.get("factory_end", ""),
        of=of,
    )


def _row(group: Group, told: Any, ids: list[str], of: str = "") -> Row:  # noqa: ANN401 - an object, or the list of a pair
    known: Json = dict(zip(group.entries, told, strict=False)) if group.pair else told
    texts = {name: text for name, it in group.entries.items() if (text := _text(it, known, ids)) is not None}
    rows = {
        below.name: tuple(
            _row(below, entry, ids, str(place)) for place, entry in enumerate(known.get(below.name) or ())
        )
        for below in group.below
    }
    return Row(group, texts, rows, of)


def _text(it: Entry, told: Json, ids: list[str]) -> str | None:
    """Return a field's text, None where the request leaves it out; an edge may be told as the bare word it meets."""
    value: Any = told
    for step in it.path:
        if isinstance(value, str):
            return value if step == "meets" else None
        value = value.get(step, _ABSENT) if isinstance(value, dict) else _ABSENT
    if value is _ABSENT:
        return None
    return str(ids.index(value)) if it.refers and value in ids else it.said(value)


def _merged(stored: Any, shown: Any, told: Any, pointer: str, of: Mapping[str, str]) -> Any:  # noqa: ANN401 - JSON
    if told == shown:
        return stored
    if isinstance(told, dict) and isinstance(shown, dict) and isinstance(stored, dict):
        kept = {name: value for name, value in stored.items() if name in told or name not in shown}
        return kept | dict(_changed(stored, shown, told, pointer, of))
    if isinstance(told, list) and isinstance(shown, list) and isinstance(stored, list):
        return [_kept(stored, shown, row, f"{pointer}/{place}", of) for place, row in enumerate(told)]
    return told


def _changed(stored: Json, shown: Json, told: Json, pointer: str, of: Mapping[str, str]) -> Iterator[tuple[str, Any]]:
    for name, value in told.items():
        if name not in shown:
            yield name, value
        elif name in stored or value != shown[name]:
            yield name, _merged(stored.get(name, shown[name]), shown[name], value, f"{pointer}/{name}", of)


def _kept(stored: list[Any], shown: list[Any], row: Any, pointer: str, of: Mapping[str, str]) -> Any:  # noqa: ANN401
    """Return an entry of a list: the stored one that it was opened from, with what was changed."""
    place = place_of(of.get(pointer, ""), stored[: len(shown)])
    return row if place is None else _merged(stored[place], shown[place], row, pointer, of)


def _named_apart(material: Json) -> Json:
    """Give stock lengths that are new beside stored ones names of their own."""
    ids: list[str] = []
    for row in material["stock"]:
        ids.append(free_name(row["id"], set(ids)))
    return material | {"stock": [row | {"id": name} for row, name in zip(material["stock"], ids, strict=True)]}
