"""A raw line made plain: one glyph for each kind of quote and dash, plain digits, no control characters, no bullets."""

from __future__ import annotations

import html
import re
import unicodedata

from solver.lengths import plain_text

_CONTROLS = re.compile("[\x00-\x08\x0a-\x1f\x7f-\x9f\u2028\u2029\ue000-\uf8ff]")
_TAG = re.compile(r"</?[a-zA-Z!][^<>@]{0,200}>")
_BULLET = re.compile(r"[ >]*(?:\s*[-+*•·◦▪‣●○■□☐☑✓✔>]+\s+)*(?:\s*\[[ xX✓]?\]\s*)?")
_MARK = re.compile(r"\[([^\[\]]{1,60})\]")


def plain(raw: str) -> str:
    """Return a line as the grammar wants it, never longer lines than one; bullets, tick boxes and quoting are gone."""
    text = html.unescape(raw) if "&" in raw else raw
    text = _CONTROLS.sub(" ", _TAG.sub("\t", text) if "<" in text else text)
    if not text.isascii() or "`" in text:
        text = plain_text("".join(map(_digit, text)))
    return text[_bullet(text) :].replace("''", '"')


def _bullet(text: str) -> int:
    match = _BULLET.match(text)
    return match.end() if match else 0


def _digit(glyph: str) -> str:
    value = unicodedata.decimal(glyph, None) if glyph > "\x7f" else None
    return glyph if value is None else str(value)


def take_mark(raw: str) -> tuple[str, str | None]:
    """Return a line without its mark in brackets, and the mark as it was written; none if there are several."""
    marks = _MARK.findall(raw)
    if len(marks) != 1 or marks[0].strip() in ("", "x", "X", "✓"):
        return raw, None
    return _MARK.sub(" ", raw), marks[0].strip()
