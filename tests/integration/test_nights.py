"""The nights: every crew's week is planned once a night, whatever happens to those who plan and to their clocks."""

from __future__ import annotations

import os
import signal
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from threading import Thread
from zoneinfo import ZoneInfo

import pytest

from service.weeks import etag_of
from solver.weekly.moment import moment_of, night_due
from solver.weekly.plan import WeekPlan
from solver.weekly.week import Week, WeekLimits
from tests.support.stack import Stack, children, eventually
from tests.support.weeks import MONDAY, TUESDAY, in_another_week, planned, week, with_carry
from workers.shares import WEEKS, queue_key, waiting_on
from workers.week_tasks import run_week
from workers.weeks.record import KeptWeek, Outcome, WeekKey, Why, failed_run
from workers.weeks.scheduler import count_death, enqueue_asked, schedule
from workers.weeks.store import JobElsewhere, WeekStore

KEY = WeekKey("anybody", "tern", "2026-W48")
NIGHT = datetime(2026, 11, 23, 3, tzinfo=UTC)
"""Monday, three in the morning."""


@pytest.fixture
def store(alone: Stack) -> WeekStore:
    """Return a store that holds the week by hand."""
    weeks = WeekStore(alone.store.redis)
    weeks.change(KEY, lambda _: week())
    return weeks


def work_off(store: WeekStore) -> int:
    """Run every queued week here, as a worker would, and return how many."""
    names = waiting_on(store.redis, WEEKS)
    store.redis.delete(queue_key(WEEKS))
    for name in names:
        store.redis.delete(f"rq:job:{name}")
    for key in store.every_key():
        night = night_due("UTC", key.monday, NIGHT)
        run_week(store, key, night, NIGHT)
    return len(names)


def test_a_night_is_planned_once(store: WeekStore) -> None:
    """Two tickers queue it once; once it is planned, later ticks of the night queue nothing."""
    assert [schedule(store, NIGHT), schedule(WeekStore(store.redis), NIGHT)] == [1, 0]
    assert work_off(store) == 1
    assert schedule(store, NIGHT + timedelta(minutes=5)) == 0
    assert [run.why for run in store.runs(KEY)] == [Why.NIGHT]


def test_two_machines_at_the_same_night_keep_one_run(store: WeekStore) -> None:
    """Both plan the week at the same time: one plan is kept, with one run, and the other is dropped."""
    both = [Thread(target=run_week, args=(WeekStore(store.redis), KEY, MONDAY, NIGHT)) for _ in range(2)]
    for machine in both:
        machine.start()
    for machine in both:
        machine.join()
    assert [run.night for run in store.runs(KEY)] == [MONDAY]
    assert plan_of(store, KEY) == planned(week())


def test_a_run_leaves_a_record(store: WeekStore) -> None:
    """When, for which night, what changed, and the bill before and after."""
    run_week(store, KEY, MONDAY, NIGHT)
    store.change(KEY, lambda _: with_carry(0))
    run_week(store, KEY, TUESDAY, datetime(2026, 11, 23, 3, 30, tzinfo=UTC))
    first, second = store.runs(KEY)
    assert (first.at, first.night, first.outcome, first.bill_before) == (NIGHT, MONDAY, Outcome.PLANNED, None)
    assert (second.bill_before, second.bill_after, second.changes) == (Decimal("29.40"), Decimal("39.20"), 3)


def test_after_an_outage_it_catches_up_once(store: WeekStore) -> None:
    """Nobody was there on Monday and Tuesday night: on Wednesday noon one plan is made, for Wednesday."""
    assert schedule(store, datetime(2026, 11, 25, 12, tzinfo=UTC)) == 1
    run_week(store, KEY, date(2026, 11, 25), datetime(2026, 11, 25, 12, tzinfo=UTC))
    assert [run.night for run in store.runs(KEY)] == [date(2026, 11, 25)]


def lose(store: WeekStore, tries: int) -> str:
    """Have a worker take the week off its queue and go away."""
    (name,) = waiting_on(store.redis, WEEKS)
    store.redis.delete(queue_key(WEEKS))
    store.redis.set(f"lapstock:week-silent:{name}", 0)
    assert name.endswith(f"-{tries}")
    return name


def test_a_week_whose_workers_go_away_is_tried_again_without_blame(store: WeekStore) -> None:
    """Three workers take it and are not heard of again: it is queued once more each time."""
    assert schedule(store, NIGHT) == 1
    for tries in range(3):
        lose(store, tries)
        assert schedule(store, NIGHT) == 1
    assert store.runs(KEY) == ()


def test_what_a_dead_worker_left_is_planned_before_the_other_weeks(store: WeekStore) -> None:
    """It has waited its turn once; of the others none has begun."""
    schedule(store, NIGHT)
    lose(store, 0)
    store.change(replace(KEY, crew="wren"), lambda _: replace(week(), crew="wren"))
    schedule(store, NIGHT)
    first, second = waiting_on(store.redis, WEEKS)
    assert (KEY.digest in first, KEY.digest in second) == (True, False)


def test_a_week_that_kills_two_processes_is_given_up(store: WeekStore) -> None:
    """Both died under a worker that lived on, so the week may be what killed them."""
    assert schedule(store, NIGHT) == 1
    for tries in range(2):
        count_death(store.redis, lose(store, tries))
        assert schedule(store, NIGHT) == 1 - tries
    assert [run.outcome for run in store.runs(KEY)] == [Outcome.FAILED]


def test_one_crews_bad_data_never_stops_anothers_plan(store: WeekStore) -> None:
    """A crew whose data can't be read, and one whose week can't be planned: the third is planned all the same."""
    broken, wrong = WeekKey("anybody", "broken", KEY.week), WeekKey("anybody", "wrong", KEY.week)
    for key in (broken, wrong):
        store.change(key, lambda _, key=key: replace(week(), crew=key.crew, deliveries=()))  # type: ignore[misc]
    store.redis.hset(f"lapstock:week:{broken.digest}", "timezone", "Nowhere/At all")
    assert schedule(store, NIGHT) == 2
    run_week(store, wrong, MONDAY, NIGHT)
    run_week(store, KEY, MONDAY, NIGHT)
    (refused,) = store.runs(wrong)
    assert refused.outcome is Outcome.UNPLANNABLE
    assert "before any delivery" in refused.details[0]
    kept = store.fetch(KEY)
    assert kept is not None
    assert kept.plan == planned(week())


def test_a_plan_of_a_week_that_has_changed_is_dropped(store: WeekStore) -> None:
    """Changed while it is planned, the week is planned again as it is then, and one run is kept."""
    kept = store.fetch(KEY)
    assert kept is not None
    store.change(KEY, lambda _: with_carry(0))
    run_week(store, KEY, MONDAY, NIGHT)
    (run,) = store.runs(KEY)
    assert not store.finish(kept, planned(week()), run)
    now = store.fetch(KEY)
    assert now is not None
    assert now.plan == planned(with_carry(0))


def test_a_plan_of_a_week_that_was_begun_anew_is_dropped(store: WeekStore) -> None:
    """Forgotten and put again while it is planned, it is at its first version once more, and yet another week.

    It has no runs: those of the forgotten one are not its own.
    """
    run = failed_run(NIGHT, MONDAY, "")
    first = store.fetch(KEY)
    assert first is not None
    assert store.finish(first, None, run)
    kept = store.fetch(KEY)
    assert kept is not None
    store.forget(KEY)
    now = store.change(KEY, lambda _: with_carry(0))
    assert etag_of(now) != etag_of(kept)
    assert not store.finish(kept, planned(week()), run)
    assert (store.fetch(KEY), store.runs(KEY)) == (now, ())


def test_a_change_is_answered_though_somebody_forgets_the_week_at_once(store: WeekStore) -> None:
    """What was kept is answered, not what is there a moment later."""

    class Hasty(WeekStore):
        def fetch(self, key: WeekKey) -> KeptWeek | None:
            store.forget(key)
            return super().fetch(key)

    assert Hasty(store.redis).change(KEY, lambda _: with_carry(0)).week == with_carry(0)


def test_who_asks_for_a_plan_of_no_week_leaves_nothing(store: WeekStore) -> None:
    """The week may be forgotten a moment before."""
    store.forget(KEY)
    assert store.ask(KEY) == 0
    assert not store.exists(KEY)


def test_a_job_is_in_one_week_of_its_crew(store: WeekStore) -> None:
    """The same job in the week after is refused, until it is withdrawn from this one."""
    later = WeekKey("anybody", "tern", "2026-W49")
    moved = replace(
        week(), number=49, jobs=tuple(replace(job, date=job.date + timedelta(days=7)) for job in week().jobs)
    )
    with pytest.raises(JobElsewhere, match="2026-W48"):
        store.change(later, lambda _: moved)
    store.change(KEY, lambda before: replace(before.week if before else week(), jobs=()))
    assert store.change(later, lambda _: moved).week == moved


def test_killed_halfway_it_is_planned_again_with_the_same_result(alone: Stack) -> None:
    """The worker and its child are killed while they plan; another worker makes the same plan, and one run is kept."""
    store, key = WeekStore(alone.store.redis), replace(KEY, week="2100-W10")
    far = in_another_week(week(), 2100, 10)
    store.change(key, lambda _: far)
    first = alone.start_worker()
    store.ask(key)
    enqueue_asked(store, key)
    eventually(lambda: children(first.pid) or plan_of(store, key))
    for child in children(first.pid):
        os.kill(child, signal.SIGKILL)
    first.kill()
    alone.start_worker()
    eventually(lambda: plan_of(store, key))
    assert plan_of(store, key) == planned(far)
    assert len(store.runs(key)) == 1


def plan_of(store: WeekStore, key: WeekKey) -> WeekPlan | None:
    """Return the plan kept of a week."""
    kept = store.fetch(key)
    return kept.plan if kept else None


@pytest.mark.parametrize("start", [datetime(2026, 3, 28), datetime(2026, 10, 24)])  # noqa: DTZ001
def test_every_date_is_due_once_across_daylight_saving(start: datetime) -> None:
    """In Berlin clocks jump on 29 March and 25 October 2026: each date comes up, once, in order."""
    monday = start.date() - timedelta(days=start.weekday())
    begin = start.replace(tzinfo=ZoneInfo("Europe/Berlin")).astimezone(UTC)
    found = [night_due("Europe/Berlin", monday, begin + timedelta(minutes=10 * n)) for n in range(6 * 60)]
    dates = [day for day, before in zip(found, [None, *found], strict=False) if day != before]
    known = [day for day in dates if day is not None]
    assert known == sorted(set(known))
    assert start.date() in known


def test_the_years_end_is_a_week_like_any_other() -> None:
    """2026-W53 runs from 28 December to 3 January 2027, and its nights are due in both years."""
    key = WeekKey("anybody", "tern", "2026-W53")
    assert key.monday == date(2026, 12, 28)
    found = {night_due("UTC", key.monday, datetime(2026, 12, 31, 3, tzinfo=UTC) + timedelta(days=n)) for n in range(5)}
    assert found == {date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 2), date(2027, 1, 3), None}


def test_a_week_over_the_years_end_is_planned_in_either_year(store: WeekStore) -> None:
    """On new year's morning what was cut in the old year stands, and Thursday's sheet has become Sunday's."""
    key = WeekKey("anybody", "wren", "2026-W53")
    asked = in_another_week(week(), 2026, 53)
    north, shed = asked.jobs
    store.change(key, lambda _: replace(asked, jobs=(north, replace(shed, date=date(2027, 1, 3)))))
    run_week(store, key, key.monday, datetime(2026, 12, 28, 3, tzinfo=UTC))
    run_week(store, key, date(2027, 1, 1), datetime(2027, 1, 1, 3, tzinfo=UTC))
    plan = plan_of(store, key)
    assert plan is not None
    assert [(day.date, day.frozen) for day in plan.days] == [(key.monday, True), (date(2027, 1, 3), False)]
    assert [run.night for run in store.runs(key)] == [key.monday, date(2027, 1, 1)]


@pytest.mark.parametrize(("hour", "open_from"), [(4, MONDAY), (5, TUESDAY), (23, TUESDAY)])
def test_a_sheet_is_frozen_from_its_hour_on(hour: int, open_from: date) -> None:
    """Monday's sheet may change until five in the morning, in the crew's own time zone."""
    asked: Week = replace(week(), limits=WeekLimits(freeze_at=time(5), timezone="America/Chicago"))
    now = datetime(2026, 11, 23, hour, tzinfo=ZoneInfo("America/Chicago"))
    assert moment_of(asked, now).open_from == open_from
