"""What the buttons of the page for what was measured do."""

from __future__ import annotations

from dataclasses import replace

from service.counter.house_form import CATEGORY_OF, CeilingRow, EaveRow, HouseForm, OpeningRow, WallRow
from service.counter.rows import MaterialRow
from service.counter.stock_changes import STOCK_CHANGES, Change, without
from solver.takeoff.measured import OpeningKind, Role


def _add_role(form: HouseForm, where: str) -> HouseForm:
    """Add a material for a role, or for the first that nothing serves for yet."""
    left = [role for role in Role if role not in form.roles] or [Role.PANEL]
    role = Role(where) if where in list(Role) else left[0]
    return replace(form, materials=(*form.materials, MaterialRow(category=CATEGORY_OF[role], role=role)))


def _add_wall(form: HouseForm, where: str) -> HouseForm:
    del where
    return replace(form, walls=(*form.walls, WallRow()))


def _drop_wall(form: HouseForm, where: str) -> HouseForm:
    return replace(form, walls=without(form.walls, where))


def _add_opening(form: HouseForm, where: str) -> HouseForm:
    """Add an opening: ``where`` is the wall's place and the opening's kind."""
    wall, _, kind = where.partition("-")
    row = OpeningRow(kind if kind in list(OpeningKind) else OpeningKind.WINDOW)
    walls = (
        replace(known, openings=(*known.openings, row)) if str(place) == wall else known
        for place, known in enumerate(form.walls)
    )
    return replace(form, walls=tuple(walls))


def _drop_opening(form: HouseForm, where: str) -> HouseForm:
    wall, _, opening = where.partition("-")
    walls = (
        replace(known, openings=without(known.openings, opening)) if str(place) == wall else known
        for place, known in enumerate(form.walls)
    )
    return replace(form, walls=tuple(walls))


def _add_ceiling(form: HouseForm, where: str) -> HouseForm:
    del where
    return replace(form, ceilings=(*form.ceilings, CeilingRow()))


def _drop_ceiling(form: HouseForm, where: str) -> HouseForm:
    return replace(form, ceilings=without(form.ceilings, where))


def _add_eave(form: HouseForm, where: str) -> HouseForm:
    del where
    return replace(form, eaves=(*form.eaves, EaveRow()))


def _drop_eave(form: HouseForm, where: str) -> HouseForm:
    return replace(form, eaves=without(form.eaves, where))


HOUSE_CHANGES: dict[str, Change] = {
    **STOCK_CHANGES, "add-role": _add_role, "add-wall": _add_wall, "drop-wall": _drop_wall,
    "add-opening": _add_opening, "drop-opening": _drop_opening, "add-ceiling": _add_ceiling,
    "drop-ceiling": _drop_ceiling, "add-eave": _add_eave, "drop-eave": _drop_eave,
}  # fmt: skip
"""Every button by its name."""
