"""A raw line: made plain, its number split off, and whether it holds pieces at all.

Plain is one glyph for each kind of quote, dash and stroke, plain digits, no control characters, no bullets. A line
number, ``1. 14 @ 9'7"``, counts no pieces, and a number before a dot or bracket may be either. Without pieces are
headings that name a material or a place, comments, and what a letter comes wrapped in.
"""

from __future__ import annotations

import html
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from solver.cutlist.names import Names, in_words
from solver.cutlist.words import COLOURS, FUNCTION, LABEL, PLACE, PREPOSITIONS, TITLE, TRADE
from solver.lengths import plain_text
from solver.required import LONGEST_NAME

_SHEET = re.compile(r"=== sheet .{0,200} ===")
_CONTROLS = re.compile("[\x00-\x08\x0a-\x1f\x7f-\x9f\u2028\u2029\ue000-\uf8ff]")
_TAG = re.compile(r"</?[a-zA-Z!][^<>@]{0,200}>")
_BULLET = re.compile(r"[ >]*(?:\s*[-+*•·◦▪‣●○■□☐☑✓✔>]+\s+)*(?:\s*\[[ xX✓]?\]\s*)?")
_BEFORE_FRACTION = re.compile("(?<=[0-9]) (?=[\u00bc-\u00be\u2150-\u215e])")
_AFTER_FRACTION = re.compile(r"(/[0-9]{1,2}) {1,2}(?=\")")
_STROKE = re.compile(r"(?<=[0-9])\\(?=[0-9])")
_MARK = re.compile(r"\[([^\[\]]{1,60})\]")


def sheet_line(name: str) -> str:
    """Return the line that begins another sheet of a workbook: nothing that was said above it holds below."""
    return f"=== sheet {name[:200]} ==="


def begins_sheet(raw: str) -> bool:
    """Whether a line begins another sheet."""
    return _SHEET.fullmatch(raw) is not None


def plain(raw: str) -> str:
    """Return a line as the grammar wants it, never longer lines than one; bullets, tick boxes and quoting are gone."""
    text = html.unescape(raw) if "&" in raw else raw
    text = _CONTROLS.sub(" ", _TAG.sub("\t", text) if "<" in text else text)
    if not text.isascii() or "`" in text:
        text = _BEFORE_FRACTION.sub("", "".join(map(_digit, text)))
        text = _AFTER_FRACTION.sub(r"\1", plain_text(text))
    if "\\" in text:
        text = _STROKE.sub("/", text)
    return text[_bullet(text) :].replace("''", '"')


def _bullet(text: str) -> int:
    match = _BULLET.match(text)
    return match.end() if match else 0


def _digit(glyph: str) -> str:
    """Return a plain digit for any other, and the letters that a ligature stands for."""
    if "\ufb00" <= glyph <= "\ufb06":
        return unicodedata.normalize("NFKC", glyph)
    value = unicodedata.decimal(glyph, None) if glyph > "\x7f" else None
    return glyph if value is None else str(value)


def take_mark(raw: str) -> tuple[str, str | None]:
    """Return a line without its mark in brackets, and the mark as it was written; none if there are several."""
    marks = _MARK.findall(raw)
    if len(marks) != 1 or marks[0].strip() in ("", "x", "X", "✓"):
        return raw, None
    return _MARK.sub(" ", raw), marks[0].strip()


_NUMBERED = re.compile(r"\s*(?P<number>[0-9]{1,4})(?P<sign>[.:](?=\s)|\))\s*(?=\S)")
_SURE_FROM = 3


def numbered(lines: Sequence[str]) -> frozenset[int]:
    """Return the places of the lines that are numbered for certain: three or more in sequence from 1, signs alike."""
    sure: set[int] = set()
    runs: dict[str, list[int]] = {}
    for place, line in enumerate(lines):
        if match := _NUMBERED.match(line):
            run = runs.setdefault(match["sign"], [])
            number = int(match["number"])
            if number != len(run) + 1:
                run.clear()
            if number == len(run) + 1:
                run.append(place)
            if len(run) >= _SURE_FROM:
                sure.update(run)
    return frozenset(sure)


def split_number(line: str) -> tuple[str, str] | None:
    """Return a line's leading number and the rest, None if it has none."""
    match = _NUMBERED.match(line)
    return (match["number"], line[match.end() :]) if match else None


_DECORATION = " \t=*#_-~<>[]|.,;"
_MOST_HEADING_WORDS = 6

_ENVELOPE = re.compile(
    r"(?:from|to|cc|bcc|subject|subj|sent|date|re|fwd?|address|addr|ship to|shipping|deliver|delivery|deliver to|"
    r"bill to|attn|attention|p\.?o\.?|invoice|quote|job|project|customer|account|contact|job name|order|ref)\s*[:#]",
    re.IGNORECASE,
)
"""Lines around a letter; a length on one is asked about, for it may be meant."""
_NEVER_PIECES = re.compile(
    r"(?:(?:tel|phone|ph|fax|cell|mobile|mob|e-?mail|web|www|date|sent|page|call me|text me)\b[\s:.#]|"
    r"(?:sub-?\s?|grand )?tot(?:al|\b)|sum\b|(?:sales )?tax\b|gst\b|vat\b|freight\b|deposit\b|discount\b|"
    r"balance\b|on .{6,80} wrote:|"
    r"-{2,}\s?(?:original|forwarded)|=\s?[a-z]+\()",
    re.IGNORECASE,
)
"""Lines whose numbers are no pieces whatever they look like."""


_WALL = re.compile(
    r"(?:[^\W\d_]{1,12}\ {1,2}(?:wall|gable)|"
    r"(?:wall|gable)\ {1,2}(?:[a-z]|[0-9]{1,3}|north|south|east|west|front|back|rear|left|right))(?![\w'\"])",
    re.IGNORECASE,
)
_NUMBERS = re.compile("[nvpfu]")
_HEADING_WORD = re.compile(r"[^\W_](?:[\w/'-]*[^\W_])?")


def is_sentence(text: str) -> bool:
    """Whether a line has words that only sentences have."""
    return any(len(word) > 1 and word in FUNCTION - PREPOSITIONS for word in text.lower().split())


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; ``material`` is the one that the lines below are of, None where it names a place or a title."""

    material: str | None


def wall_of(text: str) -> str | None:
    """Return the wall that a line begins with or is headed by: ``N wall``, ``wall 2``, ``gable east``."""
    match = _WALL.match(text.strip(_DECORATION))
    return " ".join(match.group().split()) if match else None


def names_a_wall(text: str) -> bool:
    """Whether a line is the name of a wall and nothing else."""
    return _WALL.fullmatch(text.strip(_DECORATION + ":")) is not None


def never_pieces(text: str) -> bool:
    """Whether a line is of a kind that never asks for pieces: a telephone number, a total, a formula."""
    return _NEVER_PIECES.match(text.strip()) is not None


def is_envelope(text: str) -> bool:
    """Whether a line is an address, a subject or the like."""
    return _ENVELOPE.match(text) is not None


def heading(text: str, letters: str, names: Names) -> Heading | None:
    """Return what a line without pieces heads, None if it is a comment; a number is in a heading only if set off."""
    bare = " ".join(text.strip(_DECORATION).rstrip(": ").split())
    set_off = text.rstrip().endswith(":") or (text.strip()[:1] in "=*#[" and text.strip()[-1:] in "=*#]:" + bare[-1:])
    words = _HEADING_WORD.findall(bare)
    if not words or (_NUMBERS.search(letters) and not set_off):
        return None
    material = names.exactly(bare) or _material(bare, words, names, set_off=set_off)
    if material or (set_off and len(words) <= _MOST_HEADING_WORDS):
        return Heading(material)
    return None


_SAYS_NOTHING = PLACE | LABEL | FUNCTION | TITLE | {"of"}


def perhaps_material(text: str, letters: str) -> str | None:
    """Return the words of a line that may be the material of the pieces below; None where they can't be.

    Places, titles and greetings are none, nor are sentences, unless they name a colour.
    """
    bare = text.strip(_DECORATION).rstrip(": ")
    words = [word.lower() for word in _HEADING_WORD.findall(bare)]
    named = [word for word in words if word not in _SAYS_NOTHING and not word.isdigit()]
    coloured = not COLOURS.isdisjoint(words)
    if len(bare) > LONGEST_NAME or not named or names_a_wall(text) or (is_sentence(text) and not coloured):
        return None
    numbered = "e" in letters or _NUMBERS.search(letters) is not None
    return bare if coloured or (len(words) <= _MOST_HEADING_WORDS and not numbered) else None


def _material(bare: str, words: list[str], names: Names, *, set_off: bool) -> str | None:
    lowered = [word.lower() for word in words]
    sentence = any(word in FUNCTION for word in lowered) or len(words) > _MOST_HEADING_WORDS
    if sentence and not set_off:
        return None
    known = names.by_words(bare)
    strange = [w for w in lowered if w not in TRADE and w not in PLACE and not (known and names.has_word(known, w))]
    if known and (set_off or len(strange) <= 1):
        return known
    if set_off and not names.given and not PLACE.intersection(lowered):
        return bare
    generic = (set_off or not names.given) and any(word in TRADE for word in lowered)
    return (in_words(words) or (bare if generic else None)) if set_off or len(strange) <= 2 else None
