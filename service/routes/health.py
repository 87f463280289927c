"""Whether plans can be made, and figures for monitoring: Redis, workers, their rounds, and a toy solved for real."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from threading import Lock

from flask import Blueprint, Response, jsonify, make_response
from prometheus_client import CONTENT_TYPE_PLAIN_0_0_4, CollectorRegistry, generate_latest
from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector
from redis.exceptions import RedisError

from service.http.documented import Answer, documented
from service.state import store
from service.wire.codes import HealthSchema
from workers.connection import PREFIX
from workers.plans.record import State
from workers.plans.store import Store
from workers.queues import depths
from workers.reaper import last_round, living_workers, makes_rounds
from workers.toy import plan_toy

log = logging.getLogger(__name__)
TOY_SECONDS = 60
"""A solved toy is believed in for so long."""
_PROBE = PREFIX + "probe"
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
    checks = {
        "redis": _holds(store().redis.ping),
        "writable": _holds(_writable),
        "workers": _holds(_workers),
        "rounds": _holds(lambda: makes_rounds(store().redis)),
        "solver": _holds(_TOY.solved),
    }
    ready_now = all(checks.values())
    told = {"status": "ready" if ready_now else "not ready", "checks": checks}
    response = make_response(jsonify(told), 200 if ready_now else 503)
    response.headers["Cache-Control"] = "no-store"
    if not ready_now:
        response.headers["Retry-After"] = "5"
    return response


def _workers() -> bool:
    return living_workers(store().redis)["all"] > 0


def _writable() -> bool:
    """Whether Redis takes what is written: it does not where its memory or its disk is full, or as a replica."""
    return bool(store().redis.set(_PROBE, 1, ex=TOY_SECONDS))


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
@documented("Figures for monitoring", answers=[Answer(200, "Prometheus text", None, "text/plain")])
def figures() -> Response:
    """Return plans waiting, running and ended, what is on the queues, workers alive and when a round was last made."""
    registry = CollectorRegistry()
    registry.register(_Figures(store()))
    return Response(generate_latest(registry), content_type=CONTENT_TYPE_PLAIN_0_0_4)


class _Figures(Collector):
    """What the store knows, asked for when it is collected: every process of an installation says the same."""

    def __init__(self, kept: Store) -> None:
        self._store = kept

    def collect(self) -> Iterator[Metric]:
        """Yield each figure with what it counts."""
        redis = self._store.redis
        waiting, running = self._store.counts()
        totals = self._store.totals()
        ended = {str(state): totals.get(state, 0) for state in State if state.over}
        yield _metric(GaugeMetricFamily, "plans", "Plans that are not over.", "state",
                      {"queued": waiting, "running": running})  # fmt: skip
        yield _metric(GaugeMetricFamily, "queue_jobs", "Jobs on each queue.", "queue", depths(redis))
        yield _metric(GaugeMetricFamily, "workers", "Workers seen lately, by what they take.", "queues",
                      living_workers(redis))  # fmt: skip
        yield _metric(CounterMetricFamily, "plans_ended", "Plans that ended, by how.", "state", ended)
        about = "When lost plans and nights were last looked after, in seconds since 1970."
        yield GaugeMetricFamily("lapstock_last_round_seconds", about, value=last_round(redis))


def _metric(
    kind: type[GaugeMetricFamily | CounterMetricFamily], name: str, about: str, label: str, values: Mapping[str, int]
) -> Metric:
    family = kind(f"lapstock_{name}", about, labels=[label])
    for value, count in values.items():
        family.add_metric([value], count)
    return family
