"""A crew's week and the rack that all share: what it has used of it, and what it gives back."""

from __future__ import annotations

from dataclasses import replace

from service import racks, weeks
from service.http.problems import Problem
from service.weeks import no_week
from solver.materials import FactoryEnd
from solver.weekly.moment import moment_of
from solver.weekly.state import WeekState, snapshot
from solver.weekly.week import Sticks, Week
from workers.codec import Unreadable
from workers.rack.store import Entry, Source
from workers.rack.weekly import came_from, draws, hold, used
from workers.weeks.record import UNREADABLE_WEEK, KeptWeek, WeekKey
from workers.weeks.store import record_name


def note_used(kept: KeptWeek) -> None:
    """Note what a week has used of the rack, by its reports."""
    if draws(kept.week):
        counts = used(kept.week)
        held = {offcut.id: counts[offcut.id] for offcut in kept.week.held}
        racks.rack().use(record_name(kept.key), held)


def back_on_rack(key: WeekKey) -> list[Entry]:
    """Put on the rack what a week has left and no open sheet cuts, and return it; the week has it no more then.

    Whole sticks go back once no job is open. Raises ``Problem``.
    """
    if not _given(weeks.kept_week(key))[0]:
        return []
    given: list[Entry] = []

    def apply(kept: KeptWeek | None) -> Week:
        if kept is None:
            raise no_week(key)
        given[:], week = _given(kept)
        # before the week is without them
        racks.require_room(len(given))
        return week

    try:
        # both or neither: what a week has no more and no rack has either would be lost
        kept, added = weeks.weeks().change_with(key, apply, lambda pipe: racks.rack().give(pipe, given))
    except Unreadable:
        raise Problem("unreadable", UNREADABLE_WEEK) from None
    if kept.plan and draws(kept.week):
        hold(racks.rack(), record_name(key), kept.week, kept.plan)
    labels = {label.decode() for label in added}
    return [entry for entry in racks.rack().entries() if entry.label in labels]


def _given(kept: KeptWeek) -> tuple[list[Entry], Week]:
    """Return what a week gives back, and the week without it."""
    week = kept.week
    state = snapshot(week, moment_of(week, weeks.now(), kept.plan))
    days = kept.plan.days if kept.plan else ()
    cut = {offcut.id for day in days if day.date >= state.moment.open_from for offcut in day.job.offcuts}
    offcuts = [offcut for offcut, _ in state.rack if not offcut.on_rack and offcut.id not in cut]
    entries = [
        Entry(
            label=offcut.id, material=offcut.material, length=offcut.length, count=offcut.quantity,
            factory_end=offcut.factory_end, source=Source.WEEK, of=came_from(week),
        )
        for offcut in offcuts
    ]  # fmt: skip
    sticks = [] if state.jobs else _sticks(state)
    lengths = {(material.id, row.id): row.length for material in week.materials for row in material.stock}
    entries += [
        Entry(
            label="", material=entry.material, length=lengths[entry.material, entry.stock], count=entry.count,
            factory_end=FactoryEnd.BOTH, source=Source.WEEK, of=came_from(week),
        )
        for entry in sticks
    ]  # fmt: skip
    labels = (*week.given_back, *(offcut.id for offcut in offcuts))
    return entries, replace(week, given_back=labels, given_sticks=(*week.given_sticks, *sticks))


def _sticks(state: WeekState) -> list[Sticks]:
    return [Sticks(material, stock, count) for (material, stock), count in state.stocked.items()]
