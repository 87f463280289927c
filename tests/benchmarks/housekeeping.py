"""``python -m tests.benchmarks.housekeeping N``: what N plans, weeks and drafts take, and what is left when they go.

Plans are asked for over HTTP and each tenth is cancelled while it waits; the others end with the shed's plan as a
worker would have written it, so that the figures are the store's and not the solver's. Everything that has a time to
live is then made to expire at once, and rounds are made until none finds more to put away. Done three times over:
what grows from round to round is a leak.
"""

from __future__ import annotations

import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import click

import solver
from tests import scenario
from tests.support.shed import shed
from tests.support.stack import Stack, stack
from tests.support.weeks import in_another_week, week
from workers import PREFIX
from workers.orders.drafts import Draft, Drafts, now
from workers.plans.index import ENTRIES, LEAVING
from workers.plans.record import State
from workers.queues import BATCH, dequeue
from workers.reaper import Reaper
from workers.weeks.record import WeekKey
from workers.weeks.store import WeekStore

TIMES = 3
_PAGE = 4096


def fill(running: Stack, count: int) -> None:
    """Keep so many plans, weeks and drafts."""
    plan = solver.plan_job(scenario.shed(), time.monotonic)
    weeks, drafts, client = WeekStore(running.store.redis), Drafts(running.store.redis), running.app.test_client()
    for number in range(count):
        asked = client.post("/v1/cut-plans", json=shed(name=f"house {number}")).get_json()["id"]
        if number % 10 == 0:
            client.post(f"/v1/cut-plans/{asked}/cancel")
        else:
            dequeue(running.store.redis, BATCH, asked, 1)
            running.store.start(asked, 1)
            running.store.finish(asked, 1, State.SUCCEEDED, plan, 5)
        key = WeekKey("anybody", f"crew {number}", "2100-W10")
        weeks.change(key, lambda _, crew=key.crew: replace(in_another_week(week(), 2100, 10), crew=crew))  # type: ignore[misc]
        drafts.keep("anybody", Draft(f"draft-{number}", "/", "Tern", now(), {"text": "4 x 50"}))


def let_go(running: Stack) -> None:
    """Have everything with a time to live expire, and make rounds until none finds more to put away."""
    redis = running.store.redis
    for name in cast("list[bytes]", list(redis.scan_iter(f"{PREFIX}*", count=10_000))):
        if redis.ttl(name) >= 0:
            redis.pexpire(name, 1)
    for entries in cast("list[bytes]", redis.zrange(LEAVING, 0, -1)):
        redis.zadd(LEAVING, {entries: 0})
    reaper, before = Reaper(redis, "housekeeping"), -1
    while before != (before := redis.dbsize() + redis.zcard(ENTRIES)):
        redis.delete(f"{PREFIX}watch")
        reaper.sweep()


def figures(running: Stack) -> tuple[float, int, float]:
    """Return the MB that Redis uses, how many keys it has, and the MB of this process, which is the API's."""
    told: Any = running.store.redis.info("memory")
    own = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1]) * _PAGE
    return told["used_memory"] / 1e6, running.store.redis.dbsize(), own / 1e6


@click.command()
@click.argument("count", type=click.IntRange(1), default=1_000)
def main(count: int) -> None:
    """Print what COUNT plans, weeks and drafts take, and what is left of them."""
    with tempfile.TemporaryDirectory() as folder, stack(Path(folder) / "data") as running:
        click.echo(f"{'':24}{'Redis MB':>10}{'keys':>8}{'API MB':>8}")
        rows = [("empty", figures(running))]
        for turn in range(TIMES):
            fill(running, count)
            rows.append((f"{turn + 1}: {count} of each", figures(running)))
            let_go(running)
            rows.append((f"{turn + 1}: after expiry", figures(running)))
        for name, (used, keys, own) in rows:
            click.echo(f"{name:24}{used:10.2f}{keys:8}{own:8.0f}")
        left = sorted({name.split(b":")[1].decode() for name in running.store.redis.scan_iter(f"{PREFIX}*")})
        click.echo(f"left: {', '.join(left)}; of rq: {len(list(running.store.redis.scan_iter('rq:job:*')))} jobs")


if __name__ == "__main__":
    main()
