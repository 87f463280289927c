"""Queues: ``interactive`` while somebody waits, ``batch`` for what may take its turn, ``weeks`` for crews' nights."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from redis import Redis
from rq import Queue
from rq.job import Job as QueuedJob
from rq.serializers import JSONSerializer

from workers.shares import BATCH, INTERACTIVE, QUEUES, place, queue_key, waiting_on

__all__ = ["BATCH", "INTERACTIVE", "QUEUES"]

TASK = "workers.tasks.solve_plan"
WEEK_TASK = "workers.week_tasks.plan_kept_week"
TASKS = (TASK, WEEK_TASK)
"""The only functions a worker runs."""
GRACE_SECONDS = 60
"""A job may take so much longer than its solving time before it is cut off: the last fence, never the rule."""


def enqueue(
    redis: Redis, queue: str, client: str, plan_id: str, generation: int, seconds: float, *, first: bool = False
) -> None:
    """Put a plan's generation on a queue where its client's turn is; a second time for the same does no harm.

    A queue that no worker of this version looks at is taken for the one of whatever may take its turn.
    """
    name = queue if queue in QUEUES else BATCH
    Queue(name, connection=redis, serializer=JSONSerializer).enqueue_call(
        TASK,
        args=(plan_id, generation),
        job_id=_name(plan_id, generation),
        timeout=int(seconds) + GRACE_SECONDS,
        result_ttl=60,
        failure_ttl=24 * 3600,
        at_front=first,
        meta={"client": client},
    )
    place(redis, name, _name(plan_id, generation), first=first)


def dequeue(redis: Redis, queue: str, plan_id: str, generation: int) -> None:
    """Take a plan off a queue, if it is there, with what rq keeps of it: on no queue, rq would keep that for good."""
    name, queue = _name(plan_id, generation), queue if queue in QUEUES else BATCH
    if redis.zrem(queue_key(queue), name):
        QueuedJob(name, connection=redis, serializer=JSONSerializer).delete()


def queued(redis: Redis) -> set[tuple[str, int]]:
    """Return every plan and generation that is on a queue."""
    return {plan_of(name) for queue in QUEUES for name in waiting_on(redis, queue)}


def depths(redis: Redis) -> dict[str, int]:
    """Return how many jobs are on each queue."""
    return {queue: redis.zcard(queue_key(queue)) for queue in QUEUES}


def plan_of(job_id: str) -> tuple[str, int]:
    """Return the plan and generation a queued job stands for."""
    plan_id, _, generation = job_id.rpartition("-")
    return plan_id, int(generation) if generation.isdigit() else 0


def _name(plan_id: str, generation: int) -> str:
    return f"{plan_id}-{generation}"


class AllowedJob(QueuedJob):
    """A queued job that may only be a call of ``TASKS``: write access to Redis must not run code of choice."""

    leaves_nothing = False
    """Whether it has run, and its task said that its process may run another."""

    def perform(self) -> object:
        """Run it and hear what its task says. Raises what the task raises, and ``PermissionError``."""
        result = super().perform()
        self.leaves_nothing = result is True
        return result

    @property
    def func(self) -> Callable[..., object]:
        """The function to run. Raises ``PermissionError`` for any but ``TASKS``."""
        if self.func_name not in TASKS:
            raise PermissionError(f"workers run {', '.join(TASKS)} and nothing else")
        return cast("Callable[..., object]", super().func)

    @property
    def success_callback(self) -> None:
        """No callback, whatever the job says."""
        return

    @property
    def failure_callback(self) -> None:
        """No callback, whatever the job says."""
        return

    @property
    def stopped_callback(self) -> None:
        """No callback, whatever the job says."""
        return

    def send_webhooks(self, status: object, *, exc_string: str | None = None) -> None:
        """Send nothing, whatever the job says."""
        del status, exc_string
