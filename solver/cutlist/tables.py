"""Tables: what separates the cells, and what the titles say of the numbers below them.

A row is written as the free line it stands for.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from solver.cutlist import reasons
from solver.cutlist.measure import Manner
from solver.cutlist.words import SOLD_BY
from solver.lengths import LengthError, Unit, read_length, to_ticks


class Column(StrEnum):
    """What a column holds. ``NUMBER`` counts the pieces or the rows, ``PART`` is parts of an inch."""

    QUANTITY = "quantity"
    NUMBER = "number"
    LENGTH = "length"
    FEET = "feet"
    INCHES = "inches"
    PART = "part"
    RESTATED = "restated"
    MARK = "mark"
    WHERE = "where"
    MATERIAL = "material"
    DESCRIPTION = "description"
    LEFT = "left"
    RIGHT = "right"
    UNIT = "unit"
    NOTE = "note"
    OTHER = "other"


LENGTHS = frozenset((Column.LENGTH, Column.FEET, Column.INCHES))
_TITLES = {
    Column.QUANTITY: "qty quantity qnty pcs pieces pc count ea each no_of no_off off nos how_many number_of nr_of "
    "qty_pcs req'd required qty_req'd no_req'd "
    "anzahl menge stück stk stückzahl quantité qté nombre nb",
    Column.NUMBER: "# no nr number n°",
    Column.LENGTH: "length len lgth lg size cut cut_length cut_size finished_length lengths l long mm cm m "
    "länge länge_in zuschnitt zuschnittlänge fixlänge longueur longueur_en coupe",
    Column.FEET: "ft feet foot",
    Column.INCHES: "in inch inches ins",
    Column.PART: "fraction frac fractions 16ths 8ths 32nds",
    Column.MARK: "mark tag label id piece piece_mark part part_mark mk cut_# piece_# part_# panel_# mark_# "
    "pos position teil kennung repère rep",
    Column.MATERIAL: "material matl mat'l product type profile style colour color finish texture "
    "series shade tone pattern thickness werkstoff profil farbe matériau matière couleur",
    Column.DESCRIPTION: "desc description item_description item name trim what bezeichnung désignation",
    Column.LEFT: "left left_end links gauche",
    Column.RIGHT: "right right_end rechts droite",
    Column.OTHER: "line row line_# row_# item_# item_no line_no "
    "price unit_price total amount ext extended date sku code total_length "
    "lf width height course preis summe datum breite höhe prix montant largeur hauteur",
    Column.NOTE: "note notes comment comments remark remarks bemerkung bemerkungen hinweis remarque remarques",
    Column.WHERE: "location loc wall room where area elevation wand raum ort mur emplacement",
    Column.UNIT: "unit units uom einheit unité",
}
_COLUMNS = {title.replace("_", " "): column for column, titles in _TITLES.items() for title in titles.split()}
_UNITS = {
    '"': Unit.IN,
    "'": Unit.FT,
    "mm": Unit.MM,
    "cm": Unit.CM,
    "m": Unit.M,
    "in": Unit.IN,
    "inches": Unit.IN,
    "ft": Unit.FT,
    "feet": Unit.FT,
}
_UNIT = re.compile(r"[\s,]*[\s,(](?P<unit>mm|cm|m|in|inches|ft|feet)\.?\)?$")
_FEET_INCHES = re.compile(r"[\s,(]*(?:ft|feet) ?(?:-|/|&|and) ?(?:in|inches)\.?\)?$")
_VAGUE = ("size", "each", "ea")
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
    """Where another column says the same outright, this one means something else: ``Size``, ``Each``."""


def title(written: str) -> Title:
    """Return what a cell says as a title."""
    plain = " ".join(written.strip("* :.").lower().split())
    if plain in _COLUMNS:
        return Title(_COLUMNS[plain], _UNITS.get(plain), parts=_PARTS.get(plain), vague=plain in _VAGUE)
    if match := _FEET_INCHES.search(plain):
        return Title(_COLUMNS.get(plain[: match.start()].strip() or "length"), feet_inches=True)
    if match := _UNIT.search(plain):
        return Title(_COLUMNS.get(plain[: match.start()].strip(" .:")), _UNITS[match["unit"]])
    return Title(_COLUMNS.get(re.sub(r" ?#$", " #", plain)))


def settled(titles: list[Title]) -> tuple[Column, ...] | None:
    """Return the columns of a header, None if it is none or two of its columns could be the length or the quantity."""
    columns = [found.column or Column.NOTE for found in titles]
    lengths = [at for at, column in enumerate(columns) if column is Column.LENGTH]
    if [titles[at].unit for at in lengths] == [Unit.FT, Unit.IN]:
        columns[lengths[0]], columns[lengths[1]] = Column.FEET, Column.INCHES
    elif len(lengths) == 2 and None not in (units := [titles[at].unit for at in lengths]) and len(set(units)) == 2:
        columns[lengths[1]] = Column.RESTATED
    elif len(lengths) > 1:
        for at in lengths:
            columns[at] = Column.OTHER if titles[at].vague else Column.LENGTH
    counts = [at for at, column in enumerate(columns) if column is Column.QUANTITY]
    if len(counts) > 1:
        for at in counts:
            columns[at] = Column.OTHER if titles[at].vague else Column.QUANTITY
    once = all(columns.count(column) <= 1 for column in (Column.LENGTH, Column.QUANTITY, Column.FEET, Column.INCHES))
    return tuple(columns) if once and LENGTHS.intersection(columns) else None


_QUOTED = {
    separator: re.compile(rf'(?:^|{separator})"[^"]*(?:""|{separator})[^"]*(?:""[^"]*)*"(?:{separator}|$)')
    for separator in ",;"
}
_DIGIT = re.compile("[0-9]")
_LENGTH_IN_TITLES = re.compile(
    r"\b(?:len|lengths?|lgth|lg|l|long|size|cut|f(?:oo|ee)?t|in|inch|inches|ins|[mc]?m|"
    r"länge|zuschnitt|zuschnittlänge|fixlänge|longueur|coupe)\b",
    re.IGNORECASE,
)
_DIGITS_IN_TITLES = re.compile(r"\b(?:16ths|8ths|32nds)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Header:
    """The columns of a table in order, what separates its cells, and what its titles say of the lengths.

    ``unit`` is the unit of bare lengths and ``parts`` the denominator of parts of an inch, None where
    no title says; ``feet_inches`` says that lengths such as 10-1 are feet and inches.
    """

    columns: tuple[Column, ...]
    separator: str
    unit: Unit | None
    parts: int | None
    feet_inches: bool
    other: Unit | None = None
    """The unit of the column that states each length once more."""

    def manner(self, manner: Manner) -> Manner:
        """Return the manner of a list below these titles: what they say of numbers that would be asked about."""
        said = {"n-n": "feet-inches"} if self.feet_inches else {}
        if self.separator == " ":
            order = "-".join(column for column in self.columns if column in (Column.QUANTITY, *LENGTHS))
            said |= {"n n": order, "n | n": order, "n | n | n": order}
        return Manner(manner.unit, {**manner.assume, **said}) if said else manner


def header(line: str) -> Header | None:
    """Return the header a line is, None if it is none: two titles or more, of which one is of a length."""
    if not _LENGTH_IN_TITLES.search(line) or _DIGIT.search(_DIGITS_IN_TITLES.sub("", line)):
        return None
    for separator in ("\t", "|", ";", ",", "  ", " "):
        titles = [title(cell) for cell in cells(line, separator)]
        known = sum(found.column is not None for found in titles)
        if known >= 2 and (separator != " " or known == len(titles)) and (columns := settled(titles)):
            unit = next((found.unit for found in titles if found.column is Column.LENGTH), None)
            parts = next((found.parts for found in titles if found.parts), None)
            feet_inches = any(found.feet_inches for found in titles)
            other = next((titles[at].unit for at, column in enumerate(columns) if column is Column.RESTATED), None)
            return Header(columns, separator, unit, parts, feet_inches, other)
    return None


def has_titles(line: str, separator: str) -> bool:
    """Whether a line that is no header has titles all the same: those above it no longer hold."""
    return sum(title(cell).column is not None for cell in cells(line, separator)) > 1


def cells(line: str, separator: str) -> list[str]:
    """Return the cells of a row; a comma or semicolon inside quotes separates nothing."""
    if separator == "  ":
        return re.split(r"\s{2,}|\t", line.strip())
    if separator == " ":
        return line.split()
    if separator in ",;" and is_quoted(line, separator):
        return next(csv.reader([line], delimiter=separator))
    return line.strip("|").split(separator)


def is_quoted(line: str, separator: str) -> bool:
    """Whether a row has cells in quotes as a spreadsheet writes them, a doubled quote for each in the text."""
    return _QUOTED[separator].search(line) is not None


_TALLY = re.compile(
    r"(?:grand|sub|order|sales)?[\s-]*(?:totals?|tax(?:es)?|sum|[gh]st|pst|vat|freight|shipping|discount|deposit)\b",
    re.IGNORECASE,
)
DITTO = frozenset(('"', "''", "〃", "ditto", "do", "do.", "same"))
"""What a cell says to repeat the one above."""
_COUNT = re.compile(r"\(?\s*([0-9]{1,6})(?:\.0+)?\s*\)?\s*(?:x|pcs?\.?|ea\.?|each|pieces?)?", re.IGNORECASE)
_OWN_UNIT = re.compile(r"\s*(?:'|\"|ft\.?|feet|in\.?|inches)$", re.IGNORECASE)
_NUMBER_OR_DITTO = re.compile('[0-9"〃]|ditto')
_NO_NUMBER = re.compile("[^\\W\\d_]|[#?]")
_LONGEST_MARK = 60
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?|(?:[0-9]+[ -]+)?[0-9]+/[0-9]+")


@dataclass(frozen=True, slots=True)
class Row:
    """What a row's cells say: quantity, length and ends as a free line, the names as written ("" where blank).

    ``note`` is what stands in columns of remarks, and in those whose title says nothing.
    """

    said: str
    mark: str
    material: str
    description: str
    note: str


def row(line: str, header: Header, numbers: str | None) -> Row | None:
    """Return what a row says, None if its cells are not those of the header. Raises ``Unclear`` without a quantity.

    ``numbers`` answers what a column of numbers is where no other counts the pieces: numbering or quantity.
    """
    if header.separator == " " or header.separator not in line or not _NUMBER_OR_DITTO.search(line):
        return None
    found = [_unquoted(cell.strip()) for cell in cells(line, header.separator)]
    if len(found) > len(header.columns) or not any(found):
        return None
    by_column = _by_column(found, header)
    quantity, length = _quantity(by_column, header, numbers), _length(by_column, header)
    if tally := next((cell for cell in found if _TALLY.match(cell)), None):
        raise reasons.wary(tally)
    if quantity == "" and not length and (amount := next((c for c in found if c[:1].isdigit()), None)):
        raise reasons.no_quantity(amount)
    if quantity and length and not _DIGIT.search(length) and length.lower() not in DITTO:
        raise reasons.no_number(length)
    if quantity is None and length and _DIGIT.search(length):
        raise reasons.vague(by_column[Column.QUANTITY])
    if quantity is None or not length:
        return None
    if not quantity and Column.QUANTITY in header.columns:
        raise reasons.no_quantity(length)
    said = f"{quantity} @ {length}" if quantity else length
    ends = "".join(f", {by_column[side]} {side}" for side in (Column.LEFT, Column.RIGHT) if by_column.get(side))
    mark, material, described = (by_column.get(c, "") for c in (Column.MARK, Column.MATERIAL, Column.DESCRIPTION))
    mark = mark or by_column.get(Column.WHERE, "")[:_LONGEST_MARK]
    return Row(said + ends, mark, material, described, by_column.get(Column.NOTE, ""))


def _unquoted(cell: str) -> str:
    return cell[1:-1].strip() if len(cell) > 2 and cell[0] == cell[-1] == '"' else cell


def is_tally(line: str, header: Header) -> bool:
    """Whether a row has a word of totals or taxes, and not both a quantity and a length of its own."""
    if header.separator == " " or header.separator not in line:
        return False
    found = [cell.strip() for cell in cells(line, header.separator)]
    numbered = {column for column, cell in zip(header.columns, found, strict=False) if _DIGIT.search(cell)}
    whole = not numbered.isdisjoint((Column.QUANTITY, Column.NUMBER)) and not numbered.isdisjoint(LENGTHS)
    return not whole and any(map(_TALLY.match, found))


def _by_column(found: list[str], header: Header) -> dict[Column, str]:
    by_column: dict[Column, str] = {}
    for column, cell in zip(header.columns, found, strict=False):
        by_column[column] = f"{by_column.get(column, '')} {cell}".strip()
    return by_column


def _quantity(by_column: Mapping[Column, str], header: Header, numbers: str | None) -> str | None:
    """Return the quantity as digits or a ditto mark, "" where there is none, None where the cell says no quantity."""
    cell = by_column.get(Column.QUANTITY, "")
    if Column.QUANTITY not in header.columns and by_column.get(Column.NUMBER):
        if numbers is None:
            said = by_column[Column.NUMBER]
            raise reasons.unclear_quantity(said, (f"{said} pieces", f"row {said}"), "n)")
        cell = by_column[Column.NUMBER] if numbers == "quantity" else ""
    match = _COUNT.fullmatch(cell)
    if match:
        return match[1]
    return "" if not cell else '"' if cell.lower() in DITTO else None


def _length(by_column: Mapping[Column, str], header: Header) -> str:
    if cell := by_column.get(Column.LENGTH):
        unit = _unit(by_column.get(Column.UNIT, ""), header, cell)
        if (restated := by_column.get(Column.RESTATED)) and unit and header.other:
            return _agreed(cell, unit, restated, header.other)
        return f"{cell} {unit}" if unit and _BARE.fullmatch(cell) else cell
    for column in (Column.FEET, Column.INCHES, Column.PART):
        if _NO_NUMBER.search(_OWN_UNIT.sub("", by_column.get(column, ""))):
            raise reasons.no_number(by_column[column])
    feet, inches = (_OWN_UNIT.sub("", by_column.get(column, "")) for column in (Column.FEET, Column.INCHES))
    inches = " ".join(part for part in (inches, _part(by_column.get(Column.PART, ""), header.parts)) if part)
    return " ".join(([f"{feet}'"] if feet else []) + ([f'{inches}"'] if inches else []))


def _agreed(cell: str, unit: Unit, restated: str, other: Unit) -> str:
    """Return a length that a row states in two units; of 2,920 mm the reading that agrees. Raises ``Unclear``."""
    try:
        second = _OWN_UNIT.sub("", restated)
        places = len(second.partition(".")[2]) if _BARE.fullmatch(second) else 0
        near = to_ticks(Fraction(1, 10**places), other).ticks
        said = read_length(f"{second} {other}", other).ticks
        for way in (cell, cell.replace(",", "")):
            if _BARE.fullmatch(way) and "," not in way and abs(read_length(way, unit).ticks - said) <= near:
                return f"{way} {unit}"
    except LengthError:
        pass
    raise reasons.two_lengths(f"{cell} {unit}", f"{restated} {other}")


def _unit(cell: str, header: Header, length: str) -> Unit | None:
    """Return the unit that a row says for its length, else that of the titles. Raises ``Unclear`` where they differ."""
    written = cell.strip(" .").lower()
    if written in SOLD_BY:
        raise reasons.sold_by(cell)
    own = _UNITS.get(written)
    if own and header.unit not in (None, own):
        raise reasons.ambiguous("unit", length, (f"{length} {header.unit}", f"{length} {own}"))
    return own or header.unit


def _part(cell: str, parts: int | None) -> str:
    if parts and cell.isdigit():
        return f"{cell}/{parts}" if int(cell) else ""
    return "" if cell == "0" else cell
