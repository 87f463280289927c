"""How wide text comes out in the sheet's own font, and where its lines end: the same for every medium it is set in."""

from __future__ import annotations

import io
from base64 import b64encode
from collections.abc import Mapping, Sequence
from functools import cache, lru_cache
from pathlib import Path

FILES = {bold: Path(__file__).with_name("fonts") / f"DejaVuSansCondensed{'-Bold' * bold}.ttf" for bold in (False, True)}
"""The sheet's font, and its bold cut."""
FAMILY = "Sheet"
POINT = 25.4 / 72
"""Millimetres in a point."""
_CARRIED = [*range(0x20, 0x7F), *range(0xA0, 0x180), *map(ord, "☐▾◂×·–—‘’“”…½¼¾⅛⅜⅝⅞′″≈")]
"""The characters that a page brings along; a browser has its own font for others."""


@lru_cache(16_384)
def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a line is in millimetres, its size in points."""
    advances, em = _metrics(bold=bold)
    return sum(map(advances.__getitem__, text)) * size * POINT / em


class _Advances(dict[str, int]):
    """How far each character leads on, in parts of an em; those that the font has not, as far as the sign for them."""

    def __init__(self, known: Mapping[str, int], unknown: int) -> None:
        super().__init__(known)
        self._unknown = unknown

    def __missing__(self, character: str) -> int:
        return self._unknown


@cache
def _metrics(*, bold: bool) -> tuple[_Advances, int]:
    from fontTools.ttLib import TTFont  # noqa: PLC0415 - takes long to import, few requests want a sheet

    with TTFont(FILES[bold], lazy=True) as font:
        advances = font["hmtx"].metrics
        known = {chr(code): advances[glyph][0] for code, glyph in font.getBestCmap().items()}
        return _Advances(known, advances[".notdef"][0]), font["head"].unitsPerEm


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> tuple[str, ...]:
    """Return text in lines that fit: ended at spaces, and within a word only where it is wider than a line."""
    if width(text, size, bold=bold) <= room:
        return (text,)
    advances, em = _metrics(bold=bold)
    lines, wide = [""], 0
    for word in filter(None, text.split(" ")):
        own = sum(map(advances.__getitem__, word))
        # as ``width`` has it, but no line is measured again for each of its words
        longer = wide + advances[" "] + own if lines[-1] else own
        if longer * size * POINT / em <= room:
            lines[-1], wide = f"{lines[-1]} {word}".lstrip(" "), longer
        else:
            lines += _broken(word, size, room, bold=bold)
            wide = sum(map(advances.__getitem__, lines[-1]))
    return tuple(line for line in lines if line) or ("",)


def _broken(word: str, size: float, room: float, *, bold: bool) -> Sequence[str]:
    parts = [""]
    for character in word:
        if parts[-1] and width(parts[-1] + character, size, bold=bold) > room:
            parts.append("")
        parts[-1] += character
    return parts


def ready() -> None:
    """Read the font now, and not at the first sheet."""
    faces()
    for bold in FILES:
        _metrics(bold=bold)


@cache
def faces() -> str:
    """Return the font as style of a page: both cuts, with the characters that a sheet needs."""
    return "".join(
        f'@font-face {{ font-family: "{FAMILY}"; font-weight: {"bold" if bold else "normal"}; '
        f"src: url(data:font/woff;base64,{_subset(path)}); }}\n"
        for bold, path in FILES.items()
    )


def _subset(path: Path) -> str:
    from fontTools.subset import Options, Subsetter  # noqa: PLC0415 - takes long to import, and is used once
    from fontTools.ttLib import TTFont  # noqa: PLC0415

    options = Options(hinting=False, layout_features=[], notdef_outline=True, drop_tables=["FFTM"])
    out = io.BytesIO()
    subsetter = Subsetter(options)
    subsetter.populate(unicodes=_CARRIED)
    with TTFont(path, recalcTimestamp=False) as font:
        subsetter.subset(font)
        font.flavor = "woff"
        font.save(out)
    return b64encode(out.getvalue()).decode()
