"""What is known of a crew's week besides the week and its plan, and the record that every run leaves."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from hashlib import sha256

from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week


@dataclass(frozen=True, slots=True)
class WeekKey:
    """Whose week it is: the client, the crew, and the week as ``2026-W48``."""

    client: str
    crew: str
    week: str

    @property
    def monday(self) -> date:
        """The week's first day."""
        year, _, number = self.week.partition("-W")
        return date.fromisocalendar(int(year), int(number), 1)

    @property
    def digest(self) -> str:
        """A name without any character that a queue could mind."""
        return sha256(f"{self.client}\0{self.crew}\0{self.week}".encode()).hexdigest()[:32]


class Why(StrEnum):
    """Why a run was made."""

    NIGHT = "night"
    ASKED = "asked"

    @classmethod
    def of(cls, night: date | None) -> Why:
        """Return why a run is made: for a night, or without one because somebody asked."""
        return cls.ASKED if night is None else cls.NIGHT


class Outcome(StrEnum):
    """How a run ended."""

    PLANNED = "planned"
    UNPLANNABLE = "unplannable"
    FAILED = "failed"


UNREADABLE_WEEK = (
    "What is kept of this week can't be read: it was damaged, or another version kept it. Put the week again."
)
"""What is said of a week whose record this version can't read."""


@dataclass(frozen=True, slots=True)
class Run:
    """One run: when it ended, for which night if any, what changed, and the bill before and after.

    ``because`` is what had changed of the week since the plan before.
    """

    at: datetime
    why: Why
    night: date | None
    outcome: Outcome
    changes: int
    bill_before: Decimal | None
    bill_after: Decimal | None
    seconds: float
    details: tuple[str, ...] = ()
    because: tuple[str, ...] = ()


def failed_run(at: datetime, night: date | None, detail: str, bill: Decimal | None = None) -> Run:
    """Return the record of a run that came to no plan, for a night or because somebody asked."""
    return Run(
        at=at,
        why=Why.of(night),
        night=night,
        outcome=Outcome.FAILED,
        changes=0,
        bill_before=bill,
        bill_after=None,
        seconds=0.0,
        details=(detail,),
    )


@dataclass(frozen=True, slots=True)
class Waiting:
    """What says whether a week is to be planned: its time zone, the last night planned, the version asked for."""

    key: WeekKey
    timezone: str
    night: date | None
    asked: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptWeek:
    """A week as it is kept. ``version`` grows with every change of the week; ``planned`` is the version of the plan.

    ``night`` is the last night planned; ``asked`` the version somebody wants planned now, 0 if nobody does. ``begun``
    tells it from a week that is put under the same key once it is forgotten, whose versions begin at 1 again.
    ``refusals`` say why the last run of this version came to no plan; there are none where it did.
    """

    key: WeekKey
    week: Week
    version: int
    plan: WeekPlan | None
    planned: int
    night: date | None
    asked: int
    begun: str
    refusals: tuple[str, ...] = ()

    @property
    def up_to_date(self) -> bool:
        """Whether the plan is of this version."""
        return self.plan is not None and self.planned == self.version
