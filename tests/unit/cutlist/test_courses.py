"""Courses in a list: so many runs one above the other on a wall, whose laps are looked after together."""

from __future__ import annotations

import pytest

from solver.cutlist import read_cut_list
from solver.lengths import Unit
from solver.required import Meets, Required

CHANNEL, PLAIN = (Meets.CHANNEL, Meets.CHANNEL), (Meets.PLAIN, Meets.PLAIN)


def required(text: str) -> tuple[Required, ...]:
    """Return what a list in inches asks for."""
    return read_cut_list(text, Unit.IN, ("sand",)).required


def told(item: Required) -> tuple[int, int, str | None, tuple[Meets, Meets]]:
    """Return quantity, courses, wall and what the ends meet."""
    return item.quantity, item.courses, item.wall, (item.left_end.meets, item.right_end.meets)


@pytest.mark.parametrize("words", ["between channels", "between J-channels", "channel both ends", "both ends channel"])
def test_courses_between_channels(words: str) -> None:
    """Fourteen courses of 27'-4" from channel to channel on the wall that a heading names."""
    (item,) = required(f"N wall\n14 courses of 27'4 {words}")
    assert told(item) == (1, 14, "N wall", CHANNEL)
    assert (item.first_course, item.pieces) == (1, 14)


def test_a_wall_on_the_line_goes_before_one_above() -> None:
    """And without either, courses are on a wall of their own; pieces that are no courses are on none."""
    north, south, short, own = required(
        "wall 2:\n14 courses 27'4\nS wall: 9 courses 18'2, 4 @ 7'3\n=== sheet Two ===\n3 courses 27'4"
    )
    assert [told(item) for item in (north, south, short, own)] == [
        (1, 14, "wall 2", PLAIN),
        (1, 9, "S wall", PLAIN),
        (4, 1, None, PLAIN),
        (1, 3, "line 5", PLAIN),
    ]


def test_groups_of_courses_on_one_wall_are_laid_apart() -> None:
    """A list does not say whether they are above or beside each other."""
    assert [item.wall for item in required("N wall\n6 courses 27'4\n3 courses 12'2")] == ["N wall, 1", "N wall, 2"]


def test_the_account_counts_the_runs_of_every_course() -> None:
    """Fourteen courses are fourteen runs, and a total of 18 with four short pieces agrees."""
    account = read_cut_list("14 courses 27'4\n4 @ 7'3\ntotal 18", Unit.IN).account
    assert (account.pieces, account.totals[0].agrees) == (18, True)
