"""Which lengths to stock for the lists of the past: by hand, and against all sets tried one by one."""

from __future__ import annotations

import json
import time
from decimal import Decimal
from itertools import combinations
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from service.cli import main
from service.wire import read_job
from solver import plan_job
from solver.buying.assortment import best_assortments, costs_of, stock_of
from solver.job import Job

PRICES = {"12": (144, "10.00"), "16": (192, "12.00"), "20": (240, "16.00")}


def asked(*wanted: tuple[int, int]) -> dict[str, Any]:
    """Return a request for soffit pieces, which are never lapped: lengths in inches, each with how many."""
    stock = [{"id": name, "length": length, "price": price} for name, (length, price) in PRICES.items()]
    required = [{"material": "soffit", "length": length, "quantity": n} for length, n in wanted]
    materials = [{"id": "soffit", "category": "soffit", "stock": stock}]
    return {"units": "in", "materials": materials, "required": required}


def past(*wanted: tuple[int, int]) -> Job:
    """Return the job of such a request."""
    return read_job(asked(*wanted))


def test_three_lists_by_hand() -> None:
    """3 of 64 cost 20, 12 and 16 from 12, 16 and 20 ft alone; 2 of 72 cost 10, 12 and 16; 200 in come from 20 ft only.

    So one length is 20 ft: 16 + 16 + 16 = 48. Of two, 16 and 20 ft cost 12 + 12 + 16 = 40; 12 and 20 ft 16 + 10 + 16 =
    42. All three cost 38.
    """
    jobs = [past((64, 3)), past((72, 2)), past((200, 1))]
    lengths = [row.id for row in stock_of(jobs, "soffit")]
    found = list(best_assortments(lengths, 3, 3, costs_of(jobs, "soffit", lambda job: plan_job(job, time.monotonic))))
    assert [(one.lengths, one.cost) for one in found] == [
        (("20",), Decimal(48)), (("20", "16"), Decimal(40)), (("20", "16", "12"), Decimal(38)),
    ]  # fmt: skip
    assert found[1].without == {"20": None, "16": 48}


def test_a_list_that_no_length_cuts_has_no_assortment() -> None:
    """200 in are longer than 16 ft."""
    jobs = [past((64, 3)), past((200, 1))]
    cost = costs_of(jobs, "soffit", lambda job: plan_job(job, time.monotonic))
    assert list(best_assortments(["16", "12"], 2, 2, cost)) == []


def test_it_is_told_on_the_terminal(tmp_path: Path) -> None:
    """The figures by hand, and what is wrong in a sentence."""
    files = []
    for number, wanted in enumerate([[(64, 3)], [(72, 2)], [(200, 1)]]):
        files.append(str(tmp_path / f"{number}.json"))
        Path(files[-1]).write_text(json.dumps(asked(*wanted)), encoding="utf-8")
    told = CliRunner().invoke(main, ["assortment", "--material", "soffit", "--most", "2", *files])
    assert told.stdout.splitlines() == [
        "3 lists that want soffit",
        "  lengths         all lists cost  without it",
        "  20'-0\"          48.00",
        "  20'-0\", 16'-0\"  40.00           20'-0\" not cut, 16'-0\" 48.00",
    ]
    as_json = CliRunner().invoke(main, ["assortment", "--json", "--material", "soffit", "--most", "2", *files])
    assert json.loads(as_json.stdout)[1] == {
        "stock": ["20", "16"], "cost": "40.00", "without": {"20": None, "16": "48.00"},
    }  # fmt: skip
    other = CliRunner().invoke(main, ["assortment", "--material", "lath", *files])
    assert (other.exit_code, other.stderr) == (2, "no request wants lath\n")


TABLES = st.lists(st.lists(st.none() | st.integers(1, 9), min_size=4, max_size=4), min_size=1, max_size=5)


@given(table=TABLES, most=st.integers(1, 4))
def test_it_is_the_cheapest_of_all_sets(table: list[list[int | None]], most: int) -> None:
    """Each list costs what the cheapest of the lengths there makes of it; every set is tried."""

    def cost(number: int, lengths: tuple[str, ...]) -> Decimal | None:
        costs = [price for one in lengths if (price := table[number][int(one)]) is not None]
        return Decimal(min(costs)) if costs else None

    def whole(lengths: tuple[str, ...]) -> Decimal | None:
        costs = [cost(number, lengths) for number in range(len(table))]
        return None if None in costs else sum(filter(None, costs), Decimal(0))

    found = {len(one.lengths): one.cost for one in best_assortments("0123", len(table), most, cost)}
    for size in range(1, 5):
        sets = [total for lengths in combinations("0123", size) if (total := whole(lengths)) is not None]
        assert found.get(size) == (min(sets) if sets and size <= most else None)
