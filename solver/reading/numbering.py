"""Line numbers: ``1. 14 @ 9'7"``. They count no pieces, and a number before a dot or bracket may be either."""

from __future__ import annotations

import re
from collections.abc import Sequence

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
