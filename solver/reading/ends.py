"""What a line says in words about its ends and its room: ``lap left``, ``both channels``, ``room to 142 7/8``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from solver.reading.findings import PLAIN
from solver.required import End, Meets

_WHAT = r"(?<!\b[jfh][-\ ])(?<![\w-])(?P<what{0}>lap|channel|plain)(?:ped|s)?(?![\w-])"
_SIDE = r"(?<![\w-])(?P<side{0}>left|right|both)(?:\ (?:ends?|sides?))?(?![\w-])"
_END = re.compile(
    rf"{_WHAT.format(1)}\ {{1,2}}(?:on\ |at\ )?(?:the\ )?{_SIDE.format(1)}|{_SIDE.format(2)}\ {{1,2}}{_WHAT.format(2)}",
    re.IGNORECASE,
)
_ROOM = re.compile(r",?\s*\broom to (?P<to>[0-9][0-9'\"/. -]*(?:mm\b|cm\b|m\b|in\b|ft\b)?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Ends:
    """What the ends meet, and the length up to which room is kept, as written."""

    left: End = PLAIN
    right: End = PLAIN
    room_to: str | None = None


NOTHING_SAID = Ends()


def take_ends(text: str) -> tuple[str, Ends]:
    """Return the text without its words about ends, and what they say; the last word on a side counts."""
    lowered = text.lower()
    if "lap" not in lowered and "channel" not in lowered and "plain" not in lowered and "room to" not in lowered:
        return text, NOTHING_SAID
    sides = {"left": End(), "right": End()}
    for match in _END.finditer(text):
        meets = End(Meets((match["what1"] or match["what2"]).lower()))
        side = (match["side1"] or match["side2"]).lower()
        sides.update({each: meets for each in sides if side in (each, "both")})
    room = _ROOM.search(text)
    rest = _ROOM.sub(" ", _END.sub(" ", text))
    said = Ends(sides["left"], sides["right"], room["to"].strip() if room else None)
    return (text, NOTHING_SAID) if rest == text else (rest, said)
