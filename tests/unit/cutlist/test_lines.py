"""Every line of the sample files reads as a counter clerk reads it, or is refused or asked about for its reason.

The lines are invented; that they look real rests on common practice, no source. Which quantities,
lengths and spellings occur in print stands beside ``tests/unit/test_lengths.py``.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from solver.cutlist import CutList, Item, LineKind, read_cut_list
from solver.lengths import Unit, say
from solver.required import Meets

DATA = Path(__file__).parents[2] / "data" / "cutlist"
MATERIALS = ("panel-sand", "j-channel", "soffit-white")


def samples(name: str) -> list[tuple[str, str]]:
    """Return the lines of a sample file, each with what is expected of it."""
    rows = (DATA / name).read_text(encoding="utf-8").splitlines()
    pairs = (row.split(" => ") for row in rows if row and not row.startswith("# "))
    return [(text.replace("\\t", "\t"), expected) for text, expected in pairs]


def said(item: Item, unit: Unit) -> str:
    """Return an item in the notation of the sample files."""
    ends = (item.left_end.meets, item.right_end.meets)
    parts = [f"{item.quantity} @ {item.text}"]
    parts += [f"[{item.mark}]"] if item.mark else []
    parts += [f"<{item.material}>"] if item.material else []
    parts += ["/".join(ends)] if set(ends) != {Meets.PLAIN} else []
    parts += [f"room {say(item.room, unit)}"] if item.room else []
    return " ".join(parts)


def alone(text: str, unit: Unit = Unit.IN) -> CutList:
    """Return a line read as a list of its own."""
    return read_cut_list(text, unit, MATERIALS)


def same_parts(expected: str) -> list[set[str]]:
    """Return a reading without regard to the order of mark and material."""
    parts = (part.replace("[", "|[").replace("<", "|<") for part in expected.split("; "))
    return [{piece.strip() for piece in part.split("|")} for part in parts]


@pytest.mark.parametrize(("text", "expected"), samples("free_lines_in_inches.txt"))
def test_a_line_in_inches_reads_as_a_clerk_reads_it(text: str, expected: str) -> None:
    """Quantity, length, mark, material and ends come out of a line whatever their order and spelling."""
    (line,) = alone(text).lines
    assert line.problem is None
    assert same_parts("; ".join(said(item, Unit.IN) for item in line.read)) == same_parts(expected)


@pytest.mark.parametrize(("text", "expected"), samples("free_lines_in_millimetres.txt"))
def test_a_line_in_millimetres_reads_as_a_clerk_reads_it(text: str, expected: str) -> None:
    """Metric lists have decimal commas, and bare millimetres that no quantity can be mistaken for."""
    (line,) = alone(text, Unit.MM).lines
    assert line.problem is None
    assert "; ".join(said(item, Unit.MM) for item in line.read) == expected


@pytest.mark.parametrize(("text", "expected"), samples("lines_asked_about.txt"))
def test_a_line_with_several_meanings_offers_them_all(text: str, expected: str) -> None:
    """Nothing is guessed: the problem names each reading as a person would say it."""
    (line,) = alone(text).lines
    code, _, readings = expected.partition(": ")
    assert line.read == ()
    assert line.problem is not None
    assert (line.problem.code, " | ".join(line.problem.readings)) == (code, readings)


@pytest.mark.parametrize(("text", "expected"), samples("lines_refused.txt"))
def test_a_line_that_cannot_be_read_says_why(text: str, expected: str) -> None:
    """Each refusal has a code, words, and a hint at what to write instead."""
    (line,) = alone(text).lines
    assert line.read == ()
    assert line.problem is not None
    assert line.problem.code == expected
    assert line.problem.detail
    assert line.problem.hint


@pytest.mark.parametrize(("text", "expected"), samples("lines_without_pieces.txt"))
def test_what_surrounds_a_list_is_neither_piece_nor_problem(text: str, expected: str) -> None:
    """Dates, telephone numbers, prices, addresses, totals and formulas never become lengths or quantities."""
    read = alone(text + "\n4 @ 10'")
    kind, _, material = expected.partition(" ")
    assert (read.lines[0].kind, read.lines[0].read, read.lines[0].problem) == (LineKind(kind), (), None)
    assert read.lines[1].read[0].material == (material.strip("<>") or None)


def test_the_samples_are_as_many_as_promised() -> None:
    """At least 60 lines read and at least 40 are refused or asked about."""
    assert len(samples("free_lines_in_inches.txt")) >= 60
    assert len(samples("lines_refused.txt")) + len(samples("lines_asked_about.txt")) >= 40


def test_a_whole_email_is_read_line_by_line() -> None:
    """The letter around the list is comment, headings and a table's header hold below them, one question remains."""
    read = read_cut_list((DATA / "whole_email.txt").read_text(encoding="utf-8"), Unit.IN, MATERIALS)
    items = [said(item, Unit.IN) for line in read.lines for item in line.read]
    assert items == [
        "14 @ 9'-7\" [A] <panel-sand> lap/plain",
        "6 @ 11'-10 3/8\" [B] <panel-sand>",
        "6 @ 11'-10 3/8\" [C] <panel-sand>",
        "2 @ 8'-0\" <panel-sand>",
        "4 @ 3510 mm [D] <panel-sand>",
        "4 @ 9'-6\" [E] <panel-sand>",
        "8 @ 12'-6\" <j-channel>",
        "4 @ 9'-7\" [F] <panel-sand>",
        "2 @ 11'-10 3/8\" [G] <panel-sand>",
        "3 @ 3'-8 1/2\" [H] <soffit-white>",
    ]
    assert [(question.notation, question.lines) for question in read.questions] == [("n-n", (18, 19))]
    assert [item.mark for item in read.required] == ["A", "B", "C", "4", "D", "E", "7", "F", "G", "H"]
