"""What the counter knows of an order beside what is cut: for whom, until when, and who did what to it."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from datetime import UTC, date, datetime
from enum import StrEnum

from workers.codec import reading, structured


class Handover(StrEnum):
    """How the goods come to the customer."""

    PICK_UP = "pick_up"
    DELIVERY = "delivery"


@dataclass(frozen=True, slots=True)
class Particulars:
    """The particulars of an order; what is empty is not known. ``ref`` is the caller's own reference.

    An order that is called off keeps its plan: nothing of it is bought or cut.
    """

    customer: str = ""
    phone: str = ""
    purchase_order: str = ""
    wanted_by: date | None = None
    handover: Handover | None = None
    address: str = ""
    taken_by: str = ""
    ref: str = ""
    note: str = ""
    called_off: bool = False


NOTHING_KNOWN = Particulars()


class Act(StrEnum):
    """What was done to a plan."""

    ASKED = "asked"
    CONTINUED = "continued"
    PLANNED = "planned"
    FAILED = "failed"
    CANCELLED = "cancelled"
    AMENDED = "amended"
    STOPPED = "stopped"
    CALLED_OFF = "called_off"
    TAKEN_UP = "taken_up"
    TOLD = "told"
    NOT_TOLD = "not_told"


@dataclass(frozen=True, slots=True)
class Deed:
    """Something that was done: when, by which client, by whom there if that is known, and to what."""

    at: datetime
    client: str
    name: str
    act: Act
    detail: str = ""


def written(particulars: Particulars) -> str:
    """Return particulars as the store keeps them: what is known, as JSON."""
    known = {name: value for name, value in asdict(particulars).items() if value}
    if particulars.wanted_by:
        known["wanted_by"] = particulars.wanted_by.isoformat()
    return json.dumps(known)


def particulars_of(kept: str) -> Particulars:
    """Return what ``written`` wrote, less what a later version knows besides. Raises ``Unreadable``."""
    return structured(json.loads(kept or "{}"), Particulars)


def act_written(client: str, name: str, act: Act, detail: str = "") -> str:
    """Return a deed as the store keeps it behind the moment of it: one line of JSON."""
    return json.dumps([client, name, act, detail])


def deeds_of(kept: str) -> tuple[Deed, ...]:
    """Return the deeds that the store kept, a line each. Raises ``Unreadable`` where it is something else."""
    return tuple(map(_deed, kept.splitlines()))


def _deed(line: str) -> Deed:
    moment, _, rest = line.partition(" ")
    with reading("a deed"):
        client, name, act, detail = json.loads(rest)
        return Deed(datetime.fromtimestamp(float(moment), UTC), str(client), str(name), Act(act), str(detail))


def difference(before: Particulars, after: Particulars) -> str:
    """Return in words which particulars are others than before, with what they were and are."""
    told = []
    for field in fields(Particulars):
        old, new = getattr(before, field.name), getattr(after, field.name)
        if old != new and field.name != "called_off":
            told.append(f"{field.name.replace('_', ' ')}: {old or 'none'} -> {new or 'none'}")
    return "; ".join(told)
