"""The titles of columns, and what a column under such a title holds."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum

from solver.lengths import Unit


class Column(StrEnum):
    """What a column holds. ``NUMBER`` counts the pieces or the rows, ``PART`` is parts of an inch."""

    QUANTITY = "quantity"
    NUMBER = "number"
    LENGTH = "length"
    FEET = "feet"
    INCHES = "inches"
    PART = "part"
    MARK = "mark"
    MATERIAL = "material"
    DESCRIPTION = "description"
    LEFT = "left"
    RIGHT = "right"
    OTHER = "other"


LENGTHS = frozenset((Column.LENGTH, Column.FEET, Column.INCHES))
_TITLES = {
    Column.QUANTITY: "qty quantity qnty pcs pieces pc count ea each no_of how_many number_of nr_of qty_pcs",
    Column.NUMBER: "# no nr number",
    Column.LENGTH: "length len lgth lg size cut cut_length cut_size finished_length lengths l long mm cm m",
    Column.FEET: "ft feet foot",
    Column.INCHES: "in inch inches ins",
    Column.PART: "fraction frac fractions 16ths 8ths 32nds",
    Column.MARK: "mark tag label id piece piece_mark part part_mark mk cut_# piece_# part_# panel_# mark_#",
    Column.MATERIAL: "material matl mat'l product type profile style colour color",
    Column.DESCRIPTION: "desc description item_description",
    Column.LEFT: "left left_end",
    Column.RIGHT: "right right_end",
    Column.OTHER: "line row pos item line_# row_# item_# item_no line_no note notes comment comments remark remarks "
    "location loc wall room where area elevation price unit_price total amount ext extended date sku code total_length "
    "lf width height unit units uom course",
}
_COLUMNS = {title.replace("_", " "): column for column, titles in _TITLES.items() for title in titles.split()}
_UNITS = {"mm": Unit.MM, "cm": Unit.CM, "m": Unit.M, "in": Unit.IN, "inches": Unit.IN, "ft": Unit.FT, "feet": Unit.FT}
_UNIT = re.compile(r"[\s,]*[\s,(](?P<unit>mm|cm|m|in|inches|ft|feet)\.?\)?$")
_FEET_INCHES = re.compile(r"[\s,(]*(?:ft|feet) ?(?:-|/|&|and) ?(?:in|inches)\.?\)?$")
_PARTS = {"16ths": 16, "8ths": 8, "32nds": 32}


@dataclass(frozen=True, slots=True)
class Title:
    """A title: its column, None if it is none we know, the unit it names, and whether it says feet and inches.

    ``parts`` is the denominator of a column of sixteenths and the like, None where the fraction is written out.
    """

    column: Column | None
    unit: Unit | None = None
    feet_inches: bool = False
    parts: int | None = None
    vague: bool = False


def title(written: str) -> Title:
    """Return what a cell says as a title."""
    plain = " ".join(written.strip("* :.").lower().split())
    if plain in _COLUMNS:
        return Title(_COLUMNS[plain], _UNITS.get(plain), parts=_PARTS.get(plain), vague=plain == "size")
    if match := _FEET_INCHES.search(plain):
        return Title(_COLUMNS.get(plain[: match.start()].strip() or "length"), feet_inches=True)
    if match := _UNIT.search(plain):
        return Title(_COLUMNS.get(plain[: match.start()].strip(" .:")), _UNITS[match["unit"]])
    return Title(_COLUMNS.get(re.sub(r" ?#$", " #", plain)))


def settled(titles: list[Title]) -> tuple[Column, ...] | None:
    """Return the columns of a header, None if it is none or two of its columns could be the length or the quantity."""
    columns = [found.column or Column.OTHER for found in titles]
    lengths = [at for at, column in enumerate(columns) if column is Column.LENGTH]
    if [titles[at].unit for at in lengths] == [Unit.FT, Unit.IN]:
        columns[lengths[0]], columns[lengths[1]] = Column.FEET, Column.INCHES
    elif len(lengths) > 1:
        for at in lengths:
            columns[at] = Column.OTHER if titles[at].vague else Column.LENGTH
    once = all(columns.count(column) <= 1 for column in (Column.LENGTH, Column.QUANTITY, Column.FEET, Column.INCHES))
    return tuple(columns) if once and LENGTHS.intersection(columns) else None
