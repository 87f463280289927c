"""What was measured: the form as typed, the request for a take-off made of it, and the plan asked of that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from service.counter.form import ROLES, MaterialRow, StockForm, rows, stock_fields, texts
from service.counter.request import Fault, Json, Refused, Request, fault_of, material_of, offcuts_of, stock_faults
from service.problems import Problem
from service.wire import limits, read_job
from service.wire.taken_off import cut_plan_request
from service.wire.takeoff import read_take_off
from solver.job import Job
from solver.materials import Category
from solver.takeoff import TakeOff
from solver.takeoff.measured import Meeting, OpeningKind, Role

_OF_PANEL = ("exposure", "face", "coverage", "course_line")
_SIZES = ("width", "height", "peak", "elevation")
_ENDS = ("left", "right")


@dataclass(frozen=True, slots=True)
class OpeningRow:
    """An opening, measured outside of its casing or frame from the wall's left end and foot."""

    kind: str = OpeningKind.WINDOW
    id: str = ""
    left: str = ""
    bottom: str = ""
    width: str = ""
    height: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.left or self.bottom or self.width or self.height)


@dataclass(frozen=True, slots=True)
class WallRow:
    """A wall as seen from outside; with a peak it is a gable."""

    id: str = ""
    width: str = ""
    height: str = ""
    peak: str = ""
    elevation: str = ""
    left: str = Meeting.OUTSIDE_POST
    left_takes_up: str = ""
    right: str = Meeting.OUTSIDE_POST
    right_takes_up: str = ""
    bottom: str = Meeting.STARTER
    top: str = Meeting.SOFFIT
    viewed_from: str = ""
    openings: tuple[OpeningRow, ...] = ()

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.width or self.height or self.peak or self.openings)


@dataclass(frozen=True, slots=True)
class CeilingRow:
    """A soffit ceiling between the walls and beams around it."""

    id: str = ""
    length: str = ""
    width: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.width)


@dataclass(frozen=True, slots=True)
class EaveRow:
    """An eave with its soffit."""

    id: str = ""
    length: str = ""
    overhang: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing was typed."""
        return not (self.length or self.overhang)


@dataclass(frozen=True, slots=True)
class HouseForm(StockForm):
    """Everything on the page; ``exposure``, ``face`` and ``coverage`` are the panel's, the channel's, the soffit's."""

    exposure: str = ""
    face: str = ""
    coverage: str = ""
    course_line: str = ""
    cold: bool = False
    walls: tuple[WallRow, ...] = ()
    ceilings: tuple[CeilingRow, ...] = ()
    eaves: tuple[EaveRow, ...] = ()

    @property
    def roles(self) -> frozenset[str]:
        """What is provided for."""
        return frozenset(row.role for row in self.materials)

    @property
    def blank(self) -> bool:
        """Whether nothing was measured yet."""
        walls, ceilings, eaves = self.walls, self.ceilings, self.eaves
        return all(w.blank for w in walls) and all(c.blank for c in ceilings) and all(e.blank for e in eaves)


def empty_house(token: str) -> HouseForm:
    """Return the form as it opens: one wall to fill in, and the panel for it."""
    panel = MaterialRow(category=Category.SIDING, role=Role.PANEL)
    return HouseForm(token=token, materials=(panel,), walls=(WallRow(),))


def read_house(given: Mapping[str, str]) -> HouseForm:
    """Return the form that a browser sent."""
    form = HouseForm(
        **stock_fields(given),
        **texts(HouseForm, given),
        walls=tuple(_walls(given)),
        ceilings=tuple(rows(CeilingRow, given, "c", limits.MEASURED_WALLS)),
        eaves=tuple(rows(EaveRow, given, "e", limits.MEASURED_WALLS)),
    )
    return replace(form, materials=tuple(map(_served, form.materials)))


def _walls(given: Mapping[str, str]) -> Iterator[WallRow]:
    for place, row in enumerate(rows(WallRow, given, "w", limits.MEASURED_WALLS)):
        yield replace(row, openings=tuple(rows(OpeningRow, given, f"w{place}-o", limits.OPENINGS)))


def _served(row: MaterialRow) -> MaterialRow:
    role = Role(row.role) if row.role in list(Role) else Role.PANEL
    return replace(row, role=role, category=ROLES[role][1])


def taken_off(form: HouseForm) -> TakeOff:
    """Return the take-off of what was typed, whatever its materials are sold in. Raises ``Refused``."""
    request = take_off_request(form)
    for material in request.body["materials"]:
        # an elevation does not ask in which lengths panels are sold
        material["stock"] = material["stock"] or [{"id": "any", "length": "12'"}]
    try:
        return read_take_off(request.body)
    except Problem as problem:
        raise _refused(form, request, problem) from None


def job_of_house(form: HouseForm) -> tuple[Job, Json]:
    """Return the job that the take-off asks for, and the request it was read from. Raises ``Refused``."""
    request = take_off_request(form)
    if faults := tuple(stock_faults(form, set(form.names))):
        raise Refused(faults)
    try:
        body = cut_plan_request(read_take_off(request.body), request.body)
        return read_job(body), body
    except Problem as problem:
        raise _refused(form, request, problem) from None


def _refused(form: HouseForm, request: Request, problem: Problem) -> Refused:
    if not problem.errors:
        return Refused((Fault("w0-width", problem.detail),))
    return Refused(tuple(fault_of(request, form, error) for error in problem.errors))


def take_off_request(form: HouseForm) -> Request:
    """Return the request for a take-off; rows that nothing was typed in are passed over."""
    request = Request(nowhere="w0-width")
    places = range(len(form.materials))
    request.body = {
        "name": form.job.strip(),
        "units": form.units,
        "materials": [material_of(request, form, f"#/materials/{place}", place) for place in places],
        "uses": {form.materials[place].role: form.names[place] for place in reversed(places)},
        "walls": _asked_walls(request, form.walls),
        "ceilings": _simple(request, "ceilings", "c", form.ceilings),
        "eaves": _simple(request, "eaves", "e", form.eaves),
        "offcuts": list(offcuts_of(request, form, set(form.names))),
        **_typed(form, _OF_PANEL),
        **({"settings": {"cold": True}} if form.cold else {}),
    }
    request.places |= {f"#/{name}": name for name in _OF_PANEL} | {"#/name": "job"}
    return request


def _typed(row: object, names: Iterable[str]) -> dict[str, str]:
    return {name: text for name in names if (text := str(getattr(row, name)).strip())}


def _asked_walls(request: Request, rows: tuple[WallRow, ...]) -> list[Json]:
    told: list[Json] = []
    for place, row in enumerate(rows):
        if row.blank:
            continue
        pointer, at = f"#/walls/{len(told)}", f"w{place}"
        request.places |= {pointer: f"{at}-width"} | {f"{pointer}/{it}": f"{at}-{it}" for it in ("id", *_SIZES)}
        request.places |= {f"{pointer}/outline": f"{at}-height", f"{pointer}/viewed_from": f"{at}-viewed_from"}
        for end in _ENDS:
            request.places |= {f"{pointer}/{end}": f"{at}-{end}", f"{pointer}/{end}/takes_up": f"{at}-{end}_takes_up"}
        told.append(_wall(row, place) | {"openings": _openings(request, row, pointer, at)})
    return told


def _wall(row: WallRow, place: int) -> Json:
    ends = {end: _end(getattr(row, end), getattr(row, f"{end}_takes_up").strip()) for end in _ENDS}
    seen = {"viewed_from": row.viewed_from} if row.viewed_from else {}
    edges = {"bottom": row.bottom, "top": row.top}
    return {"id": row.id.strip() or str(place + 1), **_typed(row, _SIZES), **ends, **edges, **seen}


def _end(meets: str, takes_up: str) -> Json:
    return {"meets": meets, "takes_up": takes_up} if takes_up else {"meets": meets}


def _openings(request: Request, wall: WallRow, pointer: str, at: str) -> list[Json]:
    told: list[Json] = []
    for place, row in enumerate(wall.openings):
        if row.blank:
            continue
        here, there = f"{pointer}/openings/{len(told)}", f"{at}-o{place}"
        request.places |= {here: f"{there}-left", f"{here}/from": f"{there}-left"}
        request.places |= {f"{here}/{it}": f"{there}-{it}" for it in ("id", "kind", "bottom", "width", "height")}
        told.append(_opening(row, place))
    return told


def _opening(row: OpeningRow, place: int) -> Json:
    sizes = {"from": row.left, "bottom": row.bottom.strip() or "0", "width": row.width, "height": row.height}
    return {"kind": row.kind, "id": row.id.strip() or f"{row.kind[0].upper()}{place + 1}", **sizes}


def _simple(request: Request, name: str, prefix: str, rows: Iterable[Any]) -> list[Json]:
    """Return rows whose fields are called in the request what they are called on the page."""
    told: list[Json] = []
    for place, row in enumerate(rows):
        if row.blank:
            continue
        fields: Mapping[str, str] = asdict(row)
        pointer = f"#/{name}/{len(told)}"
        request.places |= {f"{pointer}/{it}": f"{prefix}{place}-{it}" for it in fields}
        request.places[pointer] = f"{prefix}{place}-length"
        told.append({**fields, "id": fields["id"].strip() or str(place + 1)})
    return told
