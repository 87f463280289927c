"""What the service adds to a plan: each list planned in this process, then posted, and what its answer took longer.

``python -m tests.benchmarks.overhead [FOLDER ...]`` posts to a service started from each checkout in turn, list by
list, so that before and after are measured in the same minutes; without a folder it is this checkout alone.
"""

from __future__ import annotations

import json
import os
import time
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from statistics import mean, median
from tempfile import TemporaryDirectory
from typing import Any

import click
import requests

import solver
from service.wire import read_job
from tests.benchmarks.counter import WAIT, request
from tests.benchmarks.table import quantile, table
from tests.support.command import ROOT, Serving
from tests.support.stack import command_of, descendants

_TICK = 1000 / os.sysconf("SC_CLK_TCK")
_PARTS = ("API", "desk", "workers", "Redis")
_BESIDE = {"workers.worker": "workers", "redis": "Redis", "valkey": "Redis"}
"""Which processes below the API's, by a word of their command; the rest, done or not, make its answers."""


@dataclass
class Measured:
    """Milliseconds of each list: on the clock from POST to answer, and beyond the plan alone; CPU of each part."""

    total: list[float] = field(default_factory=list)
    over: list[float] = field(default_factory=list)
    cpu: dict[str, list[float]] = field(default_factory=lambda: {part: [] for part in _PARTS})


class Service:
    """A service of one checkout, with one worker beside the one for whoever waits."""

    def __init__(self, folder: Path, stack: ExitStack) -> None:
        data = stack.enter_context(TemporaryDirectory())
        self._serving = Serving("--data", data, "--workers", "1", root=folder)
        stack.callback(self._serving.end)
        self._serving.ready()
        self._session = stack.enter_context(requests.Session())

    def post(self, body: dict[str, Any]) -> float:
        """Return the milliseconds from POST to the finished plan."""
        begun = time.perf_counter()
        self.plan(body)
        return (time.perf_counter() - begun) * 1000

    def plan(self, body: dict[str, Any]) -> str:
        """Have a plan made and return its address."""
        answer = self._session.post(f"{self._serving.address}/v1/cut-plans", json=body, headers=WAIT, timeout=60)
        assert answer.status_code == 200, answer.text
        return self._serving.address + answer.headers["Location"]

    def got(self, address: str, times: int) -> tuple[int, float, float]:
        """Get something so often; returns its bytes, and the CPU milliseconds of API and of desk for each."""
        before, size = self.cpu(), 0
        for _ in range(times):
            answer = self._session.get(address, timeout=60)
            assert answer.status_code == 200, answer.text
            size = len(answer.content)
        time.sleep(0.1)  # until what made it has ended
        after = self.cpu()
        api, desk = ((after[part] - before[part]) / times for part in ("API", "desk"))
        return size, api, desk

    def cpu(self) -> dict[str, float]:
        """Return the CPU milliseconds spent so far by the API, its desk, workers and Redis, with all their children."""
        spent = dict.fromkeys(_PARTS, 0.0)
        pid = self._serving.process.pid
        spent["API"] = spent_by(pid)
        for each in descendants(pid):
            part = next((part for word, part in _BESIDE.items() if word in command_of(each)), "desk")
            spent[part] += spent_by(each, waited_for=True)
        return spent


def spent_by(pid: int, *, waited_for: bool = False) -> float:
    """Return the CPU milliseconds of a process, with those of children that it has seen the end of."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return sum(int(each) for each in fields[11 : 15 if waited_for else 13]) * _TICK


def alone(body: str) -> float:
    """Return the milliseconds that a plan takes in this process, from JSON to the checked plan."""
    begun = time.perf_counter()
    solver.plan_job(read_job(json.loads(body)), time.monotonic)
    return (time.perf_counter() - begun) * 1000


def measure(lines: int, lists: int, services: list[Service]) -> tuple[list[float], list[Measured]]:
    """Plan and post so many lists; returns what each took here, and what it took of each service."""
    bodies = [request(lines, lines, 1, seed) for seed in range(lists + 3)]
    here, there = [], [Measured() for _ in services]
    for number, body in enumerate(bodies):
        spent = alone(json.dumps(body))
        for service, measured in zip(services, there, strict=True):
            before = service.cpu()
            took = service.post(body)
            time.sleep(0.03)  # what a worker does behind the answer belongs to it
            after = service.cpu()
            if number >= 3:
                measured.total.append(took)
                measured.over.append(took - spent)
                for part in _PARTS:
                    measured.cpu[part].append(after[part] - before[part])
        if number >= 3:
            here.append(spent)
    return here, there


@click.command()
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--lines", default="5,20", help="Lines of a list, with commas between.")
@click.option("--lists", default=40, help="So many lists of each length.")
def main(folders: tuple[Path, ...], lines: str, lists: int) -> None:
    """Print POST to answer, what that is beyond the plan alone, and the CPU of each part, in milliseconds."""
    rows = []
    chosen = folders or (ROOT,)
    with ExitStack() as stack:
        services = [Service(folder.resolve(), stack) for folder in chosen]
        for each in map(int, lines.split(",")):
            here, there = measure(each, lists, services)
            rows.append([f"{each} lines, in-process", f"{median(here):.1f} / {quantile(sorted(here), 0.95):.1f}"])
            rows[-1] += [""] * (1 + len(_PARTS))
            for folder, measured in zip(chosen, there, strict=True):
                times = [f"{median(t):.1f} / {quantile(sorted(t), 0.95):.1f}" for t in (measured.total, measured.over)]
                rows.append([f"{each} lines, {folder.resolve().name}", *times])
                rows[-1] += [f"{mean(measured.cpu[part]):.1f}" for part in _PARTS]
    head = ("what", "total p50 / p95 ms", "over the plan", *(f"CPU {part}" for part in _PARTS))
    click.echo(table(head, rows))


if __name__ == "__main__":
    main()
