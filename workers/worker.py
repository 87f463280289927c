"""The worker process: takes plans from the queues and hands each to a child that stands ready (``prefork``).

``python -m workers.worker`` is one; with ``--interactive`` it makes only plans that somebody waits for, with
``--newcomers`` only plans of callers of whom none is being made, and with ``--die-with-parent`` it ends when whoever
started it does.
"""

from __future__ import annotations

import json
import logging
import os
import secrets
import socket
import sys
import time
from collections.abc import Sequence
from math import inf
from typing import cast

from redis import Redis
from rq import Queue, Worker
from rq.executions import Execution
from rq.job import Job as QueuedJob
from rq.serializers import JSONSerializer

from workers.callbacks import Rules
from workers.connection import patient, redis_url
from workers.logs import set_up
from workers.messenger import Messenger
from workers.plans.record import TIMED_OUT, State
from workers.plans.store import Store
from workers.prefork import Child, Ended
from workers.process import die_with_starter
from workers.queues import GRACE_SECONDS, AllowedJob, plan_of
from workers.reaper import Reaper, hand_back, recover
from workers.shares import (
    BATCH,
    INTERACTIVE,
    INTERACTIVE_ONLY,
    NEWCOMERS_ONLY,
    QUEUES,
    FairQueue,
    NewcomersQueue,
)
from workers.toy import warm_up
from workers.weeks.scheduler import count_death

WORKER_TTL = 30
"""rq's idle worker comes up for air after this less 15 seconds."""


class PlanWorker(Worker):
    """An rq worker that runs the one allowed task and looks after plans whose process died."""

    job_class = AllowedJob
    queue_class = FairQueue

    def __init__(self, redis: Redis, name: str, queues: Sequence[str]) -> None:
        super().__init__(
            queues,
            name=name,
            connection=redis,
            serializer=JSONSerializer,
            worker_ttl=WORKER_TTL,
            maintenance_interval=60,
            job_monitoring_interval=10,
            log_job_description=False,
            work_horse_killed_handler=self._process_died,
        )
        self._child: Child | None = None
        self._due = inf
        """When the job in hand is to be done, on the monotonic clock."""

    def stand_ready(self) -> None:
        """Have a child that waits for a job."""
        if self._child is None or not self._child.stands():
            self._child = Child(self._run)

    def fork_work_horse(self, job: QueuedJob, queue: Queue) -> None:
        """Hand a job to the child that stands ready, where rq would fork one for it."""
        self.stand_ready()
        assert self._child
        assert self.execution
        self._horse_pid = self._child.pid
        # rq would kill it by the time of day, which may be set meanwhile; the child reads its limit anew
        self._due, job.timeout = time.monotonic() + float(job.timeout or inf), -1
        self._child.hand(json.dumps([job.id, queue.name, self.execution.id]).encode())

    def wait_for_horse(self) -> Ended:
        """Wait until the job is done or its process is gone, which it is once it did not hear its alarm."""
        assert self._child
        if time.monotonic() > self._due + GRACE_SECONDS:
            self.kill_horse()
        return self._child.wait()

    def execute_job(self, job: QueuedJob, queue: Queue) -> None:
        """Have the child run a job; then a child stands ready for the next."""
        super().execute_job(job, queue)
        self.stand_ready()

    def _run(self, order: bytes) -> bool:
        """Run a job in the child; returns whether the child may run another."""
        job_id, queue_name, execution_id = json.loads(order)
        self._is_horse = True
        queue = next(each for each in self.queues if each.name == queue_name)
        job = cast("AllowedJob", AllowedJob.fetch(job_id, connection=self.connection, serializer=self.serializer))
        execution = Execution(execution_id, job_id, self.connection, self.name)
        self.executions = {execution_id: execution}
        self.perform_job(job, queue, execution)
        return job.leaves_nothing

    def _process_died(self, job: QueuedJob, *_: object) -> None:
        count_death(self.connection, job.id)
        store = Store(self.connection)
        plan_id, generation = plan_of(job.id)
        record = store.fetch(plan_id)
        if not record or record.generation != generation or record.state.over:
            return
        if time.monotonic() > self._due:
            # it did not hear the alarm
            store.give_up(record, State.FAILED, TIMED_OUT)
        else:
            recover(store, record)


class NewcomersWorker(PlanWorker):
    """A worker kept back for callers of whom nothing is being made, so that nobody's long plans are everybody's."""

    queue_class = NewcomersQueue


def run(*, interactive: bool = False, newcomers: bool = False) -> None:
    """Work until told to stop; a second signal stops at once and hands the plan back.

    With ``interactive``, only plans that somebody waits for are made, so that one is free for them at all times; with
    ``newcomers`` only those of callers of whom none is being made.
    """
    url = redis_url()
    kept_for = INTERACTIVE_ONLY * interactive + NEWCOMERS_ONLY * newcomers
    name = f"{kept_for}{socket.gethostname()}-{os.getpid()}-{secrets.token_hex(3)}"
    queues = (INTERACTIVE,) if interactive else (INTERACTIVE, BATCH) if newcomers else QUEUES
    kind = NewcomersWorker if newcomers else PlanWorker
    worker, reaper = kind(patient(url), name, queues), Reaper(patient(url), name)
    messenger = Messenger(patient(url), Rules.from_environment())
    # rq does so when it begins to work, which a child that was forked before would not hear of
    worker.log.setLevel(logging.WARNING)
    warm_up()
    worker.stand_ready()
    reaper.start()
    messenger.start()
    try:
        worker.work(logging_level=logging.getLevelName(logging.WARNING))
    except SystemExit:
        _hand_back(url, worker)
        raise
    finally:
        reaper.stop()
        messenger.stop()


def _hand_back(url: str, worker: PlanWorker) -> None:
    for execution in worker.executions.values():
        hand_back(Store(patient(url)), *plan_of(execution.job_id))


def main() -> None:
    """Be a worker as the arguments say."""
    if "--die-with-parent" in sys.argv[1:]:
        die_with_starter()
    set_up(logging.WARNING)
    run(interactive="--interactive" in sys.argv[1:], newcomers="--newcomers" in sys.argv[1:])


if __name__ == "__main__":
    main()
