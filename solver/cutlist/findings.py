"""What reading a cut list finds: items, lines, problems with their hints, and questions for the whole list."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from solver.required import End, Required

PLAIN = End()
_LONGEST = 2000
"""Characters of a line that are kept of it; no longer one is read."""


class LineKind(StrEnum):
    """What a line is."""

    ITEM = "item"
    HEADING = "heading"
    COMMENT = "comment"
    BLANK = "blank"


@dataclass(frozen=True, slots=True)
class Item:
    """So many of one length, as read: ``length`` and ``room`` in ticks, ``text`` the length as a person would say it.

    ``material`` is the id of one that was given, else the words as written, else None; ``exact`` is
    False where the length was rounded to whole ticks. Where a line counts courses, ``quantity`` is of
    each, and ``wall`` the one that they are on.
    """

    quantity: int
    length: int
    text: str
    material: str | None = None
    mark: str | None = None
    left_end: End = PLAIN
    right_end: End = PLAIN
    room: int = 0
    exact: bool = True
    courses: int = 1
    wall: str | None = None

    @property
    def pieces(self) -> int:
        """How many pieces or runs are wanted over all courses."""
        return self.quantity * self.courses


@dataclass(frozen=True, slots=True)
class Problem:
    """Why a line can't be read and what to write instead; ``readings`` is what an ambiguous form may mean.

    ``notation`` and ``answers`` are set where one answer for the whole list settles it.
    """

    code: str
    detail: str
    hint: str
    readings: tuple[str, ...] = ()
    notation: str | None = None
    answers: tuple[str, ...] = ()

    @property
    def asks(self) -> bool:
        """Whether it names the readings there are, or an answer that settles it."""
        return bool(self.readings or self.notation)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the text, numbered from 1, as it came; a line with a problem has nothing read."""

    number: int
    kind: LineKind
    text: str
    read: tuple[Item, ...] = ()
    problem: Problem | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """A notation that has several meanings throughout the list: answer it once, in ``assume``."""

    notation: str
    detail: str
    answers: tuple[str, ...]
    lines: tuple[int, ...]
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Total:
    """A total that a line states, of pieces or of lengths (ticks), or of either where it does not say.

    ``agrees`` is whether the lines above come to that, None where some of them are not read; ``found_pieces`` and
    ``found_length`` are what they come to.
    """

    line: int
    pieces: int | None
    length: int | None
    agrees: bool | None
    found_pieces: int
    found_length: int


@dataclass(frozen=True, slots=True)
class Account:
    """The sum over all lines: each is counted once, and what was read of them comes to ``pieces`` and ``length``.

    A line is ``read`` into items, ``asked`` with the readings it can have, ``refused`` with a reason alone, or
    holds no pieces: ``headings``, ``comments``, ``blank``.
    """

    lines: int
    read: int
    asked: int
    refused: int
    headings: int
    comments: int
    blank: int
    items: int
    pieces: int
    length: int
    totals: tuple[Total, ...]


@dataclass(frozen=True, slots=True)
class CutList:
    """Every line in order, what must be asked, and the items read as required pieces.

    ``settled`` are the notations that other lines of the list answered.
    """

    lines: tuple[Line, ...]
    questions: tuple[Question, ...]
    required: tuple[Required, ...]
    account: Account
    settled: Mapping[str, str] = field(default_factory=dict)

    @property
    def worded(self) -> tuple[Required, ...]:
        """The pieces, each with the words of its line as they were written; what no text can hold is a blank."""
        words = [_printed(line.text) for line in self.lines for _ in line.read]
        return tuple(replace(item, words=said) for item, said in zip(self.required, words, strict=True))

    @property
    def problems(self) -> tuple[Line, ...]:
        """The lines that can't be read as they stand."""
        return tuple(line for line in self.lines if line.problem)


def _printed(text: str) -> str:
    controls = {glyph for glyph in text if glyph != "\t" and unicodedata.category(glyph) in ("Cc", "Cs")}
    return text.translate(dict.fromkeys(map(ord, controls), " ")).strip()[:_LONGEST]
