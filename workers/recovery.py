"""What becomes of a plan whose worker is gone: it is tried once more, then given up with a reason."""

from __future__ import annotations

from workers.codec import Unreadable
from workers.queues import enqueue
from workers.record import UNREADABLE, Failure, Record, State
from workers.store import Store

MOST_DEATHS = 2
"""A plan that has cost so many workers their life is not tried again."""
POISONED = Failure(
    "worker_died",
    f"The process planning this died {MOST_DEATHS} times, perhaps for lack of memory; divide the job and try again.",
)


def recover(store: Store, record: Record, *, lapsed: bool = False) -> None:
    """Requeue a plan whose worker died, or end it; with ``lapsed`` only if its lease has run out by now."""
    if record.cancel_asked:
        store.give_up(record, State.CANCELLED, lapsed=lapsed)
    elif record.deaths + 1 >= MOST_DEATHS:
        store.give_up(record, State.FAILED, POISONED, lapsed=lapsed)
    else:
        _try_again(store, record, record.deaths + 1, lapsed=lapsed)


def hand_back(store: Store, plan_id: str, generation: int) -> None:
    """Requeue a plan whose worker is told to stop at once: nobody's fault, so no death is counted."""
    record = store.fetch(plan_id)
    if record and record.generation == generation:
        _try_again(store, record, record.deaths, lapsed=False)


def _try_again(store: Store, record: Record, deaths: int, *, lapsed: bool) -> None:
    try:
        job = store.job(record.id)
    except Unreadable:
        store.give_up(record, State.FAILED, UNREADABLE, lapsed=lapsed)
        return
    if store.requeue(record, deaths=deaths, lapsed=lapsed) and job is not None:
        enqueue(store.redis, record.queue, record.id, record.generation + 1, job.seconds, first=True)
