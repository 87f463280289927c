"""``/metrics`` in the Prometheus text format. Reading it changes nothing, in particular no job."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Blueprint, Response

from service.documented import Answer, documented
from service.state import store
from workers.queues import depths
from workers.reaper import living_workers
from workers.record import State

blueprint = Blueprint("metrics", __name__)


@blueprint.get("/metrics")
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
    living, of_any_plan = living_workers(store().redis)
    workers = {'queues="all"': of_any_plan, 'queues="interactive"': living - of_any_plan}
    yield from _gauge("lapstock_workers", workers, "gauge")
    ended = {f'state="{state}"': totals.get(state, 0) for state in State if state.over}
    yield from _gauge("lapstock_plans_ended_total", ended, "counter")


def _gauge(name: str, values: dict[str, int], kind: str) -> Iterator[str]:
    yield f"# TYPE {name} {kind}"
    for label, value in values.items():
        yield f"{name}{{{label}}} {value}" if label else f"{name} {value}"
