"""Errors a caller can act on: each has a code, the place it speaks of, and what to do about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a request: a code, a JSON pointer into it (``#/required/0``), and the remedy in words."""

    code: str
    pointer: str
    detail: str


class Unplannable(Exception):
    """The request alone shows that it can't be planned; ``problems`` says what to change, all at once."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        """Keep every problem found."""
        super().__init__("; ".join(f"{problem.pointer}: {problem.detail}" for problem in problems))
        self.problems = tuple(problems)


class PlanRefused(Exception):
    """The checker refused a plan: never an answer, always a fault of this program. ``faults`` says where."""

    def __init__(self, faults: Sequence[object]) -> None:
        """Keep every fault found."""
        super().__init__("; ".join(str(fault) for fault in faults))
        self.faults = tuple(faults)
