"""Modules of OR-Tools that take longer to load than a short list to plan: each is loaded when it is first used."""

from __future__ import annotations

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec
from types import ModuleType
from typing import TYPE_CHECKING

__all__ = ["cp_model", "load", "mathopt"]


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
    from ortools.math_opt.python import mathopt
    from ortools.sat.python import cp_model
else:
    cp_model = _put_off("ortools.sat.python.cp_model")
    mathopt = _put_off("ortools.math_opt.python.mathopt")


def load() -> None:
    """Load them all now: whoever forks does so once for all its children."""
    for module in (cp_model, mathopt):
        dir(module)
