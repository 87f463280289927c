"""``/weeks``: the weeks of every crew; ``/weeks/{crew}/{week}``: a week at a glance, and what its foreman does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from flask import redirect, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from service import week_changes, weeks
from service.counter.pages import PATIENCE, blueprint, page_of
from service.counter.request import Json
from service.counter.week.shared import Faults, at_week, believed, day_typed, day_words, seen, told
from service.drawing.svg import svg
from service.drawing.week_flow import flows_of
from service.http import access
from service.http.problems import FieldError, Problem, refused
from service.http.waiting import wait
from service.views.facts import called
from service.wire.fields import date_of
from service.wire.numbers import money
from solver.lengths import say
from solver.plan import total_of
from solver.weekly.moment import moment_of
from solver.weekly.plan import DayPlan, DeliveryOrder, WeekPlan
from solver.weekly.summary import job_costs, pieces_cut, whole_left
from solver.weekly.week import DAYS, DatedJob, Delivery, Week
from workers.weeks.record import KeptWeek, Outcome, Run, WeekKey

_MOST_WEEKS = 60
_BACK = timedelta(days=5 * DAYS)


@blueprint.get("/weeks")
def weeks_list() -> AnyResponse:
    """Show the weeks that are not long past, the last first."""
    return _weeks_page({}, {})


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
        return _weeks_page(request.form, faults)
    year, number, _ = on.isocalendar()
    return redirect(url_for("counter.week", crew=crew, week=f"{year:04}-W{number:02}"), 303)


def _weeks_page(typed: Faults, faults: Faults) -> AnyResponse:
    today = weeks.now().astimezone().date()
    keys = [key for key in weeks.weeks().every_key() if key.client == access.client() and key.monday > today - _BACK]
    shown = sorted(keys, key=lambda key: (key.monday, key.crew), reverse=True)[:_MOST_WEEKS]
    rows = [(key, f"{day_words(key.monday)} to {day_words(key.monday + timedelta(days=DAYS - 1))}") for key in shown]
    crews = sorted({key.crew for key in keys})
    return page_of("weeks", 422 if faults else 200, rows=rows, crews=crews, typed=typed, faults=faults,
                   coming=_coming(today))  # fmt: skip


def _coming(today: date) -> date:
    """Return the day whose week is most likely meant: today's, and from Friday on the next."""
    return today + timedelta(days=3)


DONE = {
    "kept": "Kept.", "put": "The job is in the week.", "moved": "The job is moved.", "cancelled": "The job is out.",
    "delivery": "The delivery is noted.", "planned": "Planned.", "reported": "The report is kept.",
    "taken-back": "The report is taken back.",
}  # fmt: skip
_RUNS = 6


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a delivery: the field for how many came, and what it is."""

    field: str
    material: str
    stock: str
    count: int
    words: str


@dataclass(frozen=True, slots=True)
class Coming:
    """A delivery on its day, with what is ordered for it; ``came`` says in words what did come."""

    date: date
    lines: tuple[Line, ...]
    total: str
    closed: bool
    came: str


@dataclass(frozen=True, slots=True)
class Day:
    """One day of the week as the page shows it; ``cut`` is how many pieces its sheet cuts of each job."""

    date: date
    jobs: tuple[DatedJob, ...]
    sheet: DayPlan | None
    cut: Counter[str]
    keeps: tuple[str, ...]
    brings: tuple[str, ...]
    coming: Coming | None
    reported: bool
    past: bool


@blueprint.get("/weeks/<crew>/<week>")
def week(crew: str, week: str) -> AnyResponse:
    """Show the week, or how one is begun."""
    key = weeks.week_key(crew, week)
    if not weeks.weeks().exists(key):
        return redirect(url_for("counter.week_setup", crew=crew, week=week), 303)
    return _page(weeks.kept_week(key), {})


@blueprint.post("/weeks/<crew>/<week>")
def week_press(crew: str, week: str) -> AnyResponse:
    """Do what a button says."""
    key, (what, _, where) = weeks.week_key(crew, week), request.form.get("do", "plan").partition(":")
    try:
        done = PRESSED.get(what, _plan)(key, where)
    except Problem as problem:
        return _page(weeks.kept_week(key), told(problem))
    return at_week(key, done, f"job-{where}" if what == "move" else where or None)


def _plan(key: WeekKey, _: str) -> str:
    waited = wait(week_changes.plan_now(key), PATIENCE)
    return "" if waited.value.asked else "planned"


def _move(key: WeekKey, job: str) -> str:
    week_changes.move_job(key, job, day_typed(request.form.get("to", "")), believed())
    return "moved"


def _cancel(key: WeekKey, job: str) -> str:
    week_changes.withdraw(key, job, believed())
    return "cancelled"


def _deliver(key: WeekKey, day: str) -> str:
    week_changes.put_delivery(key, day_typed(day or request.form.get("on", "")), {}, believed())
    return "delivery"


def _no_delivery(key: WeekKey, day: str) -> str:
    week_changes.drop_delivery(key, day_typed(day), believed())
    return "delivery"


def _came(key: WeekKey, day: str) -> str:
    """Note what a delivery brought: as many of each line as stands beside it."""
    on, kept = day_typed(day), weeks.kept_week(key)
    known = next((each for each in kept.week.deliveries if each.date == on), Delivery(on))
    lines = [line for order in _orders(kept.plan, known) for line in _lines(kept.week, order)]
    said = [(line, _whole(request.form.get(line.field, "").strip())) for line in lines]
    if unclear := [line.words for line, count in said if count is None]:
        asked = (f"how many {words} came? Write a whole number" for words in unclear)
        raise refused([FieldError("#/received", words, "not_whole") for words in asked])
    came = [{"material": line.material, "stock": line.stock, "count": count} for line, count in said]
    there: list[Json] = [
        {"material": one.material, "stock": one.stock, "count": one.count} for one in known.received or ()
    ]
    body = {"received": _added(there, [each for each in came if each["count"] != 0])}
    week_changes.put_delivery(key, on, body, believed())
    return "delivery"


def _added(there: list[Json], more: list[Json]) -> list[Json]:
    """Return what came before with what came since: a second delivery of a day adds to the first."""
    counts = {(one["material"], one["stock"]): one["count"] for one in there}
    for one in more:
        before = counts.get((one["material"], one["stock"]), 0)
        counts[one["material"], one["stock"]] = before + one["count"]
    return [{"material": material, "stock": stock, "count": count} for (material, stock), count in counts.items()]


def _whole(text: str) -> int | None:
    return int(text or 0) if text.isascii() and (not text or text.isdecimal()) and len(text) < 12 else None


PRESSED: Mapping[str, Callable[[WeekKey, str], str]] = {
    "plan": _plan, "move": _move, "cancel": _cancel, "deliver": _deliver, "no-delivery": _no_delivery, "came": _came,
}  # fmt: skip
"""Every button of the week by its name; it is told what stands behind the name's colon, and returns what was done."""


def _page(kept: KeptWeek, faults: Mapping[str, str]) -> AnyResponse:
    plan = kept.plan
    flows = [(called(material), Markup(svg(drawn))) for material, drawn in flows_of(kept.week, plan)] if plan else []  # noqa: S704 - svg escapes every text
    return page_of(
        "week", 422 if faults else 200, **seen(kept.key), plan=plan, faults=faults, flows=flows,
        rows=list(_days(kept)), shares=_shares(plan), buy=_buy(kept), left=_left(kept),
        bill=money(plan.bill) if plan else None, news=list(_news(kept)),
        done=DONE.get(request.args.get("done", ""), "") if not faults else "",
        before=[each for each in _comings(kept) if each.date < kept.week.monday],
    )  # fmt: skip


def _shares(plan: WeekPlan | None) -> dict[str, str]:
    """Return what each job's share of the sticks costs, where that is known."""
    return {one.job: words for one in job_costs(plan) if (words := money(one.cost))} if plan else {}


def _buy(kept: KeptWeek) -> list[str]:
    """Return what would do for the pieces without a stick."""
    return (
        [f"{line.sticks + line.spares} × {_stick(kept.week, line.material, line.stock)}" for line in kept.plan.to_buy]
        if kept.plan
        else []
    )


def _left(kept: KeptWeek) -> list[str]:
    """Return the whole sticks that nobody cuts."""
    left = whole_left(kept.week, kept.plan) if kept.plan else ()
    return [f"{one.count} × {_stick(kept.week, one.material, one.stock)}" for one in left]


def _stick(week: Week, material: str, stock: str) -> str:
    """Return a stock length in words."""
    of = next((one for one in week.materials if one.id == material), None)
    length = next((row.length for row in of.stock if row.id == stock), None) if of else None
    return f"{say(length, week.units)} {called(of)}" if of and length is not None else f"{stock} {material}"


def _days(kept: KeptWeek) -> Iterator[Day]:
    week, plan = kept.week, kept.plan
    today, reported = moment_of(week, weeks.now()).today, {report.date for report in week.reports}
    comings = {each.date: each for each in _comings(kept)}
    for number in range(7):
        on = week.date(number)
        sheet = next((day for day in plan.days if day.date == on), None) if plan else None
        jobs = tuple(sorted((job for job in week.jobs if job.date == on), key=lambda job: job.id))
        keeps = tuple(_kept(week, sheet)) if sheet else ()
        brings = tuple(f"{o.id}, {say(o.length, week.units)} {o.material}" for o in sheet.job.offcuts) if sheet else ()
        cut = pieces_cut(sheet) if sheet else Counter[str]()
        yield Day(on, jobs, sheet, cut, keeps, brings, comings.get(on), on in reported, on < today)


def _kept(week: Week, sheet: DayPlan) -> Iterator[str]:
    for one in sheet.kept:
        what_for = f"for {one.wanted:%A}" if one.wanted else "to the rack"
        yield f"{one.label}, {say(one.length, week.units)} {one.material}, {what_for}"


def _comings(kept: KeptWeek) -> Iterator[Coming]:
    for delivery in kept.week.deliveries:
        orders = _orders(kept.plan, delivery)
        lines = tuple(line for order in orders for line in _lines(kept.week, order))
        total = money(total_of([line for order in orders for line in order.lines])) if lines else None
        closed = bool(orders) and all(order.closed for order in orders)
        yield Coming(delivery.date, lines, total or "", closed, _came_words(kept.week, delivery))


def _orders(plan: WeekPlan | None, delivery: Delivery) -> list[DeliveryOrder]:
    """Return what is ordered for a delivery and is not known to have come."""
    orders = plan.orders if plan else ()
    return [
        each for each in orders if each.date == delivery.date and not (each.closed and delivery.received is not None)
    ]


def _lines(week: Week, order: DeliveryOrder) -> Iterator[Line]:
    for place, line in enumerate(order.lines):
        count, words = line.sticks + line.spares, _stick(week, line.material, line.stock)
        yield Line(f"came-{order.date.isoformat()}-{place}", line.material, line.stock, count, words)


def _came_words(week: Week, delivery: Delivery) -> str:
    if delivery.received is None:
        return ""
    came = (f"{one.count} × {_stick(week, one.material, one.stock)}" for one in delivery.received)
    return "; ".join(came) or "nothing"


def _news(kept: KeptWeek) -> Iterator[str]:
    """Yield in a sentence what each of the last runs changed, the last first."""
    zone = ZoneInfo(kept.week.limits.timezone)
    for run in reversed(weeks.weeks().runs(kept.key)[-_RUNS:]):
        yield _told(run, zone)


def _told(run: Run, zone: ZoneInfo) -> str:
    when = f"{run.at.astimezone(zone):%a %d %b, %H:%M}"
    if run.outcome is not Outcome.PLANNED:
        return f"{when}: not planned. {' '.join(run.details)}"
    before, after = money(run.bill_before), money(run.bill_after)
    bill = f"bill {after}" if before is None or before == after else f"bill {before} to {after}"
    cut = (
        "no announced stick is cut otherwise"
        if not run.changes
        else f"{run.changes} announced sticks are cut otherwise"
    )
    why = f", because {', and '.join(run.because)}" if run.because else ""
    return f"{when}: {bill if after else 'planned'}; {cut}{why}."
