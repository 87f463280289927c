"""The store compares and sets: whoever believes something that is no longer so changes nothing."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest
from rq import Callback, Queue
from rq.serializers import JSONSerializer

import solver
from solver.progress import Phase, Progress
from tests.scenario import shed
from tests.support.shed import SHED
from tests.support.stack import Stack, eventually
from workers import queues
from workers.plans.record import MOST_TRIES, Failure, Record, State
from workers.plans.store import Ask, Store
from workers.process import LEASE_SECONDS
from workers.reaper import Reaper, expired, living_workers, makes_rounds, recover
from workers.worker import PlanWorker

PLAN_ID = "0123456789abcdef" * 2
WHY = Failure("tried", "for the test")


@pytest.fixture
def store(alone: Stack) -> Store:
    """Return a store that holds one queued plan."""
    alone.store.create(PLAN_ID, Ask("anybody", queues.BATCH, shed()))
    return alone.store


def kept(store: Store) -> Record:
    """Return the one plan's record."""
    record = store.fetch(PLAN_ID)
    assert record is not None
    return record


def code(store: Store) -> str:
    """Return why the one plan failed."""
    failure = kept(store).failure
    return failure.code if failure else ""


def test_a_plan_is_started_once(store: Store) -> None:
    """The second worker that takes the same plan from the queue gets nothing."""
    assert [store.start(PLAN_ID, 1), store.start(PLAN_ID, 1)] == [True, False]


def test_a_result_is_written_once(store: Store) -> None:
    """What is finished is finished."""
    plan = solver.plan_job(shed(), time.monotonic)
    store.start(PLAN_ID, 1)
    assert store.finish(PLAN_ID, 1, State.SUCCEEDED, plan, 5)
    assert not store.finish(PLAN_ID, 1, State.FAILED, WHY, 5)
    assert (kept(store).state, store.plan(PLAN_ID)) == (State.SUCCEEDED, plan)


def test_a_late_worker_of_an_earlier_generation_changes_nothing(store: Store) -> None:
    """Requeued, a plan belongs to whoever starts its next generation."""
    store.start(PLAN_ID, 1)
    store.requeue(kept(store), deaths=1)
    assert not store.start(PLAN_ID, 1)
    assert store.start(PLAN_ID, 2)
    assert store.beat(PLAN_ID, 1, Progress(Decimal(1), Decimal(1))) == "lost"
    assert not store.finish(PLAN_ID, 1, State.FAILED, WHY, 5)
    assert kept(store).state is State.RUNNING


def test_a_living_worker_keeps_its_plan(store: Store) -> None:
    """A plan is taken from its worker only once its lease has expired, and every beat renews that."""
    store.start(PLAN_ID, 1)
    assert expired(store.redis) == []
    recover(store, kept(store), expired=True)
    assert (kept(store).state, kept(store).generation) == (State.RUNNING, 1)


def test_a_plan_whose_workers_go_away_is_tried_again_without_blame(store: Store) -> None:
    """Three leases expire, and no death is counted: workers and hosts go away for reasons of their own."""
    for generation in (1, 2, 3):
        lose_worker(store, generation)
    assert (kept(store).state, kept(store).deaths, kept(store).generation) == (State.QUEUED, 0, 4)


def lose_worker(store: Store, generation: int) -> None:
    """Have a worker take the plan and go away."""
    assert store.start(PLAN_ID, generation)
    store.redis.zadd("lapstock:running", {PLAN_ID: 0})
    Reaper(store.redis, f"reaper {generation}")._recover_expired()


def test_a_plan_that_no_worker_lives_through_comes_to_an_end(store: Store) -> None:
    """It may be what brings hosts down: after so many tries it is given up, with a reason of its own."""
    for generation in range(1, MOST_TRIES + 1):
        lose_worker(store, generation)
    assert (kept(store).state, code(store)) == (State.FAILED, "worker_lost")


def test_two_processes_that_die_under_a_living_worker_are_the_plans_doing(store: Store) -> None:
    """Between them a worker goes away, which counts for nothing."""
    assert store.start(PLAN_ID, 1)
    recover(store, kept(store))
    lose_worker(store, 2)
    assert (kept(store).state, kept(store).deaths) == (State.QUEUED, 1)
    assert store.start(PLAN_ID, 3)
    recover(store, kept(store))
    assert (kept(store).state, code(store)) == (State.FAILED, "worker_died")


def test_a_process_that_dies_before_it_has_begun_is_not_the_plans_doing(store: Store) -> None:
    """It was given the plan and had not taken it up."""
    recover(store, kept(store))
    assert (kept(store).state, kept(store).deaths, kept(store).generation) == (State.QUEUED, 0, 2)


@pytest.mark.parametrize(("age", "state", "why"), [(0, State.QUEUED, ""), (3600, State.FAILED, "timed_out")])
def test_a_process_that_had_to_be_stopped_is_told_from_one_that_died(
    store: Store, age: int, state: State, why: str
) -> None:
    """A process that did not hear the alarm is killed: the same plan would take as long again."""
    store.start(PLAN_ID, 1)
    queued = a_job(store)
    worker: Any = PlanWorker(store.redis, "here", queues.QUEUES)
    worker._due = time.monotonic() + 60 - age
    # whatever the time of day is set to meanwhile
    queued.started_at = datetime.now(UTC) - timedelta(hours=1)
    worker.handle_work_horse_killed(queued, 0, 9, None)
    assert (kept(store).state, code(store)) == (state, why)


@pytest.mark.parametrize(("age", "killed"), [(0, False), (60 + 61, True)])
def test_how_long_a_job_takes_does_not_go_by_the_time_of_day(store: Store, age: int, *, killed: bool) -> None:
    """Set forward by an hour, the clock ends no job; a minute after the alarm that it did not hear it is killed."""
    worker: Any = PlanWorker(store.redis, "here", queues.QUEUES)
    calls: list[str] = []
    worker._child = SimpleNamespace(stands=lambda: True, hand=calls.append, wait=lambda: (1, 0, None), pid=1)
    worker.execution, worker.kill_horse = SimpleNamespace(id="1"), lambda: calls.append("killed")
    queued = a_job(store)
    worker.fork_work_horse(queued, Queue(queues.BATCH, connection=store.redis))
    # rq kills what has a limit by the time of day
    assert queued.timeout == -1
    worker._due -= age
    worker.wait_for_horse()
    assert ("killed" in calls) == killed


def a_job(store: Store) -> Any:  # noqa: ANN401
    """Return the one plan's job, which may take a minute."""
    queue = Queue(queues.BATCH, connection=store.redis, serializer=JSONSerializer)
    return queue.create_job(queues.TASK, job_id=f"{PLAN_ID}-1", timeout=60)


def test_the_clock_may_be_set_back_an_hour(store: Store) -> None:
    """All that is kept is of an hour ahead then: rounds are made, dead workers are missed, and lost plans found."""
    redis, lost = store.redis, "f" * 32
    redis.zadd("lapstock:workers", {"dead": 1})
    store.create(lost, Ask("anybody", queues.BATCH, shed()))
    store.start(PLAN_ID, 1)
    Reaper(redis, "another").sweep()
    for name in ("running", "waiting", "workers"):
        for member in cast("list[bytes]", redis.zrange(f"lapstock:{name}", 0, -1)):
            redis.zadd(f"lapstock:{name}", {member: redis.time()[0] + 3600})
    redis.set("lapstock:watch", redis.time()[0] + 3600, ex=3602)
    redis.set("lapstock:watched", redis.time()[0] + 3600)
    assert (makes_rounds(redis), sum(living_workers(redis).values())) == (False, 0)
    reaper = Reaper(redis, "here")
    reaper.sweep()
    assert makes_rounds(redis)
    assert (redis.zscore("lapstock:running", PLAN_ID) or 0) <= redis.time()[0] + LEASE_SECONDS
    redis.delete("lapstock:watch")
    reaper.sweep()
    assert (lost, 1) in queues.queued(redis)


def test_a_cancelled_plan_whose_worker_died_stays_cancelled(store: Store) -> None:
    """Nobody wants it any more: it is not tried again."""
    store.start(PLAN_ID, 1)
    store.ask_cancel(PLAN_ID)
    assert store.beat(PLAN_ID, 1, None) == "cancel"
    recover(store, kept(store))
    assert kept(store).state is State.CANCELLED


def test_a_cancel_of_what_does_not_run_leaves_no_trace(store: Store) -> None:
    """Asking to cancel an unknown plan makes no plan."""
    assert not store.ask_cancel("f" * 32)
    assert store.fetch("f" * 32) is None


def test_what_is_being_made_can_not_be_forgotten(store: Store) -> None:
    """Only what is over is forgotten."""
    assert not store.forget(PLAN_ID)
    store.start(PLAN_ID, 1)
    assert not store.forget(PLAN_ID)
    store.finish(PLAN_ID, 1, State.FAILED, WHY, 5)
    assert store.forget(PLAN_ID)
    assert store.redis.keys("lapstock:*:" + PLAN_ID) == []


def test_progress_moves_the_version_only_when_it_changes(store: Store) -> None:
    """Pollers see a new ETag only for something new."""
    store.start(PLAN_ID, 1)
    versions = []
    first, better = Progress(Decimal("60.0"), Decimal(50)), Progress(Decimal("58.8"), Decimal(50))
    for progress in (None, first, first, better, replace(better, phase=Phase.TIDYING)):
        store.beat(PLAN_ID, 1, progress)
        versions.append(kept(store).version)
    assert [later - versions[0] for later in versions] == [0, 1, 1, 2, 3]
    assert (kept(store).cost, kept(store).phase) == (Decimal("58.8"), Phase.TIDYING)


def test_workers_run_their_task_and_nothing_else(alone: Stack) -> None:
    """Whoever can write to Redis can queue any function, callbacks, and pickles; a worker refuses them and goes on."""
    alone.start_worker()
    witness = alone.redis.url.removeprefix("unix://") + ".witness"
    queue = Queue(queues.BATCH, connection=alone.store.redis, serializer=JSONSerializer)
    for function in ("os.system", "workers.tasks.log.warning", "subprocess.getoutput"):
        queued = queue.enqueue_call(function, args=(f"touch {witness}",), job_id="intruder-1")
        eventually(lambda queued=queued: queued.is_failed)  # type: ignore[misc]
    trace = Callback("tests.support.intruder.leave_a_trace")
    queued = queue.enqueue_call(
        queues.TASK, args=("none", 1), job_id="intruder-2", on_success=trace, meta={"witness": witness}
    )
    eventually(lambda: queued.is_finished)
    # the queue's own default would run code from a pickle; here it is no JSON
    Queue(queues.BATCH, connection=alone.store.redis).enqueue_call(queues.TASK, args=("none", 1), job_id="x-1")
    eventually(lambda: alone.store.redis.hget("rq:job:x-1", "status") == b"failed")
    assert not Path(witness).exists()
    assert alone.settled(alone.posted(SHED)).state is State.SUCCEEDED
