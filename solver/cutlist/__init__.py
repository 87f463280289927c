"""Pasted text in, required pieces out, with a reason for every line that can't be read; and the way back.

The text is what customers send: free lines, rows from a spreadsheet, an e-mail around them. A form with two meanings
is a question that offers both; a notation that is ambiguous is asked about once, in ``CutList.questions``, and
``assume`` answers it. Pure text in, frozen values out; nothing here raises on any input.

``reader`` goes through the lines; ``lines`` makes each plain and knows headings and comments, ``tables`` columns and
rows, ``free`` everything else: a line is cut into ``tokens``, each of them one letter of a short string, and
``measure``, ``doubts`` and the rules of ``grammar`` give every number its part by patterns over that string, until
``grammar`` can match pieces in it; ``numerals`` has put numbers in words into figures before, and ``beside`` finds the
words that have no part and may be a colour or a finish. Then the list is looked
at as a whole: ``settled`` answers what other lines show, ``whole`` knows stated totals, quoted letters and lines that
only others put in doubt, and ``CutList.account`` counts every line once. One rule holds it together: **every number
on a line is accounted for, as a quantity, a length, a mark, a size, or a number that counts nothing (a date, a price);
else the line is a question** (``reasons``).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from solver.cutlist.findings import Account, CutList, Item, Line, LineKind, Problem, Question, Total
from solver.cutlist.lines import numbered, sheet_line
from solver.cutlist.measure import Manner, spoken
from solver.cutlist.names import Names
from solver.cutlist.reader import Reader
from solver.cutlist.reasons import ANSWERS, LASTING
from solver.cutlist.whole import Seen, Shown, judged, settled, totals
from solver.lengths import Unit
from solver.required import End, Meets, Required

__all__ = [
    "ANSWERS",
    "LASTING",
    "Account",
    "CutList",
    "Item",
    "Line",
    "LineKind",
    "Problem",
    "Question",
    "Total",
    "read_cut_list",
    "sheet_line",
    "write_cut_list",
]

_EXAMPLES = 3
_THREE_DECIMALS = re.compile(r"^[0-9]{1,3}\.[0-9]{3}(?= mm$)")
_LINE_ENDS = re.compile(r"\r\n|\r|\n")


def read_cut_list(
    text: str, unit: Unit, materials: Sequence[str] = (), assume: Mapping[str, str] | None = None
) -> CutList:
    """Read a pasted list. Every line of the text is in the answer; nothing is raised, whatever the text.

    ``unit`` is what a bare number means; ``materials`` the ids to look for; ``assume`` answers
    questions, by notation (see ``ANSWERS``). An item that names no material is of the only one given,
    else of "". Marks that are missing are numbers, counted from 1 by place in ``required``.
    """
    raw, names, given = _LINE_ENDS.split(text), Names(materials), dict(assume or {})
    lines, shows = _read(raw, Manner(unit, given), names)
    known = settled(shows, (line.problem.notation for line in lines if line.problem and line.problem.notation), given)
    if known:
        lines, _ = _read(raw, Manner(unit, given | known), names)
    only = materials[0] if len(materials) == 1 else ""
    items = [item for line in lines for item in line.read]
    walls = Counter(item.wall for item in items if item.wall)
    taken: Counter[str] = Counter()
    required = tuple(_required(item, str(place), only, walls, taken) for place, item in enumerate(items, 1))
    return CutList(lines, _questions(lines), required, _account(lines, unit), known)


def _read(raw: Sequence[str], manner: Manner, names: Names) -> tuple[tuple[Line, ...], set[Shown]]:
    """Return every line as read and as the whole list judges it, and what the lines show of the way it is written."""
    reader = Reader(manner, names)
    sure = numbered(raw)
    read = [reader.read(place + 1, line, numbered=place in sure) for place, line in enumerate(raw)]
    lines = [reader.asked.get(line.number, line) for line in read]
    return judged(lines, Seen(reader.alone, reader.counted), manner.unit, manner.assume), reader.shows


def _account(lines: Sequence[Line], unit: Unit) -> Account:
    items = [item for line in lines for item in line.read]
    kinds = Counter(line.kind for line in lines if not line.problem)
    asked = sum(line.problem is not None and line.problem.asks for line in lines)
    refused = sum(line.problem is not None for line in lines) - asked
    return Account(
        len(lines),
        kinds[LineKind.ITEM],
        asked,
        refused,
        kinds[LineKind.HEADING],
        kinds[LineKind.COMMENT],
        kinds[LineKind.BLANK],
        len(items),
        sum(item.pieces for item in items),
        sum(item.pieces * item.length for item in items),
        totals(lines, unit),
    )


def _required(item: Item, number: str, only: str, walls: Counter[str], taken: Counter[str]) -> Required:
    """Courses are laid wall by wall; of several groups on one, a list does not say how they lie to each other."""
    wall = item.wall
    if wall:
        taken[wall] += 1
        wall = wall if walls[wall] == 1 else f"{wall}, {taken[wall]}"
    return Required(
        item.mark or number,
        item.material or only,
        item.length,
        item.quantity,
        item.left_end,
        item.right_end,
        item.room,
        wall=wall,
        first_course=1 if wall else None,
        courses=item.courses,
    )


def _questions(lines: Iterable[Line]) -> tuple[Question, ...]:
    asked: dict[str, list[Line]] = {}
    for line in lines:
        if line.problem and line.problem.notation:
            asked.setdefault(line.problem.notation, []).append(line)
    return tuple(_question(notation, about) for notation, about in asked.items())


def _question(notation: str, about: Sequence[Line]) -> Question:
    problem = about[0].problem
    assert problem is not None
    examples = tuple(dict.fromkeys(line.text.strip() for line in about))[:_EXAMPLES]
    return Question(notation, problem.detail, problem.answers, tuple(line.number for line in about), examples)


def write_cut_list(required: Iterable[Required], unit: Unit) -> str:
    """Return pieces as text that ``read_cut_list`` reads back: quantity, length, mark, material, ends and room.

    Marks are without brackets and line ends, materials without line ends; walls are not written.
    """
    written, material = [], ""
    for item in required:
        if item.material != material:
            material = item.material
            written.append(f"{material}:")
        written.append(_written(item, unit))
    return "".join(f"{line}\n" for line in written)


def _written(item: Required, unit: Unit) -> str:
    ends = [f"{end.meets} {side}" for side, end in (("left", item.left_end), ("right", item.right_end)) if _told(end)]
    room = [f"room to {_certain(item.length + item.room, unit)}"] if item.room else []
    return f"{item.pieces} @ {', '.join([f'{_certain(item.length, unit)} [{item.mark}]', *ends, *room])}"


def _certain(ticks: int, unit: Unit) -> str:
    """Say a length so that its decimals are no thousands."""
    return _THREE_DECIMALS.sub(r"\g<0>0", spoken(ticks, unit))


def _told(end: End) -> bool:
    return end.meets is not Meets.PLAIN
