"""What is wrong with a plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: its code, its place as a pointer into the plan, what was needed and what was found."""

    code: str
    place: str
    detail: str


def told(needed: object, found: object) -> str:
    """Return the detail of a fault, in one wording everywhere."""
    return f"needed {needed}, found {found}"
