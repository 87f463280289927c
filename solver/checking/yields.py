"""What pieces are worth by a certificate, and the most that one stick of each kind yields: exact knapsacks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from solver.checking.bench import Bench
from solver.checking.knapsack import Ints, Item, Steps, steps_of
from solver.checking.orders import price_of
from solver.checking.wanted import Load, Wanted, fits
from solver.materials import FactoryEnd
from solver.plan import PieceValue

Kind = tuple[int, bool, bool]
"""A kind of piece: length with its room, and whether it needs the left and the right factory end."""


@dataclass(frozen=True, slots=True)
class Kinds:
    """How many of each kind of piece are wanted, and what the certificate says each is worth.

    ``lost`` is how much more all of them may be worth, where their worth was rounded down.
    """

    demand: dict[Kind, int]
    value: dict[Kind, int]
    lost: int
    kerf: int


@dataclass(frozen=True, slots=True)
class Supply:
    """A kind of stick: ``limit`` None is as many as wanted."""

    length: int
    ends: FactoryEnd
    price: Fraction
    limit: int | None


def possible(bench: Bench, supplies: Sequence[Supply]) -> list[Wanted]:
    """Return the pieces that some stick can yield; runs are none of them."""
    return [wanted for wanted in bench.wanted.values() if not wanted.is_run and _possible(wanted, supplies)]


def _possible(wanted: Wanted, supplies: Sequence[Supply]) -> bool:
    return any(fits(Load(supply.length, supply.ends), wanted, 0) for supply in supplies if supply.limit != 0)


def kinds_of(bench: Bench, possible: Sequence[Wanted], values: Sequence[PieceValue], bits: int) -> Kinds:
    """Return what is wanted and its worth, halved until all pieces together are worth less than ``bits`` bits."""
    demand: Counter[Kind] = Counter()
    for wanted in possible:
        demand[wanted.in_stick, wanted.needs_left, wanted.needs_right] += wanted.required.pieces
    claimed = {(v.length, v.needs_left, v.needs_right): v.value for v in values}
    value = {kind: claimed.get(kind, 0) for kind in demand}
    together = sum(count * abs(value[kind]) for kind, count in demand.items())
    halvings = max(0, together.bit_length() - bits)
    halved = {kind: worth >> halvings for kind, worth in value.items()}
    return Kinds(dict(demand), halved, demand.total() if halvings else 0, bench.material.settings.kerf)


def uncut_length(bench: Bench, possible: Sequence[Wanted]) -> int:
    """Return the length declared uncut of pieces that are possible, and of runs."""
    runs = [wanted for wanted in bench.wanted.values() if wanted.is_run]
    length = {wanted.item: wanted.in_stick for wanted in (*possible, *runs)}
    return sum(entry.quantity * length.get(entry.item, 0) for entry in bench.not_cut)


def given_up(kinds: Kinds, length: int) -> int:
    """Return the most that pieces of no more than ``length`` together are worth."""
    items = [Item(kind[0], kinds.value[kind], count) for kind, count in kinds.demand.items()]
    return int(steps_of(items, length).best(np.array([length]))[0])


def supplies_of(bench: Bench) -> list[Supply]:
    """Return every kind of stick that there is: stock rows, and offcuts on hand at no price."""
    rows = [
        Supply(row.length, FactoryEnd.BOTH, price_of(row, bench.material), row.available)
        for row in bench.material.stock
    ]
    return rows + [
        Supply(offcut.length, offcut.factory_end, Fraction(0), offcut.quantity) for offcut in bench.offcuts.values()
    ]


def best_yields(supplies: Sequence[Supply], kinds: Kinds, most_work: int) -> list[int]:
    """Return the most that one stick of each kind can be worth; ``most_work`` as ``steps_of`` counts it."""
    longest = max((supply.length for supply in supplies), default=0) + kinds.kerf
    free = [
        Item(kind[0] + kinds.kerf, kinds.value[kind], count)
        for kind, count in kinds.demand.items()
        if kind[1:] == (False, False)
    ]
    steps = steps_of(free, longest, most_work)
    best = {sort: _best_yield(*sort, steps, kinds) for sort in {(s.length, s.ends) for s in supplies}}
    return [best[supply.length, supply.ends] for supply in supplies]


def _best_yield(length: int, ends: FactoryEnd, steps: Steps, kinds: Kinds) -> int:
    """Return the most that one stick can be worth: a whole stick, or outer pieces and the best between them."""
    lefts = _outer(kinds, (True, False)) if ends.has_left else _outer(kinds, None)
    rights = _outer(kinds, (False, True)) if ends.has_right else _outer(kinds, None)
    room = length + kinds.kerf - lefts[0][:, None] - rights[0][None, :]
    worth = lefts[1][:, None] + rights[1][None, :]
    fits = room >= 0
    best = int((worth[fits] + steps.best(room[fits])).max())
    whole = kinds.value.get((length, True, True), 0) if ends is FactoryEnd.BOTH else 0
    return max(best, whole)


def _outer(kinds: Kinds, ends: tuple[bool, bool] | None) -> tuple[Ints, Ints]:
    """Return room taken and worth of each piece that could stand at an end, none first."""
    found = [kind for kind in kinds.demand if kind[1:] == ends]
    taken = [0, *(kind[0] + kinds.kerf for kind in found)]
    worth = [0, *(kinds.value[kind] for kind in found)]
    return np.array(taken, np.int64), np.array(worth, np.int64)
