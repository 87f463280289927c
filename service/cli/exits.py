"""With which code the command ends, and what it says of a problem that it ends with."""

from __future__ import annotations

from service.http.problems import Problem

FAILURE = 1
BAD_INPUT = 2
PENDING = 3
"""The plan is not over yet."""


def told(problem: Problem) -> str:
    """Return a problem as lines for a person."""
    return "\n".join([problem.detail, *(f"  {error.pointer}: {error.detail}" for error in problem.errors)])
