"""Lists as files: what a row becomes, what a cell that holds no plain value becomes, and what is refused unread."""

from __future__ import annotations

import io
import zipfile

import pytest

from service.spreadsheets import Unreadable, opened
from service.spreadsheets.rows import column
from solver.cutlist import read_cut_list
from solver.lengths import TICKS_PER_INCH, Unit
from tests.support.files import of_hand, opendocument, workbook
from tests.support.hands import Hand, Verdict, hands, judge

FILES = [hand for hand in hands() if hand.form != "list"]


@pytest.mark.parametrize("hand", FILES, ids=[f"{hand.source}-{hand.lines[0][0][:12]}" for hand in FILES])
def test_no_row_is_silently_wrong(hand: Hand) -> None:
    """Each row is read as its writer meant it, or there is a question or a reason."""
    file = opened(of_hand(hand))
    read = read_cut_list(file.text, hand.unit, hand.materials)
    lines = [line for line, row in zip(read.lines, file.rows, strict=True) if row]
    named = len(hand.materials) == 1
    verdicts = [judge(line, meant, hand, named=named) for line, (_, meant) in zip(lines, hand.lines, strict=False)]
    assert len(hand.lines) - len(lines) <= 1
    assert [hand.lines[at] for at, verdict in enumerate(verdicts) if verdict is Verdict.WRONG] == []


def pieces(data: bytes, *materials: str) -> list[tuple[int, float, str]]:
    """Return quantity, inches and material of what a file asks for."""
    required = read_cut_list(opened(data).text, Unit.IN, materials).required
    return [(item.quantity, item.length / TICKS_PER_INCH, item.material) for item in required]


@pytest.mark.parametrize(
    "data",
    [
        b'Qty,Length,Color\r\n4,115,sand\r\n2,"8\' 4""",clay\r\n',
        b"Qty;Length;Color\n4;115;sand\n2;8' 4\";clay\n",
        b"Qty\tLength\tColor\n4\t115\tsand\n2\t100\tclay\n",
        "\ufeffQty,Length,Color\n4,115,sand\n2,100,clay".encode(),
        "Qty\tLength\tColor\n4\t115\tsand\n2\t100\tclay".encode("utf-16"),
        workbook({"List": [["Qty", "Length", "Color"], ["4", "115", "sand"], ["2", "100", "clay"]]}),
    ],
    ids=["csv", "semicolons", "tsv", "byte-order", "utf-16", "xlsx"],
)
def test_the_same_list_in_every_form(data: bytes) -> None:
    """Four of 115 in sand and two of 100 in clay."""
    assert pieces(data, "sand", "clay") == [(4, 115, "sand"), (2, 100, "clay")]


def test_plain_text_in_a_file_is_a_pasted_list() -> None:
    """A file without a separator holds lines."""
    assert pieces("14 @ 9'7½\"\n(6) 142 3/8\n".encode("cp1252")) == [(14, 115.5, ""), (6, 142.375, "")]


ROW = "<table:table-row>{}</table:table-row>"
NUMBER = '<table:table-cell office:value-type="float" office:value="{0}"><text:p>{0}</text:p></table:table-cell>'
WORDS = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'


def test_an_opendocument_sheet() -> None:
    """Rows of an ODS file; what is repeated to the end of the sheet is empty and costs nothing."""
    rest = '<table:table-row table:number-rows-repeated="1048000"><table:table-cell/></table:table-row>'
    titles = ROW.format(WORDS.format("Qty") + WORDS.format("Length"))
    row = ROW.format(NUMBER.format(4) + NUMBER.format(115))
    assert pieces(opendocument(f'<table:table table:name="List">{titles}{row}{rest}</table:table>')) == [(4, 115, "")]


def test_several_sheets_are_read_apart() -> None:
    """A heading and titles hold on their own sheet; each line says where it stands."""
    file = opened(
        workbook({"North": [["Sand"], ["Qty", "Length"], ["4", "115"]], "South": [["6 @ 9'-7\""], ["2", "96"]]})
    )
    read = read_cut_list(file.text, Unit.IN, ("sand", "clay"))
    assert [item.material for item in read.required] == ["sand", ""]
    assert read.problems[0].text == "2\t96"
    row = file.rows[read.problems[0].number - 1]
    assert row is not None
    assert (row.sheet, row.number, row.address("how many of 96?")) == ("South", 2, "B2")


def test_a_hidden_sheet_is_named_and_not_read() -> None:
    """What nobody sees is in no order; the list says that there is such a sheet."""
    data = workbook({"List": [["4 @ 9'-7\""]], "Old": [["9 @ 9'-7\""]]})
    hidden = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as found, zipfile.ZipFile(hidden, "w") as made:
        for part in found.infolist():
            said = found.read(part)
            if part.filename == "xl/workbook.xml":
                said = said.replace(b'name="Old"', b'name="Old" state="hidden"')
            made.writestr(part.filename, said)
    assert pieces(hidden.getvalue()) == [(4, 115, "")]
    assert "=== sheet Old, hidden: not read ===" in opened(hidden.getvalue()).text


def test_words_in_merged_cells_hold_for_each_row_and_numbers_do_not() -> None:
    """A material over two rows is that of both; a quantity over two rows may be either's, so that one is asked."""
    rows = [["Color", "Qty", "Length"], ["sand", "4", "115"], ["", "6", "96"]]
    assert pieces(workbook({"L": rows}, [("L", "A2:A3")]), "sand", "clay") == [(4, 115, "sand"), (6, 96, "sand")]
    counted = [["Qty", "Length"], ["4", "115"], ["", "96"]]
    assert opened(workbook({"L": counted}, [("L", "A2:A3")])).text.splitlines()[-1] == "\t96"


@pytest.mark.parametrize(
    ("cell", "shown"),
    [("date:2026-09-07", "7-Sep"), ("time:10:06", "10:06"), ("bool:TRUE", "TRUE"), ("error:#REF!", "#REF!")],
)
def test_a_cell_without_a_plain_value_is_shown_and_asked_about(cell: str, shown: str) -> None:
    """A date that was a length, a failed formula: each is in the line, and no piece is read past it."""
    file = opened(workbook({"L": [["Qty", "Feet", "Inches"], ["4", cell, "7"]]}))
    assert file.text.splitlines()[1] == f"4\t{shown}\t7"
    read = read_cut_list(file.text, Unit.IN)
    assert read.required == ()
    assert read.problems[0].number == 2


def test_a_date_may_be_two_lengths() -> None:
    """7 September was typed as 9-7, or as 7-9 where the day comes first."""
    (line,) = read_cut_list(opened(workbook({"L": [["4", "date:2026-09-07"]]})).text, Unit.IN).lines
    assert line.problem is not None
    assert line.problem.readings == ("7'-9\"", "9'-7\"", "a date")


def altered(data: bytes, *changes: tuple[str, str, str]) -> bytes:
    """Return a workbook in whose parts of a name something stands in place of something else."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as found, zipfile.ZipFile(made, "w") as packed:
        for part in found.namelist():
            said = found.read(part).decode()
            for name, old, new in changes:
                said = said.replace(old, new) if part.endswith(name) else said
            packed.writestr(part, said)
    return made.getvalue()


PLAIN = workbook({"L": [["4 @ 10'"], ["x"]]})
CORNER = ("sheet1.xml", 'r="A2"', 'r="XFD1048576"')
LIES = {
    "corner": (altered(PLAIN, CORNER, ("sheet1.xml", 'r="2"', 'r="1048576"')), "reaches over"),
    "small letters": (altered(PLAIN, ("sheet1.xml", 'r="A2"', 'r="xfd99999"')), "can't be read"),
    "beyond every row": (altered(PLAIN, ("sheet1.xml", 'r="A2"', 'r="XFD99999999"')), "can't be read"),
    "beside its row": (
        altered(PLAIN, ("sheet1.xml", "</sheetData>", '<c r="XFD1048576"><v>1</v></c></sheetData>')),
        "reaches over",
    ),
    "a part by another name": (altered(PLAIN, CORNER, ("workbook.xml.rels", "sheet1.xml", "SHEET1.xml")), "reaches"),
    "texts": (altered(PLAIN, ("sharedStrings.xml", 'uniqueCount="2"', 'uniqueCount="99999999999"')), "texts"),
    "another coding": (altered(PLAIN, ("sheet1.xml", "UTF-8", "no-such")), "can't be read"),
    "many of a size": (workbook({name: [["1"], *[[]] * 299, [""] * 999 + ["1"]] for name in "LM"}), "sheets hold"),
}
"""What would take more memory than there is, and end the process at once, by what the file says of it."""


def bomb() -> bytes:
    """Return a small archive that unpacks to more than 64 MiB."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b" " * (70 * 1024 * 1024))
    return made.getvalue()


def repeated() -> bytes:
    """Return an ODS sheet that repeats one cell over the whole sheet."""
    cell = NUMBER.format(4).replace("<table:table-cell ", '<table:table-cell table:number-columns-repeated="16384" ')
    row = ROW.format(cell).replace("<table:table-row", '<table:table-row table:number-rows-repeated="1048576"')
    return opendocument(f'<table:table table:name="L">{row}</table:table>')


def foreign() -> bytes:
    """Return the same in namespaces of its own: who reads it may go by the prefixes."""
    return altered(repeated(), ("content.xml", "xmlns:table:1.0", "t"), ("content.xml", "xmlns:office:1.0", "o"))


def squeezed() -> bytes:
    """Return a workbook packed in a way that takes as much memory as it says."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(PLAIN)) as found, zipfile.ZipFile(made, "w", zipfile.ZIP_LZMA) as packed:
        for part in found.namelist():
            packed.writestr(part, found.read(part))
    return made.getvalue()


def laughs() -> bytes:
    """Return an ODS sheet whose one word is an entity that expands to billions of words."""
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    made, plain = io.BytesIO(), io.BytesIO(opendocument(f"<table:table>{WORDS.format('&e11;')}</table:table>"))
    with zipfile.ZipFile(plain) as found, zipfile.ZipFile(made, "w") as packed:
        for part in found.namelist():
            said = (
                found.read(part).decode().replace("?><office", f'?><!DOCTYPE d [<!ENTITY e0 "ha">{entities}]><office')
            )
            packed.writestr(part, said)
    return made.getvalue()


@pytest.mark.parametrize(
    ("data", "why"),
    [
        *LIES.values(),
        (foreign(), "reaches over"),
        (squeezed(), "packed as no workbook"),
        (bomb(), "unpacks to more"),
        (repeated(), "reaches over"),
        (b"\xd0\xcf\x11\xe0" + bytes(600), "old format"),
        (b"PK\x03\x04" + bytes(60), "damaged"),
        (workbook({"L": [["4 @ 10'"]]})[:-60], "damaged"),
        (bytes(range(256)), "none of CSV"),
        (b'Qty,Length\n4,"115\n6,96\n', "no partner"),
        (b"4 @ 10'\n" * 10_001, "rows"),
        (b"1," * 300 + b"\n", "columns"),
        (workbook({f"S{n}": [["4 @ 10'"]] for n in range(61)}), "sheets"),
        (opendocument("<table:table>"), "can't be read"),
        (laughs(), "can't be read"),
    ],
    ids=[
        *LIES,
        "foreign",
        "squeezed",
        "bomb",
        "repeated",
        "old",
        "no-zip",
        "cut-short",
        "bytes",
        "quote",
        "rows",
        "columns",
        "sheets",
        "xml",
        "entities",
    ],
)
def test_what_is_no_list_is_refused_with_what_to_do(data: bytes, why: str) -> None:
    """Before anything of it is held in memory."""
    with pytest.raises(Unreadable, match=why):
        opened(data)


def test_macros_and_links_stay_behind() -> None:
    """Of an archive only the parts that hold sheets are handed on."""
    with_macro = io.BytesIO(workbook({"L": [["4 @ 10'"]]}))
    with zipfile.ZipFile(with_macro, "a") as packed:
        packed.writestr("xl/vbaProject.bin", b"Sub AutoOpen()")
    assert pieces(with_macro.getvalue()) == [(4, 120, "")]


def test_columns_are_lettered_as_in_a_spreadsheet() -> None:
    """A to Z, then AA."""
    assert [column(place) for place in (0, 25, 26, 51, 52, 701, 702)] == ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]
