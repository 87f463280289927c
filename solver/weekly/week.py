"""What a crew's week is asked with: dated jobs, deliveries, the rack, limits, and what the crew reported."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time, timedelta

from solver.job import Wall
from solver.lengths import Unit
from solver.materials import Material, Offcut
from solver.required import Required

DAYS = 7


@dataclass(frozen=True, slots=True)
class DatedJob:
    """One job of the week: all its pieces are cut on its date."""

    id: str
    date: date
    required: tuple[Required, ...]
    name: str = ""
    walls: tuple[Wall, ...] = ()


@dataclass(frozen=True, slots=True)
class Sticks:
    """So many whole sticks of one stock length."""

    material: str
    stock: str
    count: int


@dataclass(frozen=True, slots=True)
class Delivery:
    """A day on which sticks can come; ``received`` is what did come, None as long as nobody said."""

    date: date
    received: tuple[Sticks, ...] | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """So many pieces of one item (its place in the job) that were cut."""

    job: str
    item: int
    quantity: int


@dataclass(frozen=True, slots=True)
class Kept:
    """An offcut that was kept; ``in_van`` where it is carried on, else it lies on the rack in the shop."""

    offcut: Offcut
    in_van: bool = True


@dataclass(frozen=True, slots=True)
class Report:
    """What was really cut on a day: pieces done, whole sticks and offcuts used, offcuts kept."""

    date: date
    done: tuple[Done, ...] = ()
    sticks: tuple[Sticks, ...] = ()
    used: tuple[str, ...] = ()
    kept: tuple[Kept, ...] = ()


@dataclass(frozen=True, slots=True)
class WeekLimits:
    """What holds for every day of the week.

    ``carry`` is how many offcuts the van carries in one night (None: as many as wanted), ``shortest_kept`` the shortest
    in ticks (None: each material's own). A day's sheet may change until ``freeze_at``, local time, of the day
    ``freeze_days`` before, and what a day's delivery brings until ``order_at`` of the day ``order_days`` before, or as
    long as its sheet (None).
    """

    carry: int | None = None
    shortest_kept: int | None = None
    freeze_at: time = time(5)
    freeze_days: int = 0
    order_at: time | None = None
    order_days: int = 0
    timezone: str = "UTC"


@dataclass(frozen=True, slots=True)
class Week:
    """Everything known of one crew's ISO week; jobs of one date are served in the order of their ids.

    ``use_rack`` says that it may use the rack that all share. ``given_back`` are labels of offcuts, and
    ``given_sticks`` whole sticks, that lie there again and are the week's no more.
    """

    crew: str
    year: int
    number: int
    units: Unit
    materials: tuple[Material, ...]
    jobs: tuple[DatedJob, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    rack: tuple[Offcut, ...] = ()
    limits: WeekLimits = WeekLimits()
    reports: tuple[Report, ...] = ()
    use_rack: bool = False
    given_back: tuple[str, ...] = ()
    given_sticks: tuple[Sticks, ...] = ()

    @property
    def own_rack(self) -> tuple[Offcut, ...]:
        """What lies on the crew's own rack."""
        return tuple(offcut for offcut in self.rack if not offcut.on_rack)

    @property
    def held(self) -> tuple[Offcut, ...]:
        """What the week holds of the rack that all share."""
        return tuple(offcut for offcut in self.rack if offcut.on_rack)

    @property
    def monday(self) -> date:
        """The week's first day."""
        return date.fromisocalendar(self.year, self.number, 1)

    @property
    def name(self) -> str:
        """The week as ISO 8601 writes it: ``2026-W48``."""
        return f"{self.year:04}-W{self.number:02}"

    def day(self, of: date) -> int:
        """Return a date as a day of this week, Monday being 0."""
        return (of - self.monday).days

    def date(self, day: int) -> date:
        """Return the date of a day of this week."""
        return self.monday + timedelta(days=day)
