"""What could not be cut, and why: no stick takes it, or the sticks ran out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice

from solver.cutting.problem import Stick
from solver.demand import Demand, Kind
from solver.lengths import Unit, say
from solver.plan import NotCut


def shortfalls(demand: Demand, uncut_of_kinds: Sequence[int]) -> Iterator[NotCut]:
    """Yield one entry for each item with pieces left uncut: the last claims of every kind go without."""
    for kind, claims, uncut in zip(demand.kinds, demand.claims, uncut_of_kinds, strict=True):
        code, detail = _reason(demand, kind, demand.job.units)
        short = Counter((claim.item, claim.mark) for claim in islice(reversed(claims), uncut))
        for (item, mark), quantity in sorted(short.items()):
            yield NotCut(item, mark, quantity, code, detail)


def _reason(demand: Demand, kind: Kind, units: Unit) -> tuple[str, str]:
    length = say(kind.length, units)
    if any(_takes(source.stick, kind) for source in demand.sources):
        return "stock_exhausted", f"every stick that could give {length} is used up; add stock or another length"
    return (
        "ends_impossible",
        f"no stick gives {length} with factory ends where it is lapped; allow re-notched ends or divide it",
    )


def _takes(stick: Stick, kind: Kind) -> bool:
    ends_match = (stick.left or not kind.needs_left) and (stick.right or not kind.needs_right)
    whole = kind.needs_left and kind.needs_right
    return ends_match and (kind.takes == stick.length if whole else kind.takes <= stick.length)
