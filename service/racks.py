"""What routes and pages ask of the rack: what lies there, what is put there and taken off, and what may be used."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

from service import catalogue
from service.http import access
from service.http.problems import FieldError, Problem, not_found, refused
from service.state import store
from service.views.pieces import kept_label, piece_id
from service.wire import limits
from service.wire.job import ids_in
from service.wire.materials.catalogue import longest_stock
from solver.job import Job
from solver.lengths import Unit, say
from solver.materials import Offcut
from solver.plan import CutPlan
from workers import PREFIX
from workers.orders.ticks import PieceState, Tick
from workers.plans.record import Record
from workers.plans.store import PLAN
from workers.rack.planning import offered, used
from workers.rack.store import MOST_ENTRIES, Entry, Full, Rack, Source, Taken

_ADDRESS = re.compile(r"(?:/plans/)?(?P<plan>[^/]+)(?:/pieces/(?P<stick>[^/]+)-keep)?")
_LABEL = re.compile(r"[^\x00-\x1f\x7f/]+")


def rack() -> Rack:
    """Return the caller's own rack."""
    return Rack(store().redis, access.client())


def entry(label: str) -> Entry:
    """Return what lies there under a label. Raises ``Problem`` where nothing does."""
    found = rack().fetch(label)
    if found is None:
        raise not_found(f"Nothing on the rack has the label {label[:64]}.")
    return found


def put(pieces: Sequence[Entry]) -> list[Entry]:
    """Put pieces on the rack, all or none, and return them. Raises ``Problem`` with every label that can't be."""
    counts = Counter(piece.label for piece in pieces if piece.label)
    faults = [
        FieldError(f"#/pieces/{place}/label", detail, code)
        for place, piece in enumerate(pieces)
        for detail, code in _label_faults(piece.label, counts[piece.label])
    ]
    faults += _too_long(pieces)
    if faults:
        raise refused(faults)
    try:
        labels = rack().add(pieces)
    except Taken as taken:
        raise refused(
            FieldError(f"#/pieces/{place}/label", f"{piece.label} lies on the rack already", "label_twice")
            for place, piece in enumerate(pieces)
            if piece.label in taken.labels
        ) from None
    except Full:
        raise refused([_full()]) from None
    return _named(labels)


def _label_faults(label: str, count: int) -> Iterator[tuple[str, str]]:
    if count > 1:
        yield f"{label} is given {count} times", "label_twice"
    if label and not _LABEL.fullmatch(label):
        yield "a label has no slash", "wrong_form"


def _too_long(pieces: Sequence[Entry]) -> Iterator[FieldError]:
    """Yield pieces longer than any stick of their material, where the catalogue knows it."""
    longest = {name: longest_stock(known) for name, known in catalogue.fetch([one.material for one in pieces]).items()}
    for place, piece in enumerate(pieces):
        most = longest.get(piece.material, 0)
        if most and piece.length > most:
            detail = f"is longer than any stick of {piece.material}, which is {say(most, Unit.IN)} at most"
            yield FieldError(f"#/pieces/{place}/length", detail, "offcut_too_long")


def _full() -> FieldError:
    return FieldError("#", f"the rack has {MOST_ENTRIES} labels at most; use some up first", "rack_full")


def require_room(labels: int) -> None:
    """Raise ``Problem`` where the rack has no room for so many labels more."""
    if not rack().has_room(labels):
        raise refused([_full()])


def plan_named(of: str) -> tuple[str, str]:
    """Return the plan, by number or id, that a text or an address names, and the stick if it names one.

    Raises ``Problem``.
    """
    match = _ADDRESS.fullmatch(urlsplit(of.strip()).path)
    if match is None:
        raise refused([FieldError("#/from", "is no plan and no address of an offcut's label", "wrong_form")])
    return match["plan"], match["stick"] or ""


def keep_of(record: Record, plan: CutPlan, stick: str = "") -> list[Entry]:
    """Put the offcuts that a plan keeps on the rack, or that of one stick, and return those that are new there.

    Raises ``Problem`` where the plan keeps none of it.
    """
    kept = [piece for piece in _kept(record, plan) if not stick or piece.label == kept_label(record.number, stick)]
    if stick and not kept:
        raise refused([FieldError("#/from", f"plan {record.number} keeps nothing of {stick}", "offcut_unknown")])
    try:
        return _named(rack().add(kept, PLAN + record.id, _given_name(record)))
    except Taken as taken:
        words = f"{', '.join(taken.labels)}: other pieces on the rack have that label"
        raise refused([FieldError("#/from", words, "label_twice")]) from None
    except Full:
        raise refused([_full()]) from None


def given_by(record: Record) -> dict[str, str]:
    """Return the sticks of a plan whose left-overs were put on the rack, each with the label there."""
    labels = rack().given(_given_name(record))
    return {label.removeprefix(kept_label(record.number, "")): label for label in labels}


def take_back(label: str) -> Entry | None:
    """Take off the rack what is not cut yet after all, and return it; None where others have it already."""
    found = rack().fetch(label)
    if found is None:
        return None
    try:
        rack().take(label, found.count)
    except Taken:
        return None
    return found


def lay_back(entries: Sequence[Entry]) -> None:
    """Put on the rack again what was taken back; what has got the label of one meanwhile stays."""
    for one in entries:
        with suppress(Taken, Full):
            rack().add([one])


def _given_name(record: Record) -> str:
    return f"{PREFIX}racked:{record.id}"


def _kept(record: Record, plan: CutPlan) -> Iterator[Entry]:
    for part in plan.materials:
        for use, stick in part.sticks():
            left = use.left_over
            if left.keep:
                yield Entry(
                    label=kept_label(record.number, stick.stick), material=part.material, length=left.length,
                    factory_end=left.factory_end, source=Source.PLAN, of=f"plan {record.number}, {stick.stick}",
                )  # fmt: skip


def _named(labels: Sequence[str]) -> list[Entry]:
    return [found for found in rack().entries() if found.label in set(labels)]


def use_up(label: str, count: int | None) -> None:
    """Take so many pieces, or all, off the rack. Raises ``Problem`` where there are fewer, or others hold them."""
    found = entry(label)
    try:
        rack().take(label, count)
    except Taken:
        code = "rack_reserved" if found.holds and (count or 0) <= found.count else "rack_too_few"
        raise refused([FieldError("#/count", f"{_there(found)}; {count or 'all'} can't be taken", code)]) from None


def _there(found: Entry) -> str:
    """Return how many there are under a label, and who holds them."""
    held = [f"{hold.by} holds {hold.count - hold.used}" for hold in found.holds if hold.count > hold.used]
    are = "is" if found.count == 1 else "are"
    return ", ".join([f"of {found.label} there {are} {found.count}", *held])


def with_rack(job: Job) -> Job:
    """Return a job with what there is on the rack for it now, where it may use that."""
    return offered(job, rack().entries()) if job.rack else job


def refuse_unavailable(job: Job, replaces: str = "") -> None:
    """Refuse a request that names labels which are not there for it. Raises ``Problem`` with each of them.

    What the plan holds that it replaces is there for it.
    """
    labels = job.rack.labels if job.rack else ()
    if faults := _of_labels(labels, {material.id for material in job.materials}, PLAN + replaces):
        raise refused(faults)


def unavailable_in(body: Mapping[str, Any]) -> list[FieldError]:
    """Return the labels that a request names and that are not there for it, however much else of it is wrong."""
    given = body.get("rack")
    labels = given[: limits.OFFCUTS] if isinstance(given, list) else []
    sound = [label if isinstance(label, str) and len(label) <= limits.ID else "" for label in labels]
    return _of_labels(sound, ids_in(body, "materials"), PLAN)


def _of_labels(labels: Sequence[str], materials: Collection[str], holder: str) -> list[FieldError]:
    there = {found.label: found for found in rack().entries()} if labels else {}
    return [
        FieldError(f"#/rack/{place}", *fault)
        for place, label in enumerate(labels)
        if label and (fault := _unavailable(label, there.get(label), materials, holder))
    ]


def _unavailable(label: str, found: Entry | None, materials: Collection[str], holder: str) -> tuple[str, str] | None:
    if found is None:
        return f"nothing on the rack has the label {label}", "rack_unknown"
    if materials and found.material not in materials:
        return f"{label} is of {found.material}, which is no material of this request", "material_unknown"
    if found.free_for(holder) <= 0:
        return f"{_there(found)}; leave it out, or call that off", "rack_reserved"
    return None


def refuse_held(own: Sequence[Offcut], holder: str, at: str) -> None:
    """Refuse offcuts of one's own that lie on the rack and that others hold. Raises ``Problem`` with each of them.

    ``at`` is where they stand in the body.
    """
    there = {(one.label, one.material, one.length): one for one in rack().entries()} if own else {}
    faults = [
        FieldError(f"{at}/{place}", f"{_there(found)}; leave it out, or call that off", "rack_reserved")
        for place, one in enumerate(own)
        if (found := there.get((one.id, one.material, one.length))) and found.free_for(holder) <= 0
    ]
    if faults:
        raise refused(faults)


def note_ticks(
    plan_id: str, job: Job, plan: CutPlan, ticks: Mapping[str, Tick], broken: Collection[str] = ()
) -> None:
    """Note what of the rack is used up: a stick is, once anything of it is ticked as cut, or it is ``broken``."""
    on_rack = used(job, plan)
    begun = Counter(
        stick.offcut_id
        for part in plan.materials
        for _, stick in part.sticks()
        if stick.offcut_id in on_rack and (stick.stick in broken or _begun(stick.stick, len(stick.pieces), ticks))
    )
    rack().use(PLAN + plan_id, {label: begun[label] for label in on_rack})


def _begun(stick: str, pieces: int, ticks: Mapping[str, Tick]) -> bool:
    names = (piece_id(stick, cut) for cut in range(1, pieces + 1))
    return any(name in ticks and ticks[name].state is not PieceState.TO_CUT for name in names)


def let_go(record: Record, job: Job, plan: CutPlan) -> None:
    """Give up what a plan holds and has not used: nothing of it will be cut."""
    rack().hold(PLAN + record.id, "", {}, used(job, plan))


def hold_again(record: Record, job: Job, plan: CutPlan) -> None:
    """Hold again what a plan uses. Raises ``Problem`` naming what others have by now."""
    wanted = used(job, plan)
    try:
        rack().hold(PLAN + record.id, f"plan {record.number}", wanted, wanted)
    except Taken as taken:
        words = (f"{label} is with others, or used up" for label in taken.labels)
        raise Problem("offcut-taken", f"{'; '.join(words)}. Plan this list again instead.") from None
