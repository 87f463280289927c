"""A take-off as the page shows it: each wall drawn, what it comes to, and what is to be noted."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from service.counter.choices import ROLES
from service.drawing.elevation import draw_elevation
from service.drawing.lettering import clean
from service.drawing.svg import svg
from solver.lengths import say
from solver.takeoff import TakeOff
from solver.takeoff.answer import WallTakeOff
from solver.takeoff.measured import Role


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
    needed = dict.fromkeys([*([Role.SOFFIT] * bool(found.soffits)), *(piece.role for piece in found.trim)])
    missing = tuple(role for role in needed if found.house.material_for(role) is None)
    return Measured(walls, (*soffits, *trim), notes, missing)


def _wall(found: TakeOff, taken: WallTakeOff) -> WallDrawn:
    drawing = Markup(svg(draw_elevation(taken, found.house.unit)))  # noqa: S704 - svg escapes every text it writes
    figures = tuple((clean(figure.name), clean(figure.text)) for figure in taken.figures)
    return WallDrawn(clean(taken.wall.id), drawing, len(taken.courses), figures)
