"""Where everything of a block stands on paper, in millimetres: one answer for the PDF and for where a page ends.

A block is laid as bands that no page divides: the lines of a paragraph, a row of a table, a setting of the saw. The
page's style (``templates/cut-sheet.css``) has the same sizes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import singledispatch

from service.documents.blocks import (
    Block,
    Cell,
    Cuts,
    Facts,
    Figure,
    Heading,
    Links,
    Paragraph,
    Role,
    Setting,
    Table,
    unbroken,
)
from service.documents.lettering import POINT, width, wrapped
from service.drawing.shapes import Drawing

WIDTH = 186.0
"""Of what is set, on Letter and on A4."""
TEXT, HEAD = 9.5, 11.0
"""Sizes in points: of sentences, and of headings."""
CELL = 9.5
"""Of a table, its headings with it: nothing on a sheet is smaller than 9 points."""
SMALL = 9.0
LEADING = 1.25
_PAD, _BETWEEN = 0.6, 1.5
_FACTS = 3
STICKS = 34.0
"""Width of the column of sticks, left of the stops."""
LINE, APART = 1.1, 2.0
"""Of a saw setting: height of a line by the size of its largest word, and millimetres between words."""
THIN, MEDIUM = 0.12, 0.3


@dataclass(frozen=True, slots=True)
class Look:
    """How words are set: their size in points."""

    size: float
    bold: bool = False


LOOKS = {
    Role.LENGTH: Look(15, bold=True),
    Role.MARK: Look(10),
    Role.REST: Look(10),
    Role.KEEP: Look(11, bold=True),
    Role.NAME: Look(11, bold=True),
    Role.WHERE: Look(SMALL),
    Role.COUNT: Look(11, bold=True),
    Role.BOXES: Look(13),
    Role.STICKS: Look(10),
}


@dataclass(frozen=True, slots=True)
class Placed:
    """A line of text: its left end and its baseline, size in points; ``cell`` counts the cells of its band."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    cell: int = 0


@dataclass(frozen=True, slots=True)
class Rule:
    """A level line."""

    x: float
    y: float
    length: float
    pen: float = THIN


@dataclass(frozen=True, slots=True)
class Band:
    """What no page divides: its height, what stands in it, and what it is (a tag of PDF's logical structure)."""

    height: float
    texts: tuple[Placed, ...] = ()
    rules: tuple[Rule, ...] = ()
    drawing: Drawing | None = None
    scale: float = 1.0
    tag: str = "P"


@singledispatch
def laid(block: Block) -> tuple[Band, ...]:
    """Return a block as bands."""
    raise TypeError(f"nothing lays a {type(block).__name__}")


@laid.register
def _links(block: Links) -> tuple[Band, ...]:
    """Return nothing: paper leads nowhere."""
    del block
    return ()


@laid.register
def _heading(block: Heading) -> tuple[Band, ...]:
    return (_sentences(block.text, HEAD, bold=True, above=2.6, below=0.8, tag="H2"),)


@laid.register
def _paragraph(block: Paragraph) -> tuple[Band, ...]:
    return (_sentences(block.text, TEXT, bold=block.strong, above=0, below=1.2, tag="P"),)


@laid.register
def _figure(block: Figure) -> tuple[Band, ...]:
    scale = min(1.0, WIDTH / block.drawing.width)
    return (Band(block.drawing.height * scale + 2, drawing=block.drawing, scale=scale, tag="Figure"),)


def title(text: str) -> Band:
    """Return the title of a page."""
    band = _sentences(text, 14, bold=True, above=0, below=2.2, tag="H1")
    return replace(band, rules=(Rule(0, band.height - 1.6, WIDTH, 0.4),))


def _sentences(text: str, size: float, *, bold: bool, above: float, below: float, tag: str) -> Band:
    lines = wrapped(unbroken(text), size, WIDTH, bold=bold)
    texts = tuple(Placed(0, above + base, line, size, bold) for line, base in zip(lines, _bases(size), strict=False))
    return Band(above + len(lines) * size * POINT * LEADING + below, texts, tag=tag)


def _bases(size: float) -> Iterator[float]:
    """Yield the baselines of lines of a size, from the top of the first."""
    n = 0
    while True:
        yield (n + 0.78) * size * POINT * LEADING
        n += 1


@laid.register
def _facts(block: Facts) -> tuple[Band, ...]:
    rows = [block.entries[n : n + _FACTS] for n in range(0, len(block.entries), _FACTS)]
    return tuple(_facts_row(row, last=row is rows[-1]) for row in rows)


def _facts_row(row: Sequence[tuple[str, str]], *, last: bool) -> Band:
    wide, texts, rules, most = WIDTH / _FACTS, list[Placed](), list[Rule](), 1
    for n, (name, value) in enumerate(row):
        x = n * wide
        taken = width(name, SMALL) + 2
        lines = wrapped(unbroken(value), TEXT, wide - taken - 5, bold=True)
        texts.append(Placed(x, 5.4, name, SMALL, cell=2 * n))
        texts += [
            Placed(x + taken, 5.4 + 4.2 * k, line, TEXT, bold=True, cell=2 * n + 1) for k, line in enumerate(lines)
        ]
        most = max(most, len(lines))
    height = 7 + 4.2 * (most - 1)
    rules += [Rule(n * wide, height, wide - 5) for n in range(len(row))]
    return Band(height + (4 if last else 0.6), tuple(texts), tuple(rules), tag="P")


@laid.register
def _table(block: Table) -> tuple[Band, ...]:
    titled = any(column.title for column in block.columns)
    head = [_row(block, [column.title for column in block.columns], tag="TH")] if titled else []
    rows = [
        _row(block, row, bold=block.total and n == len(block.rows), tag="TD") for n, row in enumerate(block.rows, 1)
    ]
    return (*head, *rows, Band(2, tag="Table"))


def head_of(block: Table) -> tuple[Band, ...]:
    """Return the heading row of a table, which stands over every part of it."""
    return tuple(band for band in laid(Table(block.columns, ())) if band.tag == "TH")


def _row(block: Table, row: Sequence[str], *, tag: str, bold: bool = False) -> Band:
    whole, left, texts, most = sum(column.share for column in block.columns), 0.0, list[Placed](), 1
    for n, (column, text) in enumerate(zip(block.columns, row, strict=True)):
        wide = WIDTH * column.share / whole
        lines = wrapped(unbroken(text), CELL, wide - _BETWEEN, bold=bold)
        for line, base in zip(lines, _bases(CELL), strict=False):
            back = wide - _BETWEEN - width(line, CELL, bold=bold) if column.figures else 0
            texts.append(Placed(left + back, _PAD + base, line, CELL, bold, cell=n))
        most = max(most, len(lines))
        left += wide
    height = most * CELL * POINT * LEADING + 2 * _PAD
    return Band(height, tuple(texts), (Rule(0, height, WIDTH, MEDIUM if tag == "TH" else THIN),), tag=tag)


@laid.register
def _cuts(block: Cuts) -> tuple[Band, ...]:
    return tuple(map(_setting, block.settings))


def _setting(setting: Setting) -> Band:
    texts, top, cell = list[Placed](), 0.6, 0
    for line in setting.lines:
        wide = (WIDTH - STICKS) / line.columns
        edges = [0.0, *(STICKS + n * wide for n in range(line.columns))]
        bottom = top
        for words, left in zip((line.sticks, *line.cells), edges, strict=False):
            column = _Column(left, (wide if left else STICKS) - 2, top, cell)
            texts += column.set(words)
            bottom, cell = max(bottom, column.bottom), cell + 1
        top = bottom
    return Band(top + 1.0, tuple(texts), (Rule(0, top + 0.8, WIDTH),), tag="LI")


@dataclass(slots=True)
class _Column:
    """Words one behind the other, those that have no room in a line of their own; a line is as high as its highest."""

    left: float
    room: float
    top: float
    cell: int
    bottom: float = 0.0

    def set(self, words: Cell) -> Iterator[Placed]:
        """Yield the words where they stand."""
        self.bottom = self.top
        line: list[tuple[float, str, Look]] = []
        x = 0.0
        for text, look in self._parts(words):
            wide = width(text, look.size, bold=look.bold)
            if line and x + wide > self.room:
                yield from self._line(line)
                line, x = [], 0.0
            line.append((x, text, look))
            x += wide + APART
        yield from self._line(line)

    def _parts(self, words: Cell) -> Iterator[tuple[str, Look]]:
        for word in words:
            look = LOOKS[word.role]
            yield from ((text, look) for text in wrapped(unbroken(word.text), look.size, self.room, bold=look.bold))

    def _line(self, line: Sequence[tuple[float, str, Look]]) -> Iterator[Placed]:
        tall = max((look.size for *_, look in line), default=0) * POINT * LINE
        for x, text, look in line:
            yield Placed(self.left + x, self.bottom + 0.8 * tall, text, look.size, look.bold, self.cell)
        self.bottom += tall
