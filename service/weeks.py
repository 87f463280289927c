"""Which week an address speaks of, whether it may still change, and what stands in the way of a change."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zlib import crc32

from service.http import access
from service.http.preferences import require_match
from service.http.problems import FieldError, Problem, not_found, refused
from service.state import store
from service.wire import limits
from service.wire.fields import date_of
from service.wire.week import Where, misplaced, under
from solver.errors import Problem as SolverProblem
from solver.weekly.moment import moment_of
from solver.weekly.problems import find_week_problems
from solver.weekly.week import DAYS, DatedJob, Week
from workers.codec import Unreadable
from workers.weeks.record import UNREADABLE_WEEK, KeptWeek, WeekKey
from workers.weeks.store import JobElsewhere, WeekStore

GRACE_DAYS = 7
"""A week that ended so long ago is not changed any more."""
CHANGED = "Somebody else changed this week meanwhile. Nothing was done: look at it as it is now, then press again."
FindProblems = Callable[[Week], Iterable[SolverProblem]]
log = logging.getLogger(__name__)
_WEEK = re.compile(r"(\d{4})-W(\d{2})")
_NAME = re.compile(r"[^\x00-\x1f\x7f/]+")


def now() -> datetime:
    """Return the hour by which sheets freeze, days begin, and weeks are over."""
    return datetime.now(UTC)


def week_key(crew: str, week: str) -> WeekKey:
    """Return the key of the caller's week. Raises ``Problem`` where there is no such week or name."""
    calendar(week)
    return WeekKey(access.client(), name_of(crew), week)


def calendar(week: str) -> tuple[int, int]:
    """Return year and number of a week written ``2026-W48``. Raises ``Problem`` where the calendar has none such."""
    match = _WEEK.fullmatch(week)
    try:
        year, number = int(match[1]), int(match[2])  # type: ignore[index]
        date.fromisocalendar(year, number, DAYS)
    except (TypeError, ValueError):
        raise Problem("not-found", f"The calendar has no week {week[:20]}; write one as 2026-W48.") from None
    return year, number


def name_of(text: str) -> str:
    """Return the name of a crew, a job, a customer or a material. Raises ``Problem`` where it can't be one."""
    if not _NAME.fullmatch(text) or len(text) > limits.ID:
        raise Problem("not-found", f"Crews, jobs, customers and materials have names of 1 to {limits.ID} characters.")
    return text


def day_of(text: str) -> date:
    """Return the date in an address. Raises ``Problem`` where it is none."""
    found = date_of(text)
    if found is None:
        raise Problem("not-found", "A date is written as in 2026-11-23.")
    return found


def weeks() -> WeekStore:
    """Return the store of weeks."""
    return WeekStore(store().redis)


def kept_week(key: WeekKey) -> KeptWeek:
    """Return the caller's week, its plan as it stands by now. Raises ``Problem`` where there is none."""
    try:
        kept = weeks().fetch(key)
    except Unreadable:
        raise _unreadable(key) from None
    if kept is None:
        raise no_week(key)
    return as_it_stands(kept)


def as_it_stands(kept: KeptWeek) -> KeptWeek:
    """Return a week with the sheets and orders that are final since it was planned."""
    return replace(kept, plan=moment_of(kept.week, now(), kept.plan).standing)


def planned_week(key: WeekKey) -> KeptWeek:
    """Return a week that has a plan. Raises ``Problem`` where it has none yet."""
    kept = kept_week(key)
    if kept.plan is None:
        raise Problem("not-ready", "The week has not been planned yet; post to its plan, or wait for the night.")
    return kept


def etag_of(kept: KeptWeek) -> str:
    """Return what changes whenever a week, its plan or what of it is final does; the plan is as it stands by now."""
    plan = kept.plan
    final = [sum(d.frozen for d in plan.days), sum(order.closed for order in plan.orders)] if plan else [0, 0]
    return f"{sheets_tag(kept)}-{final[0]}-{final[1]}"


def sheets_tag(kept: KeptWeek) -> str:
    """Return what changes whenever a week or its plan does."""
    refused = f"-{crc32(''.join(kept.refusals).encode()):x}" if kept.refusals else ""
    return f"{kept.key.digest[:8]}-{kept.begun}-{kept.version}-{kept.planned}-{kept.asked}{refused}"


def _unreadable(key: WeekKey) -> Problem:
    log.error("week %s of %s can't be read", key.week, key.crew)
    return Problem("unreadable", UNREADABLE_WEEK)


def no_week(key: WeekKey) -> Problem:
    """Return what is wrong where a crew's week is asked for that nobody has begun."""
    return not_found(f"Crew {key.crew} has no week {key.week}; put the week first.")


def mark_of(kept: KeptWeek | None) -> str:
    """Return what changes whenever somebody changes a week, planned or not; it is empty where there is none."""
    return f"{kept.begun}-{kept.version}" if kept else ""


def changed(
    key: WeekKey,
    how: Callable[[Week], Week],
    where: Callable[[Week], Where] = lambda _: under("#"),
    believed: str | None = None,
    find: FindProblems = find_week_problems,
) -> KeptWeek:
    """Change a week that is there; what is wrong with it afterwards and was not before is refused.

    Raises ``Problem``; ``where`` says of the changed week where in the body what is wrong stands, and ``find`` what is.
    """

    def apply(before: Week | None) -> Week:
        if before is None:
            raise no_week(key)
        after = how(before)
        refuse_faults(after, before, where(after), find)
        return after

    return keep(key, apply, believed=believed)


def keep(
    key: WeekKey, how: Callable[[Week | None], Week], *, anew: bool = False, believed: str | None = None
) -> KeptWeek:
    """Change or begin a week, if it is as the client knows it; ``anew`` where what is kept can't be read.

    That is as the request's headers say, or as ``mark_of`` was ``believed``. Raises ``Problem`` where the week is over,
    is another by now, or has a job that is in another week.
    """
    refuse_past(key)

    def apply(before: KeptWeek | None) -> Week:
        if believed is not None and believed != mark_of(before):
            raise Problem("changed", CHANGED)
        after = how(before.week if before else None)
        require_match(etag_of(as_it_stands(before)) if before else None)
        return after

    try:
        return as_it_stands(weeks().change(key, apply, anew=anew))
    except JobElsewhere as error:
        raise Problem("job-elsewhere", str(error)) from None
    except Unreadable:
        raise _unreadable(key) from None


def refuse_past(key: WeekKey) -> None:
    """Refuse a week long past. Raises ``Problem``."""
    over = key.monday + timedelta(days=DAYS + GRACE_DAYS)
    if now().date() > over:
        raise Problem("week-over", f"{key.week} ended on {(key.monday + timedelta(days=DAYS - 1)).isoformat()}.")


def refuse_faults(after: Week, before: Week | None, where: Where, find: FindProblems = find_week_problems) -> None:
    """Refuse what a change makes wrong. Raises ``Problem`` with every fault."""
    known = set(find(before)) if before else set()
    new = [problem for problem in dict.fromkeys(find(after)) if problem not in known]
    if new:
        raise refused(misplaced(new, where))


def refuse_frozen(week: Week, *days: date) -> None:
    """Refuse a change of what is cut on days whose sheets are frozen. Raises ``Problem``."""
    open_from = moment_of(week, now()).open_from
    for day in days:
        if day < open_from:
            raise Problem("frozen", f"The sheet of {day.isoformat()} is frozen; the first that may change is of "
                          f"{open_from.isoformat()}.")  # fmt: skip


def refuse_to_come(week: Week, day: date) -> None:
    """Refuse a report of a day that has not begun where the crew is. Raises ``Problem``."""
    today = moment_of(week, now()).today
    if day > today:
        detail = f"{day.isoformat()} is still to come; today is {today.isoformat()} in {week.limits.timezone}"
        raise refused([FieldError("#", detail, "day_to_come")])


def refuse_other_items(week: Week, old: DatedJob, new: DatedJob) -> None:
    """Refuse other items in the place of those that were reported cut; only their quantity may change.

    Raises ``Problem``.
    """
    cut = {done.item for report in week.reports for done in report.done if done.job == old.id}
    faults = [
        FieldError(
            f"#/required/{item}" if item < len(new.required) else "#/required",
            f"pieces of {old.required[item].mark or f'item {item}'} are reported cut here; leave the item in its place "
            "as it was, but for its quantity, or take the report back",
            "cut_already",
        )
        for item in sorted(cut)
        if item < len(old.required)
        and [replace(old.required[item], quantity=1)] != [replace(one, quantity=1) for one in new.required[item:][:1]]
    ]
    if faults:
        raise refused(faults)


def refuse_cut(week: Week, job: str) -> None:
    """Refuse to take out a job of which pieces are reported cut. Raises ``Problem``."""
    days = [report.date.isoformat() for report in week.reports if any(done.job == job for done in report.done)]
    if days:
        detail = f"pieces of {job} are reported cut on {' and '.join(days)}; keep what is cut of it, or take that back"
        raise refused([FieldError("#", detail, "cut_already")])


def without_job(week: Week, job: str) -> Week:
    """Return a week without a job."""
    return replace(week, jobs=tuple(other for other in week.jobs if other.id != job))
