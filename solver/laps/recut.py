"""Between plans and columns: the columns a plan uses, and a plan laid from columns."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from solver.laps.begin import empty_yard
from solver.laps.columns import NONE, Cut, Split, set_numbers
from solver.laps.dealing import Deal
from solver.laps.site import Site
from solver.laps.yard import Filling, Held, Yard, held_first, held_last

DEALS = 8
"""So many ways of dealing the splits to the courses are tried."""
SWAPS = 400
"""So many times two runs alike are tried with each other's splits."""


def columns_of(yard: Yard) -> Iterator[Cut | Split]:
    """Yield the columns of every run and stick of a plan; none where a piece fits no slot that shapes ask for."""
    firsts, lasts = set_numbers(yard.site)
    kerf, cell = yard.site.problem.kerf, yard.site.cell

    def cells(length: int) -> int:
        return (length + kerf) // cell if length else 0

    def slots(first: Held | None, last: Held | None) -> tuple[int, int, int, int] | None:
        numbers = firsts.get(first.kinds) if first else NONE, lasts.get(last.kinds) if last else NONE
        if numbers[0] is None or numbers[1] is None:
            return None
        return numbers[0], cells(first.length if first else 0), numbers[1], cells(last.length if last else 0)

    for layout, a in filter(None, yard.placed):
        shape = layout.shape
        ends = held_first(layout, a) if shape.first else None, held_last(layout, a) if shape.last else None
        if not shape.cut and (found := slots(*ends)) is not None:
            yield Split(yard.site.alike[layout.run], tuple(sorted(shape.wholes)), *found)
    for stick in yard.sticks:
        if stick.whole_for is None and not stick.between and (found := slots(stick.right, stick.left)) is not None:
            yield Cut(stick.kind, stick.plain, *found)


def lay_columns(site: Site, counts: dict[Cut | Split, int], seed: int) -> Yard:
    """Return the plan that the columns make up, with laps dealt to the courses so that few rules are broken.

    The grid must be exact (``site.cell == site.divisor``). Pieces that then fit no slot wait in the yard.
    """
    deals = (Deal(site, counts, np.random.default_rng([seed, n])) for n in range(DEALS))
    best = min(deals, key=lambda deal: deal.broken)
    best.swap(SWAPS)
    yard = empty_yard(site)
    for layout, a in best.laid.values():
        yard.place_held(layout, a)
    _cut(yard, counts)
    return yard


def _cut(yard: Yard, counts: dict[Cut | Split, int]) -> None:
    """Cut the sticks, longest slots to longest pieces; plain pieces beyond what is left are not cut."""
    cuts = [column for column, count in counts.items() if isinstance(column, Cut) for _ in range(count)]
    rights = _matched(yard, [(cut.first, cut.first_cells, n) for n, cut in enumerate(cuts)], yard.starts, right=True)
    lefts = _matched(yard, [(cut.last, cut.last_cells, n) for n, cut in enumerate(cuts)], yard.ends, right=False)
    for number, cut in enumerate(cuts):
        plain: list[int] = []
        for piece in cut.plain:
            if plain.count(piece) < yard.left[piece]:
                plain.append(piece)
        left, right = lefts.get(number), rights.get(number)
        if left or right or plain:
            yard.add(Filling(cut.kind, left, tuple(plain), right))
    yard.starts = [held for held in yard.starts if held not in rights.values()]
    yard.ends = [held for held in yard.ends if held not in lefts.values()]


def _matched(yard: Yard, slots: list[tuple[int, int, int]], waiting: list[Held], *, right: bool) -> dict[int, Held]:
    """Return for every cut (by number) the piece that takes its slot."""
    sets = set_numbers(yard.site)[0 if right else 1]
    kerf, cell = yard.site.problem.kerf, yard.site.cell
    found: dict[int, Held] = {}
    for kinds, number in sets.items():
        given = sorted((cells, n) for which, cells, n in slots if which == number)
        for held in sorted((h for h in waiting if h.kinds == kinds), key=lambda h: -h.length):
            if given and given[-1][0] * cell >= held.length + kerf:
                found[given.pop()[1]] = held
    return found
