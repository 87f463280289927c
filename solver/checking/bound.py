"""What a bound rests on: it follows from its certificate, worked out again in exact integers, or it was searched.

Let a piece be worth its value in the certificate and V be what all required pieces are worth together. No
stick of kind k yields more than best_k (an exact knapsack, with at most one piece that needs the left and one
that needs the right factory end). So sticks that yield all pieces satisfy sum(n_k best_k) >= V, whatever the
values are; the bound holds if sticks within their limits that cost less cannot. Where pieces stay uncut, V
is lessened by the most that pieces of that total length can be worth. Pieces that no stick can yield are left
out of it altogether, and so are runs, which can only cost more. Since any values will do, large ones are
halved, rounded down, until they sum in 64 bits.

A bound that comes without such values, or with numbers too large to sum, may be right: that is not known here.
So it is where pieces stay uncut that a stick could hold, for nobody has shown that fewer can't.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, lcm

import numpy as np

from solver.checking.bench import Bench
from solver.checking.costs import price_of
from solver.checking.fault import Fault, told
from solver.checking.fitting import Load, fits
from solver.checking.knapsack import Ints, Item, Steps, TooLargeToCheck, steps_of
from solver.checking.wanted import Wanted
from solver.materials import FactoryEnd
from solver.plan import Basis

SUMMED_BITS = 52
"""All pieces together are made worth less than this power of two, which leaves room to sum many sticks."""

Kind = tuple[int, bool, bool]
"""A kind of piece: length with its room, and whether it needs the left and the right factory end."""


@dataclass(frozen=True, slots=True)
class Kinds:
    """How many of each kind of piece are wanted, and what the certificate says each is worth."""

    demand: dict[Kind, int]
    value: dict[Kind, int]
    kerf: int


@dataclass(frozen=True, slots=True)
class Supply:
    """A kind of stick: ``limit`` None is as many as wanted."""

    length: int
    ends: FactoryEnd
    price: Fraction
    limit: int | None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a bound rests on, and what is wrong with it, if anything."""

    basis: Basis
    fault: Fault | None = None


def judge_bound(bench: Bench) -> Verdict:
    """Say whether the bound can be worked out again, or what shows that it is wrong."""
    plan, proof = bench.plan, bench.plan.proof
    if not 0 <= plan.bound <= plan.cost:
        return _wrong(bench, f"0 to {bench.steps(plan.cost)}", bench.steps(plan.bound))
    if plan.bound and not plan.least_uncut:
        return _wrong(bench, "0 until the least uncut is known", bench.steps(plan.bound))
    if proof.kind not in ("duals", "search") or proof.scale < 1:
        return _wrong(bench, "duals or search, on a scale above 0", (proof.kind, proof.scale))
    if not plan.least_uncut or plan.cost_step <= 0:
        return Verdict(Basis.SEARCHED)
    return _weighed(bench) if proof.kind == "duals" or not plan.bound else Verdict(Basis.SEARCHED)


def _wrong(bench: Bench, needed: object, found: object) -> Verdict:
    return Verdict(Basis.SEARCHED, Fault("bound", bench.place, told(needed, found)))


def _weighed(bench: Bench) -> Verdict:
    """Say what a certificate proves; where it proves the bound, that is certified if nothing that fits stays uncut."""
    possible = _all_possible(bench)
    basis = Basis.SEARCHED if _uncut_length(bench, possible) else Basis.CERTIFIED
    if not bench.plan.bound:
        return Verdict(basis)
    try:
        needed, found = _worth_and_reach(bench, possible)
    except TooLargeToCheck:
        return Verdict(Basis.SEARCHED)
    if found >= needed:
        reason = f"pieces are worth {needed}, sticks that cost less can be worth {found}"
        return _wrong(bench, "a bound that the certificate proves", f"{bench.steps(bench.plan.bound)}: {reason}")
    return Verdict(basis)


def _all_possible(bench: Bench) -> list[Wanted]:
    """Return the pieces that some stick can yield; runs are none of them."""
    supplies = _supplies(bench)
    return [wanted for wanted in bench.wanted.values() if not wanted.is_run and _possible(wanted, supplies)]


def _worth_and_reach(bench: Bench, possible: list[Wanted]) -> tuple[int, int]:
    """Return V, and the most that sticks costing less than the bound can be worth."""
    supplies = _supplies(bench)
    kinds = _kinds(bench, possible)
    worth = sum(count * kinds.value[kind] for kind, count in kinds.demand.items())
    worth -= _given_up(kinds, _uncut_length(bench, possible))
    below = bench.plan.bound * Fraction(bench.plan.cost_step)
    return worth, _reach(supplies, kinds, below)


def _possible(wanted: Wanted, supplies: list[Supply]) -> bool:
    return any(fits(Load(supply.length, supply.ends), wanted, 0) for supply in supplies if supply.limit != 0)


def _kinds(bench: Bench, possible: list[Wanted]) -> Kinds:
    demand: Counter[Kind] = Counter()
    for wanted in possible:
        demand[wanted.in_stick, wanted.needs_left, wanted.needs_right] += wanted.required.pieces
    claimed = {(v.length, v.needs_left, v.needs_right): v.value for v in bench.plan.proof.values}
    value = {kind: claimed.get(kind, 0) for kind in demand}
    together = sum(count * abs(value[kind]) for kind, count in demand.items())
    halvings = max(0, together.bit_length() - SUMMED_BITS)
    return Kinds(dict(demand), {kind: worth >> halvings for kind, worth in value.items()}, bench.material.settings.kerf)


def _uncut_length(bench: Bench, possible: list[Wanted]) -> int:
    runs = [wanted for wanted in bench.wanted.values() if wanted.is_run]
    length = {wanted.item: wanted.in_stick for wanted in (*possible, *runs)}
    return sum(entry.quantity * length.get(entry.item, 0) for entry in bench.not_cut)


def _given_up(kinds: Kinds, length: int) -> int:
    """Return the most that pieces of no more than ``length`` together are worth."""
    items = [Item(kind[0], kinds.value[kind], count) for kind, count in kinds.demand.items()]
    return int(steps_of(items, length).best(np.array([length]))[0])


def _supplies(bench: Bench) -> list[Supply]:
    rows = [
        Supply(row.length, FactoryEnd.BOTH, price_of(row, bench.material), row.available)
        for row in bench.material.stock
    ]
    return rows + [
        Supply(offcut.length, offcut.factory_end, Fraction(0), offcut.quantity) for offcut in bench.offcuts.values()
    ]


def _reach(supplies: list[Supply], kinds: Kinds, below: Fraction) -> int:
    """Return the most that sticks costing less than ``below`` together, within their limits, are worth."""
    unit = lcm(*(supply.price.denominator for supply in supplies))
    capacity = ceil(below * unit) - 1
    pieces = sum(kinds.demand.values())
    items = [
        Item(int(supply.price * unit), best, pieces if supply.limit is None else min(pieces, supply.limit))
        for supply, best in zip(supplies, _best_yields(supplies, kinds), strict=True)
    ]
    return int(steps_of(items, capacity).best(np.array([capacity]))[0])


def _best_yields(supplies: list[Supply], kinds: Kinds) -> list[int]:
    longest = max((supply.length for supply in supplies), default=0) + kinds.kerf
    free = [
        Item(kind[0] + kinds.kerf, kinds.value[kind], count)
        for kind, count in kinds.demand.items()
        if kind[1:] == (False, False)
    ]
    steps = steps_of(free, longest)
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
