"""``Prefer: wait``: what was granted is said, and nothing is said where it was not."""

from __future__ import annotations

import json
import os
import signal
import socket
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from math import inf
from pathlib import Path
from threading import Event, Thread

import pytest
import requests

from service.cli.server import THREADS, ApiServer
from service.state import Config
from tests.support.shed import SHED
from tests.support.stack import PATIENCE, Stack, eventually, stack
from workers.notices import Notices
from workers.plans.record import Failure, State
from workers.queues import BATCH, INTERACTIVE


@pytest.fixture(scope="module")
def hasty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers where one caller may wait, for a second at most."""
    folder: Path = tmp_path_factory.mktemp("hasty") / "data"
    with stack(folder, longest_wait=1, most_waiters=1) as running:
        # what is granted is said all the same, and no test waits for it
        running.app.extensions["lapstock"].stopping.set()
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


WHY = Failure("tried", "for the test")


def test_whoever_waits_is_told_of_an_end(alone: Stack) -> None:
    """Of its own plan's, that is: another plan's end wakes nobody else. Cancelled and failed are ends too."""
    mine, other = alone.posted(SHED), alone.posted(SHED)
    notices = Notices(alone.store.redis)
    with notices.of(mine) as news:
        subscribed(news)
        with notices.of(other) as others:
            assert alone.store.start(mine, 1)
            assert alone.store.finish(mine, 1, State.FAILED, WHY, 5)
            assert news.wait(PATIENCE)
            assert not others.is_set()
            alone.store.give_up(alone.record(other), State.CANCELLED)
            assert others.wait(PATIENCE)


def subscribed(event: Event) -> None:
    """Wait until notices are heard, of which everybody is told once who waits by then."""
    assert event.wait(PATIENCE)
    event.clear()


def test_notices_are_heard_again_once_redis_is_back(alone: Stack) -> None:
    """Whoever waits looks once more then: what ended meanwhile was told to nobody."""
    plan_id = alone.posted(SHED)
    with Notices(alone.store.redis).of(plan_id) as news:
        subscribed(news)
        os.kill(alone.redis.pid, signal.SIGKILL)
        eventually(lambda: not alone.redis.alive())
        alone.redis.start()
        subscribed(news)
        alone.store.give_up(alone.record(plan_id), State.CANCELLED)
        assert news.wait(PATIENCE)


def test_a_lost_notice_costs_a_look_and_no_answer(alone: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody is told of anything, and the answer is the finished plan all the same."""

    @contextmanager
    def silent(_: Notices, __: str) -> Iterator[Event]:
        yield Event()

    monkeypatch.setattr(Notices, "of", silent)
    alone.start_worker()
    answer = alone.post(SHED, Prefer="wait=30")
    assert (answer.status_code, answer.json["state"]) == (200, "succeeded")


@contextmanager
def served(installation: Stack) -> Iterator[tuple[ApiServer, Event]]:
    """Yield a server of an installation, and what stops it."""
    server, stop = ApiServer(installation.app, "127.0.0.1", 0), Event()
    serving = Thread(target=server.serve, args=(stop.is_set,))
    serving.start()
    try:
        yield server, stop
    finally:
        stop.set()
        serving.join(PATIENCE)


def asked(server: ApiServer, **headers: str) -> requests.Response:
    """Post a request to plan under one key, so that all of them wait for one plan."""
    headers = {"Prefer": "wait=30", "Idempotency-Key": "all", "Connection": "close", **headers}
    return requests.post(f"http://127.0.0.1:{server.port}/v1/cut-plans", json=SHED, headers=headers, timeout=PATIENCE)


def test_who_waits_holds_no_thread(alone: Stack) -> None:
    """Four times as many wait as there are threads, and others are served; all are told as soon as the plan is over."""
    with served(alone) as (server, _), ThreadPoolExecutor(4 * THREADS) as pool:
        answers = [pool.submit(asked, server) for _ in range(4 * THREADS)]
        eventually(lambda: server.held == 4 * THREADS)
        plan = alone.record(asked(server, Prefer="wait=0").json()["id"])
        assert alone.store.give_up(plan, State.CANCELLED)
        told = [each.result() for each in answers]
        assert server.held == 0
    assert {(each.status_code, each.json()["state"]) for each in told} == {(200, "cancelled")}
    assert {each.headers["Preference-Applied"] for each in told} == {"wait=30"}
    # what was done before it was held is not done again: it was counted, and has its number
    assert all(each.headers["RateLimit"] and each.headers["Request-Id"] for each in told)


def test_who_waits_is_answered_once_the_time_is_over_and_once_the_server_stops(alone: Stack) -> None:
    """The plan is on its way, and nobody is cut off."""
    with served(alone) as (server, stop), ThreadPoolExecutor(1) as pool:
        short = asked(server, Prefer="wait=1")
        assert (short.status_code, short.headers["Preference-Applied"]) == (202, "wait=1")
        answer = pool.submit(asked, server)
        eventually(lambda: server.held == 1)
        stop.set()
        assert answer.result().status_code == 202


def test_who_hangs_up_leaves_the_seat_to_others(alone: Stack) -> None:
    """Nothing else would wake it: there is no news, and its time is never over."""
    with served(alone) as (server, _), socket.create_connection(("127.0.0.1", server.port)) as caller:
        body = json.dumps(SHED)
        head = f"Host: localhost\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\nPrefer: wait=30"
        caller.sendall(f"POST /v1/cut-plans HTTP/1.1\r\n{head}\r\n\r\n{body}".encode())
        eventually(lambda: server.held == 1)
        (seat,) = server._seats.held
        seat.due = inf
        caller.close()
        eventually(lambda: server.held == 0)
        assert not server._server.active_channels


def test_as_many_may_wait_as_the_environment_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each holds a connection."""
    monkeypatch.setenv("LAPSTOCK_MOST_WAITERS", "100")
    assert Config.from_environment("redis://none").most_waiters == 100
