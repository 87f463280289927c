"""The sum over all lines holds whatever the text: each is counted once, and what was read comes to what is planned."""

from __future__ import annotations

import sys
from types import FrameType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutlist import ANSWERS, LineKind, read_cut_list
from solver.lengths import TICKS_PER_INCH, Unit
from tests.support.hands import hands

WRITTEN = [text for hand in hands() for text, _ in hand.lines]
MATERIALS = ("sand", "clay", "j-34-white", "12-6")
answers = st.fixed_dictionaries({}, optional={name: st.sampled_from(known) for name, known in ANSWERS.items()})
words = st.sampled_from(sorted({word for text in WRITTEN for word in text.split(" ")}))
lines = st.sampled_from(WRITTEN) | st.lists(words, max_size=9).map(" ".join)


@given(st.lists(lines, max_size=12).map("\n".join), st.sampled_from(Unit), answers)
@settings(max_examples=250, deadline=None)
def test_every_line_is_counted_once(text: str, unit: Unit, assume: dict[str, str]) -> None:
    """Six kinds of line come to all lines; items, pieces and length come to what is to be planned."""
    read = read_cut_list(text, unit, MATERIALS, assume)
    account = read.account
    kinds = (account.read, account.asked, account.refused, account.headings, account.comments, account.blank)
    assert sum(kinds) == account.lines == len(read.lines) == text.count("\n") + 1
    assert account.asked + account.refused == len(read.problems)
    assert account.read == sum(bool(line.read) for line in read.lines)
    assert account.items == len(read.required)
    assert account.pieces == sum(item.pieces for item in read.required)
    assert account.length == sum(item.pieces * item.length for item in read.required)
    assert all(line.read or line.problem or line.kind is not LineKind.ITEM for line in read.lines)


@given(st.lists(lines, min_size=1, max_size=8).map("\n".join))
@settings(max_examples=150, deadline=None)
def test_what_other_lines_settle_is_as_if_it_were_answered(text: str) -> None:
    """An answer that the list gave is an answer: given by hand, the list reads the same."""
    read = read_cut_list(text, Unit.IN, MATERIALS)
    assert read_cut_list(text, Unit.IN, MATERIALS, read.settled).required == read.required


_SMALL = (
    "none one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
)
SMALL = _SMALL.split()
TENS = {2: "twenty", 3: "thirty", 4: "forty", 5: "fifty"}
PARTS = ("", "an eighth", "a quarter", "three eighths", "a half", "five eighths", "three quarters")
said = st.tuples(st.integers(1, 59), st.integers(2, 17), st.integers(1, 11), st.integers(0, 6))


def spelled(number: int) -> str:
    """Return a number below sixty in words."""
    if number < len(SMALL):
        return SMALL[number]
    return f"{TENS[number // 10]}{f' {SMALL[number % 10]}' if number % 10 else ''}"


@given(said, st.sampled_from(("{q} at {l}", "{l} times {q}", "{q} pieces {l}")))
@settings(max_examples=200, deadline=None)
def test_numbers_in_words_are_those_in_figures(meant: tuple[int, int, int, int], order: str) -> None:
    """``fourteen at nine foot seven and a quarter`` is read as that, or it is asked about."""
    count, feet, inches, eighths = meant
    part = f" and {PARTS[eighths]}" if eighths else ""
    text = order.format(q=spelled(count), l=f"{spelled(feet)} foot {spelled(inches)}{part}")
    (line,) = read_cut_list(text, Unit.IN).lines
    length = (8 * (12 * feet + inches) + eighths) * TICKS_PER_INCH // 8
    assert line.problem or [(item.quantity, item.length) for item in line.read] == [(count, length)]


def calls(text: str) -> int:
    """Return how many functions of Python are called to read a text: work, counted and not timed."""
    counted = 0

    def count(_: FrameType, event: str, __: object) -> None:
        nonlocal counted
        counted += event == "call"

    sys.setprofile(count)
    try:
        read_cut_list(text, Unit.IN, MATERIALS)
    finally:
        sys.setprofile(None)
    return counted


@pytest.mark.parametrize("line", [
    "1x1", "14 @ 9'7\" sand", "9-7", "Clay", "N wall", "6 courses of 27'4", "> 4 @ 10'", "total 12", "-3 @ 10'",
    "ditto 9'", "fourteen at nine foot seven", "Qty\tLength", "please call",
])  # fmt: skip
def test_work_grows_with_the_text_and_no_faster(line: str) -> None:
    """Four times the lines take no more than four and a half times the calls."""
    short, long = (calls("\n".join([line, "4 @ 8'"] * lines)) for lines in (100, 400))
    assert long <= 4.5 * short


def test_work_grows_with_a_line_and_no_faster() -> None:
    """Within the longest line that is read, twice the pieces take no more than two and a half times the calls."""
    short, long = (calls(", ".join(["14 @ 9'7\""] * pieces)) for pieces in (40, 80))
    assert long <= 2.5 * short
