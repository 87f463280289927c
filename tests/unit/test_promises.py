"""Every promise names a test that there is."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_test_of_every_promise_is_there() -> None:
    """As many rows as tests at least, and each is a function of the file that is named."""
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Promises\n")[2].partition("\n## ")[0]
    rows = [line for line in told.splitlines() if line.startswith("| ")][1:]
    assert rows
    for row in rows:
        named = re.findall(r"`([\w/]+\.py)::(\w+)`", row)
        assert named, row
        for file, test in named:
            path = ROOT / (file if file.startswith("tests/") else f"tests/faults/{file}")
            assert f"def {test}(" in path.read_text(encoding="utf-8"), row
