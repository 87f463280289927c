"""Modules of OR-Tools, which are large and slow to load: each is loaded when it is first used.

A process that plans nothing has none of them; a short list is planned without the larger ones.
"""

from __future__ import annotations

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec
from types import ModuleType
from typing import TYPE_CHECKING

__all__ = ["cp_model", "highs_pb2", "load", "mathopt", "pywraplp"]


def _put_off(name: str) -> ModuleType:
    """Return a module that loads itself when something in it is first asked for. Raises ``ImportError``."""
    if name in sys.modules:
        return sys.modules[name]
    spec = find_spec(name)
    if spec is None or spec.loader is None:
        raise ImportError(name)
    spec.loader = LazyLoader(spec.loader)
    module = sys.modules[name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if TYPE_CHECKING:
    from ortools.linear_solver import pywraplp
    from ortools.math_opt.python import mathopt
    from ortools.math_opt.solvers import highs_pb2
    from ortools.sat.python import cp_model
else:
    highs_pb2 = _put_off("ortools.math_opt.solvers.highs_pb2")
    pywraplp = _put_off("ortools.linear_solver.pywraplp")
    cp_model = _put_off("ortools.sat.python.cp_model")
    mathopt = _put_off("ortools.math_opt.python.mathopt")


def load() -> None:
    """Load them all now: whoever forks does so once for all its children."""
    for module in (pywraplp, cp_model, mathopt, highs_pb2):
        dir(module)
