"""What stands at the head of a sheet, and how it says a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

from service.documents.blocks import Facts
from service.drawing.lettering import clean


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What the counter knows of an order; what is empty is a line to write on."""

    job: str = ""
    customer: str = ""
    po: str = ""
    date: str = ""
    taken_by: str = ""

    def facts(self) -> Facts:
        """Return it as entries with their names."""
        entries = (
            ("Job", self.job),
            ("Customer", self.customer),
            ("Purchase order no.", self.po),
            ("Date", self.date),
            ("Taken by", self.taken_by),
            ("Lot number", ""),
        )
        return Facts(tuple((name, clean(value)) for name, value in entries))


def long_date(day: date) -> str:
    """Return a date as one says it, ``Monday 23 November 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def midnight(day: date) -> datetime:
    """Return the beginning of a day, which a sheet that is of no hour is dated with."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
