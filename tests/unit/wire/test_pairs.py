"""Requests and what is answered to them, a pair for each feature, by hand: so version 1 answers as long as it is there.

An answer may come to say more. ``why`` is the arithmetic.
"""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest

from service.wire import read_job
from service.wire.plans.plan import render_result
from solver import plan_job
from tests.support.found import found_in

PAIRS = sorted((Path(__file__).parents[2] / "data" / "pairs").glob("*.json"))


@pytest.mark.parametrize("pair", PAIRS, ids=lambda path: path.stem)
def test_a_request_is_answered_as_ever(pair: Path) -> None:
    """Everything the pair shows of the answer is in the answer."""
    told = json.loads(pair.read_text("utf-8"))
    job = read_job(told["request"])
    answer = render_result(job, plan_job(job, time.monotonic, lambda: False, lambda _: None))
    assert found_in(answer, told["answer"]), (told["why"], answer)
