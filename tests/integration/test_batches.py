"""Many requests in one body: an answer for each, and one key for all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.support.shed import SHED, shed
from tests.support.stack import Stack, stack
from workers.queues import depths

ADDRESS = "/v1/cut-plan-batches"


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers, where five plans of a client may wait and forty be asked for a minute."""
    with stack(tmp_path_factory.mktemp("batches"), most_waiting=5, rate=40) as running:
        yield running


@pytest.fixture
def running(installed: Stack) -> Stack:
    """Return it with nothing in it."""
    installed.store.redis.flushdb()
    return installed


def post(running: Stack, *requests: object, key: str | None = None) -> Any:  # noqa: ANN401
    """Post a batch."""
    headers = {"Idempotency-Key": key} if key else {}
    return running.client.post(ADDRESS, json={"requests": requests}, headers=headers)


def test_each_is_accepted_or_refused_by_itself(running: Stack) -> None:
    """Of three the second asks for a length that there is not: it says so as it would alone, and two are queued."""
    wrong = shed(units="furlong")
    answer = post(running, SHED, wrong, shed(name="second"))
    assert answer.status_code == 200, answer.text
    first, refused, last = answer.json["answers"]
    assert [one["plan"]["state"] for one in (first, last)] == ["queued", "queued"]
    assert [one["plan"]["name"] for one in (first, last)] == [SHED["name"], "second"]
    assert (first["problem"], last["problem"], refused["plan"]) == (None, None, None)
    alone = running.client.post("/v1/cut-plans", json=wrong).json
    assert refused["problem"] == {name: value for name, value in alone.items() if name != "instance"}
    assert running.client.get(f"/v1/cut-plans/{first['plan']['id']}").json["number"] == first["plan"]["number"]
    assert depths(running.store.redis)["batch"] == 2


def test_sent_again_it_is_the_same_plans(running: Stack) -> None:
    """Two alike in one batch are two plans; the repeat gives both again, and takes the refused one put right."""
    sent = post(running, SHED, SHED, shed(units="furlong"), key="night-48").json["answers"]
    again = post(running, SHED, SHED, SHED, key="night-48").json["answers"]
    assert [one["plan"] and one["plan"]["id"] for one in sent[:2]] == [one["plan"]["id"] for one in again[:2]]
    assert len({one["plan"]["id"] for one in again}) == 3
    assert sent[2]["problem"]["type"] == "/problems/unplannable"


def test_another_request_in_a_place_is_refused(running: Stack) -> None:
    """A key says which request stood where; only the one that changed is refused."""
    post(running, SHED, SHED, key="mixed-up")
    first, second = post(running, SHED, shed(name="another house"), key="mixed-up").json["answers"]
    assert (first["problem"], second["problem"]["type"]) == (None, "/problems/key-reused")


def test_as_many_are_accepted_as_may_wait(running: Stack) -> None:
    """Of six, five may wait; the last is to come again."""
    answers = post(running, *[SHED] * 6).json["answers"]
    assert [bool(one["plan"]) for one in answers] == [True] * 5 + [False]
    assert answers[5]["problem"]["type"] == "/problems/busy"


def test_each_counts_against_the_limit(running: Stack) -> None:
    """Thirty of forty leave ten: twelve are too many, and none of them is read; a single one may come."""
    assert post(running, *[{}] * 30).status_code == 200
    refused = post(running, *[{}] * 12)
    assert (refused.status_code, refused.json["type"]) == (429, "/problems/too-many")
    assert running.post(SHED).status_code == 202


@pytest.mark.parametrize(("body", "pointer", "code"), [
    ({}, "#/requests", "missing"),
    ({"requests": []}, "#/requests", "wrong_size"),
    ({"requests": [{}] * 101}, "#/requests", "wrong_size"),
    ({"requests": [{}, 3]}, "#/requests/1", "wrong_type"),
    ({"requests": [{}], "wait": 3}, "#/wait", "unknown_field"),
])  # fmt: skip
def test_what_is_no_batch_is_refused_whole(running: Stack, body: object, pointer: str, code: str) -> None:
    """Nothing of it is accepted, and where it is wrong is said."""
    answer = running.client.post(ADDRESS, json=body)
    assert answer.status_code == 422
    assert [(error["pointer"], error["code"]) for error in answer.json["errors"]] == [(pointer, code)]
