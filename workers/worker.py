"""The worker process: imports the solver once, then forks for each plan it takes from the queues."""

from __future__ import annotations

import logging
import os
import secrets
import socket
from collections.abc import Sequence

from redis import Redis
from rq import Worker
from rq.job import Job as QueuedJob
from rq.serializers import JSONSerializer

from workers.connection import patient, redis_url
from workers.queues import COUNTER, QUEUES, AllowedJob, plan_of
from workers.recovery import hand_back, recover
from workers.store import Store
from workers.watchman import COUNTER_ONLY, Watchman

# imported for its weight: a child that is forked after this need not import it
import solver  # noqa: F401  # isort: skip

WORKER_TTL = 30
"""rq's idle worker comes up for air after this less 15 seconds."""


class PlanWorker(Worker):
    """An rq worker that runs the one allowed task and looks after plans whose process died."""

    job_class = AllowedJob

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

    def _process_died(self, job: QueuedJob, *_: object) -> None:
        store = Store(self.connection)
        plan_id, generation = plan_of(job.id)
        record = store.fetch(plan_id)
        if record and record.generation == generation and not record.state.over:
            recover(store, record)


def run(*, counter: bool = False) -> None:
    """Work until told to stop; a second signal stops at once and hands the plan back.

    With ``counter``, only plans that somebody waits for are made, so that one is free for them at all times.
    """
    url = redis_url()
    name = f"{COUNTER_ONLY * counter}{socket.gethostname()}-{os.getpid()}-{secrets.token_hex(3)}"
    queues = (COUNTER,) if counter else QUEUES
    worker, watchman = PlanWorker(patient(url), name, queues), Watchman(patient(url), name)
    watchman.start()
    try:
        worker.work(logging_level=logging.getLevelName(logging.WARNING))
    except SystemExit:
        _hand_back(url, worker)
        raise
    finally:
        watchman.stop()


def _hand_back(url: str, worker: PlanWorker) -> None:
    for execution in worker.executions.values():
        hand_back(Store(patient(url)), *plan_of(execution.job_id))
