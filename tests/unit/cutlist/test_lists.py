"""What holds over several lines: questions asked once, headings, ditto marks, numbering, nothing dropped."""

from __future__ import annotations

import pytest

from solver.cutlist import ANSWERS, LineKind, read_cut_list, write_cut_list
from solver.lengths import TICKS_PER_INCH, Unit
from solver.required import End, Meets, Required

INCH = TICKS_PER_INCH


def pieces(text: str, *materials: str, unit: Unit = Unit.IN, **assume: str) -> list[tuple[int, float, str | None]]:
    """Return quantity, inches and material of each item read."""
    answers = {notation.replace("_", "-"): answer for notation, answer in assume.items()}
    read = read_cut_list(text, unit, materials, answers)
    return [(item.quantity, item.length / INCH, item.material) for line in read.lines for item in line.read]


def codes(text: str, *materials: str) -> list[str | None]:
    """Return the code of each line's problem."""
    return [line.problem.code if line.problem else None for line in read_cut_list(text, Unit.IN, materials).lines]


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


def test_a_heading_sets_the_material_of_the_lines_below() -> None:
    """A name on the line itself goes before the heading's; a place is no material."""
    text = "Panel sand\n4 @ 10'\n2 @ 9' J-channel\nNorth wall:\n3 @ 8'\nSoffit:\n1 @ 7'"
    assert pieces(text, "panel-sand", "j-channel") == [
        (4, 120, "panel-sand"), (2, 108, "j-channel"), (3, 96, "panel-sand"), (1, 84, "Soffit"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    "words", ["Clay", "J", "J ch", "F", "white", "White:", "D4 clay", "D4.5 DL clay", "Tern Cottage", "rest in clay"]
)
def test_words_above_pieces_that_may_be_a_material_are_asked_about(words: str) -> None:
    """Pieces below a colour, a profile or one letter are not silently of the material above it."""
    text = f"Sand\n12 @ 9'7\n{words}\n6 @ 11'10"
    read = read_cut_list(text, Unit.IN, ("sand q",))
    assert [line.number for line in read.problems] == [3]
    assert [(question.notation, question.lines) for question in read.questions] == [("words", (3,))]
    assert read.required[1].material != "sand q"
    assert pieces(text, "sand q", words="remark")[1] == (6, 142, "sand q")
    assert pieces(text, "sand q", words="material")[1] == (6, 142, words.rstrip(":"))


@pytest.mark.parametrize(
    "words", ["Upstairs", "North wall:", "Cut list", "Thanks!", "Wall 3:", "Good morning Pat,", "See below"]
)
def test_words_that_name_a_place_or_a_title_are_not_asked_about(words: str) -> None:
    """The material above them goes on."""
    assert pieces(f"Sand\n{words}\n6 @ 11'10", "sand q") == [(6, 142, "sand q")]


def test_a_list_in_three_materials_is_not_planned_as_one() -> None:
    """Six pieces of clay panel and eight of channel under short headings are not read as of the sand panel."""
    text = "Sand\n12 @ 9'7\nClay\n6 @ 11'10\nJ\n8 @ 9'4"
    assert pieces(text, "sand q") == [(12, 115, "sand q"), (6, 142, "Clay"), (8, 112, "J")]
    assert [line.number for line in read_cut_list(text, Unit.IN, ("sand q",)).problems] == [3, 5]
    (question,) = read_cut_list(text, Unit.IN, ("sand q",)).questions
    assert (question.lines, question.answers) == ((3, 5), ("material", "remark"))


def test_words_that_no_piece_depends_on_are_not_asked_about() -> None:
    """A signature, or a title above a heading of a material."""
    assert codes("Tern Cottage\nSand\n4 @ 10'\nBoat Shed\n2 @ 9' sand q\nPat Miller", "sand q") == [None] * 6


@pytest.mark.parametrize("materials", [(), ("siding panel",)])
def test_a_colour_on_a_line_is_of_the_heading_only_where_that_has_it(materials: tuple[str, ...]) -> None:
    """Sand panels below clay ones, or below channel, are none of these; said again, the heading's colour is."""
    text = "Clay D4:\n6 @ 12'6\n12 pcs sand 8'\n4 @ 7' clay\nJ channel:\n5 @ 10'\n2 pcs of sand panel, 11'"
    assert [material for *_, material in pieces(text, *materials)] == [
        "Clay D4", "sand", "Clay D4", "J channel", "sand panel" if not materials else "siding panel",
    ]  # fmt: skip
    assert [material for *_, material in pieces("white soffit:\n6 @ 12'6\n12 pcs siding, 8'", *materials)] == [
        "white soffit", "siding" if not materials else "siding panel",
    ]  # fmt: skip
    assert [material for *_, material in pieces("12 pcs sand 8'\n4 @ 7' clay", *materials)] == ["sand", "clay"]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12 pcs sand siding, 8'\n4 @ 7' clay siding\n2 @ 9' sand siding", [None, "unknown_material", None]),
        ("2 @ 9' sand siding, 3 @ 8' clay siding", ["unknown_material"]),
        ("sand siding:\n2 @ 9'\n4 @ 8' sand\nclay siding:\n3 @ 8'", [None, None, None, "unknown_material", None]),
    ],
)
def test_two_colours_are_not_one_material(text: str, expected: list[str | None]) -> None:
    """Sand and clay panels are two materials, though the name of the only one given says no colour."""
    assert codes(text, "siding panel") == expected


def test_the_colour_of_a_heading_said_again_is_of_its_material() -> None:
    """White below white soffit is the soffit that was given, whose name says no colour."""
    assert [material for *_, material in pieces("white soffit\n4 @ 12'\n6 of white 9'", "soffit", "J 3/4")] == [
        "soffit", "soffit",
    ]  # fmt: skip


def test_a_colour_that_no_material_has_is_asked_about() -> None:
    """``clay`` behind a length is another material than the sand one."""
    assert codes("6 @ 10' clay\n6 @ 10' sand", "sand q") == ["unknown_material", None]
    assert codes("6 @ 10' pewter\n4 @ 10' sand and sage", "sand q") == ["unknown_material"] * 2


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
    """Quarter round is a trim, half a dozen a quantity, and a half bath a place."""
    text = "4 @ 96 quarter round\nhalf a dozen 40\n4 @ 115 for the half bath"
    assert [piece[:2] for piece in pieces(text)] == [(4, 96), (6, 40), (4, 115)]


def test_a_name_is_no_slip_for_another_that_is_like_it() -> None:
    """Soffit panel and soffit channel differ in words alike, and so do their plurals; ``panle`` is still a slip."""
    names = "soffit channel", "soffit panel"
    text = "soffit panel:\n21 @ 94\nsoffit channels\n2 @ 252\n2 @ 94 Soffit-Panel"
    assert codes(text, *names) == [None] * 5
    assert pieces(text, *names) == [(21, 94, names[1]), (2, 252, names[0]), (2, 94, names[1])]
    assert codes("2 @ 94 soffit panle", *names) == ["unknown_material"]


@pytest.mark.parametrize(
    "line",
    ["5/8 J 6 @ 11'10", "1/2\" J - 4 @ 12'", "4 5/8 J 9'7\"", "J 5/8 4 @ 10'", "5/8 J"],
)
def test_a_channel_of_another_pocket_is_not_the_one_given(line: str) -> None:
    """A ``5/8 J`` does not come from the 3/4 in one; where both are given each is found by its pocket."""
    assert codes(line, "j-34-white", "panel-sand") == ["unknown_material"]
    assert codes(line, "3/4 J white") == ["unknown_material"]
    assert codes(line, "J white") == [None]


def test_channels_are_told_apart_by_their_pockets() -> None:
    """3/4 and 5/8 are written in names with and without the stroke; a length is no pocket."""
    text = "5/8 J 6 @ 11'10\n4 pcs 3/4 J 10'\n5/8 J\n2 @ 9'"
    assert [name for _, _, name in pieces(text, "j-34-white", "5/8 J tan")] == [
        "5/8 J tan", "j-34-white", "5/8 J tan",
    ]  # fmt: skip
    assert pieces("4 @ 34 1/2\" J\n6 @ 11'10 1/2\" J", "3/4 J white") == [
        (4, 34.5, "3/4 J white"), (6, 142.5, "3/4 J white"),
    ]  # fmt: skip


def test_a_fraction_before_a_channel_of_that_pocket_is_asked_about() -> None:
    """``11'10 5/8 J``: a length of 5/8 more, or the 5/8 J, given or not; with an inch mark it is the length."""
    (line,) = read_cut_list("6 @ 11'10 5/8 J", Unit.IN, ("5/8 J white", "j-34-white")).lines
    assert line.problem is not None
    assert line.problem.readings == ("11'-10 5/8\"", "11'-10\" of 5/8 J")
    assert codes("6 @ 11'10 5/8 J", "j-34-white") == ["ambiguous_length"]
    answered = read_cut_list("6 @ 11'10 5/8 J", Unit.IN, ("j-34-white",), {"n/n J": "length"}).required
    assert [(item.quantity, item.length / INCH, item.material) for item in answered] == [(6, 142.625, "j-34-white")]
    assert pieces("6 @ 11'10 5/8\" J", "5/8 J white") == [(6, 142.625, "5/8 J white")]


@pytest.mark.parametrize("line", ["12'6 sand - 20", "sand 20 - 12'6", "20 @ 12'6 sand"])
def test_a_number_of_a_name_is_no_word_for_it(line: str) -> None:
    """A length with a 12 in it says nothing of a material with a 12 in its name."""
    assert pieces(line, "soffit-12-white", "panel-8in-sand") == [(20, 150, "panel-8in-sand")]


@pytest.mark.parametrize("line", ["soffit 12 @ 9'7", "soffit 12 pcs 9'7", "soffit 12 x 9'7", "12 @ 9'7 soffit 12"])
def test_a_name_that_ends_in_a_number_does_not_take_the_quantity(line: str) -> None:
    """Before ``@`` a number is how many, whatever the material is called."""
    assert pieces(line, "soffit 12", "panel-sand") == [(12, 115, "soffit 12")]


@pytest.mark.parametrize(
    ("line", "name"), [("12 soffit 9'7", "12 soffit"), ("12 soffit @ 9'7", "12 soffit"), ("soffit 12 9'7", "soffit 12")]
)
def test_a_number_of_a_name_that_may_be_the_quantity_is_asked_about(line: str, name: str) -> None:
    """Where nothing else says how many, the 12 of a name may; with a quantity it is the name's."""
    (problem,) = [line.problem for line in read_cut_list(line, Unit.IN, (name,)).lines]
    assert problem is not None
    assert (problem.code, problem.readings) == ("unclear_quantity", ("12 of 9'-7\"", f"1 of 9'-7\", {name}"))
    assert pieces(f"4 pcs {name}, 9'7", name) == [(4, 115, name)]


@pytest.mark.parametrize(
    "line", ["6 @ 9'7 + 4 @ 8'7 sand", "4 @ 10' sand, 4 @ 10' panel", "6 @ 11'10 left, 6 @ 11'3 right J",
             "soffit front 44 @ 11 5/8, rear 30 @ 15 3/4"],
)  # fmt: skip
def test_a_material_beside_one_of_several_pieces_is_asked_about(line: str) -> None:
    """It may be of all of them; one name each, or none, leaves no doubt."""
    (only,) = read_cut_list(line, Unit.IN, ("panel-sand", "j-channel", "soffit-white")).lines
    assert only.problem is None or (only.problem.code, len(only.problem.readings)) == ("unclear_material", 2)
    assert only.problem or all(item.material for item in only.read)
    assert pieces("6 @ 9' sand, 4 @ 8' J", "panel-sand", "j-channel") == [
        (6, 108, "panel-sand"), (4, 96, "j-channel"),
    ]  # fmt: skip


def test_a_letter_that_could_name_a_channel_is_a_mark_among_marks() -> None:
    """H, J: and J after H mark pieces; J alone is the channel, where one was given."""
    text = "panel sand\nH  4 @ 10'\nJ  2 @ 9'\nF: 1 @ 8'\n3 @ 7' J"
    read = read_cut_list(text, Unit.IN, ("panel-sand", "j-channel"))
    assert [(item.mark, item.material) for item in read.required] == [
        ("H", "panel-sand"), ("J", "panel-sand"), ("F", "panel-sand"), ("4", "j-channel"),
    ]  # fmt: skip


def test_the_only_material_is_that_of_every_line_that_names_none() -> None:
    """With one material given nothing need be said; a line that names another kind keeps its words."""
    read = read_cut_list("4 @ 10'\n2 @ 9' fascia", Unit.IN, ("panel-sand",))
    assert [item.material for item in read.required] == ["panel-sand", "fascia"]
    assert read.lines[0].read[0].material is None


def test_a_material_with_numbers_in_its_name_counts_nothing() -> None:
    """``12-6 sand`` is a name where it was given as one."""
    assert pieces("4 @ 10' 12-6 sand\nD4-white 2 @ 9'", "12-6-sand", "d4-white") == [
        (4, 120, "12-6-sand"), (2, 108, "d4-white"),
    ]  # fmt: skip


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
