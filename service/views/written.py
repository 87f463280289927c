"""The customer's own words beside what was read of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from service.drawing.lettering import clean
from solver.job import Job
from solver.lengths import Unit, say
from solver.required import End, Meets, Required

MEETS = {Meets.PLAIN: "plain", Meets.CHANNEL: "in a channel", Meets.LAP: "lapped"}
"""What an end meets, in words."""


@dataclass(frozen=True, slots=True)
class Beside:
    """A line as it was written, what was read of it in words, and which items these are, by place from 0."""

    words: str
    read: str
    items: Sequence[int]


_BRIEF = 60
"""So many characters of a line stand beside a piece at the saw; all of it is on the customer's copy."""


def quoted(required: Required) -> str:
    """Return what the customer wrote of an item, as short as a cell of the saw sheet has it; empty where unknown."""
    words = _line(required.words)
    return f"“{words if len(words) <= _BRIEF else f'{words[: _BRIEF - 1].rstrip()}…'}”" if words else ""


def _line(words: str) -> str:
    return " ".join(clean(words).split())


def beside(job: Job) -> Iterator[Beside]:
    """Yield the lines of a job whose words are known, in the order of its items; one line may hold several."""
    for words, group in groupby(enumerate(job.required), lambda placed: placed[1].words):
        if words:
            items = list(group)
            said = "; ".join(_read(item, job) for _, item in items)
            yield Beside(_line(words), said, [place for place, _ in items])


def _read(item: Required, job: Job) -> str:
    courses = f"{item.courses} courses of " if item.courses > 1 else ""
    named = f" {clean(item.material)}" if len(job.materials) > 1 else ""
    told = [f"{courses}{item.quantity} × {say(item.length, job.units)}{named}", f"mark {clean(item.mark)}"]
    told += [_end(side, end) for side, end in (("left", item.left_end), ("right", item.right_end)) if end != End()]
    return ", ".join([*told, *([f"room to {_room(item, job.units)}"] if item.room else [])])


def _end(side: str, end: End) -> str:
    return f"{MEETS[end.meets]}{', sloped,' if end.slope else ''} at the {side}"


def _room(item: Required, unit: Unit) -> str:
    return say(item.length + item.room, unit)
