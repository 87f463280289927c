"""``/weeks``: the weeks of every crew, and the way to one of them or to a new one."""

from __future__ import annotations

from datetime import date, timedelta

from flask import redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import weeks
from service.counter.pages import blueprint, page_of
from service.counter.week.shared import Faults, day_words
from service.http import access
from service.http.problems import Problem
from service.wire.fields import date_of
from solver.weekly.week import DAYS

_MOST = 60
_BACK = timedelta(days=5 * DAYS)


@blueprint.get("/weeks")
def weeks_list() -> AnyResponse:
    """Show the weeks that are not long past, the last first."""
    return _page({}, {})


@blueprint.post("/weeks")
def weeks_open() -> AnyResponse:
    """Lead to the week of a crew, begun or not."""
    crew, on = request.form.get("crew", "").strip(), date_of(request.form.get("on", ""))
    faults = {} if on else {"on": "Which week? Choose a day of it."}
    try:
        weeks.name_of(crew)
    except Problem as problem:
        faults["crew"] = problem.detail
    if faults or on is None:
        return _page(request.form, faults)
    year, number, _ = on.isocalendar()
    return redirect(url_for("counter.week", crew=crew, week=f"{year:04}-W{number:02}"), 303)


def _page(typed: Faults, faults: Faults) -> AnyResponse:
    today = weeks.now().astimezone().date()
    keys = [key for key in weeks.weeks().every_key() if key.client == access.client() and key.monday > today - _BACK]
    shown = sorted(keys, key=lambda key: (key.monday, key.crew), reverse=True)[:_MOST]
    rows = [(key, f"{day_words(key.monday)} to {day_words(key.monday + timedelta(days=DAYS - 1))}") for key in shown]
    crews = sorted({key.crew for key in keys})
    return page_of("weeks", 422 if faults else 200, rows=rows, crews=crews, typed=typed, faults=faults,
                   coming=_coming(today))  # fmt: skip


def _coming(today: date) -> date:
    """Return the day whose week is most likely meant: today's, and from Friday on the next."""
    return today + timedelta(days=3)
