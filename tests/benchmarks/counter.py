"""A counter list from POST to answer, and the same in this process: ``python -m tests.benchmarks.counter``.

Prints the median and the 95th percentile over 60 requests, their ratio to planning in-process, and the
most memory that Redis, the worker and a planning process took. Nothing is asserted.
"""

from __future__ import annotations

import json
import random
import re
import statistics
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import requests

import solver
from service.schemas import read_job
from service.strict_json import parse
from tests.support.command import lapstock_serve
from tests.support.stack import descendants

LINES = 20
TIMES = 60


def counter_list(seed: int) -> dict[str, Any]:
    """Return a request of 20 lines with lengths from 2 ft to 12 ft, out of two stock lengths with prices."""
    draw = random.Random(seed)
    stock = [{"id": "12-6", "length": 150, "price": "9.80"}, {"id": "16-8", "length": 200, "price": "12.60"}]
    return {
        "name": f"counter list {seed}",
        "units": "in",
        "materials": [{"id": "panel-sand", "category": "siding", "stock": stock}],
        "required": [
            {"material": "panel-sand", "length": draw.randrange(24 * 4, 144 * 4) / 4, "quantity": draw.randrange(1, 9)}
            for _ in range(LINES)
        ],
    }


def timed(call: Callable[[dict[str, Any]], object]) -> list[float]:
    """Return the milliseconds of every call."""
    spent = []
    for seed in range(TIMES):
        body = counter_list(seed)
        began = time.perf_counter()
        call(body)
        spent.append((time.perf_counter() - began) * 1000)
    return spent


def in_process(body: dict[str, Any]) -> None:
    """Read, plan and check a request as the service does, without queue or store."""
    solver.plan_job(read_job(parse(json.dumps(body).encode())), time.monotonic)


def told(name: str, spent: list[float]) -> str:
    """Return the median and the 95th percentile as a line."""
    ordered = sorted(spent)
    return f"{name}: p50 {statistics.median(ordered):.0f} ms, p95 {ordered[int(0.95 * len(ordered))]:.0f} ms"


class Watcher(threading.Thread):
    """Looks every few milliseconds at how much memory processes have held at most, by what they are."""

    def __init__(self, above: int) -> None:
        super().__init__(daemon=True)
        self.above, self.most = above, dict[str, int]()
        self.over = threading.Event()

    def run(self) -> None:
        """Look until told that it is over."""
        while not self.over.wait(0.005):
            for pid in descendants(self.above):
                self._note(pid)

    def _note(self, pid: int) -> None:
        try:
            status, command = Path(f"/proc/{pid}/status").read_text(), Path(f"/proc/{pid}/cmdline").read_text()
        except OSError:
            return
        found, parent = re.search(r"VmHWM:\s+(\d+)", status), re.search(r"PPid:\s+(\d+)", status)
        kind = "redis" if "redis" in command else "worker" if parent and int(parent[1]) == self.above else "planning"
        self.most[kind] = max(self.most.get(kind, 0), int(found[1]) // 1024 if found else 0)


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder, lapstock_serve("--data", folder, "--workers", "1") as serving:
        serving.ready()
        watcher = Watcher(serving.process.pid)
        watcher.start()
        session = requests.Session()

        def post(body: dict[str, Any]) -> None:
            answer = session.post(
                f"{serving.address}/v1/cut-plans", json=body, headers={"Prefer": "wait=30"}, timeout=60
            )
            assert answer.json()["state"] == "succeeded"

        served = timed(post)
        watcher.over.set()
    alone = timed(in_process)
    print(told("POST to answer", served))
    print(told("in-process", alone))
    print(f"ratio of medians: {statistics.median(served) / statistics.median(alone):.2f}")
    print("peak memory, MB:", watcher.most)


if __name__ == "__main__":
    main()
