"""``Prefer: wait``: what was granted is said, and nothing is said where it was not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.shed import SHED
from tests.support.stack import Stack, stack
from workers.queues import BATCH, INTERACTIVE


@pytest.fixture(scope="module")
def hasty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers where one caller may wait, for a second at most."""
    folder: Path = tmp_path_factory.mktemp("hasty") / "data"
    with stack(folder, longest_wait=1, most_waiters=1) as running:
        yield running


def test_the_wait_that_was_granted_is_said(hasty: Stack) -> None:
    """Of 9999 seconds one is granted here; a shorter wait is granted whole (RFC 7240, 3)."""
    assert hasty.post(SHED, Prefer="wait=9999").headers["Preference-Applied"] == "wait=1"
    assert hasty.post(SHED, Prefer="wait=0").headers["Preference-Applied"] == "wait=0"


def test_thirty_seconds_are_granted_at_most(serving: Stack) -> None:
    """As the contract says; the answer comes as soon as the plan is there."""
    assert serving.post(SHED, Prefer="wait=9999").headers["Preference-Applied"] == "wait=30"


def test_no_wait_is_claimed_where_nobody_was_waited_for(hasty: Stack) -> None:
    """As many as may wait are waiting: the answer comes at once, and claims no preference."""
    assert hasty.app.extensions["lapstock"].waiters.acquire(blocking=False)
    try:
        answer = hasty.post(SHED, Prefer="wait=10")
    finally:
        hasty.app.extensions["lapstock"].waiters.release()
    assert (answer.status_code, "Preference-Applied" in answer.headers) == (202, False)


def test_no_wait_is_claimed_that_nobody_asked_for(hasty: Stack) -> None:
    """Without the header, or with another preference, there is nothing to claim."""
    for prefer in ({}, {"Prefer": "return=minimal"}):
        assert "Preference-Applied" not in hasty.post(SHED, **prefer).headers


@pytest.mark.parametrize(("prefer", "queue"), [("wait=0", BATCH), ("return=minimal", BATCH), ("wait=1", INTERACTIVE)])
def test_only_who_waits_goes_before_the_others(hasty: Stack, prefer: str, queue: str) -> None:
    """A wait of no seconds is none: such plans take their turn with the rest."""
    assert hasty.record(hasty.post(SHED, Prefer=prefer).json["id"]).queue == queue


def test_the_wait_for_a_week_is_said_too(hasty: Stack) -> None:
    """A week that is planned on demand heeds the same preference."""
    material = {"id": "p", "category": "siding", "stock": [{"id": "12-6", "length": 150}]}
    address = "/v1/crews/waiting/weeks/2100-W10"
    hasty.client.put(address, json={"units": "in", "materials": [material]})
    answer = hasty.client.post(f"{address}/plan", headers={"Prefer": "wait=60"})
    assert (answer.status_code, answer.headers["Preference-Applied"]) == (202, "wait=1")
