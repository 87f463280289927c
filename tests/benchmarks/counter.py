"""What someone at the counter waits for: a list posted, its answer back, beside the same list planned in-process."""

from __future__ import annotations

import json
import resource
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from statistics import median
from tempfile import TemporaryDirectory
from threading import Event, Thread
from typing import Any

import requests

import solver
from service.wire import read_job
from tests.benchmarks.table import quantile, table
from tests.support.command import Serving
from tests.support.stack import descendants

WAIT = {"Prefer": "wait=30"}


@dataclass(frozen=True, slots=True)
class Times:
    """Seconds per list, in order of length, and how many of the plans were proven."""

    what: str
    seconds: list[float]
    proven: int


def request(lines: int, kinds: int, stocks: int, seed: int) -> dict[str, Any]:
    """Return a request of so many lines of so many different lengths, in eighths of an inch."""
    random = Random(f"counter {lines} {kinds} {stocks} {seed}")
    lengths = [n / 8 for n in random.sample(range(12 * 8, 149 * 8), kinds)]
    stock = [
        {"id": str(inches), "length": inches, "price": f"{inches * 0.0653 * random.uniform(0.95, 1.05):.2f}"}
        for inches in (150, 120, 200)[:stocks]
    ]
    chosen = lengths + random.choices(lengths, k=lines - kinds)
    required = [{"material": "panel", "length": n, "quantity": random.randint(1, 12)} for n in chosen]
    materials = [{"id": "panel", "category": "siding", "lap_ends": "any", "stock": stock}]
    return {"name": f"list {seed}", "units": "in", "materials": materials, "required": required}


def in_process(what: str, lists: Iterable[dict[str, Any]]) -> Times:
    """Plan every list in this process, from JSON to the checked plan."""
    seconds, proven = [], 0
    for one in lists:
        body = json.dumps(one)
        begun = time.perf_counter()
        plan = solver.plan_job(read_job(json.loads(body)), time.monotonic)
        seconds.append(time.perf_counter() - begun)
        proven += all(material.proven for material in plan.materials)
    return Times(what, sorted(seconds), proven)


def posted(what: str, address: str, lists: Iterable[dict[str, Any]]) -> Times:
    """Post every list and wait for its answer, one after the other."""
    seconds, proven = [], 0
    with requests.Session() as session:
        for one in lists:
            begun = time.perf_counter()
            answer = session.post(f"{address}/v1/cut-plans", json=one, headers=WAIT, timeout=60)
            seconds.append(time.perf_counter() - begun)
            proven += answer.status_code == 200 and answer.json()["result"]["status"] == "optimal"
    return Times(what, sorted(seconds), proven)


def counter_report(lists: int) -> str:
    """Measure ``lists`` counter lists both ways, and a long list in-process, and return the table."""
    short = [request(20, 20, 1, seed) for seed in range(lists)]
    long = [request(200, 60, 3, seed) for seed in range(max(3, lists // 10))]
    solver.plan_job(read_job(short[0]), time.monotonic)
    here = in_process("20 lines, in-process", short)
    yard = in_process("200 lines, 60 lengths, 3 stock lengths, in-process", long)
    with TemporaryDirectory() as data:
        serving = Serving("--data", data, "--workers", "1")
        try:
            serving.ready()
            posted("warm", serving.address, short[:5])
            with _watched_memory(serving.process.pid) as peaks:
                there = posted("20 lines, POST to answer", serving.address, short)
        finally:
            serving.end()
    ratios = [f"{there_at / here_at:.1f}" for here_at, there_at in zip(_p50_p95(here), _p50_p95(there), strict=True)]
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return "\n".join(
        [
            _times_table([here, there, yard]),
            f"POST to answer / in-process: p50 {ratios[0]}, p95 {ratios[1]}",
            f"Peak memory: the largest process of the service {max(peaks):.0f} MiB, this process {own:.0f} MiB",
        ]
    )


def _times_table(measured: Sequence[Times]) -> str:
    rows = [
        (t.what, f"{t.proven}/{len(t.seconds)}", *(f"{1000 * s:.1f}" for s in (*_p50_p95(t), t.seconds[-1])))
        for t in measured
    ]
    return table(("list", "proven", "p50 ms", "p95 ms", "worst ms"), rows)


def _p50_p95(times: Times) -> tuple[float, float]:
    return median(times.seconds), quantile(times.seconds, 0.95)


@contextmanager
def _watched_memory(pid: int) -> Iterator[list[float]]:
    """Collect the peak memory of all processes below ``pid``: those that plan are replaced now and then."""
    peaks, done = [0.0], Event()

    def look() -> None:
        while not done.wait(0.02):
            peaks.extend(_peak(below) for below in descendants(pid))

    looking = Thread(target=look)
    looking.start()
    yield peaks
    done.set()
    looking.join()


def _peak(pid: int) -> float:
    """Return the most memory a process ever held, in MiB; 0 where it is gone."""
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), 0.0)
