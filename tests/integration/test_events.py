"""``/v1/cut-plans/{id}/events``: what a follower hears, in which order, and how many may follow."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import requests

from service.cli.server import THREADS
from service.client import Client
from service.state import Followers
from tests.support.chromium import served
from tests.support.shed import SHED, shed
from tests.support.stack import Stack, eventually, stack

Json = dict[str, Any]


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation with a worker that does as it is told, where a stream lasts a second."""
    folder: Path = tmp_path_factory.mktemp("followed") / "data"
    with stack(folder, longest_wait=1) as running:
        running.start_worker(stubbed=True)
        yield running


@pytest.fixture(scope="module")
def address(followed: Stack) -> Iterator[str]:
    """Yield its address, served as in an installation."""
    with served(followed.app) as where:
        yield where


def events(stack: Stack, plan_id: str, last: str = "") -> list[Json]:
    """Return the events of one stream, each by its fields, its data read."""
    headers = {"Last-Event-ID": last} if last else {}
    with stack.client.get(f"/v1/cut-plans/{plan_id}/events", headers=headers) as answer:
        assert answer.content_type.partition(";")[0] == "text/event-stream"
    blocks = [block.splitlines() for block in answer.text.split("\n\n") if block not in ("", ":")]
    told = [dict(line.split(": ", 1) for line in lines) for lines in blocks]
    return [{**block, "data": json.loads(block["data"])} for block in told]


def test_a_plan_is_followed_to_its_end(followed: Stack) -> None:
    """Over several streams: queued or running, a plan of 60.00 and no other below 55.50, then its end at 68.60."""
    plan_id, heard = followed.posted(shed(name="hang")), list[Json]()
    while not heard or heard[-1]["event"] != "end":
        heard += events(followed, plan_id, heard[-1]["id"] if heard else "")
        if heard[-1]["data"]["progress"]["cost"] == 60:
            followed.client.post(f"/v1/cut-plans/{plan_id}/cancel")
    found = [(one["event"], one["data"]["state"], one["data"]["progress"]["cost"]) for one in heard]
    assert found[-2:] == [("progress", "running", 60.0), ("end", "cancelled", 68.6)]
    assert heard[-2]["data"]["progress"] == {
        "cost": 60.0, "bound": 55.5, "phase": "searching", "cost_unit": "money", "left_out": [],
    }  # fmt: skip
    assert len({one["id"] for one in heard}) == len(heard)


def test_what_is_over_is_told_once(followed: Stack) -> None:
    """A browser's EventSource comes again by itself; 204 ends that (WHATWG HTML, 9.2.3). A failure says why."""
    plan_id = followed.posted(shed(name="broken"))
    followed.settled(plan_id)
    (end,) = events(followed, plan_id)
    assert (end["event"], end["data"]["state"], end["data"]["problem"]["code"]) == ("end", "failed", "internal_error")
    told = followed.client.get(f"/v1/cut-plans/{plan_id}/events", headers={"Last-Event-ID": end["id"]})
    assert (told.status_code, told.text) == (204, "")


def test_no_more_may_follow_than_there_is_room_for(followed: Stack) -> None:
    """Eight of one client, and of all as many as the server has room for; who looks at the headers alone takes none."""
    address, service = f"/v1/cut-plans/{followed.posted(SHED)}/events", followed.app.extensions["lapstock"]
    followed.settled(address.split("/")[3])
    with ExitStack() as others:
        for _ in range(Followers.MOST_EACH):
            others.enter_context(service.followers.one_more("anybody"))
        told = followed.client.get(address)
        assert (told.status_code, told.json["type"], told.headers["Retry-After"]) == (429, "/problems/too-many", "5")
        assert followed.client.head(address).status_code == 200
    with ExitStack() as others:
        while service.waiters.acquire(blocking=False):
            others.callback(service.waiters.release)
        told = followed.client.get(address)
        assert (told.status_code, told.json["type"], told.headers["Retry-After"]) == (503, "/problems/busy", "5")
    for _ in range(2 * Followers.MOST_EACH):
        assert followed.client.get(address).status_code == 200


def test_a_client_hears_the_end_by_itself(followed: Stack, address: str) -> None:
    """Served as in an installation: the stream of a running plan is cut off after a second, and gone on with."""
    with Client(address) as client:
        plan_id = followed.posted(shed(name="hang"))
        heard = list[Json]()
        for told in client.follow(plan_id):
            heard.append(told)
            if told["progress"]["cost"] == 60:
                Thread(target=client.cancel, args=(plan_id,)).start()
        assert [told["state"] for told in heard][-2:] == ["running", "cancelled"]
        assert list(client.follow(plan_id)) == heard[-1:]


def test_more_follow_than_there_are_threads(followed: Stack, address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of them are answered at once and hear the end, and so is whoever asks for something else meanwhile."""
    service = followed.app.extensions["lapstock"]
    monkeypatch.setattr(Followers, "MOST_EACH", THREADS + 4)
    monkeypatch.setattr(service, "config", replace(service.config, longest_wait=30))
    busy, plan_id = followed.posted(shed(name="hang")), followed.posted(shed(name="hang"))
    with ExitStack() as closing:
        streams = [
            closing.enter_context(requests.get(f"{address}/v1/cut-plans/{plan_id}/events", stream=True, timeout=15))
            for _ in range(THREADS + 4)
        ]
        for one in (plan_id, busy):
            assert requests.post(f"{address}/v1/cut-plans/{one}/cancel", timeout=15).ok
        assert [stream.text.count("event: end") for stream in streams] == [1] * len(streams)
    eventually(lambda: service.followers._now.total() == 0)
