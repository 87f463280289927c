"""Rows under a header: which column is the quantity, the length, feet, inches, the mark, the material."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from enum import StrEnum

from solver.lengths import Unit
from solver.reading.measure import Manner


class Column(StrEnum):
    """What a column holds."""

    QUANTITY = "quantity"
    LENGTH = "length"
    FEET = "feet"
    INCHES = "inches"
    MARK = "mark"
    MATERIAL = "material"
    NUMBER = "number"
    OTHER = "other"


_TITLES = {
    Column.QUANTITY: "qty quantity qnty pcs pieces pc count ea each no_of how_many number_of nr_of qty_pcs",
    Column.LENGTH: "length len lgth lg size cut cut_length cut_size finished_length lengths l long mm cm m",
    Column.FEET: "ft feet foot",
    Column.INCHES: "in inch inches ins",
    Column.MARK: "mark tag label id piece piece_mark part part_mark mk",
    Column.MATERIAL: "material matl mat'l desc description product type profile item_description style colour color",
    Column.NUMBER: "line row pos # no no. item item_no item_# line_no nr",
    Column.OTHER: "note notes comment comments remark remarks location loc wall room where area elevation price "
    "unit_price total amount ext extended date sku code total_length lf width height unit units course",
}
_COLUMNS = {title.replace("_", " "): column for column, titles in _TITLES.items() for title in titles.split()}
_UNITS = {"mm": Unit.MM, "cm": Unit.CM, "m": Unit.M, "in": Unit.IN, "inches": Unit.IN, "ft": Unit.FT, "feet": Unit.FT}
_UNIT = re.compile(r"(?:^|[\s,(])(mm|cm|m|in|inches|ft|feet)\.?\)?$")
_TITLE = re.compile(r"(?P<title>[^()]+?)[\s,]*(?:\(?(?P<unit>mm|cm|m|in|inches|ft|feet)\.?\)?)?", re.IGNORECASE)
_QUOTED = {
    separator: re.compile(rf'(?:^|{separator})"[^"]*(?:""|{separator})[^"]*(?:""[^"]*)*"(?:{separator}|$)')
    for separator in ",;"
}
_LENGTHS = {Column.LENGTH, Column.FEET, Column.INCHES}


@dataclass(frozen=True, slots=True)
class Header:
    """The columns of a table in order, what separates its cells, and the unit of its lengths where it names one."""

    columns: tuple[Column, ...]
    separator: str
    unit: Unit | None

    def at(self, column: Column) -> int | None:
        """Return where a column is, None if there is none."""
        return self.columns.index(column) if column in self.columns else None

    def hinted(self, manner: Manner) -> Manner:
        """Return the manner of a list in which bare numbers stand in the order of these titles."""
        if self.separator != " ":
            return manner
        kept = (Column.QUANTITY, *_LENGTHS)
        order = "-".join(column for column in self.columns if column in kept)
        return Manner(manner.unit, {**manner.assume, "n n": order, "n | n": order, "n | n | n": order})


def header(line: str) -> Header | None:
    """Return the header a line is, None if it is none: titles alone, of which one is of a length, feet or inches."""
    if re.search(r"[0-9]", line):
        return None
    for separator in ("\t", "|", ";", ",", "  ", " "):
        titles = [cell.strip() for cell in cells(line, separator)]
        columns = tuple(map(_column, titles))
        known = [column for column in columns if column]
        if len(known) >= 2 and _LENGTHS.intersection(known) and (separator != " " or len(known) == len(columns)):
            return Header(_settled([column or Column.OTHER for column in columns]), separator, _unit(titles, columns))
    return None


def cells(line: str, separator: str) -> list[str]:
    """Return the cells of a row; a comma or semicolon inside quotes separates nothing."""
    if separator == "  ":
        return re.split(r"\s{2,}|\t", line.strip())
    if separator == " ":
        return line.split()
    if separator in ",;" and is_quoted(line, separator):
        return next(csv.reader([line], delimiter=separator))
    return line.strip("|").split(separator)


def is_quoted(line: str, separator: str = ",") -> bool:
    """Whether a row has cells in quotes as a spreadsheet writes them, a doubled quote for each in the text."""
    return _QUOTED[separator].search(line) is not None


def _column(title: str) -> Column | None:
    plain = title.strip("* :").lower()
    if plain in _COLUMNS:
        return _COLUMNS[plain]
    match = _TITLE.fullmatch(plain)
    return _COLUMNS.get(match["title"].strip(" .:")) if match else None


def _unit(titles: list[str], columns: tuple[Column | None, ...]) -> Unit | None:
    for title, column in zip(titles, columns, strict=True):
        match = _UNIT.search(title.lower())
        if column is Column.LENGTH and match:
            return _UNITS[match[1]]
    return None


def _settled(columns: list[Column]) -> tuple[Column, ...]:
    """A column headed "no." counts the pieces where no other does; only the first of a kind counts."""
    if Column.QUANTITY not in columns and Column.NUMBER in columns:
        columns[columns.index(Column.NUMBER)] = Column.QUANTITY
    return tuple(
        column if column not in columns[:at] or column is Column.MATERIAL else Column.OTHER
        for at, column in enumerate(columns)
    )
