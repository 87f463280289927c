"""A plan gone on with: what was reported held against what there was, and the rest asked for as a plan of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from service import plans, racks
from service.http import access
from service.http.problems import FieldError, Problem, refused
from service.http.strict_json import fingerprint
from service.state import store
from service.views.pieces import piece_id
from service.wire.job import rack_told
from service.wire.numbers import ticks as ticks_of
from solver.continuing import Report, rest_of
from solver.continuing.at_hand import remnants, whole
from solver.job import FromRack, Job
from solver.lengths import say
from solver.plan import CutPlan, PatternUse
from solver.sticks import StickUse
from solver.validation import find_problems
from workers.orders.particulars import Act
from workers.orders.ticks import UNTOUCHED, Change, PieceState, Tick, Ticks
from workers.plans.record import Record, State
from workers.plans.store import PLAN, Ask
from workers.rack.store import Entry

Told = Mapping[str, Any]
"""What ``read_continuation`` read."""
Place = tuple[str, int]
_DONE = (PieceState.CUT, PieceState.HUNG)


@dataclass(frozen=True, slots=True)
class Standing:
    """A plan as it stands: its sticks and pieces by name, and what is ticked of them."""

    record: Record
    job: Job
    plan: CutPlan
    sticks: Mapping[str, tuple[str, PatternUse, StickUse]]
    pieces: Mapping[str, Place]
    ticks: Mapping[str, Tick]

    @classmethod
    def of(cls, plan_id: str) -> Standing:
        """Return a plan of the caller's. Raises ``Problem`` while or where there is none."""
        record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
        sticks = {stick.stick: (part.material, use, stick) for part in plan.materials for use, stick in part.sticks()}
        pieces = {
            piece_id(name, cut): (name, cut)
            for name, (_, use, _) in sticks.items()
            for cut in range(1, len(use.cuts) + 1)
        }
        return cls(record, job, plan, sticks, pieces, Ticks(store().redis).of(plan_id))

    def state(self, piece: str) -> PieceState:
        """Return how far a piece is."""
        return self.ticks.get(piece, UNTOUCHED).state

    def report(self, told: Told, promised: frozenset[str] = frozenset()) -> Report:
        """Return what has become of it, by ticks and by what was told beside them."""
        miscut = {entry["piece"]: tuple(map(ticks_of, entry.get("usable", ()))) for entry in told.get("miscut", ())}
        states = {name: self.state(name) for name in self.pieces}
        states |= dict.fromkeys(told.get("cut", ()), PieceState.CUT) | dict.fromkeys(miscut, PieceState.MISCUT)
        return Report(
            cut=frozenset(place for name, place in self.pieces.items() if states[name] in _DONE),
            spoiled={
                place: miscut.get(name, ())
                for name, place in self.pieces.items()
                if states[name] is PieceState.MISCUT
            },
            broken={
                entry["stick"]: tuple(map(ticks_of, entry.get("usable", ()))) for entry in told.get("broken", ())
            },
            missing={(entry["material"], entry["stock"]): entry["count"] for entry in told.get("not_delivered", ())},
            promised=promised,
        )


def go_on(standing: Standing, told: Told, queue: str) -> Record:
    """Ask for the rest of a plan, and tick what was told of its pieces; asked again the same way it is one plan.

    Raises ``Problem`` with everything that was reported and can't be, where nothing is left, or where it was gone on
    with before.
    """
    record = standing.record
    if faults := list(_faults(standing, told)):
        raise refused(faults)
    mark = _mark_of(standing.report(told), told)
    if before := _standing(record, mark):
        return before
    (promised, taken), changes = _promised(standing, told), _changes(standing, told)
    # before the rest is asked for: it takes over what the plan holds of the rack and has not used
    _note_used(standing, changes, [entry["stick"] for entry in told.get("broken", ())])
    try:
        begun = _asked_for(standing, told, standing.report(told, promised), queue, mark)
    except Problem:
        racks.lay_back(taken)
        _note_used(standing)
        raise
    Ticks(store().redis).mark(record.id, changes, access.person())
    return begun


def _asked_for(standing: Standing, told: Told, report: Report, queue: str, mark: str) -> Record:
    """Ask for the rest of a plan. Raises ``Problem``."""
    record = standing.record
    job = _with_rack(rest_of(standing.job, standing.plan, report, record.number), standing, told)
    if not job.required:
        raise Problem("nothing-left", f"Every piece of plan {record.number} is cut.")
    if problems := find_problems(racks.with_rack(job)):
        raise refused(FieldError("#", f"{_mark(job, it.pointer)}{it.detail}", it.code) for it in problems)
    asked = Ask(
        client=access.client(), queue=queue, job=plans.with_charges(job), key=_key(record), fingerprint=mark,
        particulars=replace(record.particulars, called_off=False), by=access.person(), made_from=record.number,
        replaces=record.id, act=Act.CONTINUED,
    )  # fmt: skip
    try:
        return plans.accept(asked)
    except Problem as problem:
        raise _continued(record, "another") if problem.kind == "key-reused" else problem from None


def _mark_of(report: Report, told: Told) -> str:
    """Return what tells one report from another."""
    parts = (report.cut, report.spoiled.items(), report.broken.items(), report.missing.items())
    return fingerprint([*map(sorted, parts), rack_told(told.get("rack"))])


def _key(record: Record) -> str:
    """Return the key under which the rest of a plan is asked for; one that came to nothing makes room for another."""
    key = f"continuation-{record.id}"
    while (standing := store().standing(record.client, key)) and (before := store().fetch(standing[0])):
        if before.state not in (State.FAILED, State.CANCELLED):
            break
        key = f"continuation-{record.id}-{standing[0]}"
    return key


def _standing(record: Record, mark: str) -> Record | None:
    """Return the plan of the rest that was asked for in the same way before, None where nobody asked.

    Raises ``Problem`` where another plan took this one's place.
    """
    standing = store().standing(record.client, _key(record))
    before = store().fetch(standing[0]) if standing else None
    if standing and before:
        if standing[1] == mark:
            return before
        raise _continued(record, before.number)
    if record.replaced_by:
        raise _continued(record, record.replaced_by)
    return None


def _continued(record: Record, by: str) -> Problem:
    return Problem("continued", f"Plan {by} took the place of plan {record.number}; go on with that one.")


def _mark(job: Job, pointer: str) -> str:
    """Return the mark of the item that a pointer speaks of, for the request has no place for it."""
    parts = pointer.split("/")
    return f"{job.required[int(parts[2])].mark}: " if parts[1:2] == ["required"] else ""


def _with_rack(job: Job, standing: Standing, told: Told) -> Job:
    """Return the rest with what it may use of the rack; of labels, those that are there for it still."""
    rack: FromRack | None = told.get("rack", standing.job.rack)
    if rack is None or not rack.labels or "rack" in told:
        return replace(job, rack=rack)
    own = PLAN + standing.record.id
    there = {entry.label for entry in racks.rack().entries() if entry.free_for(own) > 0}
    labels = tuple(label for label in rack.labels if label in there)
    return replace(job, rack=FromRack(labels) if labels else None)


def _promised(standing: Standing, told: Told) -> tuple[frozenset[str], list[Entry]]:
    """Return the sticks whose left-overs lie on the rack for others, and what is only to be cut yet: taken off it."""
    report, promised, taken = standing.report(told), set[str](), list[Entry]()
    for stick, label in racks.given_by(standing.record).items():
        cuts = range(1, len(standing.sticks[stick][1].cuts) + 1)
        finished = all((stick, cut) in report.cut for cut in cuts)
        back = None if finished else racks.take_back(label)
        if back is None:
            promised.add(stick)
        else:
            taken.append(back)
    return frozenset(promised), taken


def _changes(standing: Standing, told: Told) -> list[Change]:
    """Return what was told of pieces as ticks, so that the plan says so too."""
    states = dict.fromkeys(told.get("cut", ()), PieceState.CUT)
    states |= {entry["piece"]: PieceState.MISCUT for entry in told.get("miscut", ())}
    return [
        Change(name, standing.state(name), state)
        for name, state in states.items()
        if not (state is PieceState.CUT and standing.state(name) in _DONE)
    ]


def _note_used(standing: Standing, changes: Sequence[Change] = (), broken: Sequence[str] = ()) -> None:
    """Note what the plan has used up of the rack, with these ticks and broken sticks."""
    if standing.job.rack:
        ticks = {**standing.ticks, **{change.piece: Tick(change.after) for change in changes}}
        racks.note_ticks(standing.record.id, standing.job, standing.plan, ticks, broken)


def _faults(standing: Standing, told: Told) -> Iterator[FieldError]:
    """Yield every report of what there was not, in its place."""
    yield from _pieces(standing, told)
    yield from _usable_of_pieces(standing, told)
    yield from _broken(standing, told)
    yield from _not_delivered(standing, told)


def _pieces(standing: Standing, told: Told) -> Iterator[FieldError]:
    named = [(f"#/cut/{place}", name) for place, name in enumerate(told.get("cut", ()))]
    named += [(f"#/miscut/{place}/piece", entry["piece"]) for place, entry in enumerate(told.get("miscut", ()))]
    seen: dict[str, str] = {}
    for pointer, name in named:
        if name not in standing.pieces:
            yield FieldError(pointer, f"{name} is no piece of this plan", "id_unknown")
        elif name in seen:
            yield FieldError(pointer, f"{name} is reported at {seen[name]} already", "id_twice")
        seen.setdefault(name, pointer)


def _usable_of_pieces(standing: Standing, told: Told) -> Iterator[FieldError]:
    for place, entry in enumerate(told.get("miscut", ())):
        if entry["piece"] in standing.pieces:
            stick, cut = standing.pieces[entry["piece"]]
            made = standing.sticks[stick][1].cuts[cut - 1]
            yield from _too_long(standing.job, f"#/miscut/{place}", entry, made.length + made.room, entry["piece"])


def _broken(standing: Standing, told: Told) -> Iterator[FieldError]:
    report, seen = standing.report({**told, "broken": []}), set[str]()
    for place, entry in enumerate(told.get("broken", ())):
        pointer, name = f"#/broken/{place}", entry["stick"]
        if name not in standing.sticks:
            yield FieldError(f"{pointer}/stick", f"{name} is no stick of this plan", "id_unknown")
            continue
        if name in seen:
            yield FieldError(f"{pointer}/stick", f"{name} is reported broken twice", "id_twice")
        seen.add(name)
        material, use, stick = standing.sticks[name]
        kerf = next(part.settings.kerf for part in standing.plan.materials if part.material == material)
        left = sum(one.length for one in remnants(use, stick, report, kerf))
        yield from _too_long(standing.job, pointer, entry, left, f"what was not cut of {name}")


def _too_long(job: Job, pointer: str, entry: Told, most: int, what: str) -> Iterator[FieldError]:
    usable = sum(map(ticks_of, entry.get("usable", ())))
    if usable > most:
        detail = f"{say(usable, job.units)} in all are longer than {what}, which is {say(most, job.units)}"
        yield FieldError(f"{pointer}/usable", detail, "offcut_too_long")


def _not_delivered(standing: Standing, told: Told) -> Iterator[FieldError]:
    report, seen = standing.report(told), set[tuple[str, str]]()
    rows = {(each.id, row.id): (each, row) for each in standing.job.materials for row in each.stock}
    for place, entry in enumerate(told.get("not_delivered", ())):
        pointer, key = f"#/not_delivered/{place}", (entry["material"], entry["stock"])
        if key not in rows:
            yield FieldError(f"{pointer}/stock", f"{key[0]} has no stock {key[1]} in this plan", "stock_unknown")
            continue
        if key in seen:
            yield FieldError(f"{pointer}/stock", f"{key[1]} of {key[0]} is reported twice", "stock_twice")
        seen.add(key)
        there = max(whole(standing.plan, *rows[key], report), 0)
        if entry["count"] > there:
            detail = f"{entry['count']} of {key[1]} of {key[0]} can't be missing: {there} are neither cut nor broken"
            yield FieldError(f"{pointer}/count", detail, "missing_too_many")
