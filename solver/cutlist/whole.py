"""What only the whole list tells of a line: a quoted letter, a minus, a length alone among counted ones, a total.

Lines show the way a list is written, which settles what other lines leave open: ``142.375 tab 6`` says that the
length stands before the tab; ``115 tab 4`` in the same list is then no question. Where lines show two ways, nothing
is settled.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from solver.cutlist import reasons
from solver.cutlist.findings import Line, LineKind, Total
from solver.cutlist.reasons import ANSWERS
from solver.cutlist.tokens import Clause, Piece
from solver.cutlist.words import COUNT, TRADE
from solver.lengths import TICKS_PER_INCH, LengthError, Unit, read_length, say

_QUOTED = re.compile(r"\s*>")
_MINUS = re.compile(r"\s*[-\u2212\u2013][0-9]")
_FEW_COUNTED = 2
_TOTAL = re.compile(r"\b(?:tot(?:als?)?|sum)\b", re.IGNORECASE)
_MONEY = re.compile(r"[$€£%]|[0-9]\.[0-9]{2}(?![0-9])|\b(?:tax|price|amount)", re.IGNORECASE)
_NUMBER = re.compile(r"(?<![\w.,/-])[0-9]{1,7}(?![\w.,/]|\s*[-/])")
_PIECES = re.compile(rf"[0-9]\s*(?:{'|'.join(COUNT)})\b", re.IGNORECASE)
_LENGTH = re.compile(r"(?<![\w.,/-])[0-9][0-9.,/ -]*(?:'|\"|ft\b|feet\b|foot\b|lf\b|mm\b|cm\b|m\b|in\b)[0-9\"/ -]*")
_LONGEST = 200
"""Characters of a line that states a total: to look through a longer one takes the square of its length."""
_NEAR = 12 * TICKS_PER_INCH
"""A stated total of lengths is rounded to feet more often than not."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the reading of each line found out that judging the list needs, by number of the line."""

    alone: Collection[int]
    """Lines of one length and nothing else."""
    counted: int
    """Lines that say how many."""


def judged(lines: Sequence[Line], seen: Seen, unit: Unit, assume: Mapping[str, str]) -> tuple[Line, ...]:
    """Return the lines, those with a problem that the others make for them."""
    doubted = [_alone(line, seen, assume) if line.read else line for line in _minus(lines)]
    doubted = _quoted(doubted, assume)
    return tuple(_totalled(doubted, unit, assume))


def totals(lines: Sequence[Line], unit: Unit) -> tuple[Total, ...]:
    """Return what the list states as totals, and whether the lines above come to that."""
    return tuple(total for _, total in _stated(lines, unit) if total)


def _minus(lines: Sequence[Line]) -> Iterator[Line]:
    """A minus before a quantity, unless every line of pieces begins with a dash."""
    pieces = [line for line in lines if line.read]
    dashed = {line.number for line in pieces if _MINUS.match(line.text)}
    listed = len(dashed) == len(pieces) > 1
    for line in lines:
        if line.number in dashed and not listed:
            yield _asked(line, reasons.minus(line.text.strip(), line.read[0].quantity, line.read[0].text))
        else:
            yield line


def _asked(line: Line, unclear: reasons.Unclear) -> Line:
    return replace(line, kind=LineKind.ITEM, read=(), problem=unclear.problem)


def _alone(line: Line, seen: Seen, assume: Mapping[str, str]) -> Line:
    """A length alone on its line, where other lines say how many: one piece, or the end of another line."""
    if line.number not in seen.alone or seen.counted < _FEW_COUNTED or assume.get("alone") == "one":
        return line
    return _asked(line, reasons.alone(line.text.strip(), line.read[0].text))


def _quoted(lines: Sequence[Line], assume: Mapping[str, str]) -> list[Line]:
    """Pieces in the quoted part of a letter, where others stand in what was written above it."""
    read = [line for line in lines if line.read]
    old = {line.number for line in read if _QUOTED.match(line.text)}
    if not old or len(old) == len(read) or assume.get("quoted") == "wanted":
        return list(lines)
    if assume.get("quoted") == "old":
        return [replace(line, kind=LineKind.COMMENT, read=()) if line.number in old else line for line in lines]
    return [_asked(line, reasons.quoted(line.text.strip())) if line.number in old else line for line in lines]


def _totalled(lines: Sequence[Line], unit: Unit, assume: Mapping[str, str]) -> Iterator[Line]:
    for line, total in _stated(lines, unit):
        if total and total.agrees is False and assume.get("totals") != "remark":
            found = f"{total.found_pieces} pieces, {say(total.found_length, unit)} in all"
            yield _asked(line, reasons.total_differs(line.text.strip(), found))
        elif total and not total.agrees and total.pieces is None and not TRADE.isdisjoint(line.text.lower().split()):
            yield _asked(line, reasons.sold_by(line.text.strip()))
        else:
            yield line


@dataclass(slots=True)
class _Sum:
    """What was read since a place in the list; ``whole`` is False where a line there is not read."""

    pieces: int = 0
    length: int = 0
    whole: bool = True

    def add(self, line: Line) -> None:
        """Take a line in."""
        self.whole = self.whole and line.problem is None
        for item in line.read:
            self.pieces += item.pieces
            self.length += item.pieces * item.length


def _stated(lines: Sequence[Line], unit: Unit) -> Iterator[tuple[Line, Total | None]]:
    """Yield each line, with the total that it states; one may count from the top, or from the last total or heading."""
    top, since, section = _Sum(), _Sum(), _Sum()
    for line in lines:
        stated = None if line.read or line.problem else _total(line.text, unit)
        if stated is None:
            section = _Sum() if line.kind is LineKind.HEADING else section
            for running in (top, since, section):
                running.add(line)
            yield line, None
            continue
        agree = [running for running in (section, since, top) if _agrees(stated, running)]
        found = (agree or [top])[0]
        agrees = True if agree else False if top.whole and top.pieces else None
        since, section = _Sum(), _Sum()
        yield line, Total(line.number, *stated, agrees, found.pieces, found.length)


def _agrees(stated: tuple[int | None, int | None], running: _Sum) -> bool:
    pieces, length = stated
    by_pieces = pieces is not None and pieces == running.pieces
    return running.pieces > 0 and (by_pieces or (length is not None and abs(length - running.length) < _NEAR))


def _total(text: str, unit: Unit) -> tuple[int | None, int | None] | None:
    """Return the pieces and the length that a line states as a total; None if it states none.

    A bare number may be either, one of pieces is no length, and amounts of money are neither.
    """
    if len(text) > _LONGEST or not _TOTAL.search(text) or _MONEY.search(text):
        return None
    if lengths := _LENGTH.findall(text):
        length = _ticks(lengths[0], unit) if len(lengths) == 1 else None
        return None if length is None else (None, length)
    numbers = _NUMBER.findall(text)
    if len(numbers) != 1:
        return None
    return int(numbers[0]), None if _PIECES.search(text) else _ticks(numbers[0], unit)


def _ticks(written: str, unit: Unit) -> int | None:
    try:
        return read_length(written.replace("lf", "ft").strip(" -"), unit).ticks
    except LengthError:
        return None


_BETWEEN = {"": "n n", "x": "n x n", "|": "n | n", "/": "n / n", "-": "n-n"}
_NAMES = str.maketrans(dict.fromkeys("wmMdhK"))
_DECIMAL = re.compile(r"[0-9]+\.[0-9]+")
_MARK_NOT_PROFILE = re.compile(r"[DTSQ](?:[129]|[1-9][0-9])", re.IGNORECASE)
"""Pieces marked D1 and D2 have more of the kind, which are no profiles then."""
_LONGEST_IN_FEET = 24
"""No panel is so many feet long: a larger number with decimals is of inches."""

Shown = tuple[str, str]
"""A notation, and the answer that a line gives for it."""


def shown(clause: Clause, found: Sequence[Piece], unit: Unit) -> Iterator[Shown]:
    """Yield what a line that was read shows of the way it is written."""
    tokens = clause.tokens
    if any(token.letter == "m" and _MARK_NOT_PROFILE.fullmatch(token.text) for token in tokens):
        yield "D4", "mark"
    for at in clause.all_at("lvL"):
        if tokens[at].letter == "p":
            yield "n-n", "feet-inches"
        if unit is Unit.IN and tokens[at].letter == "v" and in_inches(clause.text(at)):
            yield "n.n", "decimal"
    if len(found) != 1:
        return
    first, last = found[0].first, found[0].last
    letters = [tokens[first].letter, tokens[last].letter]
    between = "".join(token.letter for token in tokens[first + 1 : last]).translate(_NAMES)
    counted, measured = letters if clause.letters[first] == "q" else reversed(letters)
    if first != last and between in _BETWEEN and counted == "n" and measured in "lv":
        yield _BETWEEN[between], "quantity-length" if clause.letters[first] == "q" else "length-quantity"


def in_inches(written: str) -> bool:
    """Whether a bare number with decimals is too large for feet, or has more decimals than feet are written with."""
    if not _DECIMAL.fullmatch(written):
        return False
    whole, _, part = written.partition(".")
    return int(whole) >= _LONGEST_IN_FEET or len(part) > 2


def settled(shows: Iterable[Shown], asked: Iterable[str], assume: Mapping[str, str]) -> dict[str, str]:
    """Return the answer to each notation asked about for which all lines show the same, and nobody answered yet."""
    ways: dict[str, set[str]] = {}
    for notation, answer in shows:
        ways.setdefault(notation, set()).add(answer)
    only = {notation: next(iter(answers)) for notation, answers in ways.items() if len(answers) == 1}
    return {
        notation: only[notation]
        for notation in dict.fromkeys(asked)
        if notation in only and notation not in assume and only[notation] in ANSWERS[notation]
    }
