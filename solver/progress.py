"""How far a job is, told while it is being planned."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from solver.assignment import Filled
from solver.demand import Demand


class Phase(StrEnum):
    """What is being done: ``tidying`` once costs are settled, among plans that cost as little."""

    SEARCHING = "searching"
    TIDYING = "tidying"


@dataclass(frozen=True, slots=True)
class Progress:
    """Cost of the best plan so far and a lower bound, over the materials begun.

    Money where anything in the job has prices (materials without then count nothing), else ticks of length.
    """

    cost: Decimal
    bound: Decimal
    phase: Phase = Phase.SEARCHING


def tell_nobody(progress: Progress) -> None:
    """Listen to nothing."""
    del progress


def progress_of(
    done: Sequence[tuple[Demand, Filled]],
    demand: Demand,
    report: Callable[[Progress], None],
    *,
    money: bool,
    phase: Phase = Phase.SEARCHING,
) -> Callable[[int, int], None]:
    """Return a listener for one material's cost and bound that adds what the finished materials came to."""
    counted = [(demand.cost_step, filled) for demand, filled in done if demand.material.priced is money]
    cost = sum((filled.cost * step for step, filled in counted), Decimal(0))
    bound = sum((filled.bound * step for step, filled in counted), Decimal(0))
    step = demand.cost_step if demand.material.priced is money else Decimal(0)
    return lambda now, below: report(Progress(cost + now * step, bound + below * step, phase))
