"""What the page says of a take-off: its walls drawn, each piece with the sum behind it, and what has no material."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from markupsafe import Markup

from service.counter import form as forms
from service.counter.house.form import HouseForm
from service.counter.house.surveyed import ANY, Surveyed
from service.counter.labels import ROLES
from service.drawing.elevation import draw_elevation, draw_house_pole, draw_outline
from service.drawing.lettering import clean
from service.drawing.shapes import Drawing
from service.drawing.svg import svg
from solver.categories import Hangs
from solver.lengths import say
from solver.takeoff import TakeOff
from solver.takeoff.answer import Needed, WallTakeOff, decimal
from solver.takeoff.measured import Role


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
