"""The rack of every client in Redis: what lies on it, where that came from, and who holds it.

Whoever holds something is known by the key of its own record. What is changed is compared and set in one piece
(``scripts``), so no piece is ever held twice, however many plan at once.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from hashlib import sha256
from typing import Any, cast

from redis import Redis
from redis.client import Pipeline

from solver.job import Job
from solver.materials import FactoryEnd
from workers import PREFIX
from workers.codec import Unreadable, reading
from workers.rack.scripts import ADD, GIVE, HOLD, SETTLE, TAKE, USED

log = logging.getLogger(__name__)
RACK = PREFIX + "rack:"
MOST_ENTRIES = 10_000
"""Labels on one client's rack."""


class Taken(Exception):
    """Of these labels there is less than is wanted, or nothing."""

    def __init__(self, labels: Sequence[str]) -> None:
        super().__init__(", ".join(labels))
        self.labels = tuple(labels)


class Full(Exception):
    """The rack has no room for more labels."""


class Source(StrEnum):
    """Where a piece on the rack came from."""

    HAND = "hand"
    PLAN = "plan"
    WEEK = "week"


@dataclass(frozen=True, slots=True)
class Hold:
    """So many pieces held by whoever has ``holder`` for the key of its record, ``used`` of them used up by now."""

    holder: str
    by: str
    count: int
    used: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Pieces alike on the rack: ``count`` lie there, ``length`` ticks each; ``label`` is "" until it has one.

    ``of`` says in words which plan, stick or week they came from, ``note`` what somebody wrote of them, ``at`` since
    when they lie there: None until they do.
    """

    label: str
    material: str
    length: int
    count: int = 1
    factory_end: FactoryEnd = FactoryEnd.NONE
    source: Source = Source.HAND
    of: str = ""
    note: str = ""
    at: datetime | None = None
    holds: tuple[Hold, ...] = ()

    @property
    def free(self) -> int:
        """How many nobody holds."""
        return self.free_for("")

    def free_for(self, *holders: str) -> int:
        """Return how many there are for whoever these are; what they hold is there for them."""
        return self.count - sum(hold.count - hold.used for hold in self.holds if hold.holder not in holders)


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """What a plan that ends holds of a rack: so many of each label; ``job`` is the job with what it was offered.

    ``by`` and ``number`` are in words and as a number who holds it; ``replaced`` is the key of a record that gives
    its holds, of ``before``, up for it.
    """

    rack: str
    job: Job
    by: str
    number: str
    wanted: Mapping[str, int]
    replaced: str = ""
    before: Sequence[str] = ()

    def told(self) -> str:
        """Return it as JSON for the script."""
        told = {"by": self.by, "number": self.number, "wanted": dict(self.wanted), "replaced": self.replaced}
        return json.dumps(told | {"before": list(self.before)})


class Rack:
    """One client's rack."""

    def __init__(self, redis: Redis, client: str) -> None:
        self._redis = redis
        digest = sha256(client.encode()).hexdigest()
        self.name, self._serials = f"{RACK}{digest}", f"{PREFIX}rack-serial:{digest}"
        self._add, self._take = redis.register_script(ADD), redis.register_script(TAKE)
        self._hold, self._used = redis.register_script(HOLD), redis.register_script(USED)
        self._settle = redis.register_script(SETTLE)

    def entries(self) -> list[Entry]:
        """Return what lies on the rack, material by material, longest first. Raises ``Unreadable``."""
        with reading("a rack"):
            kept = cast("dict[bytes, bytes]", self._redis.hgetall(self.name))
        found = self._living(kept)
        return sorted(found, key=lambda entry: (entry.material, -entry.length, entry.label))

    def fetch(self, label: str) -> Entry | None:
        """Return what lies there under a label, None where nothing does. Raises ``Unreadable``."""
        with reading("a rack"):
            kept = cast("bytes | None", self._redis.hget(self.name, label))
        return next(iter(self._living({label.encode(): kept})), None) if kept else None

    def add(self, entries: Sequence[Entry], giver: str = "", given: str = "") -> list[str]:
        """Put entries on the rack, all or none, and return their labels; those without one get the next number.

        ``giver`` is the key of the record of whoever brings them, ``given`` of a set where the labels it brought are
        kept: what it brought before is passed over. Raises ``Taken`` with the labels that are others' already, and
        ``Full``.
        """
        now = datetime.now(UTC).timestamp()
        args = [word for entry in entries for word in (entry.label, _written(entry, now))]
        answer: Any = self._add(keys=[self.name, self._serials, given], args=[MOST_ENTRIES, giver, *args])
        outcome, labels = answer[0].decode(), [label.decode() for label in answer[1]]
        if outcome == "known":
            raise Taken(labels)
        if outcome == "full":
            raise Full
        return labels

    def give(self, pipe: Pipeline, entries: Sequence[Entry]) -> None:
        """Have a transaction put entries on the rack; it answers their labels, the next number where one is taken."""
        now = datetime.now(UTC).timestamp()
        args = [word for entry in entries for word in (entry.label, _written(entry, now))]
        pipe.eval(GIVE, 2, self.name, self._serials, *args)

    def has_room(self, labels: int) -> bool:
        """Whether there is room for so many labels more, as far as nobody else adds any meanwhile."""
        return self._redis.hlen(self.name) + labels <= MOST_ENTRIES

    def given(self, name: str) -> set[str]:
        """Return the labels that are kept under a name as brought: see ``add``."""
        return {label.decode() for label in cast("set[bytes]", self._redis.smembers(name))}

    def take(self, label: str, count: int | None = None) -> None:
        """Take so many pieces, or all, off the rack. Raises ``Taken`` where fewer are there that nobody holds."""
        if self._take(keys=[self.name], args=[label, "" if count is None else count]) != b"taken":
            raise Taken([label])

    def hold(self, holder: str, by: str, wanted: Mapping[str, int], before: Iterable[str] = ()) -> None:
        """Hold so many of each label and nothing else of ``before``. Raises ``Taken``; then nothing is changed."""
        told = [json.dumps(dict(wanted)), json.dumps(list(before))]
        short: Any = self._hold(keys=[self.name], args=[holder, by, "", *told])
        if short:
            raise Taken(sorted(label.decode() for label in short))

    def use(self, holder: str, used: Mapping[str, int]) -> None:
        """Note how many of each label a holder has used up by now."""
        if used:
            self._used(keys=[self.name], args=[holder, *(word for pair in used.items() for word in pair)])

    def _living(self, packed: Mapping[bytes, bytes]) -> list[Entry]:
        """Return entries without the holds of what is gone, and settle those; what can't be read is passed over."""
        kept = dict(_readable(packed))
        holders = list({holder for entry in kept.values() for holder in entry["held"]})
        with self._redis.pipeline(transaction=False) as pipe:
            for holder in holders:
                pipe.exists(holder)
            gone = {holder for holder, there in zip(holders, pipe.execute(), strict=True) if not there}
        if stale := [label for label, entry in kept.items() if gone & entry["held"].keys()]:
            self._settle(keys=[self.name], args=stale)
        found = (_read(label, entry, gone) for label, entry in kept.items())
        return [entry for entry in found if entry.count > 0]


def lying(rack: Rack) -> list[Entry]:
    """Return what lies on a rack; nothing where that can't be read, for its plans are made without it."""
    try:
        return rack.entries()
    except Unreadable:
        log.exception("what is kept of a rack can't be read")
        return []


def _readable(packed: Mapping[bytes, bytes]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield what each label stands for."""
    for label, entry in packed.items():
        try:
            with reading("a label"):
                told = json.loads(entry)
                _read(label.decode(), told, set())
            yield label.decode(), told
        except Unreadable:
            log.exception("what is kept of %r on the rack can't be read", label)


def _written(entry: Entry, now: float) -> str:
    return json.dumps(
        {
            "material": entry.material, "length": entry.length, "count": entry.count, "end": entry.factory_end,
            "source": entry.source, "of": entry.of, "note": entry.note,
            "at": round(entry.at.timestamp() if entry.at else now), "held": {},
        }
    )  # fmt: skip


def _read(label: str, kept: Mapping[str, Any], gone: set[str]) -> Entry:
    holds = tuple(Hold(holder, hold["by"], hold["count"], hold["used"]) for holder, hold in kept["held"].items())
    return Entry(
        label=label,
        material=kept["material"],
        length=kept["length"],
        count=kept["count"] - sum(hold.used for hold in holds),
        factory_end=FactoryEnd(kept["end"]),
        source=Source(kept["source"]),
        of=kept["of"],
        note=kept["note"],
        at=datetime.fromtimestamp(kept["at"], UTC),
        holds=tuple(hold for hold in holds if hold.holder not in gone),
    )
