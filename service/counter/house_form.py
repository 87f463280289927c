"""The page for what was measured, as typed: walls with their openings, ceilings, eaves, and what serves for what."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from service.counter.rows import MaterialRow, StockForm, rows, stock_fields, texts
from service.wire import limits
from solver.materials import Category
from solver.takeoff.measured import Meeting, OpeningKind, Role

CATEGORY_OF = {
    Role.PANEL: Category.SIDING,
    Role.STARTER: Category.STARTER,
    Role.CHANNEL: Category.CHANNEL,
    Role.UTILITY: Category.CHANNEL,
    Role.OUTSIDE_POST: Category.POST,
    Role.INSIDE_POST: Category.POST,
    Role.DRIP_CAP: Category.OTHER,
    Role.CLOSURE: Category.OTHER,
    Role.SOFFIT: Category.SOFFIT,
    Role.SOFFIT_VENTED: Category.SOFFIT,
    Role.SOFFIT_CHANNEL: Category.CHANNEL,
    Role.FASCIA: Category.OTHER,
}
"""What kind of material serves for what."""


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
    return replace(row, role=role, category=CATEGORY_OF[role])
