"""An Idempotency-Key makes a repeat harmless."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from tests.support.shed import SHED, shed
from tests.support.stack import Stack
from workers.queues import depths


def test_forty_posts_at_once_under_one_key_are_one_plan(alone: Stack) -> None:
    """Forty clients' threads post the same request with the same key: one plan, one job, one address."""

    def post(_: int) -> Any:  # noqa: ANN401
        return alone.post(SHED, Idempotency_Key='"5b1f"')

    with ThreadPoolExecutor(40) as pool:
        answers = list(pool.map(post, range(40)))
    assert {answer.status_code for answer in answers} == {202}
    assert len({answer.headers["Location"] for answer in answers}) == 1
    assert sum(depths(alone.store.redis).values()) == 1


def test_the_repeat_of_a_finished_plan_gives_its_result(serving: Stack) -> None:
    """Posted again under its key, a finished plan comes back as it is."""
    first = serving.post(SHED, Idempotency_Key="finished-1", Prefer="wait=30")
    again = serving.post(SHED, Idempotency_Key="finished-1")
    assert (again.status_code, again.json) == (200, first.json)


def test_spacing_and_order_of_keys_do_not_matter(alone: Stack) -> None:
    """The same request written differently is the same request."""
    turned = dict(reversed(SHED.items()))
    ids = {alone.posted(body, Idempotency_Key="same-words") for body in (SHED, turned)}
    assert len(ids) == 1


def test_a_key_used_for_another_request_is_refused(alone: Stack) -> None:
    """The same key with a different request is the client's mistake, and says so."""
    alone.posted(SHED, Idempotency_Key="mixed-up")
    answer = alone.post(shed(name="another house"), Idempotency_Key="mixed-up")
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/key-reused")


def test_a_refused_request_does_not_use_up_its_key(alone: Stack) -> None:
    """A key that came with a body that can't be planned may come again with a better one."""
    assert alone.post(shed(units="furlong"), Idempotency_Key="try-again").status_code == 422
    assert alone.post(SHED, Idempotency_Key="try-again").status_code == 202


def test_a_forgotten_plan_frees_its_key(serving: Stack) -> None:
    """After DELETE the key stands for nothing, and the next request under it is planned."""
    first = serving.posted(SHED, Idempotency_Key="freed", Prefer="wait=30")
    serving.client.delete(f"/v1/cut-plans/{first}")
    assert serving.posted(SHED, Idempotency_Key="freed") != first


@pytest.mark.parametrize("key", ["", " ", "a b", "é", "k" * 256])
def test_a_key_that_is_none_is_refused(alone: Stack, key: str) -> None:
    """A key is 1 to 255 printable ASCII characters without spaces."""
    answer = alone.client.post("/v1/cut-plans", json=SHED, headers={"Idempotency-Key": key})
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-header")
