"""Whether plans can be made, and figures for monitoring: Redis, a living worker, and a toy solved for real."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from threading import Lock

from flask import Blueprint, Response, jsonify, make_response
from redis.exceptions import RedisError

from service.documented import Answer, documented
from service.state import store
from service.wire.codes import HealthSchema
from workers.queues import depths
from workers.reaper import living_workers
from workers.record import State
from workers.toy import plan_toy

log = logging.getLogger(__name__)
TOY_SECONDS = 60
"""A solved toy is believed in for so long."""
blueprint = Blueprint("health", __name__, url_prefix="/health")
metrics = Blueprint("metrics", __name__)


@blueprint.get("/live")
@documented("Liveness", answers=[Answer(200, "Alive", HealthSchema)])
def live() -> Response:
    """Answer, and thereby prove it."""
    return jsonify({"status": "live"})


@blueprint.get("/ready")
@documented(
    "Readiness: whether plans can be made",
    answers=[
        Answer(200, "Ready", HealthSchema),
        Answer(503, "Not ready; `checks` says why", HealthSchema, headers=["Retry-After"]),
    ],
)
def ready() -> Response:
    """Check everything that a plan needs."""
    checks = {"redis": _holds(store().redis.ping), "workers": _holds(_workers), "solver": _holds(_TOY.solved)}
    ready_now = all(checks.values())
    told = {"status": "ready" if ready_now else "not ready", "checks": checks}
    response = make_response(jsonify(told), 200 if ready_now else 503)
    response.headers["Cache-Control"] = "no-store"
    if not ready_now:
        response.headers["Retry-After"] = "5"
    return response


def _workers() -> bool:
    return living_workers(store().redis)["all"] > 0


def _holds(check: Callable[[], object]) -> bool:
    try:
        return bool(check())
    except RedisError:
        return False


@dataclass(slots=True)
class _Toy:
    """A plan that is known beforehand, solved anew once a minute at most."""

    lock: Lock
    solved_at: float | None = None

    def solved(self) -> bool:
        """Whether the solver gets the toy right."""
        with self.lock:
            if self.solved_at is None or time.monotonic() - self.solved_at > TOY_SECONDS:
                self.solved_at = time.monotonic() if _toy_comes_out() else None
            return self.solved_at is not None


def _toy_comes_out() -> bool:
    try:
        return plan_toy()
    except Exception:
        log.exception("the toy could not be planned")
        return False


_TOY = _Toy(Lock())


@metrics.get("/metrics")
@documented(
    "Figures for monitoring", answers=[Answer(200, "Prometheus text", None, "text/plain")], problems=["store-away"]
)
def figures() -> Response:
    """Return queue depths, plans waiting and running, workers alive, and plans ended by state."""
    return Response("\n".join(_lines()) + "\n", content_type="text/plain; version=0.0.4; charset=utf-8")


def _lines() -> Iterator[str]:
    waiting, running = store().counts()
    totals = store().totals()
    yield from _gauge("lapstock_plans", {'state="queued"': waiting, 'state="running"': running}, "gauge")
    yield from _gauge("lapstock_queue_jobs", {f'queue="{q}"': n for q, n in depths(store().redis).items()}, "gauge")
    workers = {f'queues="{kind}"': count for kind, count in living_workers(store().redis).items()}
    yield from _gauge("lapstock_workers", workers, "gauge")
    ended = {f'state="{state}"': totals.get(state, 0) for state in State if state.over}
    yield from _gauge("lapstock_plans_ended_total", ended, "counter")


def _gauge(name: str, values: dict[str, int], kind: str) -> Iterator[str]:
    yield f"# TYPE {name} {kind}"
    for label, value in values.items():
        yield f"{name}{{{label}}} {value}" if label else f"{name} {value}"
