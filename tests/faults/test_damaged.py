"""Whatever is kept, damaged in every way there is: no address is a fault of ours, each round is made, sound plans run.

One of everything that is kept is damaged field by field: taken away, of another kind, no text, JSON of another shape.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, cast

import pytest
from redis import Redis

from tests.support.contract import Departure
from tests.support.everything import (
    FINISHED,
    KEY,
    NIGHT,
    OTHER,
    RUNNING,
    SOUND,
    TOKEN,
    WAITING,
    fill,
)
from tests.support.stack import Stack, stack
from workers import PREFIX
from workers.queues import queued
from workers.reaper import Reaper
from workers.shares import BATCH, queue_key
from workers.weeks.scheduler import schedule
from workers.weeks.store import WeekStore

RUBBISH = (None, b"\xff\xfe", b"[1]", b"9" * 400, b"[" * 5_000)
"""What stands in the place of a value; None takes it away."""
WEEKS = ("/v1/crews/tern/weeks/2100-W10", "/v1/crews/tern/weeks/2100-W10/runs")
KEPT: dict[str, tuple[str, ...]] = {
    f"plan:{FINISHED}": (f"/v1/cut-plans/{FINISHED}", "/v1/cut-plans?limit=5"),
    f"plan:{WAITING}": (f"/v1/cut-plans/{WAITING}",),
    f"plan:{RUNNING}": (f"/v1/cut-plans/{RUNNING}",),
    f"gone:{FINISHED}": (f"/v1/cut-plans/{FINISHED}",),
    "ticks:": (f"/v1/cut-plans/{FINISHED}/pieces",),
    "draft:": ("/", f"/?draft={TOKEN}"),
    "drafts:": ("/",),
    "company:": ("/v1/company",),
    "answers:": ("/v1/customers/tern/answers",),
    f"week:{KEY.digest}": WEEKS,
    f"week-runs:{KEY.digest}": WEEKS,
    "crew-jobs:": WEEKS,
    "rack:": ("/v1/rack", "/v1/rack/R-9", "/rack"),
    "catalogue:": (
        "/v1/materials", "/v1/materials/panel-sand", "/v1/materials/panel-sand?version=1", "/v1/price-list.csv",
        "/materials",
    ),
    "keys": ("/v1/cut-plans?limit=5",),
}
"""How the names begin of what is damaged, and where that is looked at."""


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Stack, dict[str, bytes]]]:
    """Yield an installation without workers whose client is let in, and everything in it."""
    # what is logged of each damage takes longer than the rest
    logging.disable()
    with stack(tmp_path_factory.mktemp("damaged") / "data", rate=10**9) as running:
        fill(running)
        names = sorted(name.decode() for name in cast("list[bytes]", running.store.redis.keys()))
        yield running, {name: cast("bytes", running.store.redis.dump(name)) for name in names}
    logging.disable(logging.NOTSET)


def restore(redis: Redis, kept: Mapping[str, bytes]) -> None:
    """Have everything again as it was kept."""
    with redis.pipeline(transaction=False) as pipe:
        pipe.flushdb()
        for name, dump in kept.items():
            pipe.restore(name, 0, dump)
        pipe.execute()


def damages(redis: Any, name: str) -> Iterator[tuple[str, Callable[[], object]]]:  # noqa: ANN401
    """Yield every damage of what is kept under a name, in words and as what does it."""
    kind = redis.type(name).decode()
    for field in redis.hkeys(name) if kind == "hash" else []:
        yield f"{field} is not there", lambda field=field: redis.hdel(name, field)  # type: ignore[misc]
        for value in filter(None, RUBBISH):
            said = f"{field} is {value[:20]!r}"
            yield said, lambda field=field, value=value: redis.hset(name, field, value)  # type: ignore[misc]
    if kind == "string":
        for value in filter(None, RUBBISH):
            yield f"it is {value[:20]!r}", lambda value=value: redis.set(name, value)  # type: ignore[misc]
    if kind == "zset":
        yield "it lists what is no text", lambda: redis.zadd(name, {b"\xff\xfe": 1})
    if kind == "list":
        yield "it lists what is no text", lambda: redis.rpush(name, b"\xff\xfe")
    yield "it is a set", lambda: (redis.delete(name), redis.sadd(name, "x"))


def fault_at(running: Stack, address: str) -> str:
    """Return what is wrong with what an address answers, or nothing."""
    try:
        status = running.client.get(address).status_code
    except Departure as departure:
        return str(departure)[:200]
    return str(status) if status >= 500 else ""


def complaints(running: Stack, addresses: Sequence[str], sweep: Callable[[], None]) -> list[str]:
    """Return what is not as it must be with something damaged: an address at fault, a round not made."""
    found = [f"{address}: {said}" for address in addresses if (said := fault_at(running, address))]
    redis = running.store.redis
    redis.delete(queue_key(BATCH))
    for member, _ in redis.zscan_iter(f"{PREFIX}waiting"):
        redis.zadd(f"{PREFIX}waiting", {member: 1})
    redis.zadd(f"{PREFIX}running", {RUNNING: 1}, xx=True)
    for _ in range(2):
        redis.delete(f"{PREFIX}watch")
        sweep()
    if (SOUND, 1) not in queued(redis):
        found.append("the sound plan was not found")
    for plan_id in (WAITING, RUNNING):
        at_work = {plan for plan, _ in queued(redis)}
        told = running.client.get(f"/v1/cut-plans/{plan_id}")
        if plan_id not in at_work and not (told.status_code in (401, 404, 410) or told.json.get("state") == "failed"):
            found.append(f"{plan_id[0]} is {told.json} for ever")
    schedule(WeekStore(redis), NIGHT)
    if not redis.keys(f"rq:job:week-{OTHER.digest}*"):
        found.append("the sound week was not planned")
    return found


@pytest.mark.parametrize("what", KEPT)
def test_nothing_that_is_damaged_is_a_fault_or_stops_a_round(filled: tuple[Stack, dict[str, bytes]], what: str) -> None:
    """Every value of one record, each damage by itself."""
    running, kept = filled
    redis = running.store.redis
    sweep = Reaper(redis, "here").sweep
    wrong = []
    for name in [name for name in kept if name.startswith(PREFIX + what)]:
        restore(redis, kept)
        ways = [said for said, _ in damages(redis, name)]
        for number, said in enumerate(ways):
            restore(redis, kept)
            [*damages(redis, name)][number][1]()
            wrong += [f"{name} where {said}: {complaint}" for complaint in complaints(running, KEPT[what], sweep)]
    assert ways
    assert not wrong, "\n".join(wrong)
