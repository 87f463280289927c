"""Plans are asked for while Redis, workers and planning processes are killed at random: no accepted plan is lost."""

from __future__ import annotations

import os
import random
import signal
import time
from pathlib import Path
from threading import Event, Thread

import pytest
import requests

from tests.support.command import Serving, lapstock_serve
from tests.support.shed import shed
from tests.support.stack import descendants, eventually

BLOWS = 8
HOUSES = 60


def strike(serving: Serving, seed: int, over: Event) -> None:
    """Kill a process below the command every half second or so, whichever it is."""
    draw = random.Random(seed)
    for _ in range(BLOWS):
        over.wait(0.3 + draw.random())
        victims = sorted(descendants(serving.process.pid))
        if victims:
            try:
                os.kill(draw.choice(victims), signal.SIGKILL)
            except ProcessLookupError:
                continue


def ask(serving: Serving, house: int) -> str | None:
    """Ask for a plan as a sensible client does: again, under the same key, when told to come back."""
    try:
        answer = requests.post(
            f"{serving.address}/v1/cut-plans",
            json=shed(name=f"house {house}"),
            headers={"Idempotency-Key": f"house-{house}"},
            timeout=30,
        )
    except requests.ConnectionError:
        return None
    return str(answer.json()["id"]) if answer.status_code in (200, 202) else None


def outcome(serving: Serving, plan_id: str) -> str:
    """Return the state of a plan and why it failed, or nothing while the store is away."""
    answer = requests.get(f"{serving.address}/v1/cut-plans/{plan_id}", timeout=30).json()
    problem = answer.get("problem") or {}
    return f"{answer.get('state', '')} {problem.get('code', '')}".strip()


@pytest.mark.parametrize("seed", [1, 2])
def test_every_accepted_plan_comes_to_one_end(tmp_path: Path, seed: int) -> None:
    """Each acknowledged house is planned, or given up because its process was killed twice; none is forgotten."""
    with lapstock_serve("--data", str(tmp_path), "--workers", "2") as serving:
        serving.ready()
        over = Event()
        storm = Thread(target=strike, args=(serving, seed, over))
        storm.start()
        accepted: dict[int, str] = {}
        while storm.is_alive() or len(accepted) < HOUSES:
            for house in range(HOUSES):
                if house not in accepted and (plan_id := ask(serving, house)):
                    accepted[house] = plan_id
                time.sleep(0.05)
        ends = {"succeeded", "failed worker_died"}
        eventually(lambda: all(outcome(serving, plan_id) in ends for plan_id in accepted.values()))
        assert len(set(accepted.values())) == HOUSES
