"""What a worker runs: one plan, from its job in the store to its result in the store."""

from __future__ import annotations

import logging
import time

from rq.timeouts import JobTimeoutException

import solver
from solver.errors import PlanRefused, Unplannable
from solver.job import Job
from solver.plan import CutPlan
from workers.connection import patient, redis_url
from workers.limits import limit_memory
from workers.pulse import Pulse
from workers.record import Failure, State
from workers.store import Store
from workers.tied import die_with_parent

log = logging.getLogger(__name__)


def solve_plan(plan_id: str, generation: int) -> None:
    """Plan what the store holds under this id and generation, unless somebody else has it or has stopped it."""
    die_with_parent()
    limit_memory()
    store = Store(patient(redis_url()))
    if not store.start(plan_id, generation):
        return
    job = store.job(plan_id)
    if job is None:
        return
    began = time.monotonic()
    with Pulse(store, plan_id, generation) as pulse:
        outcome = _outcome(job, pulse)
    state = State.FAILED if isinstance(outcome, Failure) else State.CANCELLED if pulse.cancelled() else State.SUCCEEDED
    if not store.finish(plan_id, generation, state, outcome, round((time.monotonic() - began) * 1000)):
        log.warning("plan %s was taken over; this result is dropped", plan_id)


def _outcome(job: Job, pulse: Pulse) -> CutPlan | Failure:
    try:
        return solver.plan_job(job, time.monotonic, pulse.cancelled, pulse.report)
    except Unplannable as error:
        return Failure("unplannable", str(error))
    except PlanRefused as error:
        log.exception("the checker refused a plan")
        return Failure("plan_refused", f"The independent check refused the plan that was found: {error}")
    except JobTimeoutException:
        return Failure("timed_out", "The solving did not come back in time and was cut off.")
    except MemoryError:
        return Failure("out_of_memory", "The job needs more memory than one plan is given; divide it.")
    except Exception:
        log.exception("planning failed")
        return Failure("internal_error", "Planning failed by a fault of this program; it has been logged.")
