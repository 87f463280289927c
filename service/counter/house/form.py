"""The form for what was measured, as typed: rows of fields, and rows within rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from service.counter.form import ROLES, MaterialRow, StockForm, place_of, stock_fields, texts, whole_of
from service.counter.house.entries import HOUSE, WITHOUT, Group
from solver.categories import Category
from solver.takeoff.goods import Need
from solver.takeoff.measured import OpeningKind, Role

_COVERS = (Category.SIDING, Category.VERTICAL, Category.SHAKE, Category.INSULATED)
"""What walls are covered with."""
UNUSED = ""
"""The role of a material that is used as nothing yet."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the texts of its fields, the rows below it, and ``of``, its place in the list it was opened from."""

    group: Group
    texts: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, tuple[Row, ...]] = field(default_factory=dict)
    of: str = ""

    def __getitem__(self, name: str) -> str:
        """Return the text of a field."""
        return self.texts.get(name, self.group.entries[name].start)

    def below(self, name: str) -> tuple[Row, ...]:
        """Return the rows of one kind below it."""
        return self.rows.get(name, ())

    @property
    def blank(self) -> bool:
        """Whether nothing was typed in it; what was chosen counts for nothing, but which edge is meant."""
        typed = (it for name, it in self.group.entries.items() if not it.words and self[name].strip())
        return next(typed, None) is None and not any(self.rows.values())

    def name(self, place: int) -> str:
        """Return what it is called: as typed, else by its place among its kind, an opening with its kind's letter."""
        letter = self["kind"][:1].upper() if self.group.name == "openings" else ""
        own = self["id"].strip() if "id" in self.group.entries else ""
        return own or f"{letter}{place + 1}"


@dataclass(frozen=True, slots=True)
class HouseForm(StockForm):
    """Everything on the page.

    ``also`` are uses besides the one that a material's row says, each with the material's place; ``without`` is what
    was switched off.
    """

    house: Row = Row(HOUSE)
    also: tuple[tuple[str, str], ...] = ()
    without: tuple[str, ...] = ()

    @property
    def walls(self) -> tuple[Row, ...]:
        """The walls."""
        return self.house.below("walls")

    @property
    def within_days(self) -> str:
        """For how long what is ordered can be waited for."""
        return self.house["within_days"]

    @property
    def uses(self) -> dict[str, str]:
        """Which material, by name, serves for what; of two for one use the first."""
        also = {role: self.names[int(place)] for role, place in self.also}
        rows = reversed([*zip(self.materials, self.names, strict=True)])
        return also | {row.role: name for row, name in rows if row.role != UNUSED}

    @property
    def blank(self) -> bool:
        """Whether nothing was measured yet."""
        return all(row.blank for rows in self.house.rows.values() for row in rows)


def empty_house(token: str) -> HouseForm:
    """Return the form as it opens: one wall to fill in, and the panel for it."""
    panel = MaterialRow(category=Category.SIDING, role=Role.PANEL)
    walls = next(group for group in HOUSE.below if group.name == "walls")
    return HouseForm(token=token, materials=(panel,), house=Row(HOUSE, rows={"walls": (new_row(walls),)}))


def new_row(group: Group, kind: str = "") -> Row:
    """Return a row that nothing was typed in: with posts at both ends if it is a wall, else of a kind."""
    start = {
        "walls": {"left": "outside_post", "right": "outside_post"},
        "openings": {"kind": kind if kind in list(OpeningKind) else OpeningKind.WINDOW},
        "edges": {"edge": "0", "meets": "channel"},
        "goods": {"need": kind if kind in list(Need) else Need.HOUSE_WRAP},
    }
    return Row(group, start.get(group.name, {}))


def read_house(given: Mapping[str, str]) -> HouseForm:
    """Return the form that a browser sent."""
    form = HouseForm(**stock_fields(given), **texts(HouseForm, given), house=_read(HOUSE, given, ""))
    also = tuple(
        (role, place) for role in Role if place_of(place := given.get(f"use-{role}", ""), form.materials) is not None
    )
    without = tuple(name for name in WITHOUT if f"without-{name}" in given)
    return replace(form, materials=tuple(map(_served, form.materials)), also=also, without=without)


def _read(group: Group, given: Mapping[str, str], at: str) -> Row:
    prefix = f"{at}-" if at else ""
    rows = {below.name: tuple(_rows(below, given, f"{prefix}{below.letter}")) for below in group.below}
    told = {name: given[prefix + name] for name in group.entries if prefix + name in given}
    return Row(group, told, rows, given.get(f"{prefix}of", "") if at else "")


def _rows(group: Group, given: Mapping[str, str], at: str) -> Iterator[Row]:
    first = next(iter(group.entries))
    for place in range(group.most):
        if f"{at}{place}-{first}" not in given:
            return
        yield _read(group, given, f"{at}{place}")


def _served(row: MaterialRow) -> MaterialRow:
    role = row.role if row.role in [*Role, UNUSED] else Role.PANEL
    free = role == UNUSED or (role == Role.PANEL and row.category in _COVERS)
    return replace(row, role=role, category=row.category if free else ROLES[Role(role)][1])


Path = tuple[tuple[str, int], ...]
"""The way to a row: the name of each list and the place in it."""


def path_of(place: str) -> Path:
    """Return the way to the row that an id such as ``w0-o1`` or ``w0-o1-left`` is of; what is none is empty."""
    found: list[tuple[str, int]] = []
    group = HOUSE
    for part in place.split("-"):
        below = next((below for below in group.below if below.letter == part[:1]), None)
        at = whole_of(part[1:], 0, below.most - 1) if below else None
        if below is None or at is None:
            break
        found.append((below.name, at))
        group = below
    return tuple(found)


def row_at(house: Row, path: Path) -> Row | None:
    """Return the row at the end of a way, None where there is none."""
    for name, place in path:
        rows = house.below(name)
        if place >= len(rows):
            return None
        house = rows[place]
    return house


def with_rows(row: Row, path: Path, name: str, change: Callable[[tuple[Row, ...]], Iterable[Row]]) -> Row:
    """Return a row with the list ``name`` of the row at the end of a way changed."""
    if not path:
        return replace(row, rows={**row.rows, name: tuple(change(row.below(name)))})
    (first, place), rest = path[0], path[1:]
    rows = [with_rows(it, rest, name, change) if n == place else it for n, it in enumerate(row.below(first))]
    return replace(row, rows={**row.rows, first: tuple(rows)})
