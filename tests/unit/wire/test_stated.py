"""What a result states is what the plan gives, in every variant of the shed and in every unit."""

from __future__ import annotations

import json
import time
from dataclasses import replace
from decimal import Decimal
from itertools import count

import pytest

import solver
from service.routes.plan_checks import misstatements
from service.wire.numbers import UNITS
from service.wire.plans.plan import ResultSchema, render_result
from service.wire.plans.plan_check import plan_of
from solver.checking import check
from solver.lengths import Unit
from tests import scenario
from tests.scenario import inches

VARIANTS = (
    "shed", "with_kerf", "with_offcuts", "with_two_lengths", "with_limited_stock", "with_spares", "with_cartons",
    "with_metric", "without_prices", "north_wall",
)  # fmt: skip


@pytest.mark.parametrize("unit", Unit)
@pytest.mark.parametrize("variant", VARIANTS)
def test_a_result_handed_back_states_nothing_else(variant: str, unit: Unit) -> None:
    """Rendered, sent as JSON and read again, a plan passes the checker and misstates nothing."""
    job = replace(getattr(scenario, variant)(), units=unit)
    plan = solver.plan_job(job, time.monotonic)
    posted = json.loads(json.dumps(render_result(job, plan, all_sticks=True)), parse_float=Decimal)
    token = UNITS.set(unit)
    try:
        read = plan_of(job, ResultSchema().load(posted))
    finally:
        UNITS.reset(token)
    assert check(job, read) == ()
    assert list(misstatements(posted, render_result(job, read, all_sticks=True), unit, "#")) == []


def test_a_plan_cut_short_that_might_cut_more_is_right_when_handed_back() -> None:
    """Two panels, no time: what is left of them might fit an uncut piece, and the plan claims nothing else."""
    items = tuple(replace(scenario.B, length=inches(n), quantity=k) for n, k in ((60, 3), (50, 6), (88, 2)))
    job = replace(scenario.with_limited_stock(), required=items)
    panel = replace(job.materials[0], stock=(replace(scenario.PANEL_12_6, available=2),))
    job = replace(job, materials=(panel,))
    late = count(0, 60)
    plan = solver.plan_job(job, lambda: float(next(late)))
    assert not plan.materials[0].least_uncut
    posted = json.loads(json.dumps(render_result(job, plan, all_sticks=True)), parse_float=Decimal)
    assert check(job, plan_of(job, ResultSchema().load(posted))) == ()
