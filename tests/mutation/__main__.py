"""Run every listed fault, or those named: ``python -m tests.mutation [NAME ...]``."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.mutation.fault import Fault
from tests.mutation.listed import FAULTS

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("solver", "service", "workers", "tests", "pyproject.toml", "README.md")


def main(names: list[str]) -> int:
    """Print a line for each fault; return how many live or no longer apply."""
    chosen = [fault for fault in FAULTS if not names or fault.name in names]
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for part in PARTS:
            _copied(ROOT / part, copy / part)
        _pass_unspoilt(chosen, copy)
        ends = [_told(fault, copy) for fault in chosen]
    return len(chosen) - ends.count("dead")


def _copied(source: Path, target: Path) -> None:
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        shutil.copy(source, target)


def _pass_unspoilt(chosen: list[Fault], copy: Path) -> None:
    tests = tuple(sorted({test for fault in chosen for test in fault.tests}))
    if _tests_fail(tests, copy):
        raise RuntimeError("the tests fail with nothing spoilt: they would say nothing of the faults")


def _told(fault: Fault, copy: Path) -> str:
    end = _end_of(fault, copy)
    print(f"{end:10} {fault.name}: {fault.harm}", flush=True)
    return end


def _end_of(fault: Fault, copy: Path) -> str:
    """Return "dead", "lives", or "not there" where the lines to spoil are not in the code just once."""
    paths = {edit.path for edit in fault.edits}
    if not all((copy / path).is_file() for path in paths):
        return "not there"
    whole = {path: (copy / path).read_text() for path in paths}
    spoilt = dict(whole)
    for edit in fault.edits:
        if whole[edit.path].count(edit.old) != 1:
            return "not there"
        spoilt[edit.path] = spoilt[edit.path].replace(edit.old, edit.new)
    try:
        _write(copy, spoilt)
        return "dead" if _tests_fail(fault.tests, copy) else "lives"
    finally:
        _write(copy, whole)


def _write(copy: Path, texts: dict[str, str]) -> None:
    for path, text in texts.items():
        (copy / path).write_text(text)


def _tests_fail(tests: tuple[str, ...], copy: Path) -> bool:
    """Whether the tests fail; an error that keeps them from being run at all is raised."""
    command = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    done = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False)
    if done.returncode not in (0, 1):
        raise RuntimeError(f"the tests could not be run\n{done.stdout}{done.stderr}")
    return done.returncode == 1


sys.exit(main(sys.argv[1:]))
