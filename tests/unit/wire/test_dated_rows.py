"""What a dated row of a material's stock changes, and what stays: a price from a date, by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from service.http.problems import Problem
from service.wire.materials.catalogue import for_request, read_material, render_entry, same
from solver.lengths import Unit
from workers.orders.catalogue import Entry

FIRST: dict[str, Any] = {
    "id": "12-6", "length": 150, "code": "PS-126", "price": "9.80", "available": 40, "carton": 24,
    "carton_price": "220", "breaks": [{"sticks": 48, "price": "9.20", "carton_price": "210"}], "fixed_cost": "4",
}  # fmt: skip


def body(*rows: dict[str, Any]) -> dict[str, Any]:
    """Return a material as it is kept, with these rows after the first."""
    later = ({"id": "12-6", "length": 150, **row} for row in rows)
    return read_material("panel", {"units": "in", "category": "siding", "stock": [FIRST, *later]})


def held(kept: dict[str, Any], day: str, units: Unit = Unit.IN) -> dict[str, Any]:
    """Return the one row of stock that a request of a day gets."""
    row: dict[str, Any]
    (row,) = for_request(Entry("panel", 1, kept), date.fromisoformat(day), units)["stock"]
    return row


def test_a_price_from_a_date_changes_prices_alone() -> None:
    """Code, carton, stock and fixed cost stay; prices by the carton and breaks went with the price they were of."""
    kept = body({"from": "2027-01-01", "price": "10.20"})
    assert held(kept, "2026-12-31") == held(body(), "2027-06-01")
    now = held(kept, "2027-01-01")
    assert (now["price"], now["code"], now["carton"], now["available"], now["fixed_cost"]) == (
        "10.20", "PS-126", 24, 40, "4",
    )  # fmt: skip
    assert not {"carton_price", "breaks", "from"} & now.keys()
    assert held(kept, "2027-01-01", Unit.MM)["length"] == 3810


def test_what_is_said_to_be_none_is_none_from_then_on() -> None:
    """Limit and carton are lifted by null, and the price stays with its breaks; kept and read again it is the same."""
    kept = body({"from": "2027-01-01", "available": None, "code": None}, {"from": "2027-02-01", "price": None})
    now = held(kept, "2027-01-15")
    assert (now["available"], now["code"], now["price"], now["breaks"]) == (None, None, "9.80", FIRST["breaks"])
    answered = render_entry(Entry("panel", 1, kept))
    assert [row.get("none") for row in answered["stock"]] == [None, ["code", "available"], ["price"]]
    assert read_material("panel", answered) == kept
    assert same(kept, read_material("panel", kept))
    assert read_material("panel", kept) == kept
    assert (held(kept, "2027-02-01").get("price"), held(kept, "2027-02-01").get("fixed_cost")) == (None, None)


def test_a_row_that_is_as_usual_says_so_where_it_has_a_date() -> None:
    """Singles were not sold; from March they are, which is what a row without a date need not say."""
    first = {**FIRST, "singles": False}
    stock = [first, {"id": "12-6", "length": 150, "from": "2027-03-01", "singles": True}]
    kept = read_material("panel", {"units": "in", "category": "siding", "stock": stock})
    assert [held(kept, day).get("singles", True) for day in ("2027-02-28", "2027-03-01")] == [False, True]


def test_a_row_is_judged_with_what_it_changes() -> None:
    """The carton of before is enough for a new carton price; a break that rises above the price of before is told."""
    assert held(body({"from": "2027-01-01", "price": "10", "carton_price": "230"}), "2027-01-01")["carton"] == 24
    for wrong, pointer in (
        ({"carton": None}, "#/stock/1/carton_price"),
        ({"breaks": [{"sticks": 24, "price": "9.90", "carton_price": "200"}]}, "#/stock/1/breaks/0/price"),
    ):
        with pytest.raises(Problem) as told:
            body({"from": "2027-01-01", **wrong})
        assert [error.pointer for error in told.value.errors] == [pointer]


@pytest.mark.parametrize("named", ["12\x7f6", "6" * 65, 12, None])
def test_a_row_whose_id_is_none_is_told_of_beside_the_others(named: object) -> None:
    """What is to be the same in rows of one id is not asked of it; another row's length is told of all the same."""
    with pytest.raises(Problem) as refused:
        body({"id": named}, {"length": 151})
    assert {"#/stock/1/id", "#/stock/2/length"} <= {error.pointer for error in refused.value.errors}


def test_dates_may_come_in_any_order() -> None:
    """What February says goes before what January says, wherever they stand; another January price before both."""
    kept = body({"from": "2027-02-01", "code": "PS-2"}, {"from": "2027-01-01", "price": "10", "code": "PS-1"})
    assert [(row["price"], row["code"]) for row in (held(kept, f"2027-0{month}-10") for month in (1, 2))] == [
        ("10", "PS-1"), ("10", "PS-2"),
    ]  # fmt: skip
