"""Plans asked for while processes are killed and frozen at random, and what became of each, worked out again."""

from __future__ import annotations

import os
import signal
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from random import Random
from threading import Event, Thread

import requests

from service.wire.job import read_job
from solver.checking import check
from tests.support.command import Serving
from tests.support.shed import Json, shed
from tests.support.stack import children, command_of, descendants
from workers.codec import text_of
from workers.connection import patient
from workers.plans.record import State
from workers.plans.store import Store

_ASKERS = 4


def house(number: int) -> Json:
    """Return a request like no other: the boat shed with some other quantities and lengths."""
    random = Random(f"house {number}")
    required = [
        {"mark": mark, "material": "panel-sand", "length": length, "quantity": random.randint(1, 9), **more}
        for mark, length, more in (
            ("A", "9' 6\"", {"left_end": "lap"}),
            ("B", random.randint(200, 900) / 16, {}),
            ("C", "34 1/2", {}),
        )
    ]
    return shed(name=f"house {number}", required=required)


class Storm:
    """Faults that strike a serving installation, each below the command that serves."""

    def __init__(self, serving: Serving, seed: int, blows: int, pause: float) -> None:
        """Strike ``blows`` times with ``pause`` seconds between them in the mean, once begun."""
        self.struck: Counter[str] = Counter()
        self._serving, self._blows, self._pause = serving, blows, pause
        self._random, self._over = Random(seed), Event()
        self._thread = Thread(target=self._rage)

    def begin(self) -> None:
        """Begin to strike."""
        self._thread.start()

    @property
    def rages(self) -> bool:
        """Whether more is to come."""
        return self._thread.is_alive()

    def _rage(self) -> None:
        strikes = (self._kill_any, self._kill_any, self._kill_whole_worker, self._end_worker, self._freeze_worker,
                   self._kill_redis, self._freeze_redis)  # fmt: skip
        for _ in range(self._blows):
            self._over.wait(self._pause * (0.5 + self._random.random()))
            strike = self._random.choice(strikes)
            with suppress(ProcessLookupError, IndexError):
                strike()
                self.struck[strike.__name__.strip("_").replace("_", " ")] += 1

    def _below(self, *words: str) -> list[int]:
        below = sorted(descendants(self._serving.process.pid))
        return [pid for pid in below if any(word in command_of(pid) for word in words)]

    def _worker(self) -> int:
        workers = [pid for pid in children(self._serving.process.pid) if "workers.worker" in command_of(pid)]
        return self._random.choice(sorted(workers))

    def _redis(self) -> int:
        return self._below("redis-server", "valkey-server")[0]

    def _kill_any(self) -> None:
        os.kill(self._random.choice(self._below("")), signal.SIGKILL)

    def _kill_whole_worker(self) -> None:
        worker = self._worker()
        for pid in (worker, *descendants(worker)):
            os.kill(pid, signal.SIGKILL)

    def _end_worker(self) -> None:
        os.kill(self._worker(), signal.SIGTERM)

    def _kill_redis(self) -> None:
        os.kill(self._redis(), signal.SIGKILL)

    def _freeze_redis(self) -> None:
        self._freeze(self._redis(), 0.5)

    def _freeze_worker(self) -> None:
        self._freeze(self._worker(), 2)

    def _freeze(self, pid: int, seconds: float) -> None:
        os.kill(pid, signal.SIGSTOP)
        self._over.wait(seconds)
        os.kill(pid, signal.SIGCONT)


def ask(serving: Serving, number: int) -> str:
    """Ask for a plan as a sensible client does, again under the same key until it is accepted; return its id."""
    while True:
        with suppress(requests.RequestException):
            answer = requests.post(
                f"{serving.address}/v1/cut-plans",
                json=house(number),
                headers={"Idempotency-Key": f"house-{number}"},
                timeout=30,
            )
            if answer.status_code in (200, 202):
                return str(answer.json()["id"])
            assert answer.status_code == 503, answer.text
        time.sleep(0.2)


def ask_all(serving: Serving, houses: Sequence[int]) -> list[str]:
    """Ask for plans of many houses and return their ids."""
    with ThreadPoolExecutor(_ASKERS) as crowd:
        return list(crowd.map(lambda number: ask(serving, number), houses))


def ends(folder: Path, houses: Sequence[int], ids: Sequence[str], patience: float) -> Counter[str]:
    """Return how the plans of houses ended, once all have or ``patience`` seconds are over, by what became of them.

    What succeeded is worked out again: the job that is kept is the one that was asked for, and the checker, which
    shares no code with the solver, finds no fault in its plan.
    """
    until, ended = time.monotonic() + patience, Counter[str]()
    store = Store(patient((folder / "address").read_text()))
    for number, plan_id in zip(houses, ids, strict=True):
        while (record := store.fetch(plan_id)) and not record.state.over and time.monotonic() < until:
            time.sleep(0.1)
        job, plan = store.job(plan_id), store.plan(plan_id)
        if record is None or job is None:
            ended["lost"] += 1
        elif record.state is not State.SUCCEEDED or plan is None:
            ended[f"{record.state} {record.failure.code if record.failure else ''}".strip()] += 1
        elif text_of(job) != text_of(read_job(house(number)).as_asked) or check(job, plan):
            ended["wrong"] += 1
        else:
            ended["right"] += 1
    store.redis.close()
    return ended + Counter({"doubled": len(ids) - len(set(ids))})
