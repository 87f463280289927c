"""Numbers in words as figures, as people dictate them: ``nine foot seven and a quarter times eleven``.

Only where the words stand beside a unit or an ``at``; a line whose words may group in several ways (``one twenty six``)
stays as it is, and is asked about.
"""

from __future__ import annotations

import re
from itertools import pairwise

_SMALL_WORDS = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
)
_SMALL = {word: value for value, word in enumerate(_SMALL_WORDS.split())}
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
}  # fmt: skip
_VALUES = _SMALL | _TENS | {"a": 1, "an": 1}
_PARTS = {"half": 2, "quarter": 4, "eighth": 8, "sixteenth": 16}
_SMALL_WORD = "|".join(sorted(_SMALL, key=len, reverse=True))
_UNDER_100 = rf"(?:(?:{'|'.join(_TENS)})(?:[\ -](?:{'|'.join(list(_SMALL)[1:10])}))?|{_SMALL_WORD})"
_NUMBER = rf"(?:(?:(?:{_SMALL_WORD}|an?)\ hundred(?:\ (?:and\ )?{_UNDER_100})?)|{_UNDER_100})"
_OF_A_PART = r"(?:an?|one|three|five|seven|nine|eleven|thirteen|fifteen)"
_PART = rf"{_OF_A_PART}\ (?:half|quarters?|eighths?|sixteenths?)"
_UNIT = r"(?:foot|feet|ft|inch|inches|in|mm|cm|millimet(?:er|re)s?|met(?:er|re)s?)"
_END = r"(?![\w-])"
_WORDED = re.compile(rf"(?<![\w-]){_NUMBER}{_END}", re.IGNORECASE)
_BESIDE = re.compile(
    rf"(?<![\w-]){_NUMBER}(?:\ and\ {_PART})?\ (?:{_UNIT}|at|@|of|times|pieces?|pcs|by){_END}|"
    rf"(?<![\w-])(?:at|of|times|by|@)\ {_NUMBER}{_END}",
    re.IGNORECASE,
)
_ORDINAL = re.compile(
    rf"{_UNIT}\ (?:and\ )?(?:third|fourth|fifth|sixth|seventh|ninth|tenth|eleventh|twelfth){_END}", re.IGNORECASE
)
_MIXED = re.compile(rf"(?<![\w-])(?P<whole>{_NUMBER}|[0-9]+)\ and\ (?P<part>{_PART}){_END}", re.IGNORECASE)
_ALLOWED = re.compile(rf"(?P<sign>minus|less|plus)\ (?P<part>{_PART}){_END}(?!\ (?:foot|feet|ft))", re.IGNORECASE)
_SIZE = re.compile(rf"(?<![\w-])(?<!and\ )(?:three|five|seven)\ (?:quarters?|eighths?){_END}(?!\ of)", re.IGNORECASE)
_TIMES = re.compile(r"(?<=[\w'\"])\ times\ (?=[0-9])", re.IGNORECASE)
_FEET = re.compile(r"([0-9]+)\ (?:foot|feet)\ ([0-9])", re.IGNORECASE)


def in_figures(text: str) -> str:
    """Return a line with its numbers in words as figures, itself where it is not certain how they group."""
    if not _BESIDE.search(text) or _ORDINAL.search(text):
        return text
    said = _MIXED.sub(lambda match: f"{_value(match['whole'])} {_fraction(match['part'])}", text)
    said = _ALLOWED.sub(lambda match: f"{match['sign']} {_fraction(match['part'])}", said)
    said = _SIZE.sub(lambda match: _fraction(match.group()), said)
    numbers = list(_WORDED.finditer(said))
    if any(said[one.end() : other.start()].lower() in (" ", " and ") for one, other in pairwise(numbers)):
        return text
    said = _WORDED.sub(lambda match: str(_value(match.group())), said)
    return _FEET.sub(r"\1' \2", _TIMES.sub(" x ", said))


def _fraction(written: str) -> str:
    count, part = written.lower().split()
    return f"{_SMALL.get(count, 1)}/{_PARTS[part.rstrip('s')]}"


def _value(written: str) -> int:
    """Return a number in words; ``nineteen hundred and four`` is 1904."""
    total = 0
    for word in written.lower().replace("-", " ").split():
        if word == "hundred":
            total = 100 * max(total, 1)
        elif word != "and":
            total += int(word) if word.isdigit() else _VALUES.get(word, 0)
    return total
