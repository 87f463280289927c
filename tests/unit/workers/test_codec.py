"""What is kept in Redis comes back as it was."""

from __future__ import annotations

import gc
import json
import time
import zlib

import pytest

import solver
from solver.job import Job
from solver.plan import CutPlan
from tests import scenario
from tests.unit.wire.test_schemas import EVERYTHING, job_of
from workers.codec import Unreadable, pack, unpack

VARIANTS = [
    scenario.shed, scenario.with_kerf, scenario.with_offcuts, scenario.with_two_lengths, scenario.with_limited_stock,
    scenario.with_spares, scenario.with_cartons, scenario.with_metric, scenario.without_prices,
]  # fmt: skip


@pytest.mark.parametrize("variant", VARIANTS, ids=lambda variant: str(variant.__name__))
def test_jobs_and_plans_come_back_equal(variant: object) -> None:
    """Every variant of the shed and its plan survive being kept."""
    assert callable(variant)
    job = variant()
    plan = solver.plan_job(job, time.monotonic)
    assert unpack(pack(job), Job) == job
    assert unpack(pack(plan), CutPlan) == plan


def test_walls_slopes_and_cut_outs_come_back_too() -> None:
    """A job with every field there is survives being kept."""
    job = job_of(EVERYTHING)
    assert unpack(pack(job), Job) == job


def test_what_is_kept_is_json() -> None:
    """Nothing that could run is ever kept: it is compressed JSON."""
    assert json.loads(zlib.decompress(pack(scenario.shed())))["name"] == "Tern Cottage, boat shed"


@pytest.mark.parametrize("at_work", [True, False])
def test_the_collector_is_left_as_it_was(*, at_work: bool) -> None:
    """It is put off while a plan is read, whether that can be read or not."""
    try:
        if not at_work:
            gc.disable()
        unpack(pack(scenario.shed()), Job)
        assert gc.isenabled() == at_work
        with pytest.raises(Unreadable):
            unpack(b"damaged", Job)
        assert gc.isenabled() == at_work
    finally:
        gc.enable()
