"""Lists as people write them, from ``tests/data/hands``: each line with what it means, written by hand beside it.

``14 x 115 sand [A]; 2 x 900mm`` are pieces: quantity, inches unless it says mm, material, mark. A material is an id of
the list's, ``~word`` for words that hold it, ``?`` for one that the list does not have; left out, it is not compared.
``none`` asks for no pieces, ``ask: why`` is for a line that nobody could cut without asking.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from pathlib import Path

from solver.cutlist import Item, Line
from solver.lengths import Unit, to_ticks

FOLDER = Path(__file__).parents[1] / "data" / "hands"
_ITEM = re.compile(
    r"(?P<quantity>\d+) x (?P<length>[\d.]+)(?P<mm>mm)?(?: (?P<material>[^\s\[]+))?(?: \[(?P<mark>.+)\])?"
)


class Verdict(StrEnum):
    """What became of a line: ``WRONG`` is read as something else than it means, without a question."""

    READ = "read"
    ASKED = "asked"
    REFUSED = "refused"
    WRONG = "wrong"


@dataclass
class Hand:
    """One list: how it came, the unit of its bare numbers, its materials, and (text, meaning) of each line."""

    source: str
    form: str
    unit: Unit
    materials: tuple[str, ...]
    lines: list[tuple[str, str]] = field(default_factory=list)
    sheets: list[tuple[str, int]] = field(default_factory=list)
    """Names of the sheets of a workbook, and the place in ``lines`` at which each begins."""
    merged: list[tuple[str, str]] = field(default_factory=list)
    """Sheet and range of merged cells."""

    @property
    def text(self) -> str:
        """The list as it was pasted."""
        return "\n".join(text for text, _ in self.lines)


def hands() -> Iterator[Hand]:
    """Yield every list of every hand."""
    for path in sorted(FOLDER.glob("*.txt")):
        yield from lists(path)


def lists(path: Path) -> Iterator[Hand]:
    """Yield every list of a file."""
    source, written = path.stem, path.read_text(encoding="utf-8").splitlines()
    hand: Hand | None = None
    for line in written:
        if head := re.fullmatch(r"@(list|csv|book) (\w+):(.*)", line):
            if hand:
                yield hand
            names = tuple(name.strip() for name in head[3].split(",") if name.strip())
            hand = Hand(source, head[1], Unit(head[2]), names)
            continue
        assert hand is not None, line
        if line.startswith("@sheet "):
            hand.sheets.append((line.removeprefix("@sheet "), len(hand.lines)))
        elif line.startswith("@merge "):
            hand.merged.append((hand.sheets[-1][0], line.removeprefix("@merge ")))
        else:
            text, _, meaning = line.rpartition(" ⇒ ")
            hand.lines.append((text, meaning))
    if hand:
        yield hand


def judge(line: Line, meaning: str, hand: Hand, *, named: bool) -> Verdict:
    """Return what became of a line; ``named`` says that pieces without a material are of the one the list has."""
    if line.problem:
        return Verdict.ASKED if line.problem.asks else Verdict.REFUSED
    if meaning == "none" or meaning.startswith("ask"):
        return Verdict.READ if meaning == "none" and not line.read else Verdict.WRONG
    expected = [_ITEM.fullmatch(part.strip()) for part in meaning.split(";")]
    if len(expected) != len(line.read):
        return Verdict.WRONG
    verdicts = [_judged(item, match, hand, named) for item, match in zip(line.read, expected, strict=True) if match]
    assert len(verdicts) == len(expected), meaning
    return next((verdict for verdict in (Verdict.WRONG, Verdict.ASKED) if verdict in verdicts), Verdict.READ)


def _judged(item: Item, match: re.Match[str], hand: Hand, named: bool) -> Verdict:
    ticks = to_ticks(Fraction(match["length"]), Unit.MM if match["mm"] else Unit.IN).ticks
    if (item.pieces, item.length) != (int(match["quantity"]), ticks):
        return Verdict.WRONG
    if match["mark"] and item.mark != match["mark"]:
        return Verdict.WRONG
    return _of(item.material, match["material"], hand, named)


def _of(read: str | None, meant: str | None, hand: Hand, named: bool) -> Verdict:
    if meant is None:
        return Verdict.READ
    if meant.startswith("~"):
        return Verdict.READ if read and meant[1:].lower() in read.lower() else Verdict.WRONG
    if read in hand.materials:
        return Verdict.READ if read == meant else Verdict.WRONG
    if named and read is None:
        return Verdict.READ
    return Verdict.READ if meant == "?" else Verdict.ASKED
