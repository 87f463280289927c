"""Text on a drawing or a sheet: what may stand there, and how wide it comes out."""

from __future__ import annotations

import unicodedata

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
