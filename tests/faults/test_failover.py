"""Redis elsewhere: its master killed under load with sentinels looking on, and spoken to over TLS."""

from __future__ import annotations

import signal
import socket
import subprocess
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
import trustme
from redis import Redis
from redis.exceptions import RedisError

from service.app import create_app
from service.state import Config
from service.wire.contract import EXAMPLES
from service.wire.takeoffs.takeoff import TakeOffSchema
from tests.support.contract import HeldClient
from tests.support.shed import SHED, shed
from tests.support.stack import eventually
from workers.connection import URL_VARIABLE, NoAnswer, patient, require_answer
from workers.local_redis import find_server
from workers.plans.record import State
from workers.plans.store import Store
from workers.process import spawn


def free_port() -> int:
    """Return a port that nobody listens on."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


class Servers:
    """Servers of a test, each in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._running: dict[int, subprocess.Popen[bytes]] = {}

    def start(self, port: int, lines: Sequence[str], *options: str) -> Redis:
        """Start one with these lines of settings and return a client of it."""
        folder = self._folder / str(port)
        folder.mkdir()
        settings = folder / "settings"
        settings.write_text("\n".join((f"dir {folder}", 'save ""', "bind 127.0.0.1", *lines)))
        with (folder / "log").open("wb") as log:
            self._running[port] = subprocess.Popen([find_server(), str(settings), *options], stdout=log, stderr=log)
        return Redis(port=port)

    def kill(self, port: int) -> None:
        """Kill one as a crash would."""
        self._running[port].kill()
        self._running[port].wait()

    def stop(self) -> None:
        """Kill all."""
        for port in self._running:
            self.kill(port)


@pytest.fixture
def servers(tmp_path: Path) -> Iterator[Servers]:
    """Yield servers that end with the test."""
    made = Servers(tmp_path)
    yield made
    made.stop()


def answers(client: Redis) -> bool:
    """Whether a server is there."""
    try:
        return bool(client.ping())
    except RedisError:
        return False


def app_at(url: str, **config: Any) -> Any:  # noqa: ANN401
    """Return a client of an app whose store is at an address."""
    app = create_app(Config(url, rate=10**6, **config))
    app.test_client_class = HeldClient
    return app.test_client()


def test_what_was_acknowledged_outlives_the_master(servers: Servers) -> None:
    """A master and two replicas, of which one must have each plan: the master is killed in the midst of posts.

    Some are told to come back; those that were acknowledged are all made, and new ones are, by the worker there was.
    Who waits for a word of the master in that instant hears it of the next one.
    """
    master, *others = ports = [free_port() for _ in range(3)]
    clients = [servers.start(port, [f"port {port}", "appendonly yes", "repl-diskless-sync-delay 0",
                                    *([f"replicaof 127.0.0.1 {master}"] if port != master else [])])
               for port in ports]  # fmt: skip
    # a replica that has not had its first copy is connected all the same
    eventually(lambda: all(map(answers, clients)) and all(
        replica.info("replication")["master_link_status"] == "up" for replica in clients[1:]))  # fmt: skip
    sentinel = free_port()
    looking_on = servers.start(sentinel, [
        f"port {sentinel}", f"sentinel monitor lapstock 127.0.0.1 {master} 1",
        "sentinel down-after-milliseconds lapstock 500", "sentinel failover-timeout lapstock 3000",
    ], "--sentinel")  # fmt: skip
    eventually(lambda: answers(looking_on) and len(looking_on.sentinel_slaves("lapstock")) == len(others))
    url = f"redis+sentinel://127.0.0.1:{sentinel}/lapstock"
    require_answer(url)
    client = app_at(url, replicas=1)
    worker = spawn("workers.worker", ["--die-with-parent"], environment={URL_VARIABLE: url})
    heard: list[object] = []
    waiting = Thread(target=lambda: heard.append(patient(url).blpop(["a word"], 60)), daemon=True)
    waiting.start()
    try:
        acknowledged: list[str] = []
        for house in range(1_000_000):
            answer = client.post("/v1/cut-plans", json=shed(name=f"house {house}"))
            assert answer.status_code in (202, 503), answer.text
            acknowledged += [answer.json["id"]] if answer.status_code == 202 else []
            if house == 15:
                servers.kill(master)
                before = len(acknowledged)
            if house > 15 and len(acknowledged) >= before + 5:
                break
            time.sleep(0 if answer.status_code == 202 else 0.1)
        assert before
        # sentinels close the connections of whom they promote once more, so that a patient client looks
        store = Store(patient(url))
        store.redis.lpush("a word", "said")
        waiting.join()
        assert heard == [(b"a word", b"said")]
        eventually(lambda: [plan and plan.state for plan in map(store.fetch, acknowledged)]
                   == [State.SUCCEEDED] * len(acknowledged))  # fmt: skip
    finally:
        worker.send_signal(signal.SIGKILL)
        worker.wait()


def test_without_the_replicas_asked_for_nothing_is_acknowledged(servers: Servers) -> None:
    """One is asked for and there is none: the answer is to come back, and what is there, and what keeps nothing, goes.

    Of each that is kept: a plan, several, a material, what lies on the rack, a week, a form of a page. What was asked
    for was done all the same, and whole: none of several plans is left out.
    """
    port = free_port()
    alone = servers.start(port, [f"port {port}"])
    eventually(lambda: answers(alone))
    client = app_at(f"redis://127.0.0.1:{port}", replicas=1)
    material, piece = {"units": "in", **SHED["materials"][0]}, {"material": "panel-sand", "length": 50}
    week = {"units": "in", "materials": SHED["materials"], "deliveries": [{"date": "2100-03-08"}]}
    answers_of_changes = [
        client.post("/v1/cut-plans", json=SHED),
        client.post("/v1/cut-plan-batches", json={"requests": [SHED, SHED]}),
        client.put("/v1/materials/panel-sand", json=material),
        client.post("/v1/rack", json={"units": "in", "pieces": [piece]}),
        client.put("/v1/crews/tern/weeks/2100-W10", json=week),
        client.post("/settings", data={"name": "Yard"}),
    ]
    told = {(answer.status_code, answer.json["type"], "replicas" in answer.json["detail"])
            for answer in answers_of_changes}  # fmt: skip
    assert told == {(503, "/problems/store-away", True)}
    assert len(client.get("/v1/cut-plans").json["plans"]) == 3
    for address, body in (
        ("/v1/cut-lists", {"text": "4 @ 50", "units": "in"}),
        ("/v1/takeoffs", EXAMPLES[TakeOffSchema]),
        ("/v1/takeoffs/sheet.pdf", EXAMPLES[TakeOffSchema]),
    ):
        assert client.post(address, json=body).status_code == 200
    assert client.get("/v1/materials").status_code == 200


def test_redis_over_tls_is_who_it_says(servers: Servers, tmp_path: Path) -> None:
    """With the authority that signed for it plans are kept there; with another nothing is sent."""
    if not speaks_tls():
        pytest.skip("this Redis server was built without TLS")
    port, ours, theirs = free_port(), trustme.CA(), trustme.CA()
    signed = ours.issue_cert("127.0.0.1")
    for name, blob in (("key", signed.private_key_pem), ("cert", signed.cert_chain_pems[0])):
        blob.write_to_path(str(tmp_path / name))
    for name, authority in (("ours", ours), ("theirs", theirs)):
        authority.cert_pem.write_to_path(str(tmp_path / name))
    servers.start(port, ["port 0", f"tls-port {port}", f"tls-cert-file {tmp_path}/cert", f"tls-key-file {tmp_path}/key",
                         f"tls-ca-cert-file {tmp_path}/ours", "tls-auth-clients no"])  # fmt: skip
    url = f"rediss://127.0.0.1:{port}?ssl_ca_certs={tmp_path}/"
    eventually(lambda: reached(url + "ours"))
    assert app_at(url + "ours").post("/v1/cut-plans", json=SHED).status_code == 202
    with pytest.raises(NoAnswer, match="certificate verify failed"):
        require_answer(url + "theirs")


def reached(url: str) -> bool:
    """Whether a Redis answers at an address."""
    try:
        require_answer(url)
    except NoAnswer:
        return False
    return True


def speaks_tls() -> bool:
    """Whether the server takes settings of TLS."""
    told = subprocess.run([find_server(), "--port", "0", "--tls-port", "0", "--tls-auth-clients", "no", "--maxmemory",
                           "no"], capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)  # fmt: skip
    return "tls" not in told.stdout + told.stderr
