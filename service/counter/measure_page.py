"""``/measure``: walls, openings, ceilings and eaves typed in, drawn at once, then planned like any list."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime

from flask import Response, request
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from service import access
from service.counter.changes import HOUSE_CHANGES, changed
from service.counter.house import HouseForm, empty_house, job_of_house, read_house, take_off_request, taken_off
from service.counter.labels import ROLES
from service.counter.pages import begin, blueprint, new_token, page_of
from service.counter.request import Fault, Refused
from service.documents.sheets import page_of_sheet, paper_asked
from service.documents.take_off_pages import take_off_sheet
from service.drawing.elevation import draw_elevation
from service.drawing.lettering import clean
from service.drawing.svg import svg
from solver.lengths import say
from solver.takeoff import TakeOff
from solver.takeoff.answer import WallTakeOff
from solver.takeoff.measured import Role


@blueprint.get("/measure")
def measure() -> Response:
    """Show an empty form."""
    return _show(empty_house(new_token()))


@blueprint.post("/measure")
def draw() -> AnyResponse:
    """Do what a button says: draw again, change a row, print the take-off, or plan."""
    form, button = read_house(request.form), request.form.get("do", "plan")
    form = form if form.token else replace(form, token=new_token())
    if button not in ("plan", "sheet"):
        return _show(changed(form, button, HOUSE_CHANGES), part=request.form.get("part", ""))
    access.spend_turn("plans")
    try:
        if button == "sheet":
            return _sheet(form)
        left_out = tuple(ROLES[role] for role in missing_in(taken_off(form)))
        return begin(form, *job_of_house(form), left_out, take_off_request(form).body)
    except Refused as refused:
        return _show(form, refused.faults)


def _show(form: HouseForm, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it with the drawings; faults of what is not planned yet stand beside them."""
    found, doubts = _measured(form)
    shown = "measured" if part == "measured" else "measure"
    wrong = {fault.place: fault.text for fault in faults}
    return page_of(shown, 422 if faults else 200, form=form, found=found, doubts=doubts, faults=wrong)


def _measured(form: HouseForm) -> tuple[Measured | None, tuple[Fault, ...]]:
    if form.blank:
        return None, ()
    try:
        return measured_of(taken_off(form)), ()
    except Refused as refused:
        return None, refused.faults


def _sheet(form: HouseForm) -> Response:
    found = taken_off(form)
    return page_of_sheet(take_off_sheet(found, datetime.now(UTC), paper_asked(form.unit)))


@dataclass(frozen=True, slots=True)
class WallDrawn:
    """One wall: its name, its elevation, and its arithmetic as name and words."""

    name: str
    drawing: Markup
    courses: int
    figures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces of one use: how many, how long, where, and how the length comes about."""

    use: str
    quantity: int
    length: str
    place: str
    text: str


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured, taken off. ``missing`` are the roles for which no material is named."""

    walls: tuple[WallDrawn, ...]
    pieces: tuple[Pieces, ...]
    notes: tuple[str, ...]
    missing: tuple[Role, ...]


def measured_of(found: TakeOff) -> Measured:
    """Return a take-off as the page shows it."""
    unit = found.house.unit
    walls = tuple(_wall(found, wall) for wall in found.walls)
    soffits = tuple(
        Pieces(ROLES[Role.SOFFIT], row.quantity, say(row.span, unit), clean(row.place), row.figures[0].text)
        for row in found.soffits
    )
    trim = tuple(
        Pieces(ROLES[piece.role], piece.quantity, say(piece.length, unit), clean(piece.place), piece.figure.text)
        for piece in found.trim
    )
    notes = tuple(clean(notice.detail) for notice in found.notices if notice.code != "no_material")
    return Measured(walls, (*soffits, *trim), notes, missing_in(found))


def missing_in(found: TakeOff) -> tuple[Role, ...]:
    """Return the roles of pieces for which no material is named: they are listed, and not planned."""
    needed = dict.fromkeys([*([Role.SOFFIT] * bool(found.soffits)), *(piece.role for piece in found.trim)])
    return tuple(role for role in needed if found.house.material_for(role) is None)


def _wall(found: TakeOff, taken: WallTakeOff) -> WallDrawn:
    drawing = Markup(svg(draw_elevation(taken, found.house.unit)))  # noqa: S704 - svg escapes every text it writes
    figures = tuple((clean(figure.name), clean(figure.text)) for figure in taken.figures)
    return WallDrawn(clean(taken.wall.id), drawing, len(taken.courses), figures)
