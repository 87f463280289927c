"""What holds over several lines: questions asked once, ditto marks, numbering, nothing dropped."""

from __future__ import annotations

import pytest

from solver.cutlist import ANSWERS, LineKind, read_cut_list, write_cut_list
from solver.lengths import Unit
from solver.required import End, Meets, Required
from tests.support.cut_lists import INCH, codes, pieces


def test_an_ambiguous_notation_is_asked_about_once() -> None:
    """Three lines in one notation make one question, with the lines and examples it is about."""
    (question,) = read_cut_list("9-7\n6-10\n8 @ 9'\n12-6", Unit.IN).questions
    assert question.notation == "n-n"
    assert question.lines == (1, 2, 4)
    assert question.examples == ("9-7", "6-10", "12-6")
    assert question.answers == ANSWERS["n-n"]


@pytest.mark.parametrize(
    ("answer", "expected"),
    [("feet-inches", (1, 82.0, None)), ("quantity-length", (6, 10.0, None)), ("length-quantity", (10, 6.0, None))],
)
def test_an_answer_settles_the_notation(answer: str, expected: tuple[int, float, None]) -> None:
    """``6-10`` is 6 ft 10 in, or six tens, or ten sixes, as the list's answer says."""
    assert pieces("6-10", n_n=answer) == [expected]


def test_an_answer_that_cannot_hold_for_a_line_leaves_it_asked_about() -> None:
    """``6-120`` is no feet and inches, whatever the rest of the list is; a word that is no answer settles nothing."""
    for answer in ("feet-inches", "whatever"):
        assert read_cut_list("6-120", Unit.IN, (), {"n-n": answer}).questions


@pytest.mark.parametrize("notation", [n for n in ANSWERS if n != "n)"])
def test_every_notation_that_is_asked_about_can_be_answered(notation: str) -> None:
    """Each notation has a line that asks for it, and each answer that is offered reads that line."""
    text = {
        "n-n": "6-10", "n.n": "4 @ 10.6", "n,nnn": "4 @ 3,510 cm", "n,n": "30,51", "n' n": "10' 6", "n n": "30 40",
        "beside": "4 @ 10' pebble", "D4": "4 @ 10' D5",
        "words": "Clay\n4 @ 10'", "nn/n": "4 @ 341/2\"", "n/n J": "4 @ 12' 5/8 J", "changes": "scratch the last one",
        "alone": "4 @ 10'\n2 @ 8'\n9'7", "quoted": "4 @ 10'\n> 2 @ 8'", "totals": "4 @ 10'\ntotal 5 pcs",
        "n x n": "30 x 40", "n / n": "30/40", "n | n": "30\t40", "n | n | n": "4\t10\t1", "n-n-n": "2-10-6",
    }[notation]  # fmt: skip
    unit = Unit.CM if notation == "n,n" else Unit.IN
    (question,) = read_cut_list(text, unit).questions
    assert question.notation == notation
    for answer in (
        set(question.answers) - {"feet-inches"} if " " in notation and "'" not in notation else question.answers
    ):
        assert not read_cut_list(text, unit, (), {notation: answer}).problems


def test_a_number_with_a_bracket_is_a_line_number_or_a_quantity_as_answered() -> None:
    """``6) 142 3/8``: asked about, unless something else on the line counts the pieces."""
    assert codes("6) 142 3/8") == ["unclear_quantity"]
    for answer, quantity in (("numbering", 1), ("quantity", 6)):
        read = read_cut_list("6) 142 3/8", Unit.IN, (), {"n)": answer})
        assert read.required[0].quantity == quantity
    assert pieces("6) 2 @ 142 3/8") == [(2, 142.375, None)]


def test_line_numbers_are_known_by_their_sequence() -> None:
    """1. 2. 3. are line numbers and count no pieces; a lone 12. is asked about."""
    assert pieces("1. 10'\n2. 9'\n3. 8'") == [(1, 120, None), (1, 108, None), (1, 96, None)]
    assert codes("12. 10'\n9. 9'\n3. 8'") == ["unclear_quantity"] * 3


@pytest.mark.parametrize("part", [
    "7 feet 3 and a half", "87 and a half inches", "6 and a half feet", "7' 3 and three quarters", "87 half",
    "7 ft 3 inches and an eighth", "87 1/2 shy a sixteenth", "87 strong",
    "87 and change", "87 in and a bit", "7'-3\" and a hair",
])  # fmt: skip
def test_a_part_in_words_is_never_left_off_a_length(part: str) -> None:
    """``7 feet 3 and a half`` is not 7'-3": nothing is read, and the line is asked about."""
    assert pieces(f"3 pieces {part}") == []
    assert codes(f"3 pieces {part}") == ["unclear_line"]


def test_half_and_quarter_name_other_things_too() -> None:
    """Quarter round is a trim, and asked about; half a dozen is a quantity, and a half bath a place."""
    text = "4 @ 96 quarter round\nhalf a dozen 40\n4 @ 115 for the half bath"
    assert [piece[:2] for piece in pieces(text)] == [(6, 40), (4, 115)]
    assert codes(text) == ["unclear_material", None, None]


def test_ditto_marks_repeat_the_line_above() -> None:
    """A quantity, a length, or else the names, by where the mark stands."""
    text = "4 @ 10' panel sand\n\" @ 9'\n6 @ \"\n2 @ 8'   \"\n"
    assert pieces("J-channel\n2 @ 7' panel sand\n3 @ 6'   \"", "panel-sand", "j-channel")[1] == (3, 72, "panel-sand")
    assert [(quantity, length) for quantity, length, _ in pieces(text, "panel-sand")] == [
        (4, 120), (4, 108), (6, 108), (2, 96),
    ]  # fmt: skip


@pytest.mark.parametrize("sign", ["do.", "do", "〃", "ditto", '"', "same again but", "same", "Same,"])
def test_every_sign_for_ditto_repeats_quantity_and_material(sign: str) -> None:
    """Above and here six of the channel; a name of its own goes before the one above."""
    text = f"6 pcs 11'10 J\n{sign} 9'4"
    assert pieces(text, "j-channel", "panel-sand")[1] == (6, 112, "j-channel")
    assert pieces(f"{text} sand", "j-channel", "panel-sand")[1] == (6, 112, "panel-sand")


def test_ditto_marks_in_cells_repeat_the_row_above() -> None:
    """Also the material, where its column says so."""
    text = "Qty\tLength\tMaterial\n6\t9'\tJ\n\"\t8'\t\"\nditto\t7'\tdo.\n4\t6'\tsand"
    assert pieces(text, "j-channel", "panel-sand") == [
        (6, 108, "j-channel"), (6, 96, "j-channel"), (6, 84, "j-channel"), (4, 72, "panel-sand"),
    ]  # fmt: skip


def test_ditto_marks_below_a_line_that_was_not_read_are_refused() -> None:
    """What they repeat is not known; the line before that is not what was meant."""
    assert codes("4 @ 10'\n2 @ 9' or 8'\n\" @ 7'") == [None, "two_lengths", "unclear_ditto"]


def test_nothing_is_dropped() -> None:
    """Every line comes back in order with its text as it came, numbered from 1."""
    text = "Hi\r\n\r\n4 @ 10'\rbad 10' to 12'\n\x00\u202e4 @ 9'\n<b>10</b>\n"
    read = read_cut_list(text, Unit.IN)
    assert [line.text for line in read.lines] == [
        "Hi",
        "",
        "4 @ 10'",
        "bad 10' to 12'",
        "\x00\u202e4 @ 9'",
        "<b>10</b>",
        "",
    ]
    assert [line.number for line in read.lines] == [1, 2, 3, 4, 5, 6, 7]


def test_a_line_with_a_problem_contributes_nothing() -> None:
    """Of ``4 @ 10', 2 @ 10.6`` not even the first is taken until the second is settled."""
    assert read_cut_list("4 @ 10', 2 @ 10.6", Unit.IN).required == ()


def test_a_megabyte_of_prose_is_comment() -> None:
    """Prose in lines or in one line has no pieces; with numbers in it, it may have problems, never guesses."""
    prose = "the quick brown fox jumps over the lazy dog " * 25000
    assert {line.kind for line in read_cut_list(prose, Unit.IN).lines} <= {LineKind.COMMENT, LineKind.ITEM}
    assert not read_cut_list(prose.replace("dog ", "dog\n"), Unit.IN).problems


@pytest.mark.parametrize(
    "text",
    ["\x00" * 100, "\u202e\u200f4 @ 10'", "<script>x()</script>", "=cmd|' /C calc'!A0", "9" * 5000, "1/0", "9/9/9/9",
     "''''", "@" * 900, "4 @ 10'" * 250, "\ufdfa", "４ @ １０'", "4 @ 1e999", "[" * 500, "\ud800 4 @ 10'"],
)  # fmt: skip
def test_no_text_is_too_strange(text: str) -> None:
    """Whatever is pasted, each line comes back, and none raises."""
    assert [line.text for line in read_cut_list(text, Unit.IN).lines] == [text]


def test_what_is_written_is_read_back() -> None:
    """Quantity, length, mark, material, ends and room survive; so do marks and names that look like lengths."""
    lap, channel = End(Meets.LAP), End(Meets.CHANNEL)
    required = [
        Required("A", "panel-sand", 115 * INCH, 4, lap),
        Required("12-6", "panel-sand", 137 * INCH + INCH // 64, 6, channel, channel, INCH // 2),
        Required("1", "12-6", 3510 * 320, 1, End(), lap),
    ]
    for unit in Unit:
        text = write_cut_list(required, unit)
        assert list(read_cut_list(text, unit, ("panel-sand", "12-6")).required) == required
