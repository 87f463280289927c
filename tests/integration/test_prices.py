"""Where one material has prices and another has none: no sum passes for the whole, anywhere.

Tern Cottage, boat shed, with three pieces of 100 in of channel from 150 in sticks that nobody has priced: six panels
are 58.80, and what three sticks of channel cost nobody knows.
"""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from click.testing import CliRunner

from service.cli import main
from service.wire import read_job
from solver import plan_job
from tests.support.shed import SHED, shed
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, week
from workers.weeks.record import WeekKey
from workers.weeks.store import WeekStore

CHANNEL: dict[str, Any] = {"id": "channel", "category": "channel", "stock": [{"id": "12-6", "length": 150}]}
MIXED = shed(
    materials=[CHANNEL, *SHED["materials"]],
    required=[{"mark": "D", "material": "channel", "length": 100, "quantity": 3}, *SHED["required"]],
)
WORDS = "No total: channel has no price."


@pytest.fixture(scope="module")
def planned(serving: Stack) -> Any:  # noqa: ANN401
    """Return the finished plan's resource."""
    return serving.post(MIXED, Prefer="wait=30").json


def test_there_is_no_total_of_an_order_with_a_line_nobody_has_priced(planned: Any) -> None:  # noqa: ANN401
    """58.80 would be too low: the total is null, and ``unpriced`` says for want of what."""
    result = planned["result"]
    assert (result["order_total"], result["unpriced"]) == (None, ["channel"])
    assert [line["amount"] for line in result["order"]] == [None, "58.80"]


def test_progress_says_what_it_leaves_out(planned: Any) -> None:  # noqa: ANN401
    """Its figures are money, of the panels alone."""
    money = {key: value for key, value in planned["progress"].items() if key != "phase"}
    assert money == {"cost": 58.8, "bound": 58.8, "cost_unit": "money", "left_out": ["channel"]}


def test_progress_never_tells_a_length_as_money() -> None:
    """The material without a price is planned first: until the panels' turn the cost so far is nothing."""
    told: list[float] = []
    plan_job(read_job(MIXED), lambda: 0.0, report=lambda progress: told.append(float(progress.cost)))
    assert max(told) < 100


def test_every_paper_says_that_there_is_no_total(serving: Stack, planned: Any) -> None:  # noqa: ANN401
    """The sheet, the page and the terminal say why; none prints a sum."""
    sheet = serving.client.get(f"/v1/cut-plans/{planned['id']}/customer-copy.html").text
    page = serving.client.get(f"/plans/{planned['id']}").text
    told = CliRunner().invoke(main, ["plan", "-"], input=json.dumps(MIXED)).stdout
    for text in (sheet, page, told):
        assert WORDS in text
    assert ">Total<" not in sheet + page
    assert "total 58.80" not in told


@pytest.mark.parametrize(("body", "total", "unpriced"), [
    (SHED, "58.80", []),
    (shed(materials=[CHANNEL | {"id": "panel-sand"}]), None, ["panel-sand"]),
    (MIXED | {"offcuts": [{"id": "R", "material": "channel", "length": 110, "quantity": 3}]}, "58.80", []),
])  # fmt: skip
def test_an_order_has_a_total_where_everything_on_it_has_a_price(
    serving: Stack, body: Any, total: str | None, unpriced: list[str]  # noqa: ANN401
) -> None:
    """All priced; nothing priced, which no word is lost about; the unpriced material cut from what is on hand."""
    answer = serving.post(body, Prefer="wait=30").json
    result = answer["result"]
    assert (result["order_total"], result["unpriced"]) == (total, unpriced)
    assert "No total" not in serving.client.get(f"/plans/{answer['id']}").text


def test_the_bill_of_a_week_is_no_sum_either(serving: Stack) -> None:
    """A crew's week: panels at 9.80 on Monday's order, and channel that nobody has priced."""
    serving_week = in_another_week(week(), 2100, 10)
    job = read_job(MIXED)
    materials = (*serving_week.materials, *(each for each in job.materials if each.id == "channel"))
    jobs = (*serving_week.jobs, replace(serving_week.jobs[0], id="trim", required=job.required[:1]))
    key = WeekKey("anybody", "mixed", "2100-W10")
    WeekStore(serving.store.redis).change(key, lambda _: replace(serving_week, materials=materials, jobs=jobs))
    address = "/v1/crews/mixed/weeks/2100-W10"
    plan = serving.client.post(f"{address}/plan", headers={"Prefer": "wait=30"}).json["plan"]
    assert (plan["bill"], plan["unpriced"]) == (None, ["channel"])
    assert [(order["total"], order["unpriced"]) for order in plan["orders"]] == [(None, ["channel"])]
    (run,) = serving.client.get(f"{address}/runs").json["runs"]
    assert run["bill_after"] is None
    day = plan["orders"][0]["date"]
    for sheet in ("page.html", f"deliveries/{day}/order.html"):
        assert WORDS in serving.client.get(f"{address}/{sheet}").text
