"""What a worker runs: one plan, from its job in the store to its result in the store."""

from __future__ import annotations

import logging
import time
from functools import cache, partial
from threading import Event, Thread
from types import TracebackType
from typing import Self

from redis.exceptions import RedisError
from rq.timeouts import JobTimeoutException

import solver
from solver import Progress
from solver.errors import PlanRefused, Unplannable
from solver.job import Job
from solver.plan import CutPlan, StoppedBy
from workers.codec import Unreadable
from workers.connection import patient, redis_url
from workers.logs import about
from workers.plans.record import TIMED_OUT, UNREADABLE, Failure, State
from workers.plans.store import Store
from workers.process import BEAT_SECONDS
from workers.rack.planning import settle

log = logging.getLogger(__name__)


def solve_plan(plan_id: str, generation: int) -> bool:
    """Plan what the store holds under this id and generation, unless somebody else has it or has stopped it.

    Returns whether there is nothing that this process could carry over to its next job.
    """
    about(plan_id=plan_id)
    store = _store(redis_url())
    if not store.start(plan_id, generation):
        return True
    try:
        job = store.job(plan_id)
    except Unreadable:
        log.exception("the job of plan %s can't be read", plan_id)
        store.finish(plan_id, generation, State.FAILED, UNREADABLE, 0)
        return False
    record = store.fetch(plan_id)
    if job is None or record is None or record.generation != generation:
        return True
    with Heartbeat(store, plan_id, generation) as heartbeat:
        ended = settle(store, record, job, partial(_outcome, heartbeat=heartbeat), _state)
    if ended is None:
        log.warning("plan %s was taken over by another worker; dropping this result", plan_id)
    return ended in (State.SUCCEEDED, State.CANCELLED)


@cache
def _store(url: str) -> Store:
    """Return the store of this process, with a connection that its next job finds open."""
    return Store(patient(url))


def _state(outcome: CutPlan | Failure) -> State:
    """Return how the planning ended: cancelled only where the cancel cut it short, not where it came too late."""
    if isinstance(outcome, Failure):
        return State.FAILED
    return State.CANCELLED if outcome.stopped_by is StoppedBy.CANCEL else State.SUCCEEDED


def _outcome(job: Job, heartbeat: Heartbeat) -> CutPlan | Failure:
    try:
        return solver.plan_job(job, time.monotonic, heartbeat.cancelled, heartbeat.report)
    except Unplannable as error:
        return Failure("unplannable", str(error))
    except PlanRefused as error:
        log.exception("the checker refused a plan")
        return Failure("plan_refused", f"The independent check refused the plan that was found: {error}")
    except JobTimeoutException:
        return TIMED_OUT
    except MemoryError:
        return Failure("out_of_memory", "The job needs more memory than one plan is given; divide it.")
    except Exception:
        log.exception("planning failed")
        return Failure("internal_error", "Planning failed by a fault of this program; it has been logged.")


class Heartbeat:
    """Renews the lease of a plan, carries its progress out and a cancel in, while its ``with`` block lasts."""

    def __init__(self, store: Store, plan_id: str, generation: int) -> None:
        self._store = store
        self._plan = (plan_id, generation)
        self._latest: Progress | None = None
        self._cancelled = Event()
        self._over = Event()
        self._thread = Thread(target=self._run, name="heartbeat", daemon=True)

    def cancelled(self) -> bool:
        """Whether to stop: somebody asked for it, or another worker has taken the plan over."""
        return self._cancelled.is_set()

    def report(self, progress: Progress) -> None:
        """Take the latest progress; it goes out with the next beat."""
        self._latest = progress

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        while not self._over.wait(BEAT_SECONDS):
            try:
                answer = self._store.beat(*self._plan, self._latest)
            except RedisError:
                log.warning("no Redis to tell the progress of %s", self._plan[0])
                continue
            if answer != "go on":
                self._cancelled.set()
