"""Callbacks: who is told that a plan is over, how often it is tried, and what the receiver gets."""

from __future__ import annotations

import hmac
import json
from base64 import b64decode
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from ipaddress import ip_network
from queue import Queue
from threading import Thread
from typing import Any

import pytest

from tests.support.contract import contract
from tests.support.measured import MEASURED
from tests.support.shed import SHED
from tests.support.stack import PATIENCE, Stack, stack
from workers.callbacks import Rules, Silent, origin_of
from workers.messenger import PAUSES, Messenger
from workers.plans.record import Failure, State
from workers.plans.scripts import CALLBACKS

HERE = (ip_network("127.0.0.0/8"),)
WHY = Failure("tried", "for the test")


class Receiver(ThreadingHTTPServer):
    """A caller's own server: answers ``says`` in turn, 204 after that, and keeps what came."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.says: list[int] = []
        self.came: Queue[tuple[Any, bytes]] = Queue()
        self.origin = f"http://127.0.0.1:{self.server_port}"
        self.rules = Rules(frozenset({origin_of(self.origin)}), HERE, b"a secret of twenty-four or more")


class _Handler(BaseHTTPRequestHandler):
    def do_POST(self) -> None:
        """Keep what came."""
        server: Any = self.server
        server.came.put((self.headers, self.rfile.read(int(self.headers["Content-Length"]))))
        self.send_response(server.says.pop(0) if server.says else 204)
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def receiver() -> Iterator[Receiver]:
    """Yield a receiver."""
    with Receiver() as server:
        Thread(target=server.serve_forever, args=(0.02,)).start()
        yield server
        server.shutdown()


@pytest.fixture(scope="module")
def calling(tmp_path_factory: pytest.TempPathFactory, receiver: Receiver) -> Iterator[Stack]:
    """Yield an installation without workers that may call the receiver."""
    with stack(tmp_path_factory.mktemp("calling"), callbacks=receiver.rules) as running:
        yield running


@pytest.fixture
def messenger(calling: Stack, receiver: Receiver) -> Messenger:
    """Return a messenger that delivers when it is told to."""
    receiver.says.clear()
    return Messenger(calling.store.redis, receiver.rules)


def over(calling: Stack, receiver: Receiver, **told: Any) -> str:  # noqa: ANN401
    """Return a plan that has ended, whose asker is to be called back."""
    plan_id = calling.posted({**SHED, "callback": f"{receiver.origin}/planned", **told})
    assert calling.store.start(plan_id, 1)
    assert calling.store.finish(plan_id, 1, State.FAILED, WHY, 5)
    return plan_id


def acts(calling: Stack, plan_id: str) -> list[tuple[str, str]]:
    """Return what was done to a plan, in short."""
    return [(deed.act, deed.detail) for deed in calling.record(plan_id).deeds]


def test_the_receiver_is_told_once_and_can_tell_that_it_is_us(
    calling: Stack, receiver: Receiver, messenger: Messenger
) -> None:
    """What comes is as the contract has it, signed with the client's secret; the history says that it came."""
    plan_id = over(calling, receiver, particulars={"ref": "estimate 2041"})
    assert (messenger.deliver(), messenger.deliver()) == (True, False)
    headers, body = receiver.came.get(timeout=PATIENCE)
    told = json.loads(body)
    operation = contract().document["webhooks"]["over"]["post"]
    schema = operation["requestBody"]["content"]["application/json"]["schema"]
    assert contract().faults(schema, told) == []
    assert told["data"] == {
        "id": plan_id, "number": calling.record(plan_id).number, "state": "failed", "ref": "estimate 2041",
    }  # fmt: skip
    assert {each["name"] for each in operation["parameters"]} <= {name.lower() for name in headers}
    key = b64decode(receiver.rules.secret_of("anybody").removeprefix("whsec_"))
    signed = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
    given = b64decode(headers["webhook-signature"].removeprefix("v1,"))
    assert hmac.compare_digest(given, hmac.digest(key, signed, "sha256"))
    assert acts(calling, plan_id)[-1] == ("told", "204, at try 1")


def test_whoever_is_not_there_is_called_again(calling: Stack, receiver: Receiver, messenger: Messenger) -> None:
    """After five seconds the second time; the id of the message is the same. A dead messenger's call is another's."""
    plan_id, redis = over(calling, receiver), calling.store.redis
    receiver.says[:] = [500]
    assert messenger.deliver()
    assert 0 <= (redis.zscore(CALLBACKS, plan_id) or 0) - redis.time()[0] + 1 <= PAUSES[0] + 1
    assert not messenger.deliver()
    redis.zadd(CALLBACKS, {plan_id: 0})
    assert messenger.deliver()
    ids = [receiver.came.get(timeout=PATIENCE)[0]["webhook-id"] for _ in range(2)]
    assert ids == [f"{plan_id}-over"] * 2
    assert acts(calling, plan_id)[-1] == ("told", "204, at try 2")


@pytest.mark.parametrize(("says", "tries", "detail"), [
    ([500] * 9, 9, "500, at try 9"),
    ([302] * 9, 9, "302, at try 9"),
    ([410], 1, "410, at try 1"),
])  # fmt: skip
def test_in_the_end_it_is_given_up(
    calling: Stack, receiver: Receiver, messenger: Messenger, says: list[int], tries: int, detail: str
) -> None:
    """After a day of tries, or when the receiver says that it is gone; a redirect is not followed."""
    plan_id = over(calling, receiver)
    receiver.says[:] = says
    for _ in range(tries):
        calling.store.redis.zadd(CALLBACKS, {plan_id: 0})
        assert messenger.deliver()
    assert acts(calling, plan_id)[-1] == ("not_told", detail)
    assert calling.store.redis.zscore(CALLBACKS, plan_id) is None
    while not receiver.came.empty():
        receiver.came.get()


def test_whoever_is_silent_keeps_nobody_else_waiting(
    calling: Stack, receiver: Receiver, messenger: Messenger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A call that is not answered takes ten seconds: what else is due there just then counts as tried without one.

    Once it has been left alone a moment it is called again.
    """
    called: list[str] = []

    def nobody_answers(_: Rules, address: str, *__: object) -> int:
        called.append(address)
        raise Silent("no answer within 10 seconds")

    monkeypatch.setattr("workers.messenger.call", nobody_answers)
    plans = [over(calling, receiver) for _ in range(3)]
    assert [messenger.deliver() for _ in range(4)] == [True, True, True, False]
    assert len(called) == 1
    monkeypatch.setattr("workers.messenger.LEFT_ALONE_SECONDS", 0)
    again = Messenger(calling.store.redis, receiver.rules)
    for plan_id in plans:
        calling.store.redis.zadd(CALLBACKS, {plan_id: 0})
        assert again.deliver()
    assert len(called) == 4
    for plan_id in plans:
        assert calling.store.forget(plan_id)
        calling.store.redis.zrem(CALLBACKS, plan_id)


def test_where_tries_can_not_be_counted_they_begin_anew(
    calling: Stack, receiver: Receiver, messenger: Messenger
) -> None:
    """The receiver is told, whether one count is damaged or all are."""
    redis, tries = calling.store.redis, "lapstock:callback-tries"
    for all_of_them in (False, True):
        plan_id = over(calling, receiver)
        redis.hset(tries, plan_id, "many")
        if all_of_them:
            redis.delete(tries)
            redis.set(tries, 1)
        assert messenger.deliver()
        assert receiver.came.get(timeout=PATIENCE)
        assert redis.zscore(CALLBACKS, plan_id) is None


def test_what_goes_wrong_each_time_is_given_up(
    calling: Stack, receiver: Receiver, messenger: Messenger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever it is: after as many tries as any has, it is due no more."""
    plan_id = over(calling, receiver)
    monkeypatch.setattr("workers.messenger.message", lambda _: 1 / 0)
    for _ in PAUSES:
        calling.store.redis.zadd(CALLBACKS, {plan_id: 0})
        with pytest.raises(ZeroDivisionError):
            messenger.deliver()
    calling.store.redis.zadd(CALLBACKS, {plan_id: 0})
    assert messenger.deliver()
    assert calling.store.redis.zscore(CALLBACKS, plan_id) is None


def test_of_a_plan_that_is_forgotten_nobody_is_told(calling: Stack, receiver: Receiver, messenger: Messenger) -> None:
    """Nor of one without a callback; one whose origin is allowed no more is not called."""
    plan_id = over(calling, receiver)
    assert calling.store.forget(plan_id)
    assert messenger.deliver()
    barred = over(calling, receiver)
    assert Messenger(calling.store.redis, Rules()).deliver()
    assert acts(calling, barred)[-1] == ("not_told", "this server makes no callbacks, at try 1")
    calling.store.give_up(calling.record(calling.posted(SHED)), State.CANCELLED)
    assert not messenger.deliver()
    assert receiver.came.empty()


def test_an_address_that_is_not_called_is_refused(calling: Stack, receiver: Receiver) -> None:
    """At once, asked for in earnest or not; what was measured is handed on with its own."""
    for query in ("", "?dry_run=true"):
        told = calling.client.post(f"/v1/cut-plans{query}", json={**SHED, "callback": "https://elsewhere.example/"})
        assert told.status_code == 422
        assert [(error["pointer"], error["code"]) for error in told.json["errors"]] == [("#/callback", "not_called")]
    asked = {**MEASURED, "callback": f"{receiver.origin}/planned"}
    assert calling.client.post("/v1/takeoffs?plan=true", json=asked).json["callback"] == asked["callback"]


def test_a_worker_tells_by_itself(calling: Stack, receiver: Receiver, monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan of the shed is made and its asker called, with the settings of the environment."""
    monkeypatch.setenv("LAPSTOCK_CALLBACK_ORIGINS", receiver.origin)
    monkeypatch.setenv("LAPSTOCK_CALLBACK_NETWORKS", "127.0.0.0/8")
    monkeypatch.setenv("LAPSTOCK_CALLBACK_SECRET", "x" * 24)
    calling.start_worker()
    plan_id = calling.posted({**SHED, "callback": receiver.origin}, Prefer="wait=30")
    _, body = receiver.came.get(timeout=PATIENCE)
    assert json.loads(body)["data"]["id"] == plan_id
