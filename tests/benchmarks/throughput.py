"""How much the service does in a second: plans beside a pool of warm processes, and requests of each kind.

``python -m tests.benchmarks.throughput plans [FOLDER ...]`` has the same lists planned by so many processes of this
checkout, warm and with nothing between them and the engine, and by a service with as many workers, for one and more
clients that each post a list and wait for its plan. Pool and services take turns, list by list in small rounds, so
that all of them are measured in the same minutes.

``python -m tests.benchmarks.throughput requests [FOLDER ...]`` counts requests of each kind; the checkouts take turns.
"""

from __future__ import annotations

import http.client
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path
from statistics import mean
from tempfile import TemporaryDirectory
from threading import local
from typing import Any
from urllib.parse import urlsplit

import click

import solver
from service.wire import read_job
from tests.benchmarks.counter import WAIT, request
from tests.benchmarks.overhead import spent_by
from tests.benchmarks.table import table
from tests.support.command import ROOT, Serving
from workers.connection import URL_VARIABLE
from workers.local_redis import LocalRedis

Answer = tuple[int, http.client.HTTPMessage, bytes]
_JSON = {"Content-Type": "application/json"}
_ENVIRONMENT = {"LAPSTOCK_MOST_WAITING": "1000000", "OMP_NUM_THREADS": "1"}
EXAMPLES = ROOT / "tests" / "data" / "examples"


class Pool:
    """So many processes of this checkout that plan what they are handed and do nothing else."""

    def __init__(self, processes: int) -> None:
        self._hands = [os.pipe() for _ in range(2)]
        for _ in range(processes):
            if os.fork() == 0:
                self._plan_all()
        os.close(self._hands[0][0])
        os.close(self._hands[1][1])

    def _plan_all(self) -> None:
        os.close(self._hands[0][1])
        # a line of at most a page is read whole by one of them
        while line := os.read(self._hands[0][0], 4096):
            body = json.dumps(request(*json.loads(line)))
            solver.plan_job(read_job(json.loads(body)), time.monotonic)
            os.write(self._hands[1][1], b".")
        os._exit(0)

    def plan(self, lists: Sequence[tuple[int, int, int, int]]) -> float:
        """Have all of them planned; returns the seconds that took."""
        begun = time.perf_counter()
        for one in lists:
            os.write(self._hands[0][1], json.dumps(one).encode().ljust(4096))
        done = 0
        while done < len(lists):
            done += len(os.read(self._hands[1][0], 4096))
        return time.perf_counter() - begun

    def end(self) -> None:
        """Let them go."""
        os.close(self._hands[0][1])


class Installation:
    """API, Redis and so many workers of one checkout."""

    def __init__(self, root: Path, workers: int, stack: ExitStack) -> None:
        redis = LocalRedis(Path(stack.enter_context(TemporaryDirectory())))
        redis.start()
        stack.callback(redis.stop)
        environment = {URL_VARIABLE: redis.url, **_ENVIRONMENT}
        command, settings = [sys.executable, "-m", "workers.worker"], {**os.environ, **environment}
        self.workers = [
            subprocess.Popen(command, cwd=root, env=settings, stderr=subprocess.DEVNULL) for _ in range(workers)
        ]
        stack.callback(self.stop_workers)
        self._serving = Serving(command="api", environment=environment, root=root)
        stack.callback(self._serving.end)
        self._serving.ready()
        self._host = urlsplit(self._serving.address).netloc
        self._own = local()

    def ask(self, method: str, path: str, body: bytes = b"", headers: Mapping[str, str] | None = None) -> Answer:
        """Send a request over this thread's connection."""
        if not hasattr(self._own, "connection"):
            self._own.connection = http.client.HTTPConnection(self._host, timeout=120)
        connection: http.client.HTTPConnection = self._own.connection
        connection.request(method, path, body or None, headers={**(_JSON if body else {}), **(headers or {})})
        answer = connection.getresponse()
        return answer.status, answer.headers, answer.read()

    def planned(self, body: bytes) -> str:
        """Have a plan made, whether it is there in time or looked for, and return its address."""
        status, headers, told = self.ask("POST", "/v1/cut-plans", body, WAIT)
        assert status in (200, 202), told
        while status == 202:
            time.sleep(0.1)
            _, _, told = self.ask("GET", headers["Location"])
            status = 200 if json.loads(told)["state"] == "succeeded" else 202
        return headers["Location"]

    def spent(self) -> float:
        """Return the CPU milliseconds of the API."""
        return spent_by(self._serving.process.pid)

    def stop_workers(self) -> None:
        """Stop them at once."""
        for worker in self.workers:
            worker.kill()
            worker.wait()


def rounds(lists: int, each: int) -> Iterator[range]:
    """Yield the numbers of the lists of each round."""
    yield from (range(begin, min(begin + each, lists)) for begin in range(0, lists, each))


def compare(installations: Sequence[Installation], pool: Pool, lines: int, clients: int, lists: int) -> list[float]:
    """Return the plans a second of the pool and of each installation."""
    seconds = [0.0] * (1 + len(installations))
    with ThreadPoolExecutor(clients) as hands:
        for numbers in rounds(lists, max(2 * clients, 10)):
            chosen = [(lines, lines, 1, seed) for seed in numbers]
            bodies = [json.dumps(request(*one)).encode() for one in chosen]
            seconds[0] += pool.plan(chosen)
            for place, installation in enumerate(installations, 1):
                begun = time.perf_counter()
                list(hands.map(installation.planned, bodies))
                seconds[place] += time.perf_counter() - begun
    return [lists / each for each in seconds]


@click.group()
def main() -> None:
    """Print what is done in a second."""


@main.command()
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--lines", default="5,20", help="Lines of a list, with commas between.")
@click.option("--clients", default="1,8,32", help="Clients at a time, with commas between.")
@click.option("--workers", default=2, help="Workers, and processes of the pool.")
@click.option("--lists", default=96, help="So many lists of each length.")
def plans(folders: tuple[Path, ...], lines: str, clients: str, workers: int, lists: int) -> None:
    """Print plans a second of a pool of warm processes, and of services with as many workers, as shares of that."""
    chosen, rows = folders or (ROOT,), []
    with ExitStack() as stack:
        pool = Pool(workers)
        stack.callback(pool.end)
        installations = [Installation(folder.resolve(), workers, stack) for folder in chosen]
        compare(installations, pool, 5, 4, 20)
        for length in map(int, lines.split(",")):
            for number in map(int, clients.split(",")):
                own, *others = compare(installations, pool, length, number, lists)
                rows.append([length, number, f"{own:.1f}", *(f"{it:.1f} ({100 * it / own:.0f} %)" for it in others)])
    names = [folder.resolve().name for folder in chosen]
    click.echo(table(("lines", "clients", f"{workers} processes, plans/s", *names), rows))


def kinds(installation: Installation) -> dict[str, Callable[[int], Answer]]:
    """Return what is asked, by its name; submits come last, for nobody plans them any more."""
    ask = installation.ask
    plan = installation.planned(json.dumps(request(20, 20, 1, 0)).encode())
    etag = ask("GET", plan)[1]["ETag"]
    pasted = json.dumps({"text": "\n".join(f"{n} @ {40 + n} 1/2" for n in range(1, 21))}).encode()
    bad = json.dumps({"required": [{"lenght": 4}]}).encode()
    house = (EXAMPLES / "measured.json").read_bytes()
    bodies = [json.dumps(request(20, 20, 1, seed)).encode() for seed in range(50)]
    return {
        "bad body": lambda _: ask("POST", "/v1/cut-plans", bad),
        "poll, 200": lambda _: ask("GET", plan),
        "poll, 304": lambda _: ask("GET", plan, headers={"If-None-Match": etag}),
        "list read": lambda _: ask("POST", "/v1/cut-lists", pasted),
        "take-off": lambda _: ask("POST", "/v1/takeoffs", house),
        "sheet, HTML": lambda _: ask("GET", f"{plan}/cut-sheet.html"),
        "sheet, PDF": lambda _: ask("GET", f"{plan}/cut-sheet.pdf"),
        "submit": lambda n: ask("POST", "/v1/cut-plans", bodies[n % len(bodies)]),
    }


def counted(installation: Installation, one: Callable[[int], Answer], clients: int, times: int) -> tuple[float, float]:
    """Return requests a second, and the CPU milliseconds of the API for each."""
    with ThreadPoolExecutor(clients) as hands:
        list(hands.map(one, range(clients)))
        begun, before = time.perf_counter(), installation.spent()
        answers = list(hands.map(one, range(times)))
        took, spent = time.perf_counter() - begun, installation.spent() - before
    assert len({status for status, _, _ in answers}) == 1
    return times / took, spent / times


@main.command(name="requests")
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--clients", default=8, help="Clients at a time.")
@click.option("--times", default=200, help="Requests of each kind.")
def requests_each(folders: tuple[Path, ...], clients: int, times: int) -> None:
    """Print requests a second of each kind, and what one costs the API."""
    chosen = folders or (ROOT,)
    found: dict[str, list[list[Any]]] = {}
    with ExitStack() as stack:
        installations = [Installation(folder.resolve(), 1, stack) for folder in chosen]
        asked = [kinds(installation) for installation in installations]
        for installation in installations:
            installation.stop_workers()
        for name in asked[0]:
            found[name] = [[] for _ in chosen]
            for _ in range(4):
                for place, (installation, each) in enumerate(zip(installations, asked, strict=True)):
                    found[name][place].append(counted(installation, each[name], clients, times // 4))
    rows = [
        [name, *(f"{mean(r for r, _ in each):.0f}/s, {mean(ms for _, ms in each):.1f} ms" for each in measured)]
        for name, measured in found.items()
    ]
    click.echo(table(("what", *(f"{folder.resolve().name}: requests, CPU each" for folder in chosen)), rows))


if __name__ == "__main__":
    main()
