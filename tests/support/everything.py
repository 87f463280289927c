"""One of everything that is kept, as the service and its workers keep it, for what must hold of all of it."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import solver
from solver.weekly.moment import moment_of
from solver.weekly.planning import plan_week
from tests import scenario
from tests.scenario import inches
from tests.support.measured import MEASURED
from tests.support.shed import SHED
from tests.support.stack import Stack
from tests.support.weeks import in_another_week, week
from workers.keys import Keys, Scope
from workers.orders.company import Companies, Company, CustomerAnswers
from workers.orders.drafts import Draft, Drafts
from workers.orders.ticks import Change, PieceState, Ticks
from workers.plans.record import State
from workers.plans.store import PLAN, Ask
from workers.rack.store import Entry, Rack
from workers.weeks.record import WeekKey, failed_run
from workers.weeks.store import WeekStore

FINISHED, WAITING, RUNNING, SOUND = ("a" * 32, "b" * 32, "c" * 32, "d" * 32)
KEY, OTHER = WeekKey("anybody", "tern", "2100-W10"), WeekKey("anybody", "wren", "2100-W10")
TOKEN = "draft-of-tern"
NIGHT = datetime(2100, 3, 8, 9, tzinfo=UTC)


def fill(running: Stack) -> None:
    """Keep one of everything; the client of the installation has a key then."""
    store, redis = running.store, running.store.redis
    job = scenario.shed()
    plan = solver.plan_job(job, time.monotonic)
    for plan_id in (FINISHED, WAITING, RUNNING, SOUND):
        store.create(plan_id, Ask("anybody", "batch", job, measured=MEASURED))
    for plan_id in (FINISHED, RUNNING):
        store.start(plan_id, 1)
    store.finish(FINISHED, 1, State.SUCCEEDED, plan, 5)
    Ticks(redis).mark(FINISHED, [Change("S1-1", PieceState.TO_CUT, PieceState.CUT)], "Ada")
    Drafts(redis).keep("anybody", Draft(TOKEN, "/", "Tern", datetime.now(UTC), {"text": "2 x 50"}))
    lie = [Entry(label="R-9", material="panel-sand", length=inches(50)), Entry(label="", material="trim", length=1)]
    Rack(redis, "anybody").add(lie)
    Rack(redis, "anybody").hold(PLAN + FINISHED, "plan 1", {"R-9": 1})
    panel = {"units": "in", **SHED["materials"][0]}
    for also in ("panel", "siding"):
        put = running.client.put("/v1/materials/panel-sand", json={**panel, "also": [also]})
        assert put.status_code in (200, 201), put.text
    Companies(redis).put("anybody", Company(name="Yard"))
    CustomerAnswers(redis).put("anybody", "tern", {"n-n": "feet-inches"})
    weeks = WeekStore(redis)
    for key in (KEY, OTHER):
        weeks.change(key, lambda _, key=key: replace(in_another_week(week(), 2100, 10), crew=key.crew))  # type: ignore[misc]
        kept = weeks.fetch(key)
        assert kept is not None
        planned = plan_week(kept.week, moment_of(kept.week, NIGHT - timedelta(days=1), None), time.monotonic)
        weeks.finish(kept, planned, failed_run(NIGHT, None, ""))
    running.key = Keys(redis).add("Ada", "anybody", tuple(Scope))
