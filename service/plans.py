"""The service layer of plans: accept, look up, wait for, cancel and forget them, whichever route or page asks."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from service import letterhead, racks
from service.http import access
from service.http.problems import Problem, not_found
from service.http.waiting import Awaited, wait
from service.state import service, store
from solver.job import Job
from solver.plan import CutPlan
from workers import queues
from workers.codec import Unreadable
from workers.orders.particulars import Act, Particulars, difference
from workers.orders.plan_number import serial_of
from workers.orders.ticks import Change, Tick, Ticks
from workers.plans.index import Sought
from workers.plans.record import UNREADABLE, Record, State
from workers.plans.store import Ask, KeyReused, Listed, TooManyWaiting

ASK_AGAIN = "1"
"""Seconds after which it is worth looking again."""
_LOOKS = 5
"""Times that a plan which changes hands while it is being cancelled is looked at."""
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kept:
    """All that is kept of a plan. ``job`` is None where it can't be read; the record then says that it failed."""

    record: Record
    job: Job | None
    plan: CutPlan | None


def accept(asked: Ask) -> Record:
    """Keep a plan and queue it.

    Raises ``Problem`` where too many wait, its key came with another request, or what it names of the rack is not free.
    """
    if not (asked.key and store().standing(asked.client, asked.key)):
        racks.refuse_unavailable(asked.job, asked.replaces)
    new_id = secrets.token_hex(16)
    try:
        plan_id = store().create(new_id, asked)
    except KeyReused:
        raise Problem("key-reused", "This Idempotency-Key came with a different request before.") from None
    except TooManyWaiting:
        detail = f"{service().config.most_waiting} of your plans are waiting already."
        raise Problem("busy", detail, headers={"Retry-After": "10"}) from None
    if plan_id == new_id:
        queues.enqueue(store().redis, asked.queue, asked.client, plan_id, 1, asked.job.seconds)
    return own(plan_id)


def with_charges(job: Job) -> Job:
    """Return a job with what the caller's suppliers charge, as far as its materials name them and it says nothing.

    For what is ordered anew: a plan that is made another way is held against the one that it was made from.
    """
    names = {material.supplier for material in job.materials if material.supplier}
    if job.suppliers or not names:
        return job
    return replace(job, suppliers=tuple(each for each in letterhead.company().suppliers if each.name in names))


def own(plan_id: str) -> Record:
    """Return the caller's own record. Raises ``Problem``: 410 once expired, 404 for any other id."""
    record = store().fetch(plan_id)
    if record is None and store().owner_of_expired(plan_id) == access.client():
        raise Problem("expired", "The result was kept for its time and is gone; post the request again.")
    if record is None or record.client != access.client():
        raise not_found()
    return record


def numbered(number: str) -> Record:
    """Return the caller's own plan of a number. Raises ``Problem`` where there is none, or none any more."""
    serial = serial_of(number)
    found = find(Sought(serial=serial), lambda _: True, "", 1).records if serial else ()
    if not found:
        raise not_found(f"There is no plan {number[:20]}.")
    return found[0]


def named(name: str) -> Record:
    """Return the caller's own plan of a number or an id. Raises ``Problem`` where there is none, or none any more."""
    return numbered(name) if serial_of(name) else own(name)


def ancestors(record: Record, most: int) -> Iterator[Job]:
    """Yield the jobs of the plans that a plan was made from, nearest first, as far as they are kept."""
    for _ in range(most):
        if not record.made_from:
            return
        try:
            whole = kept(numbered(record.made_from))
        except Problem:
            return
        if whole.job is None:
            return
        yield whole.job
        record = whole.record


def kept(record: Record) -> Kept:
    """Return a record with its job and its plan. Raises ``Problem`` where they are gone meanwhile."""
    try:
        job = store().job(record.id)
        plan = store().plan(record.id) if record.has_plan else None
    except Unreadable:
        log.exception("what is kept of plan %s can't be read", record.id)
        return Kept(replace(record, state=State.FAILED, failure=UNREADABLE, has_plan=False), None, None)
    if job is None and record.failure != UNREADABLE:
        raise not_found()
    return Kept(record, job, plan)


def planned(plan_id: str) -> tuple[Job, CutPlan]:
    """Return the job and its finished plan. Raises ``Problem`` while or where there is none."""
    found = kept(own(plan_id))
    if not found.record.state.over:
        raise Problem("not-ready", "The plan is still being made.", headers={"Retry-After": ASK_AGAIN})
    if found.job is None or found.plan is None:
        failure = found.record.failure
        raise Problem("no-plan", failure.detail if failure else "It was cancelled before it began.")
    return found.job, found.plan


def measured(plan_id: str) -> dict[str, Any]:
    """Return the request for a take-off that a plan was made of. Raises ``Problem`` where it was made of a list."""
    own(plan_id)
    try:
        found = store().measured(plan_id)
    except Unreadable:
        log.exception("the measurements kept of plan %s can't be read", plan_id)
        raise Problem("unreadable", UNREADABLE.detail) from None
    if found is None:
        raise Problem("not-measured", "This plan was asked for as a list of pieces.")
    return found


def written(record: Record) -> dict[str, Any] | None:
    """Return the list that a plan was made of as it came, None where there is none that can be read."""
    try:
        return store().written(record.id)
    except Unreadable:
        log.exception("the list kept of plan %s can't be read", record.id)
        return None


def end_of(record: Record) -> Awaited[Record]:
    """Return that a plan is over, as what is waited for."""
    return Awaited(record, record.id, lambda: own(record.id), lambda now: now.state.over)


def wait_for(record: Record, seconds: float) -> Record:
    """Wait until the plan is over or the time is, and return what is known of it then."""
    return wait(end_of(record), seconds).value


def cancel(record: Record) -> Record:
    """End what waits, ask what runs to stop with the best plan found, and leave alone what is over."""
    for _ in range(_LOOKS):
        if record.state.over:
            break
        if _stopped(record):
            store().note(record.id, access.client(), access.person(), Act.STOPPED)
            break
        record = own(record.id)
    return own(record.id)


def amend(record: Record, change: Callable[[Record], Particulars]) -> Record:
    """Keep other particulars of a plan, and who changed what in its history.

    ``change`` returns them for a plan as it is, and is asked again where that changed meanwhile: so nobody undoes
    what somebody else did, and may raise ``Problem`` where it is no longer as believed.
    """
    for _ in range(_LOOKS):
        before, after = record.particulars, change(record)
        if after == before:
            break
        if before.called_off and not after.called_off:
            _on_rack(record, racks.hold_again)
        if store().amend(record, after):
            _note_amended(record.id, before, after)
            if after.called_off and not before.called_off:
                _on_rack(record, racks.let_go)
            break
        record = own(record.id)
    return own(record.id)


def _on_rack(record: Record, do: Callable[[Record, Job, CutPlan], None]) -> None:
    """Do something to what a plan holds on the rack, if it uses any of it and is not replaced."""
    whole = kept(record)
    if whole.job and whole.plan and whole.job.rack and not record.replaced_by:
        do(record, whole.job, whole.plan)


def replaced_by_another(record: Record) -> str:
    """Return the id of a plan whose place another takes with what it holds on the rack; empty where it holds none."""
    job = kept(record).job
    return record.id if job and job.rack and record.has_plan else ""


def tick(plan_id: str, job: Job, plan: CutPlan, changes: Sequence[Change]) -> Mapping[str, Tick]:
    """Keep what became of pieces, each only if it is still what it was taken to be, and return what they are now."""
    ticks = Ticks(store().redis)
    ticks.mark(plan_id, changes, access.person())
    if job.rack:
        racks.note_ticks(plan_id, job, plan, ticks.of(plan_id))
    return ticks.of(plan_id, [change.piece for change in changes])


def _note_amended(plan_id: str, before: Particulars, after: Particulars) -> None:
    if before.called_off != after.called_off:
        store().note(plan_id, access.client(), access.person(), Act.CALLED_OFF if after.called_off else Act.TAKEN_UP)
    if changed := difference(before, after):
        store().note(plan_id, access.client(), access.person(), Act.AMENDED, changed)


def find(sought: Sought, of: Callable[[Record], bool], before: str, most: int) -> Listed:
    """Return a page of the caller's own plans that are as sought and of which ``of`` says so, newest first."""
    return store().listed(access.client(), sought, of, before, most)


def _stopped(record: Record) -> bool:
    """Stop a plan that is not over; False where it is no longer as believed: a worker took it, lost it or ended it."""
    if record.state is State.RUNNING:
        return store().ask_cancel(record.id)
    if not store().give_up(record, State.CANCELLED):
        return False
    queues.dequeue(store().redis, record.queue, record.id, record.generation)
    return True


def forget(record: Record) -> None:
    """Remove a plan that is over. Raises ``Problem`` while it is not: who means to stop a plan must not lose it."""
    if not record.state.over:
        detail = f"The plan is {record.state}; post to /v1/cut-plans/{record.id}/cancel to stop it, then forget it."
        raise Problem("not-over", detail)
    if record.failure == UNREADABLE:
        store().bury(record.id)
    store().forget(record.id)
    Ticks(store().redis).forget(record.id)
