"""What is imported to start and to plan a short list: only what that needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_service_starts_without_the_pdf_library() -> None:
    """fpdf2 is imported when the first PDF is made, not when the service starts."""
    told = "import sys; import service.app; print('fpdf' in sys.modules)"
    printed = subprocess.run([sys.executable, "-c", told], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    assert printed == "False\n"


def test_a_short_list_is_planned_without_the_larger_solvers() -> None:
    """Neither starting nor planning a list of few lines loads CP-SAT, HiGHS, or what CP-SAT brings along."""
    told = (
        "import sys; import service.app; from workers.toy import plan_toy; print(plan_toy(), [name for name in"
        " ('pandas', 'ortools.sat.python.cp_model_helper', 'ortools.math_opt.python.model') if name in sys.modules])"
    )
    printed = subprocess.run([sys.executable, "-c", told], cwd=ROOT, check=True, capture_output=True, text=True).stdout
    assert printed == "True []\n"
