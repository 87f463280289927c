"""The faults of ``tests.mutation`` can all be put into the code as it is, and the tests that must notice are there."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.mutation.fault import Fault
from tests.mutation.listed import FAULTS

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_listed_fault_still_fits(fault: Fault) -> None:
    """Each text to spoil stands once in its module; a module or a test that has moved takes its fault along."""
    assert [(ROOT / edit.path).read_text().count(edit.old) for edit in fault.edits] == [1] * len(fault.edits)
    assert [test for test in fault.tests if not (ROOT / test.partition("::")[0]).is_file()] == []
