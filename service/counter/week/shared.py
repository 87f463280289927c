"""What all pages of a week share: its key, how a change is made and led on from, and what is wrong in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import weeks
from service.counter.labels import in_page_words
from service.http.problems import Problem
from service.wire.fields import date_of
from solver.weekly.week import DAYS, Week
from workers.weeks.record import WeekKey

Faults = Mapping[str, str]
NOWHERE = "main"
"""The field of a fault that is in no field."""


def days_of(week: Week | WeekKey) -> list[date]:
    """Return the seven days of a week."""
    return [week.monday + timedelta(days=number) for number in range(DAYS)]


def day_words(day: date) -> str:
    """Return a day as one says it, ``Tue 24 Nov``."""
    return f"{day:%a} {day.day} {day:%b}"


def day_typed(text: str) -> date:
    """Return the day that a form names. Raises ``Problem``."""
    found = date_of(text)
    if found is None:
        raise Problem("not-found", "Choose a day first.")
    return found


def believed() -> str:
    """Return the week as the page that was sent knew it."""
    return request.form.get("mark", "")


def at_week(key: WeekKey, done: str = "", anchor: str | None = None) -> AnyResponse:
    """Lead to the week; ``done`` is what was done, as its page says it."""
    return redirect(url_for("counter.week", crew=key.crew, week=key.week, done=done or None, _anchor=anchor), 303)


def told(problem: Problem, field_of: Callable[[str], str] = lambda _: NOWHERE) -> dict[str, str]:
    """Return by field what is wrong: where a pointer is, ``field_of`` says."""
    found: dict[str, list[str]] = {}
    for error in problem.errors:
        found.setdefault(field_of(error.pointer), []).append(in_page_words(error.detail))
    if not found:
        found[NOWHERE] = [problem.detail]
    return {field: _sentence(field, "; ".join(dict.fromkeys(details))) for field, details in found.items()}


def _sentence(field: str, words: str) -> str:
    if field.startswith("line-"):
        return f"Line {field.removeprefix('line-')}: {words}."
    text = f"{words[:1].upper()}{words[1:]}"
    return text if text.endswith((".", "?", "!")) else f"{text}."


def seen(key: WeekKey) -> dict[str, Any]:
    """Return what every page of a week is told."""
    kept = weeks.kept_week(key)
    return {"kept": kept, "week": kept.week, "mark": weeks.mark_of(kept), "days": days_of(kept.week), "said": day_words}
