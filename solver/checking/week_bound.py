"""What a week's bound rests on: it follows from the values that come with it, worked out again, or it was searched.

A material's own bound is one as if all were cut on one day, of what lies there and what can still be ordered, and no
van too small: every plan of the week is a plan of that. So it is judged as the bound of a plan is (``bound``). Where
days share nothing it is known as well if their own bounds come to it.

A bound of all materials in the van there is rests on dated values: ``v`` for each piece, by its day, and ``t`` for a
place in the van each night. A stick that is first cut on one day and last on another lies in the van all nights
between, and what is cut before the last day leaves enough to be carried. So the most that it can be worth, ``b``, is
that of two knapsacks for each pair of days: of the pieces before the last day, and of those of it. The sticks of a plan
that cuts all pieces are worth at least

    sum demand * v - sum room * t

(Geoffrion 1974, "Lagrangean relaxation for integer programming"), so the bound holds if sticks within their limits that
cost less are worth less: one knapsack more. Closed orders and spares are taken off it first. Those materials may be
left out whose own bounds are known; the others are to come to the rest of it. All of it is whole numbers.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import product
from math import ceil, gcd, lcm

import numpy as np

from solver.checking.bench import Bench
from solver.checking.bills import has_rules, spares_asked
from solver.checking.bound import ENDLESS, judge_bound
from solver.checking.knapsack import LARGEST_VALUE, Ints, Item, TooLargeToCheck, most_worth
from solver.checking.orders import price_of
from solver.checking.wanted import wanted_of
from solver.checking.week_supply import AtHand, at_hand, left_to_order
from solver.job import Job
from solver.materials import Material, Offcut, StockLength
from solver.plan import CutPlan, MaterialPlan
from solver.proof import Basis, DatedValues, Proof, RunValues
from solver.weekly.plan import Compared, WeekPlan
from solver.weekly.week import Week

FINEST = Decimal("0.000001")
"""No price has more decimals."""
MOST_WORK = 2**29
"""Numbers that are looked at to price all sticks of a material; some seconds."""


def with_bases(week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> WeekPlan:
    """Return a plan that says of its bounds whether they could be worked out again."""
    judge = _Judge(week, open_from, plan, orders_from)
    compared = tuple(replace(c, proof=replace(c.proof, basis=judge.basis(c))) for c in plan.compared)
    own = {c.material: c for c in compared if c.proof.basis is Basis.CERTIFIED}
    if plan.bound is None:
        known = not plan.missing and len(own) == len(compared)
        return replace(plan, compared=compared, basis=Basis.CERTIFIED if known else Basis.SEARCHED, dated=None)
    each = sum((Fraction(c.bound.cost) for c in own.values() if c.bound), Fraction(0))
    beside = judge.closed() + sum((judge.spares(c) for c in own.values()), Fraction(0))
    if each + beside >= plan.bound:
        return replace(plan, compared=compared, basis=Basis.CERTIFIED, dated=None)
    ways = ((each, own), (Fraction(0), ())) if plan.dated else ()
    rest = Fraction(plan.bound) - beside
    known = any(judge.ruled_out(rest - given, plan.dated, but) for given, but in ways if plan.dated)
    basis = Basis.CERTIFIED if known else Basis.SEARCHED
    return replace(plan, compared=compared, basis=basis, dated=plan.dated if known else None)


@dataclass(frozen=True, slots=True)
class DatedPiece:
    """Pieces alike of one day: what each takes of a stick with its cut, its worth, and the ends it needs."""

    day: int
    taken: int
    value: int
    copies: int
    left: bool
    right: bool


@dataclass(frozen=True, slots=True)
class DatedStick:
    """Sticks alike: ``since`` is the night from which they lie in the van, None for those that don't."""

    length: int
    left: bool
    right: bool
    price: Fraction
    limit: int | None
    first: int
    since: int | None = None


class _Judge:
    """Works the bounds of one week's plan out again."""

    def __init__(self, week: Week, open_from: date, plan: WeekPlan, orders_from: date) -> None:
        self._week, self._open, self._plan = week, open_from, plan
        self._days = [day for day in plan.days if not day.frozen]
        self._deliveries = [d.date for d in week.deliveries if d.date >= orders_from]
        self._hand = list(at_hand(week, open_from, plan, orders_from))
        self._left = left_to_order(week, plan, orders_from)
        self._materials = {m.id: m for day in self._days for m in day.job.materials}

    def basis(self, entry: Compared) -> Basis:
        """Say what a material's own bound rests on."""
        material = self._materials.get(entry.material)
        if material is None or entry.bound is None or self._plan.missing:
            return Basis.SEARCHED
        bench = self._bench(entry, material)
        known = bench is not None and judge_bound(bench).basis is Basis.CERTIFIED
        return Basis.CERTIFIED if known or self._days_come_to(entry.bound.cost, material) else Basis.SEARCHED

    def _parts(self, material: Material) -> list[MaterialPlan]:
        return [part for day in self._days for part in day.plan.materials if part.material == material.id]

    def _days_come_to(self, cost: Decimal, material: Material) -> bool:
        """Whether days that share nothing come to as much, by bounds of theirs that could be worked out again."""
        parts = self._parts(material)
        shares = (self._week.limits.carry != 0 and len(parts) > 1) or has_rules(material)
        if shares or any(there.material == material.id for there in self._hand):
            return False
        known = (part for part in parts if part.proof.basis is Basis.CERTIFIED)
        return sum((part.bound * Fraction(part.cost_step) for part in known), Fraction(0)) >= cost

    def _bench(self, entry: Compared, material: Material) -> Bench | None:
        """Return the material's week as one plan; None where its sticks may be no better than others for pieces."""
        sources = self._parts(material)
        hand = [there for there in self._hand if there.material == material.id]
        required = tuple(r for day in self._days for r in day.job.required if r.material == material.id)
        # a stick of the shop is as one that is given away, by a name that no other can have; beside rules an offcut
        named = {f"\0{n}" if there.whole else there.name: there for n, there in enumerate(hand)}
        if len(named) < len(hand):
            return None
        shop = {n: there for n, there in named.items() if there.whole and material.priced and not has_rules(material)}
        beside = ((name, h) for name, h in named.items() if name not in shop)
        offcuts = tuple(Offcut(name, h.material, h.length, h.count, h.ends) for name, h in beside)
        stock = tuple(replace(row, available=self._most(material, row.id)) for row in material.stock)
        given = (_given(row, name, h.count) for name, h in shop.items() for row in material.stock if row.id == h.name)
        to_order = replace(material, stock=(*stock, *given))
        job = Job("", self._week.units, (to_order,), required, offcuts)
        wanted = wanted_of(job, to_order)
        laid = any(item.is_run for item in wanted.values())
        # a day's sheet still counts a length that is used up where it says in how many pieces a run may be
        gone = any(new.available == 0 != row.available for new, row in zip(stock, material.stock, strict=True))
        unnamed = len(shop) < sum(h.whole for h in hand)
        if not sources or entry.bound is None or wanted != wanted_of(job, material) or (laid and (unnamed or gone)):
            return None
        step = FINEST if entry.priced else Decimal(1)
        bound, cost = (int(figures.cost / step) for figures in (entry.bound, entry.pooled))
        warnings = tuple(notice for day in self._days for notice in day.plan.warnings)
        proof = _valued(entry.proof, {name: there.name for name, there in shop.items()})
        part = replace(
            sources[0], cost_step=step, cost=cost, bound=bound, least_uncut=True, proof=proof, patterns=(), runs=()
        )
        return Bench(job, to_order, CutPlan((part,), (), (), warnings, ()), part, "#/compared")

    def _most(self, material: Material, stock: str) -> int | None:
        if not self._deliveries:
            return 0
        left = self._left.get((material.id, stock))
        return None if left is None else left.most

    def closed(self) -> Fraction:
        """Return what the orders come to that can't be changed any more."""
        lines = (line for order in self._plan.orders if order.closed for line in order.lines)
        return sum((Fraction(line.amount or 0) + Fraction(line.fixed_cost) for line in lines), Fraction(0))

    def spares(self, entry: Compared) -> Fraction:
        """Return what spares of so many sticks cost at least as the material's own bound asks for."""
        material = next(m for m in self._week.materials if m.id == entry.material)
        prices = [Fraction(row.price) for row in material.stock if row.price is not None]
        limited = any(row.available is not None for row in material.stock)
        if not any(prices) or limited or has_rules(material) or entry.bound is None:
            return Fraction(0)
        return spares_asked(material, ceil(Fraction(entry.bound.cost) / max(prices))) * min(prices)

    def ruled_out(self, cost: Fraction, dated: DatedValues, but: Collection[str]) -> bool:
        """Whether sticks of all materials ``but`` some that cost less are worth too little, by dated values."""
        wanted = {entry.material for entry in self._plan.compared if entry.material not in but}
        materials = [material for material in self._materials.values() if material.id in wanted]
        if any(has_rules(m) or not m.priced for m in materials):
            return False
        room = self._week.limits.carry
        tolls = [0] * len(dated.nights) if room is None else [max(0, toll) for toll in dated.nights]
        worth, every = -sum(tolls) * (room or 0), list[tuple[DatedStick, int]]()
        try:
            for material in materials:
                pieces = self._pieces(material, dated)
                worth += sum(piece.value * piece.copies for piece in pieces)
                every += _priced(list(self._sticks(material)), pieces, material, tolls)
            return _most(every, cost) < worth
        except TooLargeToCheck:
            return False

    def _pieces(self, material: Material, dated: DatedValues) -> list[DatedPiece]:
        own = (value for value in dated.values if value.material == material.id)
        values = {(v.date, v.length, v.needs_left, v.needs_right): v.value for v in own}
        found: Counter[tuple[int, int, int, bool, bool]] = Counter()
        for day in self._days:
            for wanted in wanted_of(day.job, material).values():
                if wanted.is_run:
                    raise TooLargeToCheck("runs are not valued by day")
                key = wanted.in_stick, wanted.needs_left, wanted.needs_right
                value = values.get((day.date, *key), 0)
                found[self._week.day(day.date), key[0], value, *key[1:]] += wanted.required.pieces
        kerf = material.settings.kerf
        return [DatedPiece(d, taken + kerf, value, n, *ends) for (d, taken, value, *ends), n in found.items()]

    def _sticks(self, material: Material) -> Iterator[DatedStick]:
        first = min((self._week.day(day) for day in self._deliveries), default=0)
        for row in material.stock:
            most = self._most(material, row.id)
            yield DatedStick(row.length, True, True, price_of(row, material), most, first)
        for there in (there for there in self._hand if there.material == material.id):
            yield self._lying(there)

    def _lying(self, there: AtHand) -> DatedStick:
        week, since = self._week, there.in_van_since
        night = None if since is None else max(week.day(since), week.day(self._open) - 1)
        ends = there.ends.has_left, there.ends.has_right
        return DatedStick(there.length, *ends, Fraction(0), there.count, week.day(there.first), night)


def _given(row: StockLength, name: str, count: int) -> StockLength:
    """Return so many sticks of a row that cost nothing."""
    return StockLength(name, row.length, price=Decimal(0), available=count, lap=row.lap, end_gap=row.end_gap)


def _valued(proof: Proof, shop: Mapping[str, str]) -> Proof:
    """Return a proof by whose values sticks of the ``shop`` count as those of their stock length do."""
    return replace(proof, runs=tuple(_with_shop(values, shop) for values in proof.runs))


def _with_shop(values: RunValues, shop: Mapping[str, str]) -> RunValues:
    ends = (replace(e, stock=(*e.stock, *(n for n, row in shop.items() if row in e.stock))) for e in values.ends)
    sticks = (replace(stick, stock=n) for n, row in shop.items() for stick in values.sticks if stick.stock == row)
    return replace(values, ends=tuple(ends), sticks=(*values.sticks, *sticks))


def _most(every: Sequence[tuple[DatedStick, int]], cost: Fraction) -> int:
    """Return the most that sticks are worth which come to less."""
    unit = lcm(*(stick.price.denominator for stick, _ in every))
    capacity = max(0, ceil(cost * unit) - 1)
    items = (Item(int(s.price * unit), best, ENDLESS if s.limit is None else s.limit) for s, best in every)
    return most_worth(items, capacity)


def _priced(
    sticks: Iterable[DatedStick], pieces: Sequence[DatedPiece], material: Material, tolls: Sequence[int]
) -> list[tuple[DatedStick, int]]:
    """Return sticks with the most that one of each is worth."""
    there = [stick for stick in sticks if stick.limit != 0]
    longest = max((stick.length for stick in there), default=0)
    table = DatedKnapsack(pieces, longest, material.settings.kerf, max(1, material.settings.keep_offcuts_from), tolls)
    alike: dict[DatedStick, int] = {}
    for stick in there:
        kind = replace(stick, price=Fraction(0), limit=None)
        alike.setdefault(kind, -1)
        if alike[kind] < 0:
            alike[kind] = table.best(stick)
    return [(stick, alike[replace(stick, price=Fraction(0), limit=None)]) for stick in there]


class DatedKnapsack:
    """The most that free pieces of some days are worth in so much room, and with them pieces at a stick's ends."""

    def __init__(
        self, pieces: Sequence[DatedPiece], longest: int, kerf: int, shortest: int, tolls: Sequence[int]
    ) -> None:
        self._pieces = [piece for piece in pieces if piece.value > 0]
        if sum(piece.value * piece.copies for piece in self._pieces) >= LARGEST_VALUE:
            raise TooLargeToCheck("sums above 2^60")
        self._unit = gcd(*(piece.taken for piece in self._pieces)) or 1
        self._kerf, self._shortest, self._tolls = kerf, shortest, tolls
        self._width = (longest + kerf) // self._unit
        self._days = sorted({piece.day for piece in self._pieces})
        self._free: dict[int, list[DatedPiece]] = defaultdict(list)
        for piece in self._pieces:
            if not (piece.left or piece.right):
                self._free[piece.day].append(piece)
        ends = [sum(1 for p in self._pieces if p.left), sum(1 for p in self._pieces if p.right)]
        if (self._width + 1) * len(self._days) ** 2 * (len(self._pieces) + (ends[0] + 1) * (ends[1] + 1)) > MOST_WORK:
            raise TooLargeToCheck("more room than there is time for")
        self._known: dict[tuple[int, ...], Ints] = {(): np.zeros(self._width + 1, np.int64)}

    def best(self, stick: DatedStick) -> int:
        """Return the most that one stick is worth, less its places in the van."""
        days = [day for day in self._days if day >= stick.first]
        whole = (
            piece.value for piece in self._pieces
            if piece.left and piece.right and stick.left and stick.right
            and piece.taken == stick.length + self._kerf and piece.day in days
        )  # fmt: skip
        worth = max(whole, default=0)
        for place, last in enumerate(days):
            for first in range(place + 1) if stick.since is None else [0]:
                nights = range(days[first] if stick.since is None else stick.since, last)
                toll = sum(self._tolls[night] for night in nights if night >= 0)
                worth = max(worth, self._between(stick, days[first : place + 1]) - toll)
        return worth

    def _between(self, stick: DatedStick, days: Sequence[int]) -> int:
        """Return the most that a stick is worth whose pieces are of these days, with up to one at either end."""
        room = (stick.length + self._kerf) // self._unit
        before = min(room, max(0, stick.length - self._shortest) // self._unit) if len(days) > 1 else 0
        early, late = self._of(days[:-1]), self._of(days[-1:])
        worth = 0
        for outer in product(self._outer(days, "left", stick.left), self._outer(days, "right", stick.right)):
            pieces = [piece for piece in outer if piece is not None]
            # an end that is not needed on the first day is lost there, if the other is
            if len(pieces) > 1 and stick.since is None and all(piece.day != days[0] for piece in pieces):
                continue
            begun = sum(piece.taken // self._unit for piece in pieces if piece.day != days[-1])
            ended = sum(piece.taken // self._unit for piece in pieces if piece.day == days[-1])
            free, most = room - begun - ended, before - begun
            if free >= 0 and most >= 0:
                used = min(free, most)
                inner = early[: used + 1] + late[free - used : free + 1][::-1]
                worth = max(worth, int(inner.max()) + sum(piece.value for piece in pieces))
        return worth

    def _outer(self, days: Sequence[int], end: str, there: bool) -> list[DatedPiece | None]:
        other = {"left": "right", "right": "left"}[end]
        if not there:
            return [None]
        return [None, *(p for p in self._pieces if p.day in days and getattr(p, end) and not getattr(p, other))]

    def _of(self, days: Sequence[int]) -> Ints:
        """Return the most that free pieces of these days are worth, by the room there is."""
        key = tuple(days)
        if key not in self._known:
            best = self._of(days[:-1]).copy()
            for piece in self._free[days[-1]]:
                _add(best, piece.taken // self._unit, piece.value, piece.copies)
            self._known[key] = best
        return self._known[key]


def _add(best: Ints, weight: int, value: int, copies: int) -> None:
    """Let up to so many copies of a piece be taken as well."""
    left, size = min(copies, (len(best) - 1) // weight), 1
    while left > 0:
        size = min(size, left)
        np.maximum(best[weight * size :], best[: len(best) - weight * size] + value * size, out=best[weight * size :])
        left, size = left - size, size * 2
