"""Dates as a sheet says them."""

from __future__ import annotations

from datetime import UTC, date, datetime


def long_date(day: date) -> str:
    """Return a date as one says it, ``Monday 23 November 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def midnight(day: date) -> datetime:
    """Return the beginning of a day, which a sheet that is of no hour is dated with."""
    return datetime(day.year, day.month, day.day, tzinfo=UTC)
