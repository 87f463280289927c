"""Stopping plans: queued ones never run, running ones give the best plan found, finished ones stay as they are."""

from __future__ import annotations

from typing import Any

from service import plans
from tests.support.shed import SHED, shed
from tests.support.stack import Stack, eventually
from workers.plans.record import State


def cancel(stack: Stack, plan_id: str, **headers: str) -> Any:  # noqa: ANN401
    """Ask a plan to stop."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return stack.client.post(f"/v1/cut-plans/{plan_id}/cancel", headers=named)


def hanging(stack: Stack) -> str:
    """Post a plan that goes on until it is cancelled, and wait until it runs."""
    plan_id = stack.posted(shed(name="hang"))
    eventually(lambda: stack.record(plan_id).state is State.RUNNING)
    return plan_id


def test_a_queued_plan_is_cancelled_and_never_runs(stubbed: Stack) -> None:
    """While another plan keeps the worker busy, a queued one is cancelled; it is never started."""
    busy, queued = stubbed.posted(shed(name="hang")), stubbed.posted(shed(name="hang"))
    answer = cancel(stubbed, queued)
    assert (answer.status_code, answer.json["state"], answer.json["result"]) == (200, "cancelled", None)
    cancel(stubbed, busy)
    stubbed.settled(busy)
    assert stubbed.settled(stubbed.posted(SHED)).state is State.SUCCEEDED
    assert stubbed.record(queued).started_at is None


def test_a_cancelled_plan_leaves_nothing_with_the_queue(alone: Stack) -> None:
    """What rq keeps of a queued job goes with it: it has no end of its own, and thirty of them were once found."""
    cancel(alone, alone.posted(SHED))
    assert list(alone.store.redis.scan_iter("rq:job:*")) == []


def test_a_running_plan_is_stopped_with_the_best_found(stubbed: Stack) -> None:
    """A cancel of a running plan is accepted, and the resource ends cancelled with the plan there was: seven panels."""
    plan_id = hanging(stubbed)
    answer = cancel(stubbed, plan_id)
    assert (answer.status_code, answer.json["state"], answer.headers["Retry-After"]) == (202, "running", "1")
    stubbed.settled(plan_id)
    answer = stubbed.client.get(f"/v1/cut-plans/{plan_id}").json
    assert (answer["state"], answer["result"]["status"], answer["result"]["stopped_by"]) == (
        "cancelled", "feasible", "cancel",
    )  # fmt: skip
    assert answer["result"]["order_total"] == "68.60"


def test_a_cancel_that_comes_too_late_changes_nothing(stubbed: Stack) -> None:
    """A native solve does not hear the cancel and proves its plan: that plan succeeded, and says so everywhere."""
    plan_id = stubbed.posted(shed(name="deaf"))
    eventually(lambda: stubbed.record(plan_id).state is State.RUNNING)
    cancel(stubbed, plan_id)
    stubbed.settled(plan_id)
    answer = stubbed.client.get(f"/v1/cut-plans/{plan_id}").json
    assert (answer["state"], answer["result"]["status"], answer["result"]["stopped_by"]) == (
        "succeeded", "optimal", "proof",
    )  # fmt: skip


def test_a_cancel_never_takes_a_finished_plan_away(serving: Stack) -> None:
    """Sent late, twice or thrice, a cancel answers how the plan stands, and the plan is there afterwards."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    answers = [cancel(serving, plan_id) for _ in range(3)]
    assert [(answer.status_code, answer.json["state"]) for answer in answers] == [(200, "succeeded")] * 3
    assert serving.client.get(f"/v1/cut-plans/{plan_id}").json["result"]["order_total"] == "58.80"


def test_a_second_cancel_of_a_waiting_plan_does_no_harm(alone: Stack) -> None:
    """The first cancels it, the second finds it cancelled."""
    plan_id = alone.posted(SHED)
    assert [cancel(alone, plan_id).json["state"] for _ in range(2)] == ["cancelled", "cancelled"]


def test_a_plan_that_is_not_over_is_not_forgotten(stubbed: Stack) -> None:
    """DELETE while it runs or waits answers 409 and the way to stop it; nothing is stopped and nothing is lost."""
    running, queued = hanging(stubbed), stubbed.posted(SHED)
    for plan_id in (running, queued):
        answer = stubbed.client.delete(f"/v1/cut-plans/{plan_id}")
        assert (answer.status_code, answer.json["type"]) == (409, "/problems/not-over")
        assert f"/v1/cut-plans/{plan_id}/cancel" in answer.json["detail"]
    assert (stubbed.record(running).state, stubbed.record(running).cancel_asked) == (State.RUNNING, False)
    cancel(stubbed, running)
    assert stubbed.settled(queued).state is State.SUCCEEDED


def test_a_change_is_refused_where_the_plan_is_not_as_known(serving: Stack) -> None:
    """RFC 9110, 13.1.1: with another ETag in If-Match neither cancel nor DELETE is performed, and 412 says so."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    address, etag = f"/v1/cut-plans/{plan_id}", serving.client.get(f"/v1/cut-plans/{plan_id}").headers["ETag"]
    for stale in ('"nope"', "nope", f"W/{etag}"):
        refused = [
            serving.client.delete(address, headers={"If-Match": stale}), cancel(serving, plan_id, If_Match=stale),
        ]  # fmt: skip
        assert [(answer.status_code, answer.json["type"]) for answer in refused] == [(412, "/problems/changed")] * 2
    assert cancel(serving, plan_id, If_Match=etag).status_code == 200
    assert serving.client.delete(address, headers={"If-Match": f'"other", {etag}'}).status_code == 204


def test_any_state_of_a_plan_that_is_there_matches_a_star(serving: Stack) -> None:
    """``If-Match: *`` asks only that there be something."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    assert serving.client.delete(f"/v1/cut-plans/{plan_id}", headers={"If-Match": "*"}).status_code == 204


def test_a_cancel_is_not_lost_with_the_worker(alone: Stack) -> None:
    """The plan was seen running; its worker died and it waits once more before the cancel arrives: it is cancelled."""
    plan_id = alone.posted(SHED)
    assert alone.store.start(plan_id, 1)
    seen = alone.record(plan_id)
    assert alone.store.requeue(seen, deaths=1)
    with alone.app.test_request_context():
        alone.app.preprocess_request()
        assert plans.cancel(seen).state is State.CANCELLED


def test_progress_is_seen_while_it_runs(stubbed: Stack) -> None:
    """GET of a running plan shows cost and bound so far, and its ETag moves with them."""
    plan_id = hanging(stubbed)
    before = stubbed.client.get(f"/v1/cut-plans/{plan_id}")
    eventually(lambda: stubbed.record(plan_id).cost is not None)
    after = stubbed.client.get(f"/v1/cut-plans/{plan_id}")
    assert (after.json["state"], after.json["progress"]) == (
        "running", {"cost": 60.0, "bound": 55.5, "phase": "searching", "cost_unit": "money", "left_out": []},
    )  # fmt: skip
    assert before.headers["ETag"] != after.headers["ETag"] or before.json["progress"] == after.json["progress"]
    cancel(stubbed, plan_id)
    stubbed.settled(plan_id)
