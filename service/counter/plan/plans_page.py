"""``/plans``: plans found again by whatever is known of them."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from flask import redirect, request, url_for
from redis.exceptions import RedisError
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter.pages import blueprint, page_of
from service.http.problems import Problem
from service.wire.fields import date_of
from workers.orders.plan_number import serial_of
from workers.plans.index import Sought
from workers.plans.record import Record, State

ON_A_PAGE = 30
_SHOWN = 5
_WEEK = timedelta(days=6)
_FIRST, _LAST = date(1970, 1, 2), date(9999, 12, 29)
_NUMBER = range(6, 9)
"""Digits of a plan's number, of which the last checks the others."""
WORDS = {
    State.QUEUED: "waiting", State.RUNNING: "being planned", State.SUCCEEDED: "planned", State.FAILED: "no plan",
    State.CANCELLED: "stopped",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Search:
    """What was asked for, as typed; dates are days where the server stands."""

    q: str = ""
    asked_from: str = ""
    asked_to: str = ""
    wanted_from: str = ""
    wanted_to: str = ""


@blueprint.get("/plans")
def found() -> AnyResponse:
    """Show the plans that are as sought, newest first; a plan's own number leads to it at once."""
    search = Search(**{name: request.args.get(name, "").strip()[:200] for name in Search.__dataclass_fields__})
    if search == Search(search.q) and serial_of(search.q):
        try:
            return redirect(url_for("counter.plan", plan_id=plans.numbered(search.q).id), 303)
        except Problem:
            return _shown(search)
    return _shown(search)


def _shown(search: Search) -> AnyResponse:
    listed = plans.find(_sought(search), lambda _: True, request.args.get("cursor", "")[:40], ON_A_PAGE)
    today = datetime.now().astimezone().date()
    yesterday = today - timedelta(days=1)
    days = {"Today": (today, today), "Yesterday": (yesterday, yesterday), "Seven days": (today - _WEEK, today)}
    return page_of("plans", search=search, listed=listed, days=days, words=WORDS, hint=_hint(search))


def _hint(search: Search) -> str:
    """Return why a number may not have been found."""
    digits = search.q.replace(" ", "")
    if digits.isdecimal() and len(digits) in _NUMBER and serial_of(digits) is None:
        return f"{search.q} is no plan’s number: a digit is wrong, or two are swapped."
    return ""


def _sought(search: Search) -> Sought:
    first, last = date_of(search.asked_from), date_of(search.asked_to)
    return Sought(
        text=search.q,
        since=_midnight(first) if first else None,
        until=_midnight(min(last, _LAST) + timedelta(days=1)) if last else None,
        wanted_from=date_of(search.wanted_from),
        wanted_to=date_of(search.wanted_to),
    )


def _midnight(day: date) -> datetime:
    """Return when a day begins; beyond both ends of what a calendar's clock can say, at the end."""
    return datetime.combine(min(max(day, _FIRST), _LAST), time()).astimezone()


def at_hand() -> tuple[Record, ...]:
    """Return the last plans, without those made to be held beside them.

    There are none where the store does not answer, for a list can be read without it.
    """
    with suppress(RedisError):
        return plans.find(Sought(), lambda record: not record.beside, "", _SHOWN).records
    return ()
