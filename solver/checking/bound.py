"""What a bound rests on: it follows from its certificate, worked out again in exact integers, or it was searched.

Let a piece be worth its value in the certificate and V be what all required pieces are worth together. No stick of
kind k yields more than best_k (an exact knapsack, with at most one piece that needs the left and one that needs the
right factory end). So sticks that yield all pieces satisfy sum(n_k best_k) >= V, whatever the values are; the bound
holds if sticks within their limits that cost less cannot. Several sets of values prove more than one: sticks that
cost less must then satisfy all of these sums at once (``any_numbers``). A kind of stick that another, of which there
are as many as wanted, outdoes in price and in every sum is left out. Where pieces stay uncut, V is lessened by the
most that pieces of that total length can be worth. Pieces that no stick can yield are left out of it altogether, and
so are runs, which can only cost more. Since any values will do, those too large to sum in 64 bits are halved, rounded
down; a bound that they no longer prove is wrong only if what was rounded off can't prove it.

A bound that comes without such values, or with numbers too large to sum, may be right: that is known here only where
length alone proves it (``proven_by_length``). Where pieces stay uncut that a stick could hold, no bound is certified,
for nobody has shown that fewer can't.

What one stick of a kind yields is an exact knapsack (``best_yields``).

Length alone proves something of a cost: all that is wanted must come out of what is bought and on hand. A run is in
sticks at least as long as it is measured, less the largest gaps and with the least laps that any stick asks for, in no
fewer pieces than the longest stick makes of it and no more than its rules allow. Each piece takes its kerf, a stick's
last one none. So a bound of a search, runs and all, may be worked out again without it, where it rests on length.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, lcm

import numpy as np

from solver.checking import knapsack
from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.bills import ruled, spares_asked, to_be_had
from solver.checking.knapsack import Ints, Item, Row, Steps, TooLargeToCheck, any_numbers, most_worth, steps_of
from solver.checking.orders import price_of
from solver.checking.purchases import Wanted as Purchased
from solver.checking.purchases import any_purchase
from solver.checking.reckoning import counts
from solver.checking.run_rows import RunRows
from solver.checking.runs import most_pieces
from solver.checking.wanted import Load, Supply, Wanted, allowance, fits, own_gap, own_lap
from solver.materials import FactoryEnd, StockLength
from solver.proof import Basis, PieceValue, Proof

SUMMED_BITS = 59
"""All pieces together, and all sticks, are made worth less than this power of two: few certificates are rounded."""
ENDLESS = 10**6
"""Sticks of a kind without limit: more than any plan has."""
Kind = tuple[int, bool, bool]
"""A kind of piece: length with its room, and whether it needs the left and the right factory end."""


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
    if (proof.grid is None) is bool(proof.runs):
        return _wrong(bench, "a grid with the values of runs, and with nothing else", proof.grid)
    if not plan.least_uncut or plan.cost_step <= 0:
        return Verdict(Basis.SEARCHED)
    return _weighed(bench)


def _wrong(bench: Bench, needed: object, found: object) -> Verdict:
    return Verdict(Basis.SEARCHED, Fault("bound", bench.place, mismatch(needed, found)))


def _weighed(bench: Bench) -> Verdict:
    """Say what values or length prove; where that is the bound, it is certified if nothing that fits stays uncut."""
    supplies = supplies_of(bench)
    wanted = possible(bench, supplies)
    basis = Basis.SEARCHED if uncut_length(bench, wanted) else Basis.CERTIFIED
    if not bench.plan.bound:
        return Verdict(basis)
    if bench.plan.proof.runs or bench.plan.proof.kind == "search":
        proven = (_proven_with_runs if bench.plan.proof.runs else proven_by_length)(bench, supplies, wanted)
        return Verdict(basis if proven else Basis.SEARCHED)
    try:
        if not _doubt(bench, supplies, wanted):
            return Verdict(basis)
        doubt = _doubt(bench, supplies, wanted, generous=True)
    except TooLargeToCheck:
        return Verdict(Basis.SEARCHED)
    if not doubt or (ruled(bench) and spares_asked(bench.material, 1)) or counts(bench.material):
        return Verdict(Basis.SEARCHED)
    return _wrong(bench, "a bound that the certificate proves", f"{bench.steps(bench.plan.bound)}: {doubt}")


def _doubt(bench: Bench, supplies: Sequence[Supply], wanted: Sequence[Wanted], *, generous: bool = False) -> str:
    """Say in words why sticks that cost less than the bound might do; empty where they can't.

    ``generous`` takes what was rounded off for as much as it may have been, in the bound's favour.
    """
    sets = _sets(bench.plan.proof)
    rows = [_row(bench, supplies, wanted, values, knapsack.MOST_WORK // len(sets)) for values in sets]
    rows = [row.favoured() if generous else row for row in rows]
    pieces = sum(item.required.pieces for item in wanted)
    if ruled(bench):
        cheaper = _any_purchase(bench, supplies, Purchased(rows, pieces, up=not generous))
        return "a cheaper purchase can be worth all pieces" if cheaper else ""
    if len(rows) > 1:
        numbers = _any_numbers(bench, supplies, rows, pieces)
        return "numbers of sticks that cost less can be worth all pieces by every set of values" if numbers else ""
    (row,), prices, limits, capacity = _without_outdone(bench, supplies, rows, pieces)
    found = _most(prices, row.yields, limits, capacity, up=not generous)
    if found < row.worth:
        return ""
    return f"pieces are worth {row.worth}, sticks that cost less can be worth {found}"


def _any_purchase(bench: Bench, supplies: Sequence[Supply], wanted: Purchased) -> bool:
    """Whether a purchase that costs less than the bound is worth what is ``wanted``, beside all that is on hand."""
    lengths, rows = len(bench.material.stock), []
    for row in wanted.rows:
        on_hand = zip(row.yields[lengths:], supplies[lengths:], strict=True)
        given = sum(worth * (supply.limit or 0) for worth, supply in on_hand)
        rows.append(Row(row.worth - given, row.yields[:lengths]))
    below = bench.plan.bound * Fraction(bench.plan.cost_step)
    return any_purchase(bench.material, replace(wanted, rows=rows), below)


def _any_numbers(bench: Bench, supplies: Sequence[Supply], rows: Sequence[Row], pieces: int) -> bool:
    if ruled(bench):
        return _any_purchase(bench, supplies, Purchased(rows, pieces))
    return any_numbers(*_without_outdone(bench, supplies, rows, pieces))


def _without_outdone(
    bench: Bench, supplies: Sequence[Supply], rows: Sequence[Row], pieces: int
) -> tuple[list[Row], list[int], list[int], int]:
    """Return rows, prices and limits of the kinds that no other outdoes, and the most that costs less than the bound.

    No plan cuts more than ``pieces``.
    """
    kept = [k for k in range(len(supplies)) if not _outdone(k, supplies, rows)]
    rows = [replace(row, yields=tuple(row.yields[k] for k in kept)) for row in rows]
    supplies = [supplies[k] for k in kept]
    unit = lcm(*(supply.price.denominator for supply in supplies))
    prices = [int(supply.price * unit) for supply in supplies]
    limits = [pieces if supply.limit is None else min(pieces, supply.limit) for supply in supplies]
    return rows, prices, limits, ceil(bench.plan.bound * Fraction(bench.plan.cost_step) * unit) - 1


def _proven_with_runs(bench: Bench, supplies: Sequence[Supply], wanted: Sequence[Wanted]) -> bool:
    """Whether values of what runs are made of, and length, rule out all numbers of sticks that cost less."""
    try:
        runs = RunRows(bench, supplies, wanted)
        length = length_row(bench, supplies, wanted)
        rows = [*runs.rows(), *([length] if length else [])]
        return not _any_numbers(bench, supplies, rows, runs.most_pieces())
    except TooLargeToCheck:
        return False


def _sets(proof: Proof) -> list[tuple[PieceValue, ...]]:
    """Return each set of values that the certificate holds; further ones may be shorter or longer than the first."""
    further = (zip(proof.values, values, strict=False) for values in proof.further)
    return [proof.values, *(tuple(replace(piece, value=value) for piece, value in pairs) for pairs in further)]


def _row(
    bench: Bench, supplies: Sequence[Supply], wanted: Sequence[Wanted], values: Sequence[PieceValue], most_work: int
) -> Row:
    """Return V, less what the pieces left uncut can be worth, and the most that one stick of each kind yields."""
    kinds = kinds_of(bench, wanted, values, SUMMED_BITS)
    worth = sum(count * kinds.value[kind] for kind, count in kinds.demand.items())
    given = given_up(kinds, uncut_length(bench, wanted))
    return Row(worth - given, tuple(best_yields(supplies, kinds, most_work)), kinds.lost)


def _outdone(k: int, supplies: Sequence[Supply], rows: Sequence[Row]) -> bool:
    """Whether another kind without limit costs no more and yields no less by any row; of equals the first stays."""

    def rank(j: int) -> tuple[Fraction, list[int], int]:
        return supplies[j].price, [-row.yields[j] for row in rows], j

    return any(
        supplies[j].limit is None
        and supplies[j].price <= supplies[k].price
        and all(row.yields[j] >= row.yields[k] for row in rows)
        and rank(j) < rank(k)
        for j in range(len(supplies))
        if j != k
    )


def _most(prices: Sequence[int], yields: Sequence[int], limits: Sequence[int], capacity: int, *, up: bool) -> int:
    """Return the most that sticks within their limits that cost no more than ``capacity`` are worth.

    Yields too large to sum are halved, rounded up or down.
    """
    together = sum(worth * limit for worth, limit in zip(yields, limits, strict=True))
    halvings = max(0, together.bit_length() - SUMMED_BITS)
    halved = [-(-worth >> halvings) if up else worth >> halvings for worth in yields]
    items = [Item(*stick) for stick in zip(prices, halved, limits, strict=True)]
    return most_worth(items, capacity) << halvings


def proven_by_length(bench: Bench, supplies: Sequence[Supply], pieces: Sequence[Wanted]) -> bool:
    """Whether sticks that cost less than the bound are together shorter than all ``pieces`` and all runs."""
    row = length_row(bench, supplies, pieces)
    if row is None:
        return False
    try:
        if ruled(bench):
            return not _any_purchase(bench, supplies, Purchased([row], ENDLESS))
        (row,), prices, limits, capacity = _without_outdone(bench, supplies, [row], ENDLESS)
        return _most(prices, row.yields, limits, capacity, up=True) < row.worth
    except TooLargeToCheck:
        return False


def length_row(bench: Bench, supplies: Sequence[Supply], pieces: Sequence[Wanted]) -> Row | None:
    """Return that sticks are together as long as all ``pieces`` and all runs; None where no stick covers a run."""
    kerf = bench.material.settings.kerf
    wanted = sum(item.required.pieces * (item.in_stick + kerf) for item in pieces)
    for run in (item for item in bench.wanted.values() if item.is_run):
        least = _least(bench, run, max((supply.length for supply in supplies), default=0))
        if least is None:
            return None
        wanted += run.required.pieces * least
    return Row(wanted, tuple(supply.length + kerf for supply in supplies))


def _least(bench: Bench, run: Wanted, longest: int) -> int | None:
    """Return the least that a run's pieces take up in sticks; None where a stick is no longer than a lap.

    Where gaps between pieces (laps below 0) leave out more than the saw takes, as many pieces as there may be take
    least, else as few.
    """
    rows: list[StockLength | None] = [None, *(row for row in bench.material.stock if row.available != 0)]
    lap = min(own_lap(row, bench.material) or 0 for row in rows)
    gap = max(own_gap(row, bench.material) for row in rows)
    if longest <= lap:
        return None
    item, kerf = run.required, bench.material.settings.kerf
    covered = item.length + sum(allowance(end, lap, gap) for end in (item.left_end, item.right_end))
    fewest = max(1, -(-(covered - lap) // (longest - lap)))
    parts = fewest if lap + kerf >= 0 else max(fewest, most_pieces(bench, item))
    return covered + lap * (parts - 1) + item.room + kerf * parts


@dataclass(frozen=True, slots=True)
class Kinds:
    """How many of each kind of piece are wanted, and what the certificate says each is worth.

    ``lost`` is how much more all of them may be worth, where their worth was rounded down.
    """

    demand: dict[Kind, int]
    value: dict[Kind, int]
    lost: int
    kerf: int


def possible(bench: Bench, supplies: Sequence[Supply]) -> list[Wanted]:
    """Return the pieces that some stick can yield; runs are none of them."""
    loads = [Load(supply.length, supply.ends) for supply in supplies if supply.limit != 0]
    pieces = (wanted for wanted in bench.wanted.values() if not wanted.is_run)
    return [wanted for wanted in pieces if any(fits(load, wanted, 0) for load in loads)]


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
    return most_worth(items, length)


def supplies_of(bench: Bench) -> list[Supply]:
    """Return every kind of stick that there is: stock rows, and offcuts on hand at no price."""
    rows = [
        Supply(row.length, FactoryEnd.BOTH, price_of(row, bench.material), to_be_had(row))
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
