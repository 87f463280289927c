"""Health and metrics: what they promise, and that looking changes nothing."""

from __future__ import annotations

from tests.support.shed import SHED
from tests.support.stack import Stack, eventually
from workers.reaper import Reaper


def test_ready_with_redis_a_worker_and_a_solver_that_solves(serving: Stack) -> None:
    """Everything a plan needs is there."""
    eventually(lambda: serving.client.get("/health/ready").status_code == 200)
    checks = serving.client.get("/health/ready").json["checks"]
    assert checks == dict.fromkeys(("redis", "writable", "workers", "rounds", "solver"), True)


def test_not_ready_without_a_worker(alone: Stack) -> None:
    """Plans would be accepted, but nobody would make them."""
    answer = alone.client.get("/health/ready")
    assert (answer.status_code, answer.json["checks"]["workers"]) == (503, False)


def test_not_ready_where_nothing_can_be_written(alone: Stack) -> None:
    """Redis answers, and its memory is full: a plan is refused for now, and readiness says so until there is room."""
    alone.store.redis.config_set("maxmemory", 1)
    assert alone.post(SHED).status_code == 503
    assert alone.client.get("/health/ready").json["checks"] | {"solver": True} == {
        "redis": True, "writable": False, "workers": False, "rounds": False, "solver": True
    }  # fmt: skip
    alone.store.redis.config_set("maxmemory", 0)
    assert alone.client.get("/health/ready").json["checks"]["writable"] is True


def test_not_ready_where_nobody_makes_rounds(alone: Stack) -> None:
    """Workers say that they live, but lost plans have not been looked after for an hour."""
    redis = alone.store.redis
    redis.zadd("lapstock:workers", {"some-1": 4e9})
    assert alone.client.get("/health/ready").json["checks"]["rounds"] is False
    Reaper(redis, "some-1").sweep()
    assert alone.client.get("/health/ready").json["checks"]["rounds"] is True
    redis.set("lapstock:watched", redis.time()[0] - 3600)
    assert alone.client.get("/health/ready").json["checks"]["rounds"] is False


def test_not_ready_once_the_only_worker_is_killed(alone: Stack) -> None:
    """A killed worker stops counting although it never signed off."""
    worker = alone.start_worker()
    eventually(lambda: alone.client.get("/health/ready").status_code == 200)
    worker.kill()
    eventually(lambda: alone.client.get("/health/ready").status_code == 503)


def test_not_ready_with_a_worker_for_interactive_requests_alone(alone: Stack) -> None:
    """It makes the plans that somebody waits for, and nobody makes the others."""
    alone.start_worker("--interactive")
    eventually(lambda: 'lapstock_workers{queues="interactive"} 1' in alone.client.get("/metrics").text)
    assert alone.client.get("/health/ready").json["checks"]["workers"] is False


def test_metrics_count_what_is_there(alone: Stack) -> None:
    """One plan waits on the batch queue, and nothing has ended yet."""
    alone.posted(SHED)
    figures = alone.client.get("/metrics").text.splitlines()
    assert 'lapstock_plans{state="queued"} 1.0' in figures
    assert 'lapstock_queue_jobs{queue="batch"} 1.0' in figures
    assert 'lapstock_plans_ended_total{state="succeeded"} 0.0' in figures


def test_reading_metrics_changes_nothing(alone: Stack) -> None:
    """Every key and value in Redis is the same before and after, but for how often it was asked."""
    alone.posted(SHED)

    def everything() -> dict[str, bytes | None]:
        return {str(key): alone.store.redis.dump(key) for key in alone.store.redis.scan_iter()
                if b":rate" not in key}  # fmt: skip

    before = everything()
    alone.client.get("/metrics")
    assert everything() == before
