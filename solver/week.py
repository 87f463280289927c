"""The whole way from a crew's week to a checked plan for each of its days, as a table of contents.

What stands is gathered: jobs still open, sticks and offcuts at hand, sheets that are frozen (``standing``). Every job
is planned alone first, in date order (``alone``): that lays the runs and is what pooling is held against. Then, for
all materials at once, what to carry from day to day is sought, with each day's rest cut by itself (``candidates``,
``generation``, ``day_cutting``), and chosen from in the order of the goals, with the van's limit over all
(``choosing``, ``pooling``). The sticks chosen are followed from day to day
(``sticks``), which gives a sheet for each day (``sheets``) and an order for each delivery (``orders``). No plan leaves
without passing the independent ``check_week``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import chain

from solver.check_week import check_week
from solver.errors import PlanRefused, Unplannable
from solver.watch import Watch
from solver.weekly.choosing import carried_nights
from solver.weekly.comparing import compared, least_bill
from solver.weekly.notes import notes_of
from solver.weekly.orders import orders_of
from solver.weekly.plan import DayPlan, Missing, WeekPlan
from solver.weekly.pooling import Pooled, pool, van_of, weeks_of
from solver.weekly.problems import find_week_problems
from solver.weekly.sheets import Sheets
from solver.weekly.standing import Moment, Standing, stand
from solver.weekly.sticks import sticks_of
from solver.weekly.week import DAYS, Week

__all__ = ["SECONDS", "Moment", "plan_week"]

SECONDS = 300.0
"""What a week may take; work is counted, so an ordinary week on an ordinary machine never takes so long."""


def plan_week(
    week: Week,
    moment: Moment,
    clock: Callable[[], float],
    cancelled: Callable[[], bool] = lambda: False,
    seconds: float = SECONDS,
) -> WeekPlan:
    """Return the best plan found for what is still open of the week, within ``seconds`` on ``clock``.

    Raises ``Unplannable`` where the week alone shows that no plan exists, and ``PlanRefused`` where the
    independent checker finds a fault in the plan.
    """
    if problems := find_week_problems(week, moment):
        raise Unplannable(problems)
    watch = Watch(clock, clock() + seconds, cancelled)
    standing = stand(week, moment)
    plan = _planned(standing, watch.within(watch.left * 0.8), keep_runs=False)
    if not check_week(week, moment.open_from, plan):
        return plan
    # a run's laps can hang on the very sticks that its job was given alone
    plan = _planned(standing, watch, keep_runs=True)
    if faults := check_week(week, moment.open_from, plan):
        raise PlanRefused(faults)
    return plan


def _planned(standing: Standing, watch: Watch, *, keep_runs: bool) -> WeekPlan:
    weeks = weeks_of(standing, watch, keep_runs=keep_runs)
    pooled = pool(weeks, van_of(standing.week), watch)
    return _written(standing, pooled.parts, pooled.bound, watch)


def _written(standing: Standing, pooled: tuple[Pooled, ...], bound: int | None, watch: Watch) -> WeekPlan:
    sticks = list(chain.from_iterable(sticks_of(part) for part in pooled))
    days = tuple(Sheets(standing, pooled, sticks).days())
    week = standing.week
    nights = carried_nights((part.week.problem, part.uses) for part in pooled)
    figures = tuple(compared(part, watch.within(watch.left / (len(pooled) - k))) for k, part in enumerate(pooled))
    missing = tuple(_missing(days))
    return WeekPlan(
        week.crew,
        week.name,
        (*standing.frozen, *days),
        orders_of(standing, sticks),
        figures,
        missing,
        tuple(nights[night] for night in range(DAYS)),
        sum(part.week.problem.carried(p) * times for part in pooled for p, times in part.uses.items()),
        sum(_changes(part) for part in pooled),
        tuple(notes_of(standing)),
        None if missing else least_bill(figures, bound),
    )


def _missing(days: Iterable[DayPlan]) -> Iterator[Missing]:
    for day in days:
        for entry in day.plan.not_cut:
            origin = day.origins[entry.item]
            yield Missing(origin.job, origin.item, entry.mark, entry.quantity, entry.detail)


def _changes(part: Pooled) -> int:
    """Count the announced sticks that are cut otherwise now."""
    announced = part.week.announced
    kept = dict.fromkeys(announced, 0)
    for pattern, times in part.uses.items():
        signed = part.week.signed(pattern)
        if signed in kept:
            kept[signed] += times
    return sum(count - min(count, kept[signed]) for signed, count in announced.items())
