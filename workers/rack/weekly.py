"""A crew's week that draws on the rack: what it is offered when it is planned, and what it holds since.

What a week holds is among its own offcuts, marked as from the rack, so that its sheets and reports know it by label.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from solver.materials import Offcut
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week
from workers.rack.store import Entry, Rack


def draws(week: Week) -> bool:
    """Whether a week may use the rack, or holds something of it."""
    return week.use_rack or bool(week.held)


def offered(week: Week, entries: Iterable[Entry], holder: str, *, more: bool = True) -> Week:
    """Return a week with what it may use of these entries: what it holds, and with ``more`` what nobody does.

    What it reported used stays listed, for its reports name it.
    """
    kept = {one.offcut.id for report in week.reports for one in report.kept}
    taken = {offcut.id for offcut in week.own_rack} | kept
    materials, gone = {material.id for material in week.materials}, used(week)
    found = {
        entry.label: Offcut(entry.label, entry.material, entry.length, count, entry.factory_end, on_rack=True)
        for entry in entries
        if entry.label not in taken and entry.material in materials
        if (count := _there(entry, holder, more=more and week.use_rack) + gone[entry.label])
    }
    for offcut in week.held:
        if gone[offcut.id]:
            found.setdefault(offcut.id, replace(offcut, quantity=gone[offcut.id]))
    return replace(week, rack=(*week.own_rack, *found.values()))


def _there(entry: Entry, holder: str, *, more: bool) -> int:
    own = sum(hold.count - hold.used for hold in entry.holds if hold.holder == holder)
    return entry.free_for(holder) if more else own


def used(week: Week) -> Counter[str]:
    """Return how often each label was reported used."""
    return Counter(label for report in week.reports for label in report.used)


def wanted(week: Week, plan: WeekPlan) -> Counter[str]:
    """Return how many of each label of the rack a week has used by its reports, and uses by its sheets otherwise."""
    reported = {report.date for report in week.reports}
    counts = used(week)
    for day in plan.days:
        if day.date not in reported:
            sticks = (stick for part in day.plan.materials for _, stick in part.sticks())
            counts.update(stick.offcut_id for stick in sticks if stick.offcut_id)
    on_rack = {offcut.id for offcut in week.held}
    return Counter({label: count for label, count in counts.items() if label in on_rack})


def came_from(week: Week) -> str:
    """Return in words which week it is."""
    return f"{week.crew}, {week.name}"


def hold(rack: Rack, holder: str, week: Week, plan: WeekPlan) -> Week:
    """Hold what the plan of a week uses of what it was offered, and return the week with that and no more of the rack.

    Raises ``Taken``; then nothing is changed.
    """
    counts = wanted(week, plan)
    rack.hold(holder, came_from(week), counts, [offcut.id for offcut in week.held])
    rack.use(holder, {label: used(week)[label] for label in counts})
    kept = (replace(offcut, quantity=counts[offcut.id]) if offcut.on_rack else offcut for offcut in week.rack)
    return replace(week, rack=tuple(offcut for offcut in kept if offcut.quantity))
