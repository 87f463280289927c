"""Labels for pieces and kept offcuts, on sheets of labels or on a roll: what to read, and a QR code to ask for more.

The code is the standard's own symbol (ISO/IEC 18004), of the address of the piece's page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import repeat
from urllib.parse import quote

from service.drawing.lettering import clean, taped
from service.views.facts import factory_ends
from service.views.pieces import KeptOffcut, Lots, Piece, kept_label, offcuts_of, pieces_of
from solver.job import Job
from solver.lengths import Unit
from solver.materials import FactoryEnd
from solver.plan import CutPlan
from workers.rack.store import Entry


@dataclass(frozen=True, slots=True)
class Stock:
    """The labels in the printer: millimetres of the page and of a label, how many there are, and where they lie."""

    page: tuple[float, float]
    width: float
    height: float
    across: int = 1
    down: int = 1
    left: float = 0.0
    top: float = 0.0
    pitch_x: float = 0.0
    pitch_y: float = 0.0

    @property
    def fits(self) -> bool:
        """Whether every label lies on the page, and none on another."""
        wide = self.left + (self.across - 1) * self.pitch_x + self.width
        high = self.top + (self.down - 1) * self.pitch_y + self.height
        apart = (self.across == 1 or self.pitch_x >= self.width) and (self.down == 1 or self.pitch_y >= self.height)
        return apart and wide <= self.page[0] + 0.1 and high <= self.page[1] + 0.1

    def places(self) -> Iterator[tuple[float, float]]:
        """Yield the upper left corner of every label of a page, row by row."""
        for row in range(self.down):
            for column in range(self.across):
                yield self.left + column * self.pitch_x, self.top + row * self.pitch_y


LETTER, A4 = (215.9, 279.4), (210.0, 297.0)
STOCKS = {
    "letter-30": Stock(LETTER, 66.7, 25.4, 3, 10, 4.8, 12.7, 69.85, 25.4),
    "letter-10": Stock(LETTER, 101.6, 50.8, 2, 5, 4.0, 12.7, 106.4, 50.8),
    "a4-24": Stock(A4, 70.0, 37.0, 3, 8, 0.0, 0.5, 70.0, 37.0),
    "a4-14": Stock(A4, 99.1, 38.1, 2, 7, 4.65, 15.15, 101.6, 38.1),
    "roll": Stock((62.0, 29.0), 62.0, 29.0),
}
"""Common sheets of labels by paper and number, and a roll (from memory, no source: measure yours and set its sizes)."""


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on a label: what it is called, how long it is, further lines, and the address of its page."""

    name: str
    length: str
    lines: tuple[str, ...]
    address: str


def labels_of_rack(entries: Iterable[Entry], unit: Unit, address: str) -> Iterator[Label]:
    """Yield a label for each piece on the rack; ``address`` leads to the page of a label."""
    for entry in entries:
        ends = "" if entry.factory_end is FactoryEnd.NONE else factory_ends(entry.factory_end)
        lines = (", ".join(filter(None, [clean(entry.material), ends])), clean(entry.of or entry.note))
        label = Label(clean(entry.label), taped(entry.length, unit), lines, f"{address}{quote(entry.label)}")
        yield from repeat(label, entry.count)


def labels_of(job: Job, plan: CutPlan, number: str, address: str, *, pieces: bool, offcuts: bool) -> Lots[Label]:
    """Return the labels of a plan; those of pieces in the order of the sticks.

    ``number`` is the plan's: an offcut lies on the rack by that and its stick, and on a site pieces of two jobs may lie
    together. ``address`` leads to a piece's page.
    """

    def of_piece(piece: Piece) -> Label:
        where = "" if piece.is_named_by_place else piece.where
        stick, whose = f"{clean(piece.material)}, {piece.stick}", ", ".join(filter(None, [number, clean(job.name)]))
        lines = (where, ", ".join(piece.shape), stick, piece.ends, whose)
        return Label(piece.name, taped(piece.length, job.units), lines, f"{address}{piece.id}")

    def of_offcut(offcut: KeptOffcut) -> Label:
        name, length = f"keep {kept_label(number, offcut.stick)}", taped(offcut.length, job.units)
        return Label(name, length, (clean(offcut.material), offcut.ends), f"{address}{offcut.id}")

    every, kept = pieces_of(job, plan), offcuts_of(job, plan)
    return Lots([
        *[(len(every), lambda place: of_piece(every[place]))] * pieces,
        *[(len(kept), lambda place: of_offcut(kept[place]))] * offcuts,
    ])  # fmt: skip
