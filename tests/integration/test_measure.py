"""The page for what was measured as the server sees it, once the plan that it was opened from is gone."""

from __future__ import annotations

from html import unescape

from tests.support.forms import fields_of
from tests.support.measured import MEASURED
from tests.support.stack import Stack


def test_a_plan_that_is_gone_takes_no_measurements_with_it(alone: Stack) -> None:
    """Said once, with every figure still there; planned at the next press, without what the page does not show."""
    plan_id = alone.client.post("/v1/takeoffs?plan=true", json=MEASURED).json["id"]
    opened = fields_of(alone.client.get(f"/measure?plan={plan_id}").text)
    alone.store.redis.flushall()
    told = alone.client.post("/measure", data=opened | {"do": "plan"})
    assert told.status_code == 422
    assert "is no longer kept" in unescape(told.text)
    again = fields_of(told.text)
    assert {**again, "plan": plan_id} == opened
    led = alone.client.post("/measure", data=again | {"do": "plan"})
    assert led.status_code == 303
    kept = alone.client.get(f"{led.headers['Location'].replace('/plans/', '/v1/cut-plans/')}/measured").json
    assert [wall["id"] for wall in kept["walls"]] == ["west", "south"]
