"""What pieces are cut from: headings, names and words on the line, colours, channels and their pockets."""

from __future__ import annotations

import pytest

from solver.cutlist import read_cut_list
from solver.lengths import Unit
from tests.support.cut_lists import INCH, codes, pieces


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


def test_words_too_long_for_a_name_are_no_material() -> None:
    """What is read can be sent back as a request, and no id is that long; the material above goes on."""
    words = "clay " + "very " * 12 + "dull"
    assert pieces(f"Sand\n{words}\n6 @ 11'10", "sand q", words="material") == [(6, 142, "sand q")]


@pytest.mark.parametrize(
    ("cell", "longest"), [("qty\tlength\tmark\n4\t10'\t", 40), ("qty\tlength\tmaterial\n4\t10'\t", 64)]
)
def test_a_mark_or_a_name_that_no_request_takes_is_to_be_shortened(cell: str, longest: int) -> None:
    """What is read can be sent back; of what is too long nothing is cut off without a word."""
    assert codes(f"{cell}{'A' * longest}") == [None, None]
    assert codes(f"{cell}{'A' * (longest + 1)}") == [None, "line_too_long"]


def test_pieces_below_a_heading_too_long_for_a_name_are_not_read() -> None:
    """They are of no other material."""
    assert codes(f"Clay soffit {'very ' * 11}dull panel:\n4 @ 10'") == [None, "line_too_long"]


def test_no_piece_is_longer_than_a_request_takes() -> None:
    """A kilometre, 3,300 feet, can be sent back; more is a slip of the pen."""
    assert codes("1 @ 3300'\n1 @ 3300' 1\"") == [None, "length_out_of_range"]


def test_cells_that_may_name_a_material_are_one_name() -> None:
    """A header of which a title is misspelt: what an answer holds can be sent back, and no id has tabs."""
    assert pieces("Clay dull\tMatt\n6 @ 11'10", "sand q")[0][2] == "Clay dull Matt"
    assert pieces("Clay dull\tsoffit:\n6 @ 11'10")[0][2] == "Clay dull soffit"
    # almost a name that was given, and so asked about: what is below is of it, until that is answered
    assert pieces("SA\tND:\nQty,Length,Mark,,\n12,9' 7,A,,", "sand", "clay")[0][2] == "SA ND"


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


@pytest.mark.parametrize(
    ("materials", "meant"),
    [((), ["pebble D5", "sand D5", "sand"]), (("panel",), ["pebble D5", "sand D5", "sand"]),
     (("panel-sand",), ["pebble D5", "panel-sand D5", "panel-sand"])],
)  # fmt: skip
def test_an_unknown_colour_is_never_another_material(materials: tuple[str, ...], meant: list[str]) -> None:
    """Pebble D5 beside sand D5 is asked about, also in a description; answered, it is a material of its own."""
    lines = ["6 @ 9' pebble D5", "4 @ 8' sand D5", "2 @ 7' sand"]
    rows = ["Qty\tLength\tDescription", *(line.replace(" @ ", "\t").replace("' ", "'\t") for line in lines)]
    for text in ("\n".join(lines), "\n".join(rows)):
        assert "unclear_material" in codes(text, *materials)
        assert [name for *_, name in pieces(text, *materials, beside="material")] == meant


def test_words_beside_pieces_answered_as_remarks_are_passed_over() -> None:
    """The material is that of the heading, and the line's own name where it has one."""
    text = "Clay\n6 @ 9' check twice with Robin\n4 @ 8' sand herringbone"
    assert codes(text, "sand", "clay") == [None, "unclear_line", "unclear_material"]
    text = text.replace("check twice", "check")
    assert pieces(text, "sand", "clay", beside="remark") == [(6, 108, "clay"), (4, 96, "sand")]


@pytest.mark.parametrize("words", ["for over the garage", "left of the chimney", "kitchen side", "please", "under W2"])
def test_where_a_piece_goes_is_no_material(words: str) -> None:
    """Places, and what stands behind a word that places a piece, say nothing of what it is cut from."""
    assert codes(f"4 @ 9' {words}", "panel-sand", "panel-clay") == [None]


def test_a_heading_with_an_unknown_word_is_asked_about() -> None:
    """Harbor sand need not be the sand that was given; pieces below it are of no other until that is answered."""
    text = "Sand harbor:\n4 @ 9'"
    assert codes(text, "sand", "clay")[0] == "unclear_material"
    assert pieces(text, "sand", "clay") == [(4, 108, "Sand harbor")]
    assert pieces(text, "sand", "clay", beside="remark") == [(4, 108, "sand")]
    assert pieces(text, "sand", "clay", beside="material") == [(4, 108, "sand harbor")]


def test_two_sizes_are_not_one_material() -> None:
    """The name of the only one given says no pocket and no width: two of them are two materials."""
    assert codes("2 pcs 3/4 J, 9'\n3 pcs J, 8'\n4 pcs 1/2 J, 7'", "J white") == [None, None, "unknown_material"]
    assert codes("2 @ 9' double 4 sand\n4 @ 7' double 5 sand", "sand") == [None, "unknown_material"]


@pytest.mark.parametrize(
    ("note", "code"),
    [("in clay", "unclear_material"), ("cut 1/4 short", "unclear_line"), ("cancelled", "unclear_line"),
     ("primer", "unclear_material"), ("over the porch", None), ("W3", None)],
)  # fmt: skip
@pytest.mark.parametrize("title", ["Note", "Remarks", "", "Installer"])
def test_a_remark_beside_a_row_that_may_change_it_is_asked_about(note: str, code: str | None, title: str) -> None:
    """Whatever the column is called."""
    assert codes(f"Qty\tLength\t{title}\n6\t9'\t{note}", "panel-sand")[1] == code


def test_a_letter_and_a_number_are_a_profile_or_a_mark() -> None:
    """D4 alone is asked about, unless the list has a D1; beside a colour it is the profile."""
    assert codes("D4 6 @ 9'") == ["unclear_material"]
    read = read_cut_list("D1 6 @ 9'\nD4 4 @ 8'", Unit.IN)
    assert [item.mark for item in read.required] == ["D1", "D4"]
    assert read.settled == {"D4": "mark"}
    assert pieces("6 @ 9' D5", D4="material") == [(6, 108, "D5")]
    assert codes("6 @ 9' D5 sand", "d4-sand") == ["unclear_material"]
