"""Rows from a spreadsheet read by the titles over them, and are asked about where the titles leave a doubt."""

from __future__ import annotations

import pytest

from solver.cutlist import LineKind, read_cut_list
from solver.lengths import TICKS_PER_INCH, Unit
from solver.required import Meets

INCH = TICKS_PER_INCH


def pieces(text: str) -> list[tuple[int, float]]:
    """Return quantity and inches of each item read."""
    return [(item.quantity, item.length / INCH) for item in read_cut_list(text, Unit.IN).required]


def codes(text: str) -> list[str | None]:
    """Return the code of each line's problem."""
    return [line.problem.code if line.problem else None for line in read_cut_list(text, Unit.IN).lines]


@pytest.mark.parametrize("separator", ["\t", ",", ";", "|", "   "])
def test_columns_are_known_by_their_titles(separator: str) -> None:
    """Quantity, length, mark and material stand in any order, whatever separates the cells."""
    rows = [
        ["Mark", "Length", "Qty", "Material"],
        ["A", "9' 7\"", "12", "panel sand"],
        ["B", "142 3/8", "6", "soffit"],
    ]
    read = read_cut_list("\n".join(separator.join(row) for row in rows), Unit.IN, ("panel-sand", "soffit-white"))
    assert [(item.mark, item.quantity, item.length / INCH, item.material) for item in read.required] == [
        ("A", 12, 115, "panel-sand"), ("B", 6, 142.375, "soffit-white"),
    ]  # fmt: skip
    assert read.lines[0].kind is LineKind.HEADING


@pytest.mark.parametrize("titles", [
    "Pos.;Anzahl;Länge (mm);Bemerkung", "Teil;Stk.;Länge in mm;Wand", "Position;Menge;Zuschnitt mm;Hinweis",
    "Repère;Qté;Longueur (mm);Remarque", "Rep.;Nombre;Long. mm;Mur", "REPÈRE;QUANTITÉ;LONGUEUR EN MM;REMARQUES",
])  # fmt: skip
def test_titles_may_be_german_or_french(titles: str) -> None:
    """Mark, how many, length, and a remark or a wall, as dictionaries have them."""
    read = read_cut_list(f"{titles}\nA;12;2500;ok\nB;3;812,5;ok", Unit.IN)
    assert [(item.mark, item.quantity, item.length, item.material) for item in read.required] == [
        ("A", 12, 2500 * Unit.MM.ticks, ""), ("B", 3, 1625 * Unit.MM.ticks // 2, ""),
    ]  # fmt: skip
    assert (read.lines[0].kind, read.questions) == (LineKind.HEADING, ())


def test_feet_and_inches_have_columns_of_their_own() -> None:
    """Either may be empty; cells may carry their own marks."""
    text = "Qty\tFeet\tInches\n4\t9\t7\n2\t11\t10 3/8\n3\t\t44 1/2\n5\t8\t\n1\t9'\t6\""
    assert [length for _, length in pieces(text)] == [115, 142.375, 44.5, 96, 114]


def test_a_title_may_name_the_unit() -> None:
    """``Length (mm)`` goes before the list's unit."""
    (item,) = read_cut_list("Pcs,Length (mm)\n4,3510", Unit.IN).required
    assert (item.quantity, item.length) == (4, 3510 * Unit.MM.ticks)


def test_a_row_without_its_quantity_is_asked_about() -> None:
    """An empty cell under "Qty" is not one piece."""
    assert codes("Qty\tLength\n4\t10'\n\t9'") == [None, None, "no_quantity"]


def test_a_title_line_without_separators_says_the_order_of_bare_numbers() -> None:
    """Under "Qty Length" the line 4 96 is four of 96; without it, that is a question."""
    assert pieces("Qty Length\n4 96") == [(4, 96)]
    assert pieces("Length Qty\n96 4") == [(4, 96)]
    assert codes("4 96") == ["ambiguous_length"]


def test_length_in_feet_and_length_in_inches_are_two_parts_of_one() -> None:
    """Two columns of lengths with the units ft and in add up."""
    assert pieces("Qty\tLength (ft)\tLength (in)\n4\t9\t7") == [(4, 115)]


def test_parts_of_an_inch_have_a_column_of_their_own() -> None:
    """Written out, or as so many 16ths."""
    assert pieces("Qty,Feet,Inches,Fraction\n4,9,7,1/2\n2,,44,3/4\n2,9,0,0") == [(4, 115.5), (2, 44.75), (2, 108)]
    assert pieces("Qty,Feet,Inches,16ths\n4,9,7,8") == [(4, 115.5)]


def test_a_title_may_say_that_a_dash_joins_feet_and_inches() -> None:
    """Under "Ft-In" 9-7 is no question, nor where a column counts the pieces; without either it is one."""
    assert pieces("Count\tFt-In\n4\t9-7") == [(4, 115)]
    assert pieces("Count\tLength\n4\t9-7") == [(4, 115)]
    assert codes("Mark\tFt-In\nA\t9-7") == [None, None]
    assert codes("Mark\tLength\nA\t9-7") == [None, "ambiguous_length"]


def test_a_column_of_numbers_counts_pieces_or_rows_as_answered() -> None:
    """A column "No." is asked about where no other column is the quantity; "Cut #" names the piece."""
    text = "No.\tLength\n4\t10'"
    assert codes(text) == [None, "unclear_quantity"]
    assert [
        read_cut_list(text, Unit.IN, (), {"n)": answer}).required[0].quantity for answer in ("quantity", "numbering")
    ] == [4, 1]
    assert pieces("No.\tQty\tLength\n1\t4\t10'") == [(4, 120)]
    assert [item.mark for item in read_cut_list("Cut #\tLength\n7\t10'", Unit.IN).required] == ["7"]


def test_two_columns_that_could_be_the_length_are_no_header() -> None:
    """Under "Length" and "Finished length" the rows are asked about as if there were no titles; a size is no length."""
    assert codes("Qty\tLength\n4\t10'\nLength\tFinished length\n40\t50") == [None, None, None, "ambiguous_length"]
    assert pieces("QTY\tSIZE\tLENGTH\n4\tdouble 4\t9'7\"") == [(4, 115)]


def test_ends_have_columns_of_their_own() -> None:
    """The columns "Left end" and "Right end" hold lap, channel or plain."""
    (item,) = read_cut_list("Qty\tLength\tLeft end\tRight end\n4\t10'\tlap\tchannel", Unit.IN).required
    assert (item.left_end.meets, item.right_end.meets) == (Meets.LAP, Meets.CHANNEL)


def test_a_section_row_and_a_total_row_are_no_pieces() -> None:
    """A row with one cell of words heads what follows; a total counts nothing."""
    read = read_cut_list("Qty,Length\nJ-channel,\n4,12'6\"\nTotal,4", Unit.IN, ("panel-sand", "j-channel"))
    assert [(item.material, item.length / INCH) for item in read.required] == [("j-channel", 150)]
    assert not read.problems


def test_a_second_header_replaces_the_first() -> None:
    """Columns may change half way down."""
    assert pieces("Qty\tLength\n4\t10'\nLength\tQty\n9'\t2") == [(4, 120), (2, 108)]


def test_cells_in_quotes_keep_their_commas_and_their_inch_marks() -> None:
    """A spreadsheet doubles the quotes inside a cell."""
    text = 'Qty,Length,Description\n12,"9\' 7""","siding, sand"'
    (item,) = read_cut_list(text, Unit.IN).required
    assert (item.quantity, item.length / INCH, item.material) == (12, 115, "siding, sand")


def described(rows: str, titles: str = "Qty,Length,Description") -> list[tuple[str, str]]:
    """Return mark and material of each row read under titles, where panel-sand is the only material."""
    read = read_cut_list(f"{titles}\n{rows}", Unit.IN, ("panel-sand",))
    return [(item.mark, item.material) for item in read.required]


def test_a_description_is_a_material_only_where_it_names_one() -> None:
    """One strange word is the mark, several are a note, and a kind of trim stays as written."""
    assert described("12,9'7\",north") == [("north", "panel-sand")]
    assert described("12,9'7\",sand") == [("1", "panel-sand")]
    assert described("12,9'7\",above the door") == [("1", "panel-sand")]
    assert described("12,9'7\",F-channel") == [("1", "F-channel")]
    assert described("12,9'7\",north,A", "Qty,Length,Description,Mark") == [("A", "panel-sand")]
    assert not described("12,9'7\",panel-tan")


def test_a_description_with_a_colour_names_a_material() -> None:
    """Sand and clay in one column are two materials; ditto below them repeats the material and marks no piece."""
    read = read_cut_list("Qty\tDescription\tLength\n10\tSand D4\t9'6\n6\tClay D4\t114\n\"\t\"\t4'2", Unit.IN)
    assert [(item.quantity, item.mark, item.material) for item in read.required] == [
        (10, "1", "Sand D4"), (6, "2", "Clay D4"), (6, "3", "Clay D4"),
    ]  # fmt: skip


@pytest.mark.parametrize("title", ["Material", "Description"])
def test_a_colour_in_a_cell_is_of_no_material_without_one(title: str) -> None:
    """Sand and clay panels stay as written where the only material given says no colour."""
    text = f"Qty,Length,{title}\n12,9'7,panel-sand\n6,142 3/8,panel-clay"
    assert [item.material for item in read_cut_list(text, Unit.IN, ("siding panel",)).required] == [
        "panel-sand", "panel-clay",
    ]  # fmt: skip


INVOICE = "Qty\tDescription\tLength\tPrice\tExt\n4\tpanel\t9'7\"\t9.80\t39.20"


@pytest.mark.parametrize(
    "row",
    ["\t\t\tTOTAL\t98.00", "\t\t\tTax 7%\t6.86", "Grand Total\t104.86", "\tTotal\t\t\t39.20", "Sales tax\t\t\t\t2.74"],
)
def test_money_below_the_lengths_is_no_piece(row: str) -> None:
    """A total, a tax and their amounts stand in whatever column; nothing is cut for them."""
    assert codes(f"{INVOICE}\n{row}") == [None, None, None]
    assert pieces(f"{INVOICE}\n{row}") == [(4, 115)]


def test_a_row_that_may_be_a_total_or_a_piece_is_asked_about() -> None:
    """Numbers under neither quantity nor length are not guessed at, nor a total with both."""
    assert codes(f"{INVOICE}\n\t\t\t9.80\t39.20")[2] == "no_quantity"
    assert codes(f"{INVOICE}\n4\tTotal\t38'4\"")[2] == "unclear_line"
    assert codes("Total 12 @ 9'7") == ["unclear_line"]


def test_a_column_of_units_says_the_unit_of_its_row() -> None:
    """Millimetres and feet in one table; ``ea`` is no unit of length, a carton is no piece."""
    read = read_cut_list("Pcs\tLength\tUnit\n4\t900\tmm\n2\t10\tft\n3\t96\tea", Unit.IN).required
    assert [(item.quantity, item.length) for item in read] == [
        (4, 900 * Unit.MM.ticks), (2, 120 * INCH), (3, 96 * INCH),
    ]  # fmt: skip
    assert codes("Pcs\tLength\tUOM\n4\t10'\tctn\n4\t10'\tLF") == [None, "not_pieces", "not_pieces"]


def test_a_row_whose_unit_is_not_that_of_its_title_is_asked_about() -> None:
    """``Length (mm)`` and a cell that says inches can't both be right."""
    assert codes("Pcs\tLength (mm)\tUnit\n4\t900\tin") == [None, "ambiguous_length"]


@pytest.mark.parametrize(
    ("cell", "readings"),
    [
        ("9-Jul", ("9'-7\"", "7'-9\"", "a date")),
        ("11-Oct", ("11'-10\"", "10'-11\"", "a date")),
        ("Sep-07", ("7'-9\"", "9'-7\"", "a date")),
        ("12-Jun", ("12'-6\"", "a date")),
    ],
)
def test_a_date_that_a_spreadsheet_made_of_a_length_is_asked_about(cell: str, readings: tuple[str, ...]) -> None:
    """9-7 typed into a cell is shown as a date, day or month first; a spreadsheet's habit, from memory."""
    for text in (f"4\t{cell}", f"Qty\tLength\n4\t{cell}", f"{cell} x 4", f"4 @ {cell} sand"):
        problem = read_cut_list(text, Unit.IN).lines[-1].problem
        assert problem is not None
        assert (problem.code, problem.readings) == ("ambiguous_length", readings)
    assert codes(f"Need them by {cell} please") == [None]


@pytest.mark.parametrize("title", ["Item", "Name", "Trim", "What"])
def test_a_column_of_items_may_name_the_material(title: str) -> None:
    """A number in it names nothing; a known material is one, wherever it stands."""
    read = read_cut_list(f"Qty\t{title}\tLength\n4\tJ\t10'\n2\t2\t9'\n3\tF-channel\t8'", Unit.IN, ("panel", "j-34"))
    assert [(item.mark, item.material) for item in read.required] == [("1", "j-34"), ("2", ""), ("3", "F-channel")]
