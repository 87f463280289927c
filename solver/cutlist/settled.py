"""What lines of a list show of the way it is written, which settles what other lines leave open.

``142.375 tab 6`` says that the length stands before the tab; ``115 tab 4`` in the same list is then no question. Where
lines show two ways, nothing is settled.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from solver.cutlist.reasons import ANSWERS
from solver.cutlist.tokens import Clause, Piece
from solver.lengths import Unit

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
