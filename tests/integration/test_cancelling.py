"""Stopping plans: queued ones never run, running ones give the best plan found."""

from __future__ import annotations

from tests.support.shed import SHED, shed
from tests.support.stack import Stack, eventually
from workers.record import State


def test_a_queued_plan_is_cancelled_and_never_runs(stubbed: Stack) -> None:
    """While another plan keeps the worker busy, a queued one is cancelled; it is never started."""
    busy, queued = stubbed.posted(shed(name="hang")), stubbed.posted(shed(name="hang"))
    answer = stubbed.client.delete(f"/v1/cut-plans/{queued}")
    assert (answer.status_code, answer.json["state"], answer.json["result"]) == (200, "cancelled", None)
    stubbed.client.delete(f"/v1/cut-plans/{busy}")
    stubbed.settled(busy)
    assert stubbed.settled(stubbed.posted(SHED)).state is State.SUCCEEDED
    assert stubbed.record(queued).started_at is None


def test_a_running_plan_is_stopped_with_the_best_found(stubbed: Stack) -> None:
    """DELETE of a running plan is accepted, and the resource ends cancelled with a result in it."""
    plan_id = stubbed.posted(shed(name="hang"))
    eventually(lambda: stubbed.record(plan_id).state is State.RUNNING)
    assert stubbed.client.delete(f"/v1/cut-plans/{plan_id}").status_code == 202
    stubbed.settled(plan_id)
    answer = stubbed.client.get(f"/v1/cut-plans/{plan_id}").json
    assert (answer["state"], answer["result"]["order_total"]) == ("cancelled", "58.80")


def test_a_solver_deaf_to_the_cancel_still_ends_cancelled(stubbed: Stack) -> None:
    """A native solve does not hear the cancel: its answer is kept when it comes, as cancelled."""
    plan_id = stubbed.posted(shed(name="deaf"))
    eventually(lambda: stubbed.record(plan_id).state is State.RUNNING)
    stubbed.client.delete(f"/v1/cut-plans/{plan_id}")
    record = stubbed.settled(plan_id)
    assert (record.state, record.has_plan) == (State.CANCELLED, True)


def test_progress_is_seen_while_it_runs(stubbed: Stack) -> None:
    """GET of a running plan shows cost and bound so far, and its ETag moves with them."""
    plan_id = stubbed.posted(shed(name="hang"))
    eventually(lambda: stubbed.record(plan_id).state is State.RUNNING)
    before = stubbed.client.get(f"/v1/cut-plans/{plan_id}")
    eventually(lambda: stubbed.record(plan_id).cost is not None)
    after = stubbed.client.get(f"/v1/cut-plans/{plan_id}")
    assert (after.json["state"], after.json["progress"]) == ("running", {"cost": 60.0, "bound": 55.5})
    assert before.headers["ETag"] != after.headers["ETag"] or before.json["progress"] == after.json["progress"]
    stubbed.client.delete(f"/v1/cut-plans/{plan_id}")
    stubbed.settled(plan_id)
