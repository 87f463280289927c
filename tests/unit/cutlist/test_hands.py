"""Three hundred lines in ten hands: none is read as something that it does not mean."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from solver.cutlist import read_cut_list
from tests.support.hands import Hand, Verdict, hands, judge, lists

FOLDER = Path(__file__).parents[2] / "data" / "cutlist"
TRIED = [hand for name in ("counter_lines", "other_hands") for hand in lists(FOLDER / f"{name}.txt")]
"""Lines that were once read as something else, or refused for a wrong reason; then such of colours and profiles."""
LISTS = [*(hand for hand in hands() if hand.form == "list"), *TRIED]


@pytest.mark.parametrize("hand", LISTS, ids=[f"{hand.source}-{hand.lines[0][0][:20]}" for hand in LISTS])
def test_no_line_is_silently_wrong(hand: Hand) -> None:
    """Each line is read as its writer meant it, or there is a question or a reason; words stay words."""
    read = read_cut_list(hand.text, hand.unit, hand.materials)
    named = len(hand.materials) == 1
    verdicts = [judge(line, meant, hand, named=named) for line, (_, meant) in zip(read.lines, hand.lines, strict=True)]
    assert [hand.lines[at] for at, verdict in enumerate(verdicts) if verdict is Verdict.WRONG] == []


def test_three_hundred_lines_in_ten_hands() -> None:
    """Ten hands of thirty lines."""
    assert set(Counter(hand.source for hand in hands() for _ in hand.lines).values()) == {30}
    assert len({hand.source for hand in hands()}) == 10


def test_what_share_is_read_asked_and_refused() -> None:
    """Of the lines that came as text, how many were read, asked about and refused: when this was written 151, 41, 48.

    63 of all three hundred lines can't be cut by anybody without asking.
    """
    found: Counter[Verdict] = Counter()
    for hand in hands():
        if hand.form == "list":
            read = read_cut_list(hand.text, hand.unit, hand.materials)
            meant = zip(read.lines, hand.lines, strict=True)
            found.update(judge(line, meaning, hand, named=len(hand.materials) == 1) for line, (_, meaning) in meant)
    assert found.total() == 240
    assert found[Verdict.READ] >= 151
    assert found[Verdict.REFUSED] <= 48
