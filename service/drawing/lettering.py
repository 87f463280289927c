"""Text on a drawing or a sheet: what may stand there, how wide it comes out, and the tags of pieces."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, repeat

from solver.job import Job
from solver.lengths import TICKS_PER_64TH, TICKS_PER_INCH, TICKS_PER_MM, Unit, say
from solver.plan import CutPlan, PatternUse
from solver.sticks import PlacedPiece, StickRun, StickUse, runs_of

_KINDS = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
"""Controls, marks of direction and other formats, halves of pairs, private and unassigned, line ends."""
LEFT_TO_RIGHT = "\u200e"
"""The one mark of direction that is printed: it keeps what follows a right-to-left word behind it."""
_SPACE = re.compile(r"(?<!\d) | (?!\d+/\d)")
_NARROW = frozenset("ijl.,:;'|!()[]/ -·ftrI")
_WIDE = frozenset("mwMW@%—")
Slot = tuple[int, int, int]
"""A piece by its item, its course and its number in its run."""


def clean(text: str) -> str:
    """Return text as it may be printed: one line, nothing that turns, hides or ends the text around it."""
    return text.strip() if text.isprintable() else "".join(map(_printable, text)).strip()


def _printable(character: str) -> str:
    if unicodedata.category(character) not in _KINDS or character == LEFT_TO_RIGHT:
        return character
    return " " if character.isspace() else ""


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """Return about how wide a text of this size comes out in an ordinary sans serif, rather more than less."""
    return sum(map(_share, text)) * size * (1.1 if bold else 1.0)


@lru_cache(4096)
def _share(character: str) -> float:
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.east_asian_width(character) in ("W", "F"):
        return 1.0
    if character in _NARROW:
        return 0.36
    return 0.9 if character in _WIDE else 0.66 if character.isupper() else 0.58


def taped(length: int, unit: Unit) -> str:
    """Return a length as a tape shows it: what is no whole 64th or millimetre to the 1/16 in or millimetre below.

    Below, so that pieces never come to more than their stick, and never press against both their channels.
    """
    step, whole = (TICKS_PER_MM, TICKS_PER_MM) if unit.metric else (TICKS_PER_INCH // 16, TICKS_PER_64TH)
    return say(length if length % whole == 0 else length // step * step, unit)


def in_lines(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """Return text in lines of about this width, ended at spaces, but never between an inch and its fraction."""
    lines = [""]
    for word in _SPACE.split(text):
        longer = f"{lines[-1]} {word}".strip()
        if not lines[-1] or width_of(longer, size, bold=bold) <= room:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def fitted(text: str, size: float, room: float) -> str:
    """Return the text, or as much of it as fits, with an ellipsis."""
    if width_of(text, size) <= room:
        return text
    ends = [0.0, *accumulate(map(_share, text))]
    kept = next((n for n in range(len(text), 0, -1) if (ends[n] + _share("…")) * size <= room), 0)
    return text[:kept].rstrip() + "…"


@dataclass(frozen=True, slots=True)
class Tags:
    """What pieces are called, on every sheet and drawing of a plan.

    ``runs`` are the items covered by several pieces; ``counted`` says of each piece on a wall, by its item, course and
    number, which one from the left of its whole course it is.
    """

    walls: Mapping[int, str]
    runs: frozenset[int]
    counted: Mapping[Slot, int]

    @classmethod
    def of(cls, job: Job, plan: CutPlan) -> Tags:
        """Return how the pieces of this plan are called."""
        walls = {item: required.wall for item, required in enumerate(job.required) if required.wall is not None}
        every = {
            (piece.item, piece.course, piece.piece + n * step)
            for part in plan.materials for use in part.patterns for run in runs_of(use.sticks)
            for piece, step in zip(run.pieces, run.steps or repeat(0), strict=False)
            if piece.course is not None and piece.item in walls
            for n in range(run.count)
        }
        courses: dict[tuple[str, int], list[Slot]] = defaultdict(list)
        for slot in sorted(every, key=lambda slot: (job.required[slot[0]].start, slot[0], slot[1], slot[2])):
            courses[walls[slot[0]], slot[1]].append(slot)
        counted = {slot: n for slots in courses.values() for n, slot in enumerate(slots, 1)}
        return cls(walls, frozenset(run.item for part in plan.materials for run in part.runs), counted)

    def tag(self, piece: PlacedPiece) -> str:
        """Return ``A`` for a piece of mark A, ``north 2·3`` for the third from the left in course 2 of wall north.

        What names no wall and course keeps its mark, and as a piece of a run its number: ``N·3``, ``N·2·3``.
        """
        if short := self.short(piece):
            return f"{closed(clean(self.walls[piece.item]))} {short}"
        mark = closed(clean(piece.mark))
        if piece.course is not None:
            return f"{mark}·{piece.course}·{piece.piece}"
        return f"{mark}·{piece.piece}" if piece.item in self.runs else mark

    def short(self, piece: PlacedPiece) -> str:
        """Return ``2·3`` for the third in course 2, as its own wall's sheet calls it; empty where there is none."""
        course = piece.course
        place = None if course is None else self.counted.get((piece.item, course, piece.piece))
        return f"{course}·{place}" if place else ""

    def runs_alike(self, sticks: Sequence[StickUse]) -> Iterator[StickRun]:
        """Yield sticks in runs of those whose pieces are called the same, as far as that is known."""
        for run in runs_of(sticks):
            if run.count > 1 and any(piece.course is not None or piece.item in self.runs for piece in run.pieces):
                yield from runs_of([run.at(n) for n in range(run.count)])
            else:
                yield run

    def at(self, use: PatternUse, place: int) -> tuple[str, ...]:
        """Return the different tags that a pattern's cut at ``place`` has over its sticks, in order."""
        return tuple(dict.fromkeys(self.tag(run.pieces[place]) for run in self.runs_alike(use.sticks)))

    def common(self, use: PatternUse, place: int) -> str:
        """Return what to write into the drawing at a cut: its tag, the marks it serves, or that the list says."""
        tags = self.at(use, place)
        if len(tags) == 1:
            return tags[0]
        marks = tuple(dict.fromkeys(clean(run.pieces[place].mark) for run in runs_of(use.sticks)))
        return ", ".join(marks) if len(marks) < 4 else "see list"

    def given(self, stick: StickUse) -> str:
        """Return what a stick gives, from the left; of an offcut on hand, with its label: ``A, B from R-17``."""
        pieces = ", ".join(map(self.tag, stick.pieces))
        return pieces if stick.offcut_id is None else f"{pieces} from {clean(stick.offcut_id)}"

    def alike(self, use: PatternUse) -> bool:
        """Whether all sticks of a pattern give the same pieces, and are not offcuts of different labels."""
        labels = {run.offcut_id for run in runs_of(use.sticks)}
        return len(labels) == 1 and all(len(self.at(use, place)) == 1 for place in range(len(use.cuts)))


def closed(mark: str) -> str:
    """Return a mark that figures may follow, even where it is written from right to left."""
    right_to_left = unicodedata.bidirectional(mark[-1:] or " ") in ("R", "AL")
    return mark + LEFT_TO_RIGHT if right_to_left else mark


def names(sticks: Iterable[str]) -> str:
    """Return the first and the last of consecutive sticks: ``S1 to S4``."""
    every = list(sticks)
    return every[0] if len(every) == 1 else f"{every[0]} to {every[-1]}"


def names_in(runs: Sequence[StickRun]) -> str:
    """Return the first and the last stick of consecutive runs, as ``names`` does."""
    return names(dict.fromkeys((runs[0].stick, runs[-1].name(runs[-1].count - 1))))
