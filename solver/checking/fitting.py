"""Whether one more piece could come out of a stick: what makes a claim that stock ran out true or false."""

from __future__ import annotations

from dataclasses import dataclass

from solver.checking.wanted import Wanted
from solver.materials import FactoryEnd


@dataclass(frozen=True, slots=True)
class Load:
    """What a stick holds: its length, its factory ends, the length taken, pieces, and pieces needing each end."""

    length: int
    ends: FactoryEnd
    taken: int = 0
    pieces: int = 0
    lefts: int = 0
    rights: int = 0


def fits(load: Load, wanted: Wanted, kerf: int) -> bool:
    """Return whether the stick could hold one more piece of ``wanted`` beside what it holds."""
    if load.taken + wanted.in_stick + kerf * load.pieces > load.length:
        return False
    if wanted.needs_left and wanted.needs_right:
        # Room is cut off on the day, and with it one of the two factory ends.
        whole = wanted.required.room == 0 and wanted.cut == load.length
        return whole and load.pieces == 0 and load.ends is FactoryEnd.BOTH
    if wanted.needs_left and (load.lefts or not load.ends.has_left):
        return False
    return not (wanted.needs_right and (load.rights or not load.ends.has_right))
