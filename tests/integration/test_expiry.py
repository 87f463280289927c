"""Results are kept for a stated time, and after it the answer is not "queued" or "unknown" but "gone"."""

from __future__ import annotations

from tests.support.shed import SHED
from tests.support.stack import Stack, eventually
from workers.plans.store import DAY, PLAN


def test_a_result_is_kept_thirty_days(serving: Stack) -> None:
    """The resource says until when, and Redis keeps it as long."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    record = serving.record(plan_id)
    assert record.expires_at is not None
    assert record.finished_at is not None
    assert (record.expires_at - record.finished_at).days == 30
    assert 29 * DAY < serving.store.redis.ttl(PLAN + plan_id) <= 30 * DAY


def test_an_expired_result_is_gone(serving: Stack) -> None:
    """After its time a plan answers 410 and says to post the request again."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    serving.store.redis.pexpire(PLAN + plan_id, 1)
    eventually(lambda: serving.store.fetch(plan_id) is None)
    for answer in (serving.client.get(f"/v1/cut-plans/{plan_id}"), serving.client.delete(f"/v1/cut-plans/{plan_id}")):
        assert (answer.status_code, answer.json["type"]) == (410, "/problems/expired")


def test_what_waits_does_not_expire(alone: Stack) -> None:
    """A queued plan is kept until it has run, however long that takes."""
    plan_id = alone.posted(SHED)
    assert alone.store.redis.ttl(PLAN + plan_id) == -1
