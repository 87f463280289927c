"""The checker sees the same faults in a wall from whichever end it is measured."""

from __future__ import annotations

from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from solver.checking import check
from tests.support.untimed import UNTIMED
from tests.support.walls import Pair, mirrored, shifted, walls


def codes(pair: Pair) -> Counter[str]:
    """Return how often each kind of fault is found."""
    return Counter(fault.code for fault in check(*pair))


@UNTIMED
@given(walls())
def test_a_covered_wall_has_no_faults_but_its_placement(pair: Pair) -> None:
    """Pieces of any lengths that add up are right but for rules of placement that go undeclared."""
    assert set(codes(pair)) <= {"undeclared_breach"}, check(*pair)


@UNTIMED
@given(walls(), st.integers(-(10**6), 10**6))
def test_the_walls_zero_does_not_matter(pair: Pair, by: int) -> None:
    """With every place moved alike, the same rules are broken as often."""
    assert codes(shifted(pair, by)) == codes(pair)


@UNTIMED
@given(walls())
def test_left_and_right_are_alike(pair: Pair) -> None:
    """In the mirror the same rules are broken as often: nothing depends on which end a course begins."""
    assert codes(mirrored(pair)) == codes(pair)
