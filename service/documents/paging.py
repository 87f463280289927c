"""Where pages end: decided here once, so that the PDF and a browser's print break at the same places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from service.documents.blocks import Block, Cuts, Figure, Heading, Page, Paper, Paragraph, Sheet, Table
from service.documents.laying import SMALL, WIDTH, Band, Placed, head_of, laid, title
from service.documents.lettering import width, wrapped

SIZES = {Paper.LETTER: (215.9, 279.4), Paper.A4: (210.0, 297.0)}
"""Width and height of the paper in millimetres."""
TOP, FOOT = 11.0, 13.0
"""Margins: the foot holds whose sheet it is, and the number of the page."""
_SPARE = 2.0
"""A browser's lines are not of exactly our height."""
_ON = " (continued)"
_GOES_ON = 14.0
"""So much of what follows a heading stands on its page."""


def room_on(paper: Paper) -> float:
    """Return how much stands on a page, in millimetres of height."""
    return SIZES[paper][1] - TOP - FOOT - _SPARE


@dataclass(slots=True)
class Printed:
    """One page as it is printed: its title, what stands on it, and how much of it is taken."""

    title: str
    blocks: list[Block] = field(default_factory=list)
    taken: float = 0.0


def printed(sheet: Sheet) -> tuple[Printed, ...]:
    """Return the pages of a sheet, as they are printed on its paper."""
    pager = _Pager(room_on(sheet.paper))
    for page in sheet.pages:
        pager.page(page)
    return tuple(pager.pages)


class _Pager:
    """Fills pages."""

    def __init__(self, height: float) -> None:
        self.height = height
        self.pages: list[Printed] = []
        self._under: Heading | None = None

    def page(self, page: Page) -> None:
        """Set a page of the sheet, on as many of paper as it needs."""
        self._under = None
        self._begin(page.title)
        for place, block in enumerate(page.blocks):
            self._put(block, page.blocks[place + 1 :])

    def _begin(self, words: str) -> None:
        self.pages.append(Printed(words, taken=title(words).height))

    def _put(self, block: Block, after: Sequence[Block]) -> None:
        match block:
            case Table():
                self._rows(block)
            case Cuts():
                self._settings(block)
            case _:
                self._room(height_of(block) + (_begun(after) if isinstance(block, Heading) else 0))
                self._add(block, height_of(block))

    def _room(self, wanted: float) -> bool:
        """Begin a page where this one has no room, unless nothing stands on it yet; whether it did."""
        last = self.pages[-1]
        full = last.taken + wanted > self.height and bool(last.blocks)
        if full:
            self._begin(last.title)
        return full

    def _add(self, block: Block, height: float) -> None:
        if isinstance(block, Heading):
            self._under = Heading(f"{block.text.removesuffix(_ON)}{_ON}")
        self.pages[-1].blocks.append(block)
        self.pages[-1].taken += height

    def _rows(self, table: Table) -> None:
        head = sum(band.height for band in head_of(table))
        bands = laid(table)[len(head_of(table)) :]
        for first, last in self._split(bands[:-1], head, bands[-1].height):
            total = table.total and last == len(table.rows)
            self._add(replace(table, rows=table.rows[first:last], total=total), 0)

    def _settings(self, cuts: Cuts) -> None:
        for first, last in self._split(laid(cuts), 0, 0):
            self._add(Cuts(cuts.settings[first:last]), 0)

    def _split(self, bands: Sequence[Band], head: float, foot: float) -> Iterator[tuple[int, int]]:
        """Yield which bands stand together on a page, and take their room."""
        first = 0
        while first < len(bands):
            if self._room(head + bands[first].height + foot) and self._under:
                self._add(self._under, height_of(self._under))
            free, last = self.height - self.pages[-1].taken - head - foot, first
            while last < len(bands) and (last == first or bands[last].height <= free):
                free -= bands[last].height
                last += 1
            self.pages[-1].taken = self.height - free
            yield first, last
            first = last


def height_of(block: Block) -> float:
    """Return how high a block is that is not divided."""
    return sum(band.height for band in laid(block))


def _begun(blocks: Sequence[Block]) -> float:
    """Return how much stands on the page of a heading before these blocks: sentences, and the beginning of the next."""
    wanted = 0.0
    for block in blocks:
        wanted += height_of(block) if isinstance(block, Paragraph | Figure) else _GOES_ON
        if not isinstance(block, Paragraph):
            break
    return wanted


def foot_of(sheet: Sheet, number: int, count: int) -> tuple[Placed, ...]:
    """Return what stands at the foot of a page: whose sheet it is, and which of its pages."""
    place = f"page {number} of {count}"
    left = WIDTH - width(place, SMALL)
    whose = wrapped(sheet.foot, SMALL, left - 4)[0]
    return Placed(0, 5, whose, SMALL), Placed(left, 5, place, SMALL)
