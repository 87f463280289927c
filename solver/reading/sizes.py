"""Sizes of a profile that look like lengths: ``4 5/8 J 9'7"``, ``6" fascia 12'``."""

from __future__ import annotations

import re
from fractions import Fraction

from solver.lengths import Unit, read_length, to_ticks
from solver.reading.clause import Clause
from solver.reading.words import TRADE

_COUNTED_SIZE = re.compile(r"v(?=[mw].*l)")
_SIZE = re.compile(r"l(?=[wmMc])")
_WIDEST = to_ticks(Fraction(16), Unit.IN).ticks
_POCKETS = ("3/8", "1/2", "5/8", "3/4", "7/8")


def set_aside_sizes(clause: Clause) -> None:
    """Where another length stands on the line, a small one just before a kind of trim is its size."""
    for match in _COUNTED_SIZE.finditer(clause.letters):
        at = match.start()
        quantity, _, pocket = clause.text(at).partition(" ")
        if pocket in _POCKETS and _is_trim(clause, at + 1):
            clause.counts[at] = int(quantity)
            clause.put(at, "q")
    for match in _SIZE.finditer(clause.letters):
        if len(clause.all_at("lvp")) > 1 and is_size(clause, match.start()):
            clause.put(match.start(), "d")


def _is_trim(clause: Clause, at: int) -> bool:
    return clause.letters[at] == "M" or clause.text(at).lower().split("-")[0] in TRADE


def is_size(clause: Clause, at: int) -> bool:
    """Whether a length is no more than the width of a panel, and a kind of trim or panel follows it."""
    if "'" in clause.text(at) or at + 1 == len(clause.tokens) or not _is_trim(clause, at + 1):
        return False
    return at not in clause.lengths and read_length(clause.text(at), Unit.IN).ticks <= _WIDEST
