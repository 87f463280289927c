"""Price lists: the table that a catalogue becomes says the same when it is read again, and a fault has its cell."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.spreadsheets import sheets_of
from service.spreadsheets.rows import column
from service.spreadsheets.writing import csv_of, workbook_of
from service.wire.materials.catalogue import read_material, same
from service.wire.materials.price_list import COLUMNS, MATERIAL, PriceListFaults, read_price_list, table_of
from solver.categories import Category
from tests.support.files import workbook
from workers.orders.catalogue import Entry

Json = dict[str, Any]


def read(data: bytes) -> dict[str, Json]:
    """Return what a file says of each material."""
    return read_price_list(sheets_of(data, whole_dates=True))


def faults(data: bytes) -> list[str]:
    """Return everything that is wrong with a file, in words."""
    with pytest.raises(PriceListFaults) as told:
        read(data)
    return [fault.said for fault in told.value.faults]


SHORT = b"""Material,Description,Type,Also called,Length,Price each,From,Supplier's code
panel-sand,"double 4 in panel, sand",siding,sand siding; sand D4,12' 6",9.80,,DS-126
,,,,12'6,10.20,2027-01-01,DS-126
,,,,200,$12,,DS-168
j-34,"J-channel, 3/4",channel,,12'-6,"4,10",,
"""


def test_a_row_is_a_stock_length_at_a_date() -> None:
    """A row without a material goes on with the one above; a length is one however it is written, and names itself."""
    panel, channel = read(SHORT).values()
    assert panel["also"] == ["sand siding", "sand D4"]
    assert [(row["id"], row["length"], row["price"], row.get("from")) for row in panel["stock"]] == [
        ("12'-6\"", 150, "9.80", None), ("12'-6\"", 150, "10.20", "2027-01-01"), ("16'-8\"", 200, "12", None),
    ]  # fmt: skip
    assert (channel["category"], channel["stock"][0]["price"]) == ("channel", "4.10")


def test_every_fault_is_told_at_once_with_its_cell() -> None:
    """In the middle of a workbook of two sheets, by sheet, row and column; what has no cell is told of its row."""
    heads = ["Material", "Type", "Length", "Price each", "From", "Per carton"]
    sheets = {
        "Panels": [
            heads,
            ["sand", "siding", "12' 6\"", "9.8", "", ""],
            ["clay", "sidings", "12' 6\"", "-1", "date:2027-01-01", "0"],
            ["", "", "", "9.8", "1/2/2027", ""],
        ],
        "Trim": [
            heads,
            ["j-34", "channel", "12' 6\"", "error:#N/A", "", ""],
            ["sand", "soffit", "16' 8\"", "12", "", ""],
        ],
    }
    assert faults(workbook(sheets)) == [
        f"sheet Panels, row 3, column B (Type): must be one of: {', '.join(Category)}",
        "sheet Panels, row 3, column F (Per carton): must be from 1 to 10000",
        'sheet Panels, row 3, column D (Price each): must be decimal digits, as in "9.80"',
        'sheet Panels, row 4, column E (From): must be a date, as in "2026-11-23"',
        "sheet Panels, row 4: Length is missing",
        "sheet Trim, row 2, column D (Price each): holds a formula that failed",
        'sheet Trim, row 2, column D (Price each): must be decimal digits, as in "9.80"',
        "sheet Trim, row 3, column B (Type): says something else than row 2, of the same material",
    ]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "the file: it has no row with a material"),
        ("Material,Length\n", "the file: it has no row with a material"),
        ("Item,Price each\nsand,9.80\n", "row 1, column A: Item is no heading of a price list"),
        ("Material,Price each\nsand,9.80\n", "row 1: no column has the heading Length"),
        ("Material,Length,length\nsand,150,151\n", "row 1, column C: the heading length comes twice"),
        ("Material,Length,Colour\nsand,150,sand\n", "row 1, column C: Colour is no heading of a price list"),
        ("Material,Length,Type\n,150,siding\n", "row 2, column A (Material): is missing: which material is it?"),
        ("Material,Length,Type\na/b,150,siding\n",
         "row 2, column A (Material): must have 1 to 64 characters and no stroke"),
        ("Material,Length,Type\na,150,siding\na,150,\n", "row 3: Stock id comes twice for the same date"),
    ],
)  # fmt: skip
def test_what_is_no_price_list_is_refused(text: str, told: str) -> None:
    """By what is wrong with its headings, or its first cell."""
    assert told in faults(text.encode())


LENGTHS = st.integers(1, 4000).map(lambda sixteenths: f"{sixteenths * 25.4 / 16:.1f} mm") | st.integers(1, 300)
TEXTS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
PRICES = st.decimals(0, 9999, places=2).map(str)
STOCK = st.fixed_dictionaries(
    {"length": LENGTHS, "price": PRICES},
    optional={"breaks": st.just([{"sticks": 24, "price": "0"}]), "code": TEXTS,
              "available": st.integers(0, 99), "wait_days": st.integers(0, 9), "carton": st.integers(1, 40),
              "lap": LENGTHS},
)  # fmt: skip
MATERIALS = st.fixed_dictionaries(
    {"units": st.sampled_from(["in", "mm", "ft"]), "category": st.sampled_from([*map(str, Category)]),
     "stock": st.lists(STOCK, min_size=1, max_size=3)},
    optional={"description": TEXTS, "also": st.lists(TEXTS.filter(lambda text: ";" not in text), max_size=2),
              "lap": st.none() | LENGTHS, "example": st.booleans(), "spare_percent": st.integers(0, 20)},
)  # fmt: skip


@given(st.lists(MATERIALS, min_size=1, max_size=3))
@settings(max_examples=40, deadline=None)
def test_what_is_given_out_is_taken_in_as_it_was(bodies: list[Json]) -> None:
    """As CSV and as a workbook, whatever the units, texts that begin like formulas and lengths no inch can say."""
    entries = []
    for place, body in enumerate(bodies):
        longest = 12 if body["units"] == "ft" else 1
        stock = [{**row, "id": f"s{at}", "length": _within(row["length"], longest),
                  **({"lap": "1 in"} if "lap" in row else {})} for at, row in enumerate(body["stock"])]  # fmt: skip
        lap = {"lap": "26 mm"} if body.get("lap") else {}
        entries.append(Entry(f"m{place}", place + 1, read_material(f"m{place}", {**body, **lap, "stock": stock})))
    table = [*table_of(entries)]
    for data in (csv_of(table).encode(), workbook_of("Price list", table)):
        again = read(data)
        assert [*again] == [entry.id for entry in entries]
        assert [again[entry.id] for entry in entries if not same(again[entry.id], entry.body)] == []


def _within(length: object, divisor: int) -> object:
    """Return a length that some stick has, in whatever unit."""
    return max(1, length // divisor) if isinstance(length, int) else length


def test_a_workbook_has_prices_and_dates_to_reckon_with() -> None:
    """Numbers and dates, not texts, so that a whole column can be raised by five per cent."""
    row = {"id": "12-6", "length": 150, "price": "9.80", "from": "2027-01-01"}
    body = read_material("sand", {"units": "in", "category": "siding", "stock": [row]})
    headings, cells = table_of([Entry("sand", 1, body)])
    told = dict(zip(headings, cells, strict=True))
    assert told["Price each"] == Decimal("9.80")
    assert told["Length"] == "12'-6\""
    (sheet,) = sheets_of(workbook_of("Price list", [headings, cells]), whole_dates=True)
    assert sheet.rows[1][headings.index("From")] == "2027-01-01"
    assert sheet.rows[1][headings.index("Price each")] == "9.8"


def test_columns_in_which_nothing_stands_are_left_out() -> None:
    """But for those that every price list has, so that they can be filled in."""
    body = read_material("sand", {"units": "in", "category": "siding", "stock": [{"id": "12-6", "length": 150}]})
    assert next(table_of([Entry("sand", 1, body)])) == [
        "Material", "Description", "Type", "Also called", "Units", "Stock id", "Length", "Supplier’s code",
        "Price each", "Per carton", "From",
    ]  # fmt: skip
    kerf = read_material("sand", {**body, "kerf": "1/8"})
    assert "Saw kerf" in next(table_of([Entry("sand", 1, kerf)]))


def test_price_breaks_stand_in_one_cell_as_they_are_typed_on_the_page() -> None:
    """From 24 sticks on at 9.20, from 48 on at 8.90."""
    breaks = [{"sticks": 24, "price": "9.20"}, {"sticks": 48, "price": "8.90"}]
    row = {"id": "12-6", "length": 150, "price": "9.80", "breaks": breaks}
    body = read_material("sand", {"units": "in", "category": "siding", "stock": [row]})
    headings, cells = table_of([Entry("sand", 1, body)])
    assert cells[headings.index("Price breaks")] == "24 at 9.20; 48 at 8.90"
    again = read(csv_of([headings, cells]).encode())
    assert again["sand"]["stock"][0]["breaks"] == breaks
    broken = csv_of([headings, cells]).replace("48 at 8.90", "48 at 9.90").encode()
    where = f"row 2, column {column(headings.index('Price breaks'))} (Price breaks)"
    assert faults(broken) == [f"{where}: rises: the row before has 9.20, and more sticks can't cost more each"]


def test_headings_tell_columns_apart() -> None:
    """No two are the same, however they are cased."""
    headings = {MATERIAL.casefold(), *(column.heading.casefold() for column in COLUMNS)}
    assert len(headings) == len(COLUMNS) + 1
