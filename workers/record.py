"""What the store knows of one requested plan, besides the job and the plan themselves."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from enum import StrEnum


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


@dataclass(frozen=True, slots=True)
class Failure:
    """Why there is no plan: a code for programs and a sentence for people."""

    code: str
    detail: str


@dataclass(frozen=True, slots=True)
class Record:
    """One requested plan. ``version`` grows with every change; times are UTC; ``deaths`` counts workers it cost.

    ``cost`` and ``bound`` are progress: money, or ticks of length where nothing has a price.
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

    @property
    def queue_ms(self) -> int | None:
        """Milliseconds from the request to the start of the work."""
        return None if self.started_at is None else round((self.started_at - self.created_at).total_seconds() * 1000)


FIELDS = (
    "client", "state", "queue", "version", "generation", "deaths", "created_at", "started_at", "finished_at",
    "expires_at", "solve_ms", "cost", "bound", "cancel", "has_plan", "failure_code", "failure_detail",
)  # fmt: skip
"""The fields of a record as they are kept in Redis."""


def record_of(plan_id: str, kept: Mapping[str, str | None]) -> Record:
    """Return the record from its kept fields."""
    code = kept["failure_code"]
    return Record(
        plan_id,
        kept["client"] or "",
        State(kept["state"] or ""),
        kept["queue"] or "",
        int(kept["version"] or 0),
        int(kept["generation"] or 0),
        int(kept["deaths"] or 0),
        _time(kept["created_at"]) or datetime.fromtimestamp(0, UTC),
        _time(kept["started_at"]),
        _time(kept["finished_at"]),
        _time(kept["expires_at"]),
        int(kept["solve_ms"]) if kept["solve_ms"] else None,
        Decimal(kept["cost"]) if kept["cost"] else None,
        Decimal(kept["bound"]) if kept["bound"] else None,
        kept["cancel"] == "1",
        kept["has_plan"] == "1",
        Failure(code, kept["failure_detail"] or "") if code else None,
    )


def _time(kept: str | None) -> datetime | None:
    return datetime.fromtimestamp(float(kept), UTC) if kept else None
