"""Text on a drawing or a sheet: what may stand there, how wide it comes out, and the tags of pieces."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from solver.plan import MaterialPlan, PatternUse, PlacedPiece, StickUse

_KINDS = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
"""Controls, marks of direction and other formats, halves of pairs, private and unassigned, line ends."""
LEFT_TO_RIGHT = "\u200e"
"""The one mark of direction that is printed: it keeps what follows a right-to-left word behind it."""
_NARROW = frozenset("ijl.,:;'|!()[]/ -·ftrI")
_WIDE = frozenset("mwMW@%—")


def clean(text: str) -> str:
    """Return text as it may be printed: one line, nothing that turns, hides or ends the text around it."""
    return "".join(_printable(character) for character in text).strip()


def _printable(character: str) -> str:
    if unicodedata.category(character) not in _KINDS or character == LEFT_TO_RIGHT:
        return character
    return " " if character.isspace() else ""


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide a text of this size comes out in an ordinary sans serif, rather more than less."""
    return sum(map(_share, text)) * size * (1.1 if bold else 1.0)


def _share(character: str) -> float:
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.east_asian_width(character) in ("W", "F"):
        return 1.0
    if character in _NARROW:
        return 0.36
    return 0.9 if character in _WIDE else 0.66 if character.isupper() else 0.58


def fitted(text: str, size: float, room: float) -> str:
    """Return the text, or as much of it as fits, with an ellipsis."""
    if width_of(text, size) <= room:
        return text
    kept = text
    while kept and width_of(kept + "…", size) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Tags:
    """Tags of one material's pieces; ``runs`` are the items covered by several pieces."""

    runs: frozenset[int]

    @classmethod
    def of(cls, plan: MaterialPlan) -> Tags:
        """Return how the pieces of this plan are tagged."""
        return cls(frozenset(run.item for run in plan.runs))

    def tag(self, piece: PlacedPiece) -> str:
        """Return ``A`` for a piece of mark A, ``N·2·3`` for the third from the left in course 2 of mark N.

        A run that names no course counts its pieces alone: ``N·3``.
        """
        mark = closed(clean(piece.mark))
        if piece.course is not None:
            return f"{mark}·{piece.course}·{piece.piece}"
        return f"{mark}·{piece.piece}" if piece.item in self.runs else mark

    def at(self, use: PatternUse, place: int) -> tuple[str, ...]:
        """Return the different tags that a pattern's cut at ``place`` has over its sticks, in order."""
        return tuple(dict.fromkeys(self.tag(stick.pieces[place]) for stick in use.sticks))

    def common(self, use: PatternUse, place: int) -> str:
        """Return what to write into the drawing at a cut: its tag, the marks it serves, or that the list says."""
        tags = self.at(use, place)
        if len(tags) == 1:
            return tags[0]
        marks = tuple(dict.fromkeys(clean(stick.pieces[place].mark) for stick in use.sticks))
        return ", ".join(marks) if len(marks) < 4 else "see list"

    def given(self, stick: StickUse) -> str:
        """Return what a stick gives, from the left; of an offcut on hand, with its label: ``A, B from R-17``."""
        pieces = ", ".join(map(self.tag, stick.pieces))
        return pieces if stick.offcut_id is None else f"{pieces} from {clean(stick.offcut_id)}"

    def alike(self, use: PatternUse) -> bool:
        """Whether all sticks of a pattern give the same pieces, and are not offcuts of different labels."""
        labels = {stick.offcut_id for stick in use.sticks}
        return len(labels) == 1 and all(len(self.at(use, place)) == 1 for place in range(len(use.cuts)))


def closed(mark: str) -> str:
    """Return a mark that figures may follow, even where it is written from right to left."""
    right_to_left = unicodedata.bidirectional(mark[-1:] or " ") in ("R", "AL")
    return mark + LEFT_TO_RIGHT if right_to_left else mark


def names(sticks: Iterable[str]) -> str:
    """Return the first and the last of consecutive sticks: ``S1 to S4``."""
    every = list(sticks)
    return every[0] if len(every) == 1 else f"{every[0]} to {every[-1]}"
