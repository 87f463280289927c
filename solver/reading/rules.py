"""The rules that find a number whose part on the line is certain, the surest first.

A rule is a pattern over a clause's letters and the letter for what its group ``it`` matched: ``q`` a
quantity, ``L`` a length, ``m`` a mark, ``.`` a number accounted for. The rest of the match becomes ``.``,
but for what its group ``keep`` holds, at its start.
"""

from __future__ import annotations

import re
from functools import lru_cache

_LENGTH = "lvgpPjL"
_RULES = tuple(
    (re.compile(pattern), letter)
    for pattern, letter in (
        (r"B[:#=]?(?P<it>[npmwK])", "m"),
        (r"(?P<it>n)[cN]|(?<![nx=/|-])(?P<it2>n)E", "q"),
        (r"[bN][:#]?(?P<it>[np])", "."),
        (r"#(?P<it>n)", "m"),
        (r"c(?P<it>p):", "."),
        (r"[Qc][:=](?P<it>n)|Q(?P<it2>n)", "q"),
        (r"(?P<it>n)X|Y(?P<it2>n)", "q"),
        (r"\((?P<it>[nq])\.*\)", "q"),
        (rf"(?P<it>n)k@?(?=[{_LENGTH}])", "q"),
        (r"k[:=]?(?P<it>[nv])", "L"),
        (r"^(?P<keep>[^lvgpPj]*)(?P<it>[nv])k(?=[^lvgpPj]*$)", "L"),
        (r"(?P<it>n)@", "q"),
        (rf"(?P<it>n)[x\-=/](?=[{_LENGTH}D])", "q"),
        (rf"(?P<it>s)(?=[@cExX\-n{_LENGTH}])", "q"),
        (rf"(?<=[{_LENGTH}])[@x\-=:/](?P<it>n)(?![@xX])", "q"),
    )
)


@lru_cache(maxsize=1024)
def ruled(letters: str) -> str:
    """Return a line's letters with those over which a rule writes. Most lines of a list have the letters of another."""
    for pattern, letter in _RULES:
        for match in pattern.finditer(letters):
            letters = letters[: match.start()] + _over(match, letter) + letters[match.end() :]
    return letters


def _over(match: re.Match[str], letter: str) -> str:
    before = match.start(match.lastgroup or 0) - match.start()
    kept = match.groupdict().get("keep") or "." * before
    return kept + letter + "." * (len(match.group()) - before - 1)
