"""What commands share: with which code they end, what they say of a problem, and what a list does not say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from service.http.problems import Problem

if TYPE_CHECKING:  # the solver is heavy, and not every command needs it
    from solver.categories import Category
    from solver.lengths import Unit

FAILURE = 1
BAD_INPUT = 2
PENDING = 3
"""The plan is not over yet."""


def told(problem: Problem) -> str:
    """Return a problem as lines for a person."""
    return "\n".join([problem.detail, *(f"  {error.pointer}: {error.detail}" for error in problem.errors)])


@dataclass(frozen=True, slots=True)
class Beside:
    """What a list does not say: the unit of bare numbers, and the stock as ``LENGTH`` or ``LENGTH=PRICE``.

    ``assume`` answers what is ambiguous throughout the list, as ``NOTATION=MEANING``.
    """

    units: Unit
    stock: Sequence[str]
    category: Category
    assume: Sequence[str] = ()
