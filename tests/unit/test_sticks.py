"""Sticks as runs: the same sticks, said in few words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.sticks import MOST_IN_RUN, PlacedPiece, StickRun, Sticks, StickUse, alike


def stick(number: int, *pieces: int, offcut: str | None = None) -> StickUse:
    """Return stick S4, say, that gives these pieces of item 0."""
    return StickUse(f"S{number}", offcut, tuple(PlacedPiece(0, "A", None, piece) for piece in pieces))


SIX = [stick(9, 1, 2), stick(10, 3, 4), stick(11, 5, 6), stick(12, 8, 7), stick(20, 9, 10), stick(21, 11, 12)]
"""Numbers that go on by two a stick; one stick with its pieces the other way round; numbers that jump."""


def test_sticks_that_follow_one_another_are_one_run() -> None:
    """Three are numbered on, then one by itself, then two more behind a gap."""
    assert [run.count for run in Sticks.of(SIX).runs] == [3, 1, 2]
    assert [(one.stick, count) for one, count in alike(Sticks.of(SIX))] == [("S9", 3), ("S12", 1), ("S20", 2)]


def test_offcuts_marks_and_courses_end_a_run() -> None:
    """They are the same for all sticks of a run."""
    first = stick(1, 1)
    for other in (
        stick(2, 2, offcut="R-17"), stick(2, 2, 3), StickUse("S2", None, (PlacedPiece(0, "B", None, 2),)),
        StickUse("S2", None, (PlacedPiece(0, "A", 1, 2),)), StickUse("S2", None, (PlacedPiece(1, "A", None, 2),)),
        StickUse("S02", None, (PlacedPiece(0, "A", None, 2),)),
    ):  # fmt: skip
        assert [run.count for run in Sticks.of([first, other]).runs] == [1, 1]
        assert Sticks.of([first, other]) == (first, other)


@pytest.mark.parametrize(
    ("count", "steps", "name"),
    [(0, (1,), "S1"), (2, (), "S1"), (2, (1,), "S"), (MOST_IN_RUN + 1, (1,), "S1"), (-3, (1,), "S1")],
)
def test_no_run_is_made_whose_sticks_could_not_be(count: int, steps: tuple[int, ...], name: str) -> None:
    """A damaged record is found out when it is read, not when somebody looks at a stick."""
    with pytest.raises(ValueError, match="no run"):
        StickRun(name, None, (PlacedPiece(0, "A", None, 1),), count, steps)


sticks = st.lists(
    st.builds(
        StickUse,
        st.builds("{}{}".format, st.sampled_from(["S", "", "T-"]), st.integers(0, 12)),
        st.sampled_from([None, "R-17"]),
        st.lists(
            st.builds(PlacedPiece, st.just(0), st.sampled_from("AB"), st.sampled_from([None, 1]), st.integers(1, 3)),
            max_size=2,
        ).map(tuple),
    ),
    max_size=8,
)


@given(sticks, st.integers(-9, 9), st.integers(-9, 9))
def test_runs_are_the_sticks_that_they_were_made_of(given_sticks: list[StickUse], start: int, stop: int) -> None:
    """Whole, one by one and in part, and both ways round."""
    runs = Sticks.of(given_sticks)
    assert runs[start:stop] == tuple(given_sticks[start:stop])
    assert [runs[n] for n in range(len(runs))] == given_sticks
    assert (runs == given_sticks, tuple(given_sticks) == runs) == (True, True)
    assert sum(count for _, count in alike(runs)) == len(given_sticks)
    assert runs != [*given_sticks, stick(1, 1)]
