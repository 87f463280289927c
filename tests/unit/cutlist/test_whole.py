"""What only the whole list tells: notations that other lines settle, stated totals, quoted letters, lone lengths."""

from __future__ import annotations

import pytest

from solver.cutlist import CutList, read_cut_list
from solver.lengths import TICKS_PER_INCH, Unit


def read(text: str, **assume: str) -> CutList:
    """Return the list as read in inches, without materials."""
    return read_cut_list(text, Unit.IN, (), assume)


def pieces(found: CutList) -> list[tuple[int, float]]:
    """Return quantity and inches of what is to be planned."""
    return [(item.quantity, item.length / TICKS_PER_INCH) for item in found.required]


def codes(found: CutList) -> list[str | None]:
    """Return the code of each line's problem."""
    return [line.problem.code if line.problem else None for line in found.lines]


def test_other_lines_settle_a_notation() -> None:
    """``142.375 tab 6`` shows which column is the length; ``115 tab 4`` is then no question."""
    assert read("115\t4").questions
    found = read("142.375\t6\n115\t4")
    assert pieces(found) == [(6, 142.375), (4, 115)]
    assert found.settled == {"n | n": "length-quantity"}


def test_lines_that_show_two_ways_settle_nothing() -> None:
    """One line has the quantity first and another last: the third is asked about."""
    assert codes(read("142.375\t6\n6\t142.375\n115\t4")) == [None, None, "ambiguous_length"]


def test_decimals_beyond_feet_say_that_decimals_are_inches() -> None:
    """``11.5`` may be feet; beside ``34.625`` in the same list it is inches."""
    assert codes(read("6 @ 11.5")) == ["ambiguous_length"]
    assert pieces(read("6 @ 11.5\n4 @ 34.625")) == [(6, 11.5), (4, 34.625)]


@pytest.mark.parametrize(("answer", "inches"), [("decimal", 11.5), ("feet-inches", 137.0), ("feet", 138.0)])
def test_an_answer_says_what_decimals_are(answer: str, inches: float) -> None:
    """11 1/2 in, 11'-5" or 11'-6"."""
    assert pieces(read_cut_list("6 @ 11.5", Unit.IN, (), {"n.n": answer})) == [(6, inches)]


def test_a_total_that_agrees_is_said_and_one_that_does_not_is_asked() -> None:
    """Ten pieces: ``total 10`` agrees; of eleven the reader says what it found."""
    agreed = read("4 @ 10'\n6 @ 8'\ntotal 10 pcs")
    assert [(total.line, total.agrees) for total in agreed.account.totals] == [(3, True)]
    asked = read("4 @ 10'\n6 @ 8'\ntotal 11 pcs")
    assert codes(asked) == [None, None, "total_differs"]
    assert "10 pieces, 88'-0\" in all" in asked.problems[0].problem.detail  # type: ignore[union-attr]
    assert codes(read("4 @ 10'\n6 @ 8'\ntotal 11 pcs", totals="remark")) == [None, None, None]


def test_a_total_of_pieces_is_no_length() -> None:
    """4 x 10' and 6 x 8' are 88 ft, and not 88 pieces; a bare 88 may be either."""
    pieces, either = (read_cut_list(f"4 @ 10\n6 @ 8\ntotal {said}", Unit.FT) for said in ("88 pcs", "88"))
    assert (codes(pieces)[2], codes(either)[2]) == ("total_differs", None)
    assert [(total.length, total.agrees) for total in read("4 @ 3\ntotal 4 pcs").account.totals] == [(None, True)]


def test_a_total_of_lengths_agrees_to_the_foot() -> None:
    """4 x 10' and 6 x 8' are 88 ft."""
    assert read("4 @ 10'\n6 @ 8'\nTotal: 88'").account.totals[0].agrees
    assert codes(read("4 @ 10'\n6 @ 8'\nTotal: 98'"))[2] == "total_differs"


def test_each_total_may_be_of_its_own_part() -> None:
    """Under each heading one, and the last of all."""
    found = read("north wall:\n4 @ 10'\ntotal 4\nsouth wall:\n6 @ 8'\ntotal 6\ntotal 10")
    assert [total.agrees for total in found.account.totals] == [True, True, True]


def test_a_total_below_an_open_line_is_left_open() -> None:
    """Nothing can be said of a sum of which a part is not read."""
    found = read("4 @ 10'\n9-7\ntotal 5")
    assert [total.agrees for total in found.account.totals] == [None]


def test_quoted_pieces_below_new_ones_are_asked_about() -> None:
    """A letter above, an older one quoted below; a list quoted as a whole is the list."""
    assert codes(read("4 @ 10'\n> 6 @ 8'")) == [None, "unclear_line"]
    assert pieces(read("> 4 @ 10'\n> 6 @ 8'")) == [(4, 120), (6, 96)]
    assert pieces(read("4 @ 10'\n> 6 @ 8'", quoted="old")) == [(4, 120)]
    assert pieces(read("4 @ 10'\n> 6 @ 8'", quoted="wanted")) == [(4, 120), (6, 96)]


def test_a_length_alone_among_counted_ones_is_asked_about() -> None:
    """It may be the end of another line; where nothing counts, lengths alone are one piece each."""
    assert codes(read("4 @ 10'\n6 @ 8'\n9'-7\"")) == [None, None, "no_quantity"]
    assert pieces(read("9'-7\"\n8'-4\"")) == [(1, 115), (1, 100)]


def test_a_minus_is_no_dash() -> None:
    """Where every line begins with a dash, it is a bullet."""
    assert codes(read("-3 @ 10'\n4 @ 8'")) == ["unclear_quantity", None]
    assert codes(read("-3 @ 10'")) == ["unclear_quantity"]
    assert pieces(read("-3 @ 10'\n-4 @ 8'")) == [(3, 120), (4, 96)]


def test_the_account_counts_every_line_once() -> None:
    """Six kinds of line, one of each but two read."""
    found = read("North wall:\n4 @ 10'\n2 @ 8'\n9-7\n4 ft of\n\nthank you very much for it").account
    assert (found.lines, found.read, found.asked, found.headings, found.comments, found.blank) == (7, 2, 1, 1, 1, 1)
    assert found.read + found.asked + found.refused + found.headings + found.comments + found.blank == found.lines
    assert (found.items, found.pieces, found.length) == (2, 6, 56 * 12 * TICKS_PER_INCH)


def test_a_line_beyond_all_measure_states_no_total() -> None:
    """It is a remark like every line without pieces, and is not searched through again from each of its numbers."""
    assert codes(read("4 @ 9'-7\"\ntotal " + "1 " * 200_000)) == [None, None]
