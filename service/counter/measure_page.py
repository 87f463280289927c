"""``/measure``: walls, openings, ceilings and eaves typed in, drawn at once, then planned like any list.

What is shown of a take-off: its walls drawn, each piece with the sum behind it, and what has no material.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

from flask import Response, request
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter import drafted
from service.counter import form as forms
from service.counter.catalogue import picking
from service.counter.changes import changed
from service.counter.house import stored, words
from service.counter.house.changes import HOUSE_CHANGES
from service.counter.house.form import HouseForm, empty_house, read_house
from service.counter.house.stored import Measured
from service.counter.house.surveyed import ANY, Surveyed, job_of_house, surveyed
from service.counter.labels import ROLES
from service.counter.pages import begin, blueprint, new_token, page_of
from service.counter.particulars import particulars_of, typed_of
from service.counter.request import Fault, Refused
from service.documents.sheets import page_of_sheet, paper_asked
from service.documents.take_off_pages import take_off_sheet
from service.drawing.elevation import draw_elevation, draw_house_pole, draw_outline
from service.drawing.lettering import clean
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from service.http.problems import Problem
from solver.categories import Hangs
from solver.lengths import say
from solver.takeoff import TakeOff
from solver.takeoff.answer import Needed, WallTakeOff, decimal
from solver.takeoff.measured import Role

GONE = (
    "The plan that this was opened from is no longer kept, and with it what the page does not show. "
    "Press Plan again to go on without that."
)


@blueprint.get("/measure")
def measure() -> Response:
    """Show an empty form, or one with the measurements of a plan in it."""
    plan_id = request.args.get("plan")
    if typed := drafted.fields_of("/measure"):
        form = read_house(typed)
        return _show(form, _opened_from(form))
    if plan_id is None:
        return _show(empty_house(drafted.token_asked() or new_token()), None)
    kept = stored.opened(plans.measured(plan_id))
    known = typed_of(plans.own(plan_id).particulars)
    return _show(replace(kept.form, plan=plan_id, token=new_token(), **known), kept)


@blueprint.post("/measure")
def draw() -> AnyResponse:
    """Do what a button says: draw again, change a row, print the take-off, or plan."""
    form, button = picking.filled(read_house(request.form)), request.form.get("do", "plan")
    form = form if form.token else replace(form, token=new_token())
    kept = _opened_from(form)
    if button not in ("plan", "sheet"):
        buttons = {**HOUSE_CHANGES, **picking.changes(request.form.get("pick", ""))}
        after = picking.filled(changed(form, button, buttons))
        return _show(after, kept, part=request.form.get("part", ""))
    if form.plan and not kept:
        return _show(replace(form, plan=""), None, (Fault("plan", GONE),))
    try:
        return _sheet(form, kept) if button == "sheet" else _planned(form, kept)
    except Refused as refused:
        return _show(form, kept, refused.faults)


def _opened_from(form: HouseForm) -> Measured | None:
    """Return the measurements that the form was opened from, None where there are none, or none any more."""
    try:
        return stored.opened(plans.measured(form.plan)) if form.plan else None
    except Problem:
        return None


def _planned(form: HouseForm, kept: Measured | None) -> AnyResponse:
    """Plan it. Raises ``Refused`` with every fault of what was measured and of the particulars."""
    try:
        job, body, measured = job_of_house(form, kept)
    except Refused as refused:
        raise Refused((*refused.faults, *_of_particulars(form))) from None
    return begin(form, job, body, measured)


def _of_particulars(form: HouseForm) -> tuple[Fault, ...]:
    try:
        particulars_of(form)
    except Refused as refused:
        return refused.faults
    return ()


def _sheet(form: HouseForm, kept: Measured | None) -> Response:
    found = surveyed(form, kept).whole
    return page_of_sheet(take_off_sheet(found, datetime.now(UTC), paper_asked(form.unit)))


def _show(form: HouseForm, kept: Measured | None, faults: tuple[Fault, ...] = (), part: str = "") -> Response:
    """Return the page, or the part of it with the drawings; faults of what is not planned yet stand beside them."""
    survey = Surveyed(None, (), ()) if form.blank else surveyed(form, kept)
    told = {
        "form": form, "words": words, "found": shown_of(form, survey), "doubts": () if faults else survey.faults,
        "faults": {fault.place: fault.text for fault in faults},
    }  # fmt: skip
    return page_of("measured_parts" if part == "measured" else "measure", 422 if faults else 200, **told)


@dataclass(frozen=True, slots=True)
class WallDrawn:
    """One wall: its name and drawing; once taken off how many courses, or ``of`` what, and its arithmetic in words."""

    name: str
    drawing: Markup
    courses: int = 0
    of: str = ""
    figures: tuple[tuple[str, str], ...] = ()
    finishes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces of one use: how many, how long, where, and how the length comes about."""

    use: str
    quantity: int
    length: str
    place: str
    text: str


@dataclass(frozen=True, slots=True)
class NeedShown:
    """Something besides what is cut: what, how much, the sum behind it, and what it is bought as, if that is named."""

    need: str
    quantity: str
    text: str
    bought: str


@dataclass(frozen=True, slots=True)
class Shown:
    """What is shown of the measurements: walls by the ids of their rows.

    ``missing`` are the roles for which no material is named, each with the places of those that could serve for it.
    """

    walls: Mapping[str, WallDrawn]
    pieces: tuple[Pieces, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    missing: Mapping[Role, tuple[int, ...]] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()
    needs: tuple[NeedShown, ...] = ()
    pole: Markup | None = None
    steps: tuple[str, ...] = ()


def shown_of(form: HouseForm, survey: Surveyed) -> Shown:
    """Return what the page shows of a survey; its lists once everything could be taken off."""
    found, unit = survey.found, form.unit
    drawn = {wall.id: WallDrawn(clean(wall.id), _drawn(draw_outline(wall, unit))) for wall in survey.outlined}
    drawn |= {taken.wall.id: _wall(found, taken) for taken in found.walls} if found else {}
    places = {row.name(place): f"w{place}" for place, row in enumerate(form.walls)}
    walls = {at: drawn[name] for name, at in places.items() if name in drawn}
    if found is None or survey.faults:
        return Shown(walls)
    return Shown(
        walls,
        tuple(_pieces(found)),
        tuple(_figures(found)),
        tuple(clean(notice.detail) for notice in found.notices if notice.code != "no_material"),
        _to_do(form, found),
        found.cautions,
        tuple(map(_need, found.needs)),
        _drawn(draw_house_pole(found.pole, unit)) if found.pole else None,
        tuple(_starts(found)),
    )


def _figures(found: TakeOff) -> Iterator[tuple[str, str]]:
    """Yield the figures but those of how many of a stock that only stands in."""
    for figure in found.figures:
        if f" of {ANY} " not in figure.name:
            yield clean(figure.name), clean(figure.text)


def _need(found: Needed) -> NeedShown:
    bought = f"{found.packs} × {clean(found.product)}" if found.product else ""
    return NeedShown(str(found.need), f"{decimal(found.quantity)} {found.unit}", clean(found.text), bought)


def _starts(found: TakeOff) -> Iterator[str]:
    """Yield where the siding of each wall begins, at both ends, then the steps between floors."""
    unit = found.house.unit
    for start in found.pole.starts if found.pole else ():
        ends = f"{say(start.left, unit)} above that at the left, {say(start.right, unit)} at the right"
        yield clean(f"{start.wall} over {start.over}: {say(start.height, unit)} above the level line, {ends}")
    yield from (clean(step) for step in (found.pole.steps if found.pole else ()))


def _pieces(found: TakeOff) -> Iterator[Pieces]:
    unit = found.house.unit
    for row in found.soffits:
        yield Pieces(ROLES[Role.SOFFIT], row.quantity, say(row.span, unit), clean(row.place), row.figures[0].text)
    for piece in found.trim:
        words = ROLES[piece.role], piece.quantity, say(piece.length, unit), clean(piece.place), piece.figure.text
        yield Pieces(*words)


def missing_in(found: TakeOff) -> tuple[Role, ...]:
    """Return the roles of pieces for which no material is named: they are listed, and not planned."""
    needed = dict.fromkeys([*([Role.SOFFIT] * bool(found.soffits)), *(piece.role for piece in found.trim)])
    return tuple(role for role in needed if found.house.material_for(role) is None)


def _to_do(form: HouseForm, found: TakeOff) -> dict[Role, tuple[int, ...]]:
    rows = [*enumerate(form.materials)]
    return {role: tuple(n for n, row in rows if row.category == forms.ROLES[role][1]) for role in missing_in(found)}


def _wall(found: TakeOff, taken: WallTakeOff) -> WallDrawn:
    unit = found.house.unit
    figures = tuple((clean(figure.name), clean(figure.text)) for figure in taken.figures)
    of = "upright panels" if taken.hangs is Hangs.COLUMNS else "courses"
    chosen = taken.wall.finish
    ways = tuple(f"{'Chosen: ' if way.finish is chosen else ''}{way.consequence}" for way in taken.finishes)
    return WallDrawn(clean(taken.wall.id), _drawn(draw_elevation(taken, unit)), len(taken.courses), of, figures, ways)


def _drawn(drawing: Drawing) -> Markup:
    return Markup(svg(drawing))  # noqa: S704 - svg escapes every text it writes
