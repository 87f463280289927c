"""The linear program over all patterns, to its very end: the duals that the graph is grown with.

Column generation elsewhere stops as soon as bound and value stand for the same cost. Here what
counts is how small the gap to the target gets, and that keeps shrinking till no pattern improves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from solver.cutting.certificate import Counts
from solver.cutting.flow.fairness import NEVER, Fair, Question, Worth, fair
from solver.cutting.flow.master import Master, Point
from solver.cutting.flow.node import Space
from solver.cutting.pricing import Pricer, Prices
from solver.watch import Watch

SLACK = 1e-7
"""How much more than its stick a pattern must be worth, per unit of cost, to be worth a column."""


def converged(space: Space, master: Master, pricer: Pricer, target: int, watch: Watch) -> tuple[Worth, Fair] | None:
    """Return the last duals with fair prices, or None where the watch stops it or the program fails."""
    counts = Counts.of(space.reduced.problem.sticks)
    question = Question(space.demands, space.costs, counts, {}, target)
    copies = np.array(space.demands, np.int64)
    master.release()
    master.price_missing(forbidding=False)
    while not watch.stopped and (point := master.solve({}, watch)) is not None:
        prices = pricer.price(point.worth.values, copies, _floors(space, point), watch)
        proven = fair(question, point.worth, _best(space, point.worth, prices))
        new = master.add(prices.patterns)
        if proven.hopeless or (not new and not (point.missing and master.price_missing(forbidding=True))):
            return point.worth, proven
    return None


def _floors(space: Space, point: Point) -> list[int]:
    """Return what a pattern of each real stick must be worth more than."""
    asked = point.worth.prices(space.costs)
    slack = (int(SLACK * point.worth.scale * max(1, cost)) for cost in space.costs)
    return [price + more for price, more in zip(asked, slack, strict=True)][: space.reduced.priced]


def _best(space: Space, worth: Worth, prices: Prices) -> Sequence[int]:
    """Return what no pattern of each stick is worth more than, given ones included."""
    best = [*prices.ceilings, *(NEVER for _ in space.costs[space.reduced.priced :])]
    for pattern in space.reduced.given:
        best[pattern.stick] = max(best[pattern.stick], int(worth.values[pattern.pieces[0]]))
    return best
