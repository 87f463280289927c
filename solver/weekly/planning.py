"""The whole way from a crew's week to a checked plan for each of its days, as a table of contents.

What stands is gathered: jobs still open, sticks and offcuts at hand, sheets that are frozen (``state``). Every job
is planned alone first, in date order (``baseline``): that lays the runs and is what pooling is held against. They are
laid for all the week at once as well (``together``), the cheaper of the two weeks is taken, and in it one day's runs
after another are laid anew beside what the others cut, or a small week from cheaper sticks (``relaying``). For each of
these layings, and for all materials at once, what to carry from day to day is sought, with each day's rest cut by
itself (``column_pool``, ``generation``, ``day_cutting``), and chosen from in the order of the goals, with the van's
limit over all (``choosing``); then a few sticks at a time are cut anew, as long as fewer or cheaper ones do
(``recutting``, ``stick_by_stick``), and the plan is held against what was announced and what a smaller van carries
(``pooling``). The sticks chosen are followed from day to day and ordered (``sticks``), which gives a sheet for each day
(``sheets``), and held against what nothing can go below (``bound``). No plan leaves without passing the independent
``examine_week``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import chain

from solver.buying.terms import has_terms
from solver.checking.week import examine_week
from solver.errors import PlanRefused, Unplannable
from solver.watch import Watch
from solver.weekly.bound import bill_bound, compared, dated_values, is_least, with_day_bounds
from solver.weekly.material_week import MaterialWeek, announced_sticks, jobs_with_runs, weeks_of
from solver.weekly.moment import Moment
from solver.weekly.plan import DayPlan, Missing, WeekPlan
from solver.weekly.pooling import Pooled, PooledWeek, pool, room_beside
from solver.weekly.problems import find_week_problems
from solver.weekly.relaying import Relaying
from solver.weekly.sheets import Sheets, kept_for
from solver.weekly.state import WeekState, notes_of, snapshot
from solver.weekly.sticks import is_laid_in_part, lots_of, orders_of, sticks_of
from solver.weekly.summary import to_buy
from solver.weekly.together import laid_together
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
    uncounted = tuple(_uncounted(week))
    unreckoned = (replace(each, settings=each.settings.unreckoned) for each in week.materials)
    week = replace(week, materials=tuple(unreckoned))
    state = snapshot(week, moment)
    early, checked = watch.within(watch.left * 0.8), None
    pooled = _pooled(state, early, keep_runs=False)
    if not any(map(is_laid_in_part, pooled.parts)):
        first = _written(state, pooled, early)
        checked = examine_week(week, moment.open_from, first, moment.orders_from)
    if checked is None or checked.faults:
        # a run's laps can hang on the very sticks that its job was given alone
        kept = _written(state, _pooled(state, watch, keep_runs=True), watch)
        checked = examine_week(week, moment.open_from, kept, moment.orders_from)
    if checked.faults:
        raise PlanRefused(checked.faults)
    return replace(checked.plan, notes=(*checked.plan.notes, *uncounted))


def _uncounted(week: Week) -> Iterator[str]:
    """Yield a sentence for each material of which cuts, patterns or offcuts count: in a week they don't."""
    wanted = {required.material for job in week.jobs for required in job.required}
    for material in week.materials:
        if material.settings.reckons and material.id in wanted:
            yield f"{material.id}: what cuts, set-ups of the saw and offcuts count for is left out of a week's bill"


def _pooled(state: WeekState, watch: Watch, *, keep_runs: bool) -> PooledWeek:
    """Return the best week found; runs are laid as if nothing was announced, lest a second night lay others for it."""
    if not any(jobs_with_runs(state.jobs, material) for material in state.materials):
        return _laid(state, watch, keep_runs=keep_runs)
    unknown = replace(state, moment=replace(state.moment, announced=None))
    found = _laid(unknown, watch, keep_runs=keep_runs)
    known = [
        replace(part.week, announced=announced_sticks(state.moment, part.week.material.id, part.week.pieces))
        for part in found.parts
    ]
    return pool(known, state.week.limits.carry, watch) if any(week.announced for week in known) else found


def _laid(state: WeekState, watch: Watch, *, keep_runs: bool) -> PooledWeek:
    carry = state.week.limits.carry
    drafts = weeks_of(state, watch.within(watch.left / 3), keep_runs=keep_runs, draft=True)
    pairs = [laid_together(state, week, watch.within(watch.left / 3)) for week in drafts]
    laid = any(week.draft for week in drafts)
    pooled = pool([together for _, together in pairs], carry, watch.within(watch.left / 3) if laid else watch)
    if laid:
        own = pool([week for week, _ in pairs], carry, watch.within(watch.left / 2))
        if own.objective < pooled.objective or all(week is together for week, together in pairs):
            fair = weeks_of(state, watch.within(watch.left / 2), keep_runs=keep_runs)
            known = [
                replace(new, laid_bound=old.laid_bound, laid_proof=old.laid_proof)
                for new, (old, _) in zip(fair, pairs, strict=True)
            ]
            pooled = min(pool(known, carry, watch.within(watch.left / 2)), pooled, own, key=lambda each: each.objective)
    return pooled if keep_runs else _relaid(state, pooled, watch)


def _relaid(state: WeekState, pooled: PooledWeek, watch: Watch) -> PooledWeek:
    """Return the week with the runs of one day after the other laid anew, where that is cheaper."""
    for place in range(len(pooled.parts)):
        for anew in (Relaying.from_nothing, Relaying.from_plan, Relaying.from_shares):
            part = pooled.parts[place]
            if not part.week.has_runs or part.week.fixed or is_least(part):
                break
            room = room_beside(pooled, [place], state.week.limits.carry)
            week = anew(Relaying(state, part, room, watch.within(watch.left / 4)))
            if week is not None:
                pooled = _with_laying(pooled, place, week, state.week.limits.carry, watch.within(watch.left / 2))
    return pooled


def _with_laying(pooled: PooledWeek, place: int, week: MaterialWeek, carry: int | None, watch: Watch) -> PooledWeek:
    """Return the better of a week as it is and with one material's runs laid otherwise."""
    before = pooled.parts[place]
    known = replace(before, week=replace(before.week, laid_bound=week.laid_bound, laid_proof=week.laid_proof))
    parts = [known if k == place else part for k, part in enumerate(pooled.parts)]
    pooled = replace(pooled, parts=tuple(parts))
    if week.objective(week.start) > before.week.objective(before.uses):
        return pooled
    other = pool([week if k == place else part.week for k, part in enumerate(parts)], carry, watch)
    return min(pooled, other, key=lambda each: each.objective)


def _written(state: WeekState, chosen: PooledWeek, watch: Watch) -> WeekPlan:
    pooled, bound = chosen.parts, chosen.bound
    sticks = list(chain.from_iterable(sticks_of(part) for part in pooled))
    days, week = tuple(Sheets(state, pooled, sticks).days()), state.week
    nights = chosen.nights
    orders, short = orders_of(state, sticks, watch)
    changing = [order for order in orders if not order.closed]
    figures = tuple(
        compared(part, changing, watch.within(watch.left / (len(pooled) - k))) for k, part in enumerate(pooled)
    )
    missing, ruled = tuple(_missing(days)), any(has_terms(part.week.material) for part in pooled)
    joint = None if ruled else bound
    least = None if missing else bill_bound(week, figures, joint, orders)
    plan = WeekPlan(
        crew=week.crew,
        week=week.name,
        days=state.frozen,
        orders=orders,
        compared=figures,
        missing=missing,
        nights=tuple(nights[night] for night in range(DAYS)),
        carried=sum(part.week.problem.carried(p) * times for part in pooled for p, times in part.uses.items()),
        changes=sum(_changes(part) for part in pooled),
        notes=(*notes_of(state), *lots_of(week, orders), *short),
        bound=least,
        dated=None if least is None else dated_values(week, pooled, joint, figures, watch),
        to_buy=to_buy(state, missing, watch),
    )
    parts = {part.week.material.id: part for part in pooled}
    known = set() if missing else {material for material, part in parts.items() if _least(plan, part)}
    bounded = (with_day_bounds(day, parts, known, watch) for day in days)
    return replace(plan, days=kept_for((*state.frozen, *bounded)))


def _least(plan: WeekPlan, part: Pooled) -> bool:
    """Whether no day of a material can cost less, the others as they are; a whole stick of the shop counts in a day."""
    known = plan.proven or any(c.material == part.week.material.id and c.proven for c in plan.compared)
    return known and not any(part.week.opens(pattern) for pattern in part.uses)


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
