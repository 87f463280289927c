"""What the buttons among the measurements do: each turns the form as typed into the form as shown next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from service.counter.changes import STOCK_CHANGES, Change, without
from service.counter.form import ROLES, MaterialRow, place_of, whole_of
from service.counter.house.entries import EDGES, HOUSE, PANELS, POINTS, WITHOUT, Group
from service.counter.house.form import UNUSED, HouseForm, Path, Row, new_row, path_of, row_at, with_rows
from service.wire import limits
from solver.categories import Category
from solver.lengths import LengthError, Rounding, Unit, read_length, say
from solver.takeoff.measured import Meeting, Role


def _add(form: HouseForm, where: str) -> HouseForm:
    """Add a row: ``where`` is the id its list begins with and, of an opening or a product, what for: ``w0-o:door``."""
    at, _, kind = where.partition(":")
    above, _, letter = at.rpartition("-")
    path, group = path_of(above), _group(at)
    if group is None or group.letter != letter or (path and row_at(form.house, path) is None):
        return form
    added = new_row(group, kind)
    return replace(form, house=with_rows(form.house, path, group.name, lambda rows: (*rows, added)[: group.most]))


def _group(at: str) -> Group | None:
    """Return the kind of row whose ids begin so."""
    group: Group | None = HOUSE
    for part in at.split("-"):
        group = next((below for below in group.below if below.letter == part[:1]), None) if group else None
    return group


def _drop(form: HouseForm, where: str) -> HouseForm:
    """Take out the row with an id; edges are known by the corner that they begin at, so they move with the corners."""
    path = path_of(where)
    if not path:
        return form
    name, place = path[-1]
    house = with_rows(form.house, path[:-1], name, lambda rows: without(rows, str(place)))
    if name == POINTS.name:
        house = with_rows(house, path[:-1], EDGES.name, lambda rows: _renumbered(rows, place, -1))
    return replace(form, house=house)


def _insert(form: HouseForm, where: str) -> HouseForm:
    """Add a corner behind the one with an id."""
    path = path_of(where)
    if not path or path[-1][0] != POINTS.name or len(_rows(form, path)) >= POINTS.most:
        return form
    place = path[-1][1] + 1
    house = with_rows(form.house, path[:-1], POINTS.name, lambda rows: (*rows[:place], Row(POINTS), *rows[place:]))
    return replace(form, house=with_rows(house, path[:-1], EDGES.name, lambda rows: _renumbered(rows, place, 1)))


def _rows(form: HouseForm, path: Path) -> tuple[Row, ...]:
    above = row_at(form.house, path[:-1])
    return above.below(path[-1][0]) if above else ()


def _renumbered(rows: Iterable[Row], place: int, by: int) -> Iterator[Row]:
    """Yield edges as they are called once a corner came in at a place or went; the edge that began there is gone."""
    for row in rows:
        number = whole_of(row["edge"], 0, limits.CORNERS)
        if by < 0 and number == place:
            continue
        moved = number is not None and number >= place
        yield replace(row, texts={**row.texts, "edge": str((number or 0) + by)}) if moved else row


def _outline(form: HouseForm, where: str) -> HouseForm:
    """Measure a wall corner by corner, beginning with the corners that its width, height and peak make."""
    path = path_of(where)
    wall = row_at(form.house, path) if path else None
    if wall is None or wall.below(POINTS.name):
        return form
    points = tuple(Row(POINTS, {"along": along, "up": up}) for along, up in _corners(wall, form.unit))
    texts = {name: text for name, text in wall.texts.items() if name not in ("width", "height", "peak")}
    return _with_wall(form, path[0][1], replace(wall, texts=texts, rows={**wall.rows, POINTS.name: points}))


def _corners(wall: Row, unit: Unit) -> list[tuple[str, str]]:
    width, height, peak = (wall[name].strip() for name in ("width", "height", "peak"))
    if not peak:
        return [("0", "0"), (width, "0"), (width, height), ("0", height)]
    ends = [] if height == "0" else [(width, height), ("0", height)]
    return [("0", "0"), (width, "0"), *ends[:1], (_half(width, unit), peak), *ends[1:]]


def _half(width: str, unit: Unit) -> str:
    try:
        return say(read_length(width, unit, Rounding.NEAREST).ticks // 2, unit)
    except LengthError:
        return ""


def _with_wall(form: HouseForm, place: int, wall: Row) -> HouseForm:
    walls = (*form.walls[:place], wall, *form.walls[place + 1 :])
    return replace(form, house=with_rows(form.house, (), "walls", lambda _: walls))


def _copy(form: HouseForm, where: str) -> HouseForm:
    """Add a wall like another, without its name and the names of its corners."""
    path = path_of(where)
    wall = row_at(form.house, path[:1]) if path and path[0][0] == "walls" else None
    if wall is None or len(form.walls) >= wall.group.most:
        return form
    texts = {name: text for name, text in wall.texts.items() if name != "id" and not name.endswith("_corner")}
    copy = replace(_unknown(wall), texts=texts)
    return replace(form, house=with_rows(form.house, (), "walls", lambda rows: (*rows, copy)))


def _unknown(row: Row) -> Row:
    """Return a row as if it had been typed now, with all below it."""
    return replace(row, of="", rows={name: tuple(map(_unknown, rows)) for name, rows in row.rows.items()})


def _name_corners(form: HouseForm, where: str) -> HouseForm:
    """Name the corners between each wall's right end and the next one's left, where both have posts and no name."""
    del where
    walls = [*form.walls]
    taken = {wall[f"{end}_corner"].strip() for wall in walls for end in ("left", "right")}
    free = (name for number in range(1, 2 * len(walls) + 1) if (name := f"corner {number}") not in taken)
    for place in range(len(walls) if len(walls) > 1 else 0):
        after = (place + 1) % len(walls)
        right, left = walls[place], walls[after]
        alike = right["right"] == left["left"] in (Meeting.OUTSIDE_POST, Meeting.INSIDE_POST)
        if alike and not (right["right_corner"].strip() or left["left_corner"].strip()):
            name = next(free)
            walls[place] = replace(right, texts={**right.texts, "right_corner": name})
            walls[after] = replace(walls[after], texts={**walls[after].texts, "left_corner": name})
    return replace(form, house=with_rows(form.house, (), "walls", lambda _: walls))


def _add_role(form: HouseForm, where: str) -> HouseForm:
    """Add a material for a role, or for the first that nothing serves for yet."""
    left = [role for role in Role if role not in form.uses] or [Role.PANEL]
    role = Role(where) if where in list(Role) else left[0]
    return replace(form, materials=(*form.materials, MaterialRow(category=ROLES[role][1], role=role)))


def _use(form: HouseForm, where: str) -> HouseForm:
    """Let a material serve for one more role: ``where`` is the role and the material's place."""
    role, _, place = where.partition(":")
    if role not in list(Role) or place_of(place, form.materials) is None:
        return form
    return replace(_drop_use(form, role), also=(*form.also, (role, place)))


def _drop_use(form: HouseForm, role: str) -> HouseForm:
    return replace(form, also=tuple(pair for pair in form.also if pair[0] != role))


def _drop_material(form: HouseForm, where: str) -> HouseForm:
    """Take out a material with its uses; the places of those behind it move up."""
    gone = place_of(where, form.materials)
    if gone is None:
        return form
    kept = ((role, int(place)) for role, place in form.also if place != where)
    also = tuple((role, str(place - (place > gone))) for role, place in kept)
    after: HouseForm = STOCK_CHANGES["drop-material"](form, where)
    house = _moved_up(form.house, gone)
    return replace(after, also=also, house=house)


def _moved_up(row: Row, gone: int) -> Row:
    """Return a row with the materials that it names as they are placed once one is gone; that one it names no more."""
    texts = {**row.texts}
    for name in (name for name, it in row.group.entries.items() if it.refers):
        if (place := whole_of(row[name], 0, limits.MATERIALS)) is None:
            continue
        texts[name] = "" if place == gone else str(place - (place > gone))
    rows = {name: tuple(_moved_up(below, gone) for below in rows) for name, rows in row.rows.items()}
    return replace(row, texts=texts, rows=rows)


def _add_panel(form: HouseForm, where: str) -> HouseForm:
    """Add another kind of panel, and a material for it."""
    del where
    material = MaterialRow(category=Category.SHAKE, role=UNUSED)
    form = replace(form, materials=(*form.materials, material))
    row = Row(PANELS, {"material": str(len(form.materials) - 1)})
    return replace(form, house=with_rows(form.house, (), PANELS.name, lambda rows: (*rows, row)[: PANELS.most]))


def _without(form: HouseForm, name: str) -> HouseForm:
    """Switch something off: it is neither listed nor ordered."""
    return replace(form, without=tuple(it for it in WITHOUT if it in (*form.without, name)))


def _with(form: HouseForm, name: str) -> HouseForm:
    return replace(form, without=tuple(it for it in form.without if it != name))


HOUSE_CHANGES: dict[str, Change] = {
    **STOCK_CHANGES, "drop-material": _drop_material, "add-role": _add_role, "use": _use, "drop-use": _drop_use,
    "add": _add, "drop": _drop, "copy": _copy, "outline": _outline, "insert": _insert, "corners": _name_corners,
    "without": _without, "with": _with, "add-panel": _add_panel,
}  # fmt: skip
"""Every button by its name."""
