"""HiGHS beside the watch: an integer program searched in a thread of its own, in a counted number of nodes."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from threading import Thread

from ortools.math_opt.solvers import highs_pb2

from solver.lp.lazily import mathopt
from solver.watch import Watch

POLL = 0.05
"""Seconds between two looks at the watch while HiGHS works."""


def searched(
    model: mathopt.Model, nodes: int, settings: Mapping[str, float], watch: Watch
) -> mathopt.SolveResult | None:
    """Return what HiGHS has to say of a program after so many ``nodes`` at the most; None where ``watch`` struck first.

    ``settings`` are HiGHS's own, by name. HiGHS hears no interrupt: once ``watch`` stops it, its thread is left to run
    into the watch's deadline. The interpreter waits for that when it ends, for it would abort if the thread came back
    meanwhile.
    """
    results: list[mathopt.SolveResult] = []
    parameters = _parameters(nodes, settings, watch.left)
    work = Thread(target=lambda: results.append(mathopt.solve(model, mathopt.SolverType.HIGHS, params=parameters)))
    work.start()
    while work.is_alive() and not watch.stopped:
        work.join(POLL)
    return results[0] if results else None


def _parameters(nodes: int, settings: Mapping[str, float], seconds: float) -> mathopt.SolveParameters:
    options = highs_pb2.HighsOptionsProto()
    options.int_options.update({"threads": 1, "mip_max_nodes": nodes, "random_seed": 1})
    options.double_options.update(settings)
    options.string_options["parallel"] = "off"
    limit = dt.timedelta(seconds=max(0.01, min(seconds, 1e6)))
    return mathopt.SolveParameters(time_limit=limit, highs=options)
