"""How the suite's plans are proven: ``python -m pytest -p tests.support.proofs`` says so after the tests.

Counted is every material's plan that the tests plan themselves and the checker lets pass; what worker processes plan
for the tests of the service is not.
"""

from __future__ import annotations

from collections import Counter

import pytest

from solver.checking import Checked, examine
from solver.job import Job
from solver.plan import CutPlan, MaterialPlan

_FOUND: Counter[tuple[str, str, str]] = Counter()


def _counted(job: Job, plan: CutPlan) -> Checked:
    checked = examine(job, plan)
    if not checked.faults:
        _FOUND.update(_sort(part, checked.plan) for part in checked.plan.materials)
    return checked


def _sort(part: MaterialPlan, plan: CutPlan) -> tuple[str, str, str]:
    runs = "with runs" if part.runs else "some not cut" if plan.not_cut else "without runs"
    return runs, "proven" if part.proven else "not proven", part.proof.basis


def pytest_configure() -> None:
    """Count from here on."""
    pytest.MonkeyPatch().setattr("solver.planning.examine", _counted)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print the count, by kind of list, what is proven, and what the bound rests on."""
    terminalreporter.section("proofs")
    for sort, count in sorted(_FOUND.items()):
        terminalreporter.write_line(f"{count:6}  {', '.join(sort)}")
