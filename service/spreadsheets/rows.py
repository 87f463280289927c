"""Sheets of cells as the lines of a list, and where each line stands in them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from service.wire import limits
from solver.cutlist import sheet_line

MOST_CELLS = 400_000
MOST_COLUMNS = 200


class Unreadable(Exception):
    """A file that can't be read as a list; the text says why, and what to do."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's cells as text, row by row; ``errors`` are cells whose formula failed, by row and column from 0."""

    name: str
    rows: Sequence[Sequence[str]]
    errors: Mapping[tuple[int, int], str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Row:
    """Where a line of the list stands: its sheet ("" where a file has none), its row from 1, and its cells."""

    sheet: str
    number: int
    cells: tuple[str, ...]

    def address(self, words: str) -> str | None:
        """Return the address of the cell that some words are about: of the longest whose text is in them."""
        about = [at for at, cell in enumerate(self.cells) if cell and cell in words]
        if not about:
            return None
        return f"{column(max(about, key=lambda at: len(self.cells[at])))}{self.number}"


@dataclass(frozen=True, slots=True)
class Opened:
    """A file as a list: its text, and the row of each line, None for lines that only name a sheet."""

    text: str
    rows: tuple[Row | None, ...]


def column(place: int) -> str:
    """Return a column's letters, by place from 0."""
    letters = ""
    while place >= 0:
        letters = chr(ord("A") + place % 26) + letters
        place = place // 26 - 1
    return letters


def listed(sheets: Sequence[Sheet]) -> Opened:
    """Return sheets as one list. Raises ``Unreadable`` for more lines than a list may have."""
    lines = list(_lines(sheets))
    while lines and not lines[-1][0]:
        lines.pop()
    if len(lines) > limits.PASTED_LINES:
        raise Unreadable(f"it has more than {limits.PASTED_LINES:,} rows: divide it")
    text = "\n".join(line for line, _ in lines)
    if len(text) > limits.PASTED_CHARACTERS:
        raise Unreadable(f"its cells hold more than {limits.PASTED_CHARACTERS:,} characters: divide it")
    return Opened(text, tuple(row for _, row in lines))


def _lines(sheets: Sequence[Sheet]) -> Iterator[tuple[str, Row | None]]:
    for sheet in sheets:
        if len(sheets) > 1:
            yield sheet_line(sheet.name), None
        for number, cells in enumerate(_without_end(sheet.rows), 1):
            said = tuple(sheet.errors.get((number - 1, at), cell) for at, cell in enumerate(map(one_line, cells)))
            yield "\t".join(said).rstrip("\t"), Row(sheet.name, number, said)


def _without_end(rows: Sequence[Sequence[str]]) -> Sequence[Sequence[str]]:
    """Return rows without the empty ones below the last."""
    last = max((at for at, row in enumerate(rows, 1) if any(row)), default=0)
    return rows[:last]


def one_line(cell: str) -> str:
    """Return a cell's text without the gaps that part cells and lines."""
    return " ".join(cell.split())
