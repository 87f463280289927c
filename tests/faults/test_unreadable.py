"""Records that nobody can read, damaged or kept by another version: each ends, and everything else goes on."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from tests.support.shed import SHED
from tests.support.stack import Stack, eventually
from tests.support.weeks import in_another_week, week
from workers.codec import pack
from workers.plans.record import State
from workers.plans.store import PLAN, WAITING
from workers.shares import BATCH, queue_key
from workers.weeks.record import Outcome, WeekKey
from workers.weeks.scheduler import schedule
from workers.weeks.store import INDEX, WeekStore

Damage = Callable[[Stack, str], object]
WEEK = WeekKey("anybody", "tern", "2100-W10")
"""Far off, so that nothing is frozen however late it is."""
WEEK_ADDRESS = "/v1/crews/tern/weeks/2100-W10"


def without_units(running: Stack, plan_id: str) -> None:
    """Keep the job as a version would that has no units in it."""
    kept: Any = running.store.redis.hget(PLAN + plan_id, "job")
    job = json.loads(zlib.decompress(kept))
    del job["units"]
    running.store.redis.hset(PLAN + plan_id, "job", zlib.compress(json.dumps(job).encode()))


def setting(field: str, value: str | bytes) -> Damage:
    """Return what sets a field of a plan's record to something."""
    return lambda running, plan_id: running.store.redis.hset(PLAN + plan_id, field, value)


DAMAGES: dict[str, Damage] = {
    "a field of the job is missing": without_units,
    "the job is no compressed text": setting("job", b"\x00\xff damaged"),
    "the job is no JSON": setting("job", zlib.compress(b"{")),
    "the state is unknown": setting("state", "pondering"),
    "there is no state": lambda running, plan_id: running.store.redis.hdel(PLAN + plan_id, "state"),
    "the generation is no number": setting("generation", "first"),
    "the time is no number": setting("created_at", "noon"),
    "the version is no number": setting("version", "x"),
    "a field is no text": setting("queue", b"\xff\xfe"),
}


def told(running: Stack, plan_id: str) -> Any:  # noqa: ANN401
    """Return the resource of a plan, which must be there."""
    answer = running.client.get(f"/v1/cut-plans/{plan_id}")
    assert answer.status_code == 200, answer.text
    return answer.json


def test_waiting_plans_nobody_can_read_fail_and_the_others_are_found(alone: Stack) -> None:
    """Of plans on no queue all but the last are damaged: each fails with a reason, and the last is planned."""
    damaged, sound = {name: alone.posted(SHED) for name in DAMAGES}, alone.posted(SHED)
    for name, plan_id in damaged.items():
        DAMAGES[name](alone, plan_id)
    alone.store.redis.delete(queue_key(BATCH))
    alone.start_worker()
    assert alone.settled(sound).state is State.SUCCEEDED
    eventually(lambda: alone.store.counts() == (0, 0) and all(alone.record(one).state.over for one in damaged.values()))
    ends = {name: told(alone, plan_id) for name, plan_id in damaged.items()}
    said = {name: (end["state"], end["result"], end["problem"]["code"]) for name, end in ends.items()}
    assert said == dict.fromkeys(DAMAGES, ("failed", None, "unreadable"))
    assert alone.client.get("/health/ready").json["checks"]["workers"]


def test_a_plan_for_a_queue_nobody_looks_at_takes_its_turn(alone: Stack) -> None:
    """Another version may know more queues: here the plan is made with the rest."""
    plan_id = alone.posted(SHED)
    alone.store.redis.hset(PLAN + plan_id, "queue", "express")
    alone.store.redis.delete(queue_key(BATCH))
    alone.start_worker()
    assert alone.settled(plan_id).state is State.SUCCEEDED


def test_a_running_plan_nobody_can_read_fails_once_its_lease_has_expired(alone: Stack) -> None:
    """Its worker is gone and its job is damaged: it fails and is not tried for ever; its turn ends for good."""
    for damage in DAMAGES.values():
        plan_id = alone.posted(SHED)
        alone.store.start(plan_id, 1)
        damage(alone, plan_id)
    alone.store.redis.delete(queue_key(BATCH))
    alone.start_worker()
    eventually(lambda: alone.store.counts() == (0, 0))


def test_a_plan_whose_job_is_damaged_on_the_queue_fails_with_a_reason(alone: Stack) -> None:
    """The worker that takes it says why there is no plan."""
    plan_id = alone.posted(SHED)
    without_units(alone, plan_id)
    alone.start_worker()
    assert alone.settled(plan_id).state is State.FAILED
    assert told(alone, plan_id)["problem"]["code"] == "unreadable"


@pytest.mark.parametrize("damage", [
    *DAMAGES.values(), setting("plan", b"damaged"), setting("plan", pack({"materials": 3})),
    setting("solve_ms", "soon"), setting("cost", "dear"),
])  # fmt: skip
def test_a_finished_plan_nobody_can_read_is_told_of_in_words(serving: Stack, damage: Damage) -> None:
    """No address of it is a fault of this server: the resource says that it failed and why, its documents too."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    documents = ("sticks", "order.csv", "cut-sheet.html", "cut-sheet.pdf", "drawing.svg")
    # no answer from before the damage covers it up, whichever process gives it
    assert told(serving, plan_id)["state"] == "succeeded"
    assert {serving.client.get(f"/v1/cut-plans/{plan_id}/{document}").status_code for document in documents} == {200}
    damage(serving, plan_id)
    resource = told(serving, plan_id)
    assert (resource["state"], resource["result"], resource["problem"]["code"]) == ("failed", None, "unreadable")
    for document in documents:
        answer = serving.client.get(f"/v1/cut-plans/{plan_id}/{document}")
        assert (answer.status_code, answer.json["type"]) == (409, "/problems/no-plan")
    page = serving.client.get(f"/plans/{plan_id}")
    assert (page.status_code in (200, 409), "was damaged" in page.text) == (True, True)
    assert serving.client.get(f"/?plan={plan_id}").status_code in (200, 404)
    assert serving.client.post(f"/v1/cut-plans/{plan_id}/cancel").status_code == 200
    assert serving.client.delete(f"/v1/cut-plans/{plan_id}").status_code == 204
    assert serving.client.get(f"/v1/cut-plans/{plan_id}").status_code == 404


def test_a_queue_with_rubbish_on_it_keeps_nobody_from_being_found(alone: Stack) -> None:
    """An entry that is no text and a waiting plan that is not there: the round is made all the same."""
    sound = alone.posted(SHED)
    alone.store.redis.delete(queue_key(BATCH))
    for rubbish in (b"\xff\xfe", b"gone"):
        alone.store.redis.zadd(WAITING, {rubbish: 1.0})
    alone.start_worker()
    assert alone.settled(sound).state is State.SUCCEEDED


@pytest.fixture
def weeks(alone: Stack) -> WeekStore:
    """Return a store with a week that nobody can read."""
    store = WeekStore(alone.store.redis)
    store.change(WEEK, lambda _: in_another_week(week(), 2100, 10))
    store.redis.hset(f"lapstock:week:{WEEK.digest}", "week", b"damaged")
    return store


def test_a_week_nobody_can_read_is_told_of_in_words(alone: Stack, weeks: WeekStore) -> None:
    """Looking at it, changing a part of it and planning it answer 409 and what to do; its runs can be looked at."""
    del weeks
    client = alone.client
    answers = [
        client.get(WEEK_ADDRESS), client.post(f"{WEEK_ADDRESS}/plan"), client.get(f"{WEEK_ADDRESS}/page.html"),
        client.put(f"{WEEK_ADDRESS}/rack", json={"offcuts": []}), client.delete(f"{WEEK_ADDRESS}/jobs/boat-shed"),
    ]  # fmt: skip
    assert {(answer.status_code, answer.json["type"]) for answer in answers} == {(409, "/problems/unreadable")}
    assert client.get(f"{WEEK_ADDRESS}/runs").json == {"runs": []}


def test_a_week_nobody_can_read_may_be_put_again_or_forgotten(alone: Stack, weeks: WeekStore) -> None:
    """Both do what they do to any other week; its jobs may then be in another one."""
    material = {"id": "p", "category": "siding", "stock": [{"id": "12-6", "length": 150}]}
    answer = alone.client.put(WEEK_ADDRESS, json={"units": "in", "materials": [material]})
    assert (answer.status_code, answer.json["jobs"]) == (201, [])
    weeks.redis.hset(f"lapstock:week:{WEEK.digest}", "week", b"damaged")
    assert alone.client.delete(WEEK_ADDRESS).status_code == 204
    assert alone.client.get(WEEK_ADDRESS).status_code == 404
    elsewhere = WeekKey("anybody", "tern", "2100-W11")
    assert weeks.change(elsewhere, lambda _: in_another_week(week(), 2100, 11)).version == 1


def test_a_plan_of_a_week_nobody_can_read_is_made_again(alone: Stack, weeks: WeekStore) -> None:
    """The week itself is sound: it is shown without a plan, and planned anew."""
    weeks.change(WEEK, lambda _: in_another_week(week(), 2100, 10), anew=True)
    weeks.redis.hset(f"lapstock:week:{WEEK.digest}", mapping={"plan": b"damaged", "planned": 1})
    assert alone.client.get(WEEK_ADDRESS).json["plan"] is None
    alone.start_worker()
    answer = alone.client.post(f"{WEEK_ADDRESS}/plan", headers={"Prefer": "wait=30"})
    assert (answer.status_code, answer.json["plan"]["bill"]) == (200, "29.40")


NIGHT = datetime(2026, 11, 23, 3, tzinfo=UTC)
KEY = WeekKey("anybody", "tern", "2026-W48")
SOUND = WeekKey("anybody", "wren", "2026-W48")


@pytest.mark.parametrize(("field", "value"), [
    ("week", "damaged"), ("night", "soon"), ("asked", "x"), ("timezone", "Nowhere/Else"), ("timezone", b"\xff"),
    ("version", "x"),
])  # fmt: skip
def test_a_night_goes_on_past_a_week_nobody_can_read(alone: Stack, field: str, value: str | bytes) -> None:
    """Its run fails once, with a reason, and the sound week is planned; it is not tried again the whole night."""
    store = WeekStore(alone.store.redis)
    for key in (KEY, SOUND):
        store.change(key, lambda _, key=key: replace(week(), crew=key.crew))  # type: ignore[misc]
    store.redis.hset(f"lapstock:week:{KEY.digest}", field, value)
    store.redis.sadd(INDEX, b"\xff no week", "[1]", "{}")
    alone.start_worker()
    schedule(store, NIGHT)
    eventually(lambda: store.runs(SOUND) and store.runs(KEY))
    assert [run.outcome for run in store.runs(SOUND)] == [Outcome.PLANNED]
    (run,) = store.runs(KEY)
    assert (run.outcome, "can't be read" in run.details[0]) == (Outcome.FAILED, True)
    assert list(store.every_key()) == [SOUND]
    assert schedule(store, NIGHT) == 0
