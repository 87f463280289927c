"""CP-SAT in one thread and in counted work, so that the same program has the same answer."""

from __future__ import annotations

from threading import Timer

from solver.lp.lazily import cp_model
from solver.watch import Watch

POLL = 0.5
"""Seconds between two looks at the watch while CP-SAT works."""


def counted(work: float, watch: Watch) -> cp_model.CpSolver:
    """Return a solver that ends after so much counted ``work``, about as many seconds, or with the watch."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = work
    solver.parameters.max_time_in_seconds = max(0.001, min(3600.0, watch.left))
    return solver


def watched(solver: cp_model.CpSolver, model: cp_model.CpModel, watch: Watch) -> object:
    """Solve, and stop within a second once the watch says so."""
    over: list[bool] = []

    def look() -> None:
        if watch.stopped:
            solver.stop_search()
        elif not over:
            timer = Timer(POLL, look)
            timer.daemon = True
            timer.start()

    look()
    status = solver.solve(model)
    over.append(True)
    return status
