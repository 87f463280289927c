"""Whether plans can be made, and figures for monitoring: Redis, workers, and their rounds."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from flask import Blueprint, Response, jsonify, make_response
from prometheus_client import CONTENT_TYPE_PLAIN_0_0_4, CollectorRegistry, generate_latest
from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.registry import Collector
from redis.exceptions import RedisError

from service.http.documented import Answer, documented
from service.state import store
from service.wire.codes import HealthSchema
from workers import PREFIX
from workers.plans.record import State
from workers.plans.store import Store
from workers.queues import depths
from workers.reaper import last_round, living_workers, makes_rounds

_PROBE = PREFIX + "probe"
_PROBE_SECONDS = 60
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
        # a ping is refused where nothing can be written
        "redis": _holds(store().redis.time),
        "writable": _holds(_writable),
        "workers": _holds(_workers),
        "rounds": _holds(lambda: makes_rounds(store().redis)),
        # a worker begins by planning a list whose plan is known, and ends where that does not come out
        "solver": _holds(lambda: any(living_workers(store().redis).values())),
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
    return bool(store().redis.set(_PROBE, 1, ex=_PROBE_SECONDS))


def _holds(check: Callable[[], object]) -> bool:
    try:
        return bool(check())
    except RedisError:
        return False


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
