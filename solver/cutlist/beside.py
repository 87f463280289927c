"""Words beside pieces that have no part on the line: they may be a colour, a finish or a profile, or say nothing.

Two colours that nobody knows would merge into one material, were such words dropped. So they are asked about, unless
they are known to say nothing, stand behind a word that places a piece (``over the garage``), or name a material.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from solver.cutlist.names import Names
from solver.cutlist.tokens import Clause
from solver.cutlist.words import ALTERING, COLOURS, FUNCTION, NO_MATERIAL, PLACING, TRADE

_PROFILE = re.compile(r"(?:[dtsq]|dl)[3-8](?:\.5)?(?:dl)?", re.IGNORECASE)
"""``D4``, ``D5``, ``T3``, ``DL4``: double 4, double 5, triple 3, Dutch lap 4 (common practice, no source)."""
_THICKNESS = re.compile(r"\.0[0-9]{2}\"?")
_NAMES = frozenset("wMd")
_PLAIN = NO_MATERIAL | TRADE | COLOURS
"""Kinds and colours are told from those of the materials by ``names``."""
_PLACED = 3
"""So many words behind one that places a piece belong to the place."""
_WORD = re.compile(r"[^\W\d_]+(?:[-'&][^\W\d_]+)*")


def is_profile(clause: Clause, at: int) -> bool:
    """Whether a mark is a profile: it looks like one, and a word that says what the piece is of stands beside it."""
    return (
        clause.letters[at] in "mKz"
        and looks_like_profile(clause.text(at))
        and (_describes(clause, at - 1) or _describes(clause, at + 1))
    )


def looks_like_profile(written: str) -> bool:
    """Whether a mark could be the profile of a panel as well."""
    return _PROFILE.fullmatch(written) is not None


def _describes(clause: Clause, at: int) -> bool:
    if not 0 <= at < len(clause.letters) or clause.letters[at] not in _NAMES:
        return False
    word = clause.text(at).lower()
    return word in COLOURS or word in TRADE or word not in NO_MATERIAL


def strange_in(clause: Clause, names: Names, used: Collection[int]) -> list[int]:
    """Return where words stand that have no part on a line of pieces; ``used`` are those of its materials."""
    found, placed = [], 0
    for at, token in enumerate(clause.tokens):
        word = token.text.lower()
        if token.letter not in "whmKD":
            placed = 0
        if word in PLACING or (token.letter == "@" and word == "of"):
            placed = _PLACED
        elif at in used:
            placed = 0
        elif token.letter == "d" and _THICKNESS.fullmatch(token.text):
            found.append(at)
        elif is_profile(clause, at):
            found.extend([at] if not names.knows(word) else [])
        elif token.letter == "w" and word not in FUNCTION:
            if not placed and _says_something(word, names):
                found.append(at)
            placed = max(placed - 1, 0)
    return found


def _says_something(word: str, names: Names) -> bool:
    return len(word) > 1 and word not in _PLAIN and not names.knows(word)


def alters(note: str) -> str:
    """Return the word of a note that may change the piece beside it, "" where there is none."""
    return next((word for word in _cell_words(note) if word.lower() in ALTERING), "")


def strange_words(written: str, names: Names, known: str | None, *, telling: bool) -> str:
    """Return the words of a cell that have no part, "" where all have; ``known`` is the material that it names.

    ``telling`` says that the cell is for remarks: colours and kinds in it that the material does not have are strange.
    """
    found: list[str] = []
    placed = 0
    for word in _cell_words(written):
        lowered = word.lower()
        if lowered in PLACING:
            placed = _PLACED
        elif lowered in FUNCTION or (known and names.has_word(known, word)):
            continue
        elif (
            looks_like_profile(word)
            or (not placed and _says_something(lowered, names))
            or (telling and (lowered in COLOURS or lowered in TRADE or names.knows(word)))
        ):
            found.append(word)
        else:
            placed = max(placed - 1, 0)
    return " ".join(found)


def _cell_words(written: str) -> Sequence[str]:
    return re.findall(rf"#[0-9]+|{_PROFILE.pattern}(?!\w)|{_WORD.pattern}", written, re.IGNORECASE)
