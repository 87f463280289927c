"""Which lengths of a material to stock: the few with which many past lists would have cost least.

The assortment problem (Pentico, The assortment problem: a survey, European Journal of Operational Research 190, 2008;
from memory). No list costs more where there is more to choose from, so that with some lengths it costs at least what it
costs with all: sets are given up as soon as the lists counted so far, and the others at that least, cost too much.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import combinations

from solver.errors import Unplannable
from solver.job import Job
from solver.materials import StockLength
from solver.plan import CutPlan

Cost = Callable[[int, tuple[str, ...]], Decimal | None]
"""What a list, by its number, costs with some lengths, by id in the order of all; None where they can't cut it."""


@dataclass(frozen=True, slots=True)
class Assortment:
    """Lengths to stock, by id, and what all lists cost with them.

    ``without`` says of each length what they cost with the others alone; None where those can't cut every list.
    """

    lengths: tuple[str, ...]
    cost: Decimal
    without: Mapping[str, Decimal | None]


def best_assortments(lengths: Sequence[str], lists: int, most: int, cost: Cost) -> Iterator[Assortment]:
    """Yield the cheapest assortment of one length, of two, and so on up to ``most``, where one cuts every list."""
    known = cache(cost)
    least = [known(number, tuple(lengths)) for number in range(lists)]
    floors = [each for each in least if each is not None]
    if len(floors) < lists:
        return
    dearest_first = sorted(range(lists), key=lambda number: -floors[number])

    def total(chosen: tuple[str, ...], below: Decimal | None) -> Decimal | None:
        """Return what all lists cost with these lengths; None where that is not below, or one can't be cut."""
        spent = sum(floors, Decimal(0))
        for number in dearest_first:
            one = known(number, chosen)
            if one is None:
                return None
            spent += one - floors[number]
            if below is not None and spent >= below:
                return None
        return spent

    for size in range(1, min(most, len(lengths)) + 1):
        best: tuple[Decimal, tuple[str, ...]] | None = None
        for chosen in combinations(lengths, size):
            found = total(chosen, best[0] if best else None)
            if found is not None:
                best = found, chosen
        if best:
            rest = {one: tuple(other for other in best[1] if other != one) for one in best[1]}
            yield Assortment(best[1], best[0], {one: total(left, None) if left else None for one, left in rest.items()})


def stock_of(jobs: Sequence[Job], material: str) -> tuple[StockLength, ...]:
    """Return every length in which a material is sold in any of the jobs, as the last of them has it, longest first."""
    rows = {row.id: row for job in jobs for sold in job.materials if sold.id == material for row in sold.stock}
    return tuple(sorted(rows.values(), key=lambda row: (-row.length, row.id)))


def costs_of(jobs: Sequence[Job], material: str, plan: Callable[[Job], CutPlan]) -> Cost:
    """Return what the jobs' pieces of one material cost, planned anew out of new sticks, as many as it takes."""
    rows = {row.id: replace(row, available=None) for row in stock_of(jobs, material)}

    def cost(number: int, lengths: tuple[str, ...]) -> Decimal | None:
        job = jobs[number]
        (sold,) = (each for each in job.materials if each.id == material)
        wanted = tuple(item for item in job.required if item.material == material)
        stock = tuple(rows[one] for one in lengths)
        try:
            planned = plan(replace(job, materials=(replace(sold, stock=stock),), required=wanted, offcuts=(), goods=()))
        except Unplannable:
            return None
        return None if planned.not_cut else planned.order_total

    return cost
