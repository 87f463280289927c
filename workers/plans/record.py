"""What the store knows of one requested plan, besides the job and the plan themselves."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from importlib.resources import files

from solver.progress import Phase
from workers.orders.particulars import NOTHING_KNOWN, Act, Deed, Particulars, deeds_of, particulars_of
from workers.orders.plan_number import number_of

log = logging.getLogger(__name__)
MOST_DEATHS = 2
"""What has cost so many processes their life, under a worker that lived on, is not tried again."""
MOST_TRIES = 20
"""What has lost its worker or host so often is not tried again: whoever asked is owed an end."""
_MOST_COUNTED = 2**53
"""Redis counts in 64 bits, and its scripts in what a float holds exactly."""
FIELDS = (
    "client", "state", "queue", "version", "generation", "deaths", "created_at", "started_at", "finished_at",
    "expires_at", "solve_ms", "cost", "bound", "phase", "cancel", "has_plan", "failure_code", "failure_detail",
    "is_measured", "serial", "name", "particulars", "history", "made_from",
    "replaces", "replaced_by", "digest", "planned_by", "callback", "beside",
)  # fmt: skip
"""The fields of a record as they are kept in Redis."""


class State(StrEnum):
    """Where a requested plan is in its life."""

    QUEUED = "queued"
    RUNNING = "running"
    SUCCEEDED = "succeeded"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def over(self) -> bool:
        """Whether nothing will change any more."""
        return self not in (State.QUEUED, State.RUNNING)


_ENDS = {State.SUCCEEDED: Act.PLANNED, State.FAILED: Act.FAILED, State.CANCELLED: Act.CANCELLED}


@dataclass(frozen=True, slots=True)
class Failure:
    """Why there is no plan: a code for programs and a sentence for people."""

    code: str
    detail: str


UNREADABLE = Failure(
    "unreadable",
    "What was kept of this plan can't be read: it was damaged, or another version kept it. Post the request again.",
)
"""Why a plan ends whose record this version can't read."""
TIMED_OUT = Failure("timed_out", "The solving did not come back in time and was cut off.")
"""Why a plan ends whose process had to be stopped."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One requested plan. ``version`` grows with every change; times are UTC.

    ``deaths`` counts processes that it cost, each under a worker that lived on. ``cost`` and ``bound`` are progress:
    money, or ticks of length where nothing has a price; ``phase`` is what is being done. ``is_measured`` says that the
    measurements it was made of are kept too; ``number`` is what people call it by, ``made_from`` the number of the
    plan that it was made from. ``replaces`` is the id of the plan whose place it takes, ``replaced_by`` the number of
    the one that took its own. ``digest`` is of the job as it was asked, ``planned_by`` the version of this program that
    made the plan. ``callback`` is the address to be told at that it is over, "" where there is none.
    ``beside`` says that it was made to be held beside the plan it was made from.
    """

    id: str
    client: str
    state: State
    queue: str
    version: int
    generation: int
    deaths: int
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None
    expires_at: datetime | None
    solve_ms: int | None
    cost: Decimal | None
    bound: Decimal | None
    cancel_asked: bool
    has_plan: bool
    failure: Failure | None
    phase: Phase | None = None
    is_measured: bool = False
    number: str = ""
    name: str = ""
    particulars: Particulars = NOTHING_KNOWN
    deeds: tuple[Deed, ...] = ()
    made_from: str = ""
    replaces: str = ""
    replaced_by: str = ""
    digest: str = ""
    planned_by: str = ""
    callback: str = ""
    beside: bool = False

    @property
    def history(self) -> tuple[Deed, ...]:
        """Who did what and when, oldest first, with how the planning ended."""
        ended = _ENDS.get(self.state)
        if ended is None or self.finished_at is None:
            return self.deeds
        detail = self.failure.detail if self.failure else ""
        return tuple(sorted((*self.deeds, Deed(self.finished_at, "", "", ended, detail)), key=lambda deed: deed.at))

    @property
    def queue_ms(self) -> int | None:
        """Milliseconds from the request to the start of the work."""
        if self.started_at is None:
            return None
        # a clock that was set back meanwhile makes nothing start before it was asked for
        return max(0, round((self.started_at - self.created_at).total_seconds() * 1000))


def record_of(plan_id: str, kept: Mapping[str, bytes | None]) -> Record:
    """Return the record from its kept fields; where they can't be read, a failed one that says so."""
    try:
        return _read(plan_id, {name: "" if value is None else value.decode() for name, value in kept.items()})
    except Exception:
        # damage may be of any kind, and it is one plan's alone
        log.exception("the record of plan %s can't be read", plan_id)
        now = datetime.now(UTC)
        return Record(
            id=plan_id, client=(kept.get("client") or b"").decode(errors="ignore"), state=State.FAILED, queue="",
            version=0, generation=0, deaths=0, created_at=now, started_at=None, finished_at=now, expires_at=None,
            solve_ms=None, cost=None, bound=None, cancel_asked=False, has_plan=False, failure=UNREADABLE,
        )  # fmt: skip


def _read(plan_id: str, kept: Mapping[str, str]) -> Record:
    code = kept["failure_code"]
    if not kept["client"]:
        raise ValueError("a plan of nobody")
    return Record(
        id=plan_id,
        client=kept["client"],
        state=State(kept["state"]),
        queue=kept["queue"],
        version=_count(kept["version"]),
        generation=_count(kept["generation"]),
        deaths=_count(kept["deaths"]),
        created_at=_time(kept["created_at"]) or datetime.fromtimestamp(0, UTC),
        started_at=_time(kept["started_at"]),
        finished_at=_time(kept["finished_at"]),
        expires_at=_time(kept["expires_at"]),
        solve_ms=_count(kept["solve_ms"]) if kept["solve_ms"] else None,
        cost=Decimal(kept["cost"]) if kept["cost"] else None,
        bound=Decimal(kept["bound"]) if kept["bound"] else None,
        cancel_asked=kept["cancel"] == "1",
        has_plan=kept["has_plan"] == "1",
        failure=Failure(code, kept["failure_detail"]) if code else None,
        phase=Phase(kept["phase"]) if kept["phase"] else None,
        is_measured=kept["is_measured"] == "1",
        number=number_of(_count(kept["serial"])) if kept["serial"] else "",
        name=kept["name"],
        particulars=particulars_of(kept["particulars"]),
        deeds=deeds_of(kept["history"]),
        made_from=kept["made_from"],
        replaces=kept["replaces"],
        replaced_by=kept["replaced_by"],
        digest=kept["digest"],
        planned_by=kept["planned_by"],
        callback=kept["callback"],
        beside=kept["beside"] == "1",
    )


@cache
def this_version() -> str:
    """Return which version of this program runs, with the commit that it was built of if that is known (PEP 440)."""
    from importlib.metadata import PackageNotFoundError, version  # noqa: PLC0415 - a command that says none is quicker

    built_of = files("workers") / "commit.txt"
    commit = built_of.read_text(encoding="utf-8").strip() if built_of.is_file() else ""
    try:
        return f"{version('lapstock')}+{commit}" if commit else version("lapstock")
    except PackageNotFoundError:  # run from a folder, and not installed
        return "not installed"


def _count(kept: str) -> int:
    """Return a number that Redis counts on from. Raises ValueError where it would not."""
    value = int(kept)
    if not 0 <= value < _MOST_COUNTED:
        raise ValueError(f"{value} is no count")
    return value


def _time(kept: str) -> datetime | None:
    return datetime.fromtimestamp(float(kept), UTC) if kept else None
