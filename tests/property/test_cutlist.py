"""Properties of the cut list reader: it never raises, drops nothing, and reads what it writes."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutlist import ANSWERS, read_cut_list, words, write_cut_list
from solver.lengths import TICKS_PER_64TH, Unit
from solver.required import End, Meets, Required

UNITS = st.sampled_from(Unit)
MATERIALS = ("panel-sand", "j-channel", "12-6", "soffit white", "D4")

fragments = st.sampled_from(
    ["4", "12", "@", "x", "10'", "9'7\"", "142 3/8", "9-7", "10.6", "3510 mm", "3,51", "-", "/", "(", ")",
    "pcs", "ea",
     "less", "1/2", "\"", ",", "\t", "   ", "A", "J", "5/8 J", "wall 2", "panel sand", "lap left", "qty",
     "length", "[", "]", "6)",
     ":", "555-0142", "$9.80", "12/3", "\n", " ", "?", "or", "dozen", "½", "''", "&quot;", "room to", "\x00",
     "\u202e"]
)  # fmt: skip
lines_of_fragments = st.lists(fragments, max_size=14).map("".join) | st.lists(fragments, max_size=14).map(" ".join)
pasted = lines_of_fragments | st.text(max_size=200)

ends = st.sampled_from([End(), End(Meets.LAP), End(Meets.CHANNEL)])
names = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters="[]"), min_size=1, max_size=12
)
lengths = st.integers(1, 64 * 700).map(lambda n: n * TICKS_PER_64TH) | st.integers(10, 180_000).map(lambda n: n * 32)
required = st.builds(
    Required, names, st.sampled_from(MATERIALS), lengths, st.integers(1, 9999), ends, ends, lengths | st.just(0)
)


@given(pasted, UNITS)
@settings(max_examples=400, deadline=None)
def test_nothing_raises_and_no_line_is_dropped(text: str, unit: Unit) -> None:
    """Any text comes back line by line, each with pieces, a problem, or neither, never both."""
    read = read_cut_list(text, unit, MATERIALS)
    assert "\n".join(line.text for line in read.lines) == text.replace("\r\n", "\n").replace("\r", "\n")
    assert not any(line.read and line.problem for line in read.lines)
    assert len(read.required) == sum(len(line.read) for line in read.lines)
    assert all(item.length > 0 and item.quantity > 0 for item in read.required)


@given(pasted, UNITS)
@settings(max_examples=200, deadline=None)
def test_every_question_is_about_lines_that_ask(text: str, unit: Unit) -> None:
    """A question's lines are exactly those whose problem has its notation, and its answers are known."""
    read = read_cut_list(text, unit, MATERIALS)
    for question in read.questions:
        asking = tuple(
            line.number for line in read.problems if line.problem and line.problem.notation == question.notation
        )
        assert question.lines == asking
        assert question.answers == ANSWERS[question.notation]


@given(st.lists(required, max_size=8), UNITS)
@settings(max_examples=200, deadline=None)
def test_what_is_written_is_read_back(items: list[Required], unit: Unit) -> None:
    """Pieces written out in any unit read back as they were, with their materials given."""
    text = write_cut_list(items, unit)
    read = read_cut_list(text, unit, MATERIALS)
    assert list(read.required) == items
    assert not read.problems


@given(st.lists(required, min_size=1, max_size=6), UNITS)
@settings(max_examples=60, deadline=None)
def test_a_line_reads_the_same_wherever_it_stands(items: list[Required], unit: Unit) -> None:
    """Lines that carry all they need read alike in any order, but for the heading over them."""
    alone = [read_cut_list(write_cut_list([item], unit), unit, MATERIALS).required for item in items]
    assert [one for (one,) in alone] == items


vocabulary = st.sampled_from(
    sorted(
        {*words.COUNT, *words.QUANTITY_LABEL, *words.LENGTH_LABEL, *words.SPELLED, *words.VAGUE, *words.LABEL}
        | {*words.PLACE, *words.SOLD_BY, *words.WARY, *words.TRADE, *words.COLOURS, *words.FUNCTION}
        | {"half a", "ditto", "less", "no", "mark", "lap", "channel", "left", "both", "room to", "mm", "ft", "in"}
        | {"[A]", *"@#x-/=:,()?+&\t\"'", "A1", "panel-sand", "panel-tan"}
    )
)  # fmt: skip
numbers = st.sampled_from(["4", "12", "96", "10.6", "1.200", "1/2", "7'", "9'7\"", "3510", "99999999", "1e5", "9-7"])


@given(st.lists(vocabulary | numbers, max_size=9).map(" ".join), UNITS)
@settings(max_examples=1500, deadline=None)
def test_no_order_of_the_grammars_own_words_raises(text: str, unit: Unit) -> None:
    """Quantity words, units, ends and marks in any order, with numbers among them, are read or refused."""
    (line,) = read_cut_list(text, unit, MATERIALS).lines
    assert not (line.read and line.problem)
