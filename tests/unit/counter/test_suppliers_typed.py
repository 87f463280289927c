"""A supplier as the settings show it: kept again untouched, it is what it was."""

from __future__ import annotations

from decimal import Decimal

import pytest

from service.counter.account_pages import _row, _rows, _supplier
from service.counter.labels import SUPPLIER
from service.http.problems import Problem
from service.wire import limits
from service.wire.particulars import read_company
from solver.job import BelowMinimum, MinimumOrder, Supplier

NONE = Decimal(0)


@pytest.mark.parametrize("supplier", [
    Supplier("North"),
    Supplier("North", delivery=Decimal("12.50"), free_delivery_from=Decimal("500.00")),
    Supplier("North", order_cost=Decimal(4), delivery=Decimal(9), free_delivery_from=NONE),
    Supplier("North", MinimumOrder(Decimal(60), BelowMinimum.MADE_UP)),
    Supplier("North", MinimumOrder(Decimal(60), BelowMinimum.FEE, NONE)),
    Supplier("North", MinimumOrder(NONE, BelowMinimum.REFUSED)),
], ids=["alone", "free from 500", "always free", "made up", "no fee", "no least"])  # fmt: skip
def test_what_is_shown_is_kept_as_it_was(supplier: Supplier) -> None:
    """Nothing and 0 are not the same: delivered free from 0 is always, from nothing never."""
    shown = dict.fromkeys(SUPPLIER, "") | _row(supplier)
    assert read_company({"suppliers": [_supplier(shown)]}).suppliers == (supplier,)


def test_a_supplier_too_many_is_not_left_out_unsaid() -> None:
    """Of 51 that are typed, 51 come to be looked at, and are refused as too many."""
    typed = {f"s{place}-name": f"North {place}" for place in range(limits.SUPPLIERS + 1)}
    with pytest.raises(Problem) as refused:
        read_company({"suppliers": [*map(_supplier, _rows(typed))]})
    assert [error.pointer for error in refused.value.errors] == ["#/suppliers"]
