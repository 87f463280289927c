"""The one rule of laps, gaps and ends: what a stick asks for, and what the end of a stretch adds or takes.

A single piece is cut before anybody knows which stock row it comes from, so the largest lap and gap of all rows that
can be had hold for it. A run goes by the largest that the very sticks it is made of ask for. Every length is in
ticks; a negative lap is a gap. Common practice, no source. The checker has a rule of its own, on purpose.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from solver.materials import Material, Offcut, StockLength
from solver.required import Meets, Required


@dataclass(frozen=True, slots=True)
class Allowances:
    """A lap (0 where there is none) and an end gap."""

    lap: int
    end_gap: int

    def at(self, end: Meets) -> int:
        """Return what an end adds to the measured length: a lap itself, a channel less its gap, a plain end nothing."""
        return {Meets.PLAIN: 0, Meets.CHANNEL: -self.end_gap, Meets.LAP: self.lap}[end]

    def cut_length(self, required: Required) -> int:
        """Return the length at which one piece of the item, or all of a run before its laps, is cut."""
        return required.length + self.at(required.left_end.meets) + self.at(required.right_end.meets)

    def starts_at(self, start: int, left_end: Meets) -> int:
        """Return where along the wall the first piece of a stretch measured from ``start`` has its left end."""
        return start - self.at(left_end)


def own(row: StockLength | Offcut | None, material: Material) -> Allowances:
    """Return what one stick asks for: its row's own, else the material's; an offcut (None if unknown) has no own."""
    settings = material.settings
    lap, gap = (row.lap, row.end_gap) if isinstance(row, StockLength) else (None, None)
    return Allowances((settings.lap or 0) if lap is None else lap, settings.end_gap if gap is None else gap)


def may_be_lapped(row: StockLength | Offcut, material: Material) -> bool:
    """Whether a stick may be lapped end to end, so that a run may use it."""
    return material.settings.lap is not None or (isinstance(row, StockLength) and row.lap is not None)


def widest(several: Iterable[Allowances]) -> Allowances:
    """Return the largest lap and the largest end gap of several, of which there is at least one."""
    found = tuple(several)
    return Allowances(max(one.lap for one in found), max(one.end_gap for one in found))


def of_pieces(material: Material) -> Allowances:
    """Return what holds for every single piece: the largest of the rows that can be had, else the material's."""
    rows = [row for row in material.stock if row.available != 0]
    settings = material.settings
    laps = [own(row, material).lap for row in rows if may_be_lapped(row, material)]
    gaps = [own(row, material).end_gap for row in rows]
    return Allowances(max(laps, default=settings.lap or 0), max(gaps, default=settings.end_gap))


def longest_lapped(material: Material) -> int:
    """Return the longest stock length to be had that may be lapped; 0 where there is none, and no run can be laid."""
    return max((row.length for row in _lapped_rows(material)), default=0)


def has_laps(material: Material) -> bool:
    """Whether an end may be lapped: a row that can be had may, or nothing can be had and the material may."""
    on_sale = any(row.available != 0 for row in material.stock)
    return longest_lapped(material) > 0 if on_sale else material.settings.lap is not None


def differ(material: Material) -> bool:
    """Whether it matters to a run which stick a piece of it comes from, an offcut on hand among them."""
    return len({own(row, material) for row in (None, *material.stock)}) > 1


def _lapped_rows(material: Material) -> Iterator[StockLength]:
    return (row for row in material.stock if row.available != 0 and may_be_lapped(row, material))
