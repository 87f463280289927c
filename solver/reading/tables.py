"""Headers and rows: what separates the cells, and what the titles say of the numbers below them."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass

from solver.lengths import Unit
from solver.reading.columns import LENGTHS, Column, settled, title
from solver.reading.measure import Manner

_QUOTED = {
    separator: re.compile(rf'(?:^|{separator})"[^"]*(?:""|{separator})[^"]*(?:""[^"]*)*"(?:{separator}|$)')
    for separator in ",;"
}
_DIGIT = re.compile("[0-9]")
_LENGTH_IN_TITLES = re.compile(
    r"\b(?:len|lengths?|lgth|lg|l|size|cut|f(?:oo|ee)?t|in|inch|inches|ins|[mc]?m)\b", re.IGNORECASE
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
            return Header(columns, separator, unit, parts, any(found.feet_inches for found in titles))
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
