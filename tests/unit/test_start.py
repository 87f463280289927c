"""What is imported to start and to plan a short list: only what that needs."""

from __future__ import annotations

import subprocess
import sys
from ast import literal_eval
from pathlib import Path

ROOT = Path(__file__).parents[2]


def loaded(told: str, *modules: str) -> list[str]:
    """Return which of some modules are loaded after what a new process is told to do."""
    told = f"import sys; {told}; print([name for name in {modules!r} if name in sys.modules], file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", told], cwd=ROOT, check=True, capture_output=True, text=True)
    return list(literal_eval(done.stderr.splitlines()[-1]))


def test_the_service_starts_without_solvers_and_pdf_library() -> None:
    """It plans nothing, and fpdf2 is loaded when the first PDF is made."""
    assert loaded("import service.app", "fpdf", "ortools.linear_solver._pywraplp", "pandas") == []


def test_a_short_list_is_planned_without_the_larger_solvers() -> None:
    """Neither CP-SAT nor HiGHS, nor what CP-SAT brings along."""
    larger = ("pandas", "ortools.sat.python.cp_model_helper", "ortools.math_opt.python.model")
    assert loaded("from workers.toy import plan_toy; assert plan_toy()", *larger) == []


def test_the_command_plans_without_what_serves() -> None:
    """No web framework, no client of Redis and nothing of networks is loaded for a list in a file."""
    told = (
        "from click.testing import CliRunner; from service.cli import main;"
        " done = CliRunner().invoke(main, ['plan', 'tests/data/examples/wall.json']); assert not done.exit_code, done"
    )
    assert loaded(told, "flask", "werkzeug", "redis", "asyncio", "ssl", "prometheus_client") == []
