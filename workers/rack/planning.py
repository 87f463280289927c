"""A plan that draws on the rack: what it is offered, and what it holds once it is made.

Nothing is held while a plan is being made. If what it uses has been taken meanwhile, it is planned again with what is
left, and says so; each time somebody else has got on, so that all come to an end.
"""

from __future__ import annotations

import logging
import time
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace

from solver.demand import is_run, kind_of
from solver.job import FromRack, Job, Notice
from solver.lengths import say
from solver.materials import Material, Offcut
from solver.plan import CutPlan
from workers.codec import Unreadable
from workers.plans.record import Failure, Record, State
from workers.plans.store import PLAN, Store
from workers.rack.store import Entry, Holding, Rack, Taken, lying

log = logging.getLogger(__name__)
TRIES = 8
"""So often a plan is made for which something was taken meanwhile; the last time without the rack."""
LEAST_SECONDS = 2.0
"""A try after the first has so much time at least, whatever those before left of the job's."""
MOST_OFFERED = 200
"""Labels that one plan is offered, the longest first."""


def settle(
    store: Store,
    record: Record,
    job: Job,
    plan: Callable[[Job], CutPlan | Failure],
    state_of: Callable[[CutPlan | Failure], State],
) -> State | None:
    """Plan a job that is running, with what is free of the rack, and write the result, once.

    Returns how it ended, or None where that was no longer this record's to write.
    """
    began, lost = time.monotonic(), dict[str, Notice]()
    for attempt in range(1, TRIES + 1):
        left_out = attempt == TRIES
        entries = [] if job.rack is None or left_out else lying(Rack(store.redis, record.client))
        whole = offered(job, entries, holders_of(record))
        if job.rack is not None:
            lost |= _missed(job, whole, job.rack, entries) if not left_out else {"": _LEFT_OUT}
        left = max(job.seconds - (time.monotonic() - began), min(LEAST_SECONDS, job.seconds))
        outcome = plan(whole if attempt == 1 else replace(whole, seconds=left))
        ms = round((time.monotonic() - began) * 1000)
        holding = None
        if isinstance(outcome, CutPlan):
            outcome = replace(outcome, warnings=(*outcome.warnings, *lost.values()))
            holding = _holding(store, record, whole, outcome)
        ended = state_of(outcome)
        try:
            return ended if store.finish(record.id, record.generation, ended, outcome, ms, holding) else None
        except Taken as taken:
            lost |= _taken(whole, taken.labels, lying(Rack(store.redis, record.client)))
    raise AssertionError("the last try holds nothing that could be taken")


def holders_of(record: Record) -> tuple[str, ...]:
    """Return the keys of the records whose holds are there for a plan: its own and that of the plan it replaces."""
    return tuple(PLAN + plan_id for plan_id in (record.id, record.replaces) if plan_id)


def offered(job: Job, entries: Iterable[Entry], holders: Collection[str] = ()) -> Job:
    """Return a job with what it may use of these entries among its offcuts: what fits, and is free for the holders."""
    if job.rack is None:
        return job
    least = {material.id: _least(job, material) for material in job.materials}
    given = {offcut.id for offcut in job.offcuts}
    fitting = [
        entry
        for entry in entries
        if entry.label not in given
        and entry.length >= least.get(entry.material, entry.length + 1)
        and (not job.rack.labels or entry.label in job.rack.labels)
        and entry.free_for(*holders) > 0
    ]
    longest = sorted(fitting, key=lambda entry: (-entry.length, entry.label))[:MOST_OFFERED]
    found = (_offcut(entry, entry.free_for(*holders)) for entry in longest)
    return replace(job, offcuts=(*job.offcuts, *found))


def used(job: Job, plan: CutPlan) -> dict[str, int]:
    """Return how many of each label on the rack a plan uses."""
    on_rack = {offcut.id for offcut in job.offcuts if offcut.on_rack}
    ids = (stick.offcut_id for part in plan.materials for _, stick in part.sticks())
    return dict(Counter(label for label in ids if label in on_rack))


def _least(job: Job, material: Material) -> int:
    """Return the shortest length of which anything of a material can be cut; beyond any where nothing is wanted."""
    wanted = [required for required in job.required if required.material == material.id]
    shortest = material.settings.shortest_piece or 1
    takes = (shortest if is_run(one, material) else kind_of(one, material).takes for one in wanted)
    return min(takes, default=_BEYOND)


_BEYOND = 1 << 40


def _offcut(entry: Entry, count: int) -> Offcut:
    return Offcut(entry.label, entry.material, entry.length, count, entry.factory_end, on_rack=True)


def _holding(store: Store, record: Record, job: Job, plan: CutPlan) -> Holding | None:
    if job.rack is None and not record.replaces:
        return None
    return Holding(
        rack=Rack(store.redis, record.client).name,
        job=job,
        by=f"plan {record.number}",
        number=record.number,
        wanted=used(job, plan),
        replaced=PLAN + record.replaces if record.replaces else "",
        before=_held_before(store, record.replaces),
    )


def _held_before(store: Store, replaced: str) -> list[str]:
    """Return the labels that a plan which is replaced may hold; none where nobody can read which they are."""
    try:
        job = store.job(replaced) if replaced else None
    except Unreadable:
        log.exception("what plan %s holds can't be read", replaced)
        return []
    return [offcut.id for offcut in job.offcuts if offcut.on_rack] if job else []


_LEFT_OUT = Notice(
    "rack_left_out",
    f"others took what this plan was to use of the rack {TRIES - 1} times while it was planned; it uses nothing of it",
    "#/rack",
)


def _missed(job: Job, whole: Job, rack: FromRack, entries: Iterable[Entry]) -> dict[str, Notice]:
    """Return a notice for each label that was named and is not to be had."""
    there, on_rack = {offcut.id for offcut in whole.offcuts}, {entry.label: entry for entry in entries}
    missing = [label for label in rack.labels if label not in there]
    return {label: _notice(job, label, on_rack.get(label), "") for label in missing if _is_gone(on_rack.get(label))}


def _is_gone(entry: Entry | None) -> bool:
    """Whether what was named is not to be had, rather than of no use."""
    return entry is None or entry.free <= 0


def _taken(job: Job, labels: Sequence[str], entries: Iterable[Entry]) -> Mapping[str, Notice]:
    on_rack = {entry.label: entry for entry in entries}
    again = " while this was planned; it was planned again with what is left"
    return {label: _notice(job, label, on_rack.get(label), again) for label in labels}


def _notice(job: Job, label: str, entry: Entry | None, then: str) -> Notice:
    """Say that what has a label can't be used, who has it, and which place of the request speaks of it."""
    labels = job.rack.labels if job.rack else ()
    place = f"#/rack/{labels.index(label)}" if label in labels else "#/rack"
    if entry is None:
        return Notice("offcut_taken", f"{label} is on the rack no more{then or ', so it is not used'}", place)
    by = " and ".join(dict.fromkeys(hold.by for hold in entry.holds))
    what = f"{label}, {say(entry.length, job.units)} of {entry.material}"
    who = f"was taken by {by}" if by else "was used"
    return Notice("offcut_taken", f"{what}, {who}{then or ', so it is not used'}", place, entry.material)
