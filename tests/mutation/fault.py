"""What a fault is: text of the code, what it is spoilt to, and the tests that must notice."""

from __future__ import annotations

from typing import NamedTuple


class Edit(NamedTuple):
    """Text of one module that is there once, and what it is spoilt to."""

    path: str
    old: str
    new: str


class Fault(NamedTuple):
    """One fault: the harm it does, its edits, and the tests that must fail."""

    name: str
    harm: str
    edits: tuple[Edit, ...]
    tests: tuple[str, ...]


def fault(name: str, harm: str, tests: str, *edits: tuple[str, str, str]) -> Fault:
    """Return a fault; ``tests`` are files below ``tests`` with spaces between."""
    return Fault(name, harm, tuple(Edit(*edit) for edit in edits), tuple(f"tests/{test}" for test in tests.split()))
