"""A whole week stick by stick, for CP-SAT, which is asked of one set of sticks after the other (tests only).

Sets of sticks are asked in the order of what they come to, all that cost less than a plan that was checked: the first
that does is the least bill. Nothing is known of patterns: every stick has its own numbers, for how often it gives each
piece, how long a piece it gives of each run, and on which days it is cut. All sticks are bought with the first delivery
that can still change: prices fall and cartons are shared, so two deliveries come to no less. Runs have no walls, plain
ends and one lap for all sticks.

``python -m tests.outside.whole_week KIND 100`` compares so many random weeks of a kind with the plans of the service.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations, pairwise, product
from math import gcd

from ortools.sat.python import cp_model

from solver.categories import LapEnds
from solver.checking.week import check_week
from solver.materials import Material, StockLength
from solver.proof import Basis
from solver.required import Meets, Required
from solver.weekly.moment import Moment
from solver.weekly.week import DAYS, Week
from tests.support.week_kinds import KINDS, Asked
from tests.support.weeks import planned

SECONDS = 20.0
"""How long CP-SAT is asked of one set of sticks."""


@dataclass(frozen=True)
class Least:
    """The least bill found, None where nothing cheaper was, and the least of those of which it is not known."""

    best: Decimal | None
    unknown: Decimal | None


@dataclass(frozen=True)
class _Stick:
    material: str
    length: int
    left: bool
    right: bool
    first: int


@dataclass(frozen=True)
class _Line:
    """An item of a job; a run has ``parts`` pieces at most, which take up ``least`` or more with their laps."""

    material: str
    day: int
    length: int
    quantity: int
    left: bool
    right: bool
    least: int
    parts: int = 1


def cheaper_bill(week: Week, moment: Moment, bill: Decimal) -> Least:
    """Look for the least bill below another, of a week of which nothing is announced yet."""
    first = min(week.day(one.date) for one in week.deliveries if one.date >= moment.orders_from)
    each = [list(_purchases(week, material, bill)) for material in week.materials]
    sets = sorted((sum(cost for cost, _ in chosen), [n for _, n in chosen]) for chosen in product(*each))
    too_few: list[list[tuple[int, ...]]] = []
    unknown: Decimal | None = None
    for cost, numbers in sets:
        if cost >= bill:
            break
        if any(_within(numbers, others) for others in too_few):
            continue
        sticks = [
            _Stick(material.id, row.length, left=True, right=True, first=first)
            for material, counts in zip(week.materials, numbers, strict=True)
            for row, count in zip(material.stock, counts, strict=True)
            for _ in range(count)
        ]
        found = _can_be_cut(week, [*sticks, *_offcuts(week)])
        if found:
            return Least(Decimal(cost), unknown)
        if found is None:
            unknown = unknown or Decimal(cost)
        else:
            too_few.append(numbers)
    return Least(None, unknown)


def _within(numbers: Sequence[tuple[int, ...]], others: Sequence[tuple[int, ...]]) -> bool:
    return all(
        n <= more for one, other in zip(numbers, others, strict=True) for n, more in zip(one, other, strict=True)
    )


def _purchases(week: Week, material: Material, below: Decimal) -> Iterator[tuple[Decimal, tuple[int, ...]]]:
    """Yield what can be bought of a material for less than so much, and is long enough."""
    lines = [line for line in _lines(week) if line.material == material.id]
    wanted = sum(line.least * line.quantity for line in lines)
    there = sum(one.length * one.quantity for one in week.rack if one.material == material.id)
    most = sum(line.quantity * line.parts for line in lines) + max((row.carton or 1) for row in material.stock)
    bills = [_bills(row, most if row.available is None else min(most, row.available)) for row in material.stock]
    every = (
        (sum((bill for _, bill in chosen), Decimal(0)), tuple(count for count, _ in chosen))
        for chosen in product(*bills)
    )
    lengths = [row.length for row in material.stock]
    return (
        (bill, numbers)
        for bill, numbers in every
        if bill < below and there + sum(n * length for n, length in zip(numbers, lengths, strict=True)) >= wanted
    )


def _bills(row: StockLength, most: int) -> list[tuple[int, Decimal]]:
    """Return numbers of sticks of one length, each with the least that just so many come to."""
    least: dict[int, Decimal] = {0: Decimal(0)}
    size = row.carton or 1
    for cartons, singles in product(range(most // size + 1), range(most + 1)):
        count = cartons * size + singles
        if not 0 < count <= most or (singles and not row.singles) or (cartons and not row.carton):
            continue
        prices = [
            (0, row.price or Decimal(0), row.carton_price),
            *((b.sticks, b.price, b.carton_price) for b in row.breaks),
        ]
        _, each, whole = max((price for price in prices if price[0] <= count), key=lambda price: price[0])
        bill = cartons * (each * size if whole is None else whole) + singles * each + row.fixed_cost
        least[count] = min(bill, least.get(count, bill))
    return sorted(least.items())


def _lines(week: Week) -> list[_Line]:
    materials = {material.id: material for material in week.materials}
    return [_line(item, materials[item.material], week.day(job.date)) for job in week.jobs for item in job.required]


def _line(item: Required, material: Material, day: int) -> _Line:
    lap = material.settings.lap or 0
    left, right = item.left_end.meets is Meets.LAP, item.right_end.meets is Meets.LAP
    length, longest = item.length + (left + right) * lap, max(row.length for row in material.stock)
    if length <= longest:
        return _Line(material.id, day, length, item.quantity, left, right, length)
    fewest = next(n for n in range(1, length) if n * longest - (n - 1) * lap >= length)
    extra = 1 if material.settings.extra_laps is None else material.settings.extra_laps
    return _Line(material.id, day, length, 1, left, right, length + (fewest - 1) * lap, fewest + extra)


def _offcuts(week: Week) -> Iterator[_Stick]:
    for offcut in week.rack:
        for _ in range(offcut.quantity):
            ends = offcut.factory_end
            yield _Stick(offcut.material, offcut.length, ends.has_left, ends.has_right, 0)


class _Model:
    """``taken[s]`` are stick ``s``'s pieces: the line, how many or whether there is one, and the length it takes."""

    def __init__(self, week: Week, sticks: Sequence[_Stick]) -> None:
        self.model = cp_model.CpModel()
        self.week, self.sticks, self.lines = week, sticks, _lines(week)
        self.materials = {material.id: material for material in week.materials}
        self.unit = gcd(*(self._lengths()))
        self.taken: list[list[tuple[_Line, cp_model.IntVar, cp_model.LinearExprT]]] = [[] for _ in sticks]
        self.lefts: list[list[tuple[int, cp_model.IntVar]]] = [[] for _ in sticks]
        self.rights: list[list[tuple[int, cp_model.IntVar]]] = [[] for _ in sticks]
        for line in self.lines:
            own = [s for s, stick in enumerate(sticks) if stick.material == line.material and line.day >= stick.first]
            (self._run if line.parts > 1 else self._pieces)(line, own)
        nights = [self._nights(s) for s in range(len(sticks))]
        if week.limits.carry is not None:
            for night in range(DAYS - 1):
                self.model.add(sum(kept[night] for kept in nights) <= week.limits.carry)
        self._in_order()

    def _lengths(self) -> Iterator[int]:
        for material in self.materials.values():
            settings = material.settings
            yield from (settings.kerf, settings.lap or 0, settings.shortest_piece or 0, self._keep(material))
        yield from (stick.length for stick in self.sticks)
        yield from (line.length for line in self.lines)

    def _keep(self, material: Material) -> int:
        shortest = self.week.limits.shortest_kept
        return material.settings.keep_offcuts_from if shortest is None else shortest

    def _pieces(self, line: _Line, own: Sequence[int]) -> None:
        kerf = self.materials[line.material].settings.kerf
        cut = {s: self.model.new_int_var(0, line.quantity, "") for s in own}
        self.model.add(sum(cut.values()) == line.quantity)
        for s, count in cut.items():
            self.taken[s].append((line, count, count * ((line.length + kerf) // self.unit)))
            if line.left:
                self.lefts[s].append((line.day, count))
            if line.right:
                self.rights[s].append((line.day, count))

    def _run(self, line: _Line, own: Sequence[int]) -> None:
        """Give a run one piece of a stick or none: of two out of one stick, one could be left out."""
        settings, unit = self.materials[line.material].settings, self.unit
        shortest = max(1, (settings.shortest_piece or 0) // unit)
        there = {s: self.model.new_bool_var("") for s in own}
        lengths = {}
        for s, given in there.items():
            lengths[s] = self.model.new_int_var(0, self.sticks[s].length // unit, "")
            self.model.add(lengths[s] >= shortest).only_enforce_if(given)
            self.model.add(lengths[s] == 0).only_enforce_if(given.negated())
            self.taken[s].append((line, given, lengths[s] + given * (settings.kerf // unit)))
        parts, lap = sum(there.values()), (settings.lap or 0) // unit
        self.model.add(sum(lengths.values()) == line.length // unit + lap * (parts - 1))
        self.model.add(parts <= line.parts)
        if settings.lap_ends is LapEnds.FACTORY:
            self._factory(line, there, lengths)

    def _factory(self, line: _Line, there: dict[int, cp_model.IntVar], lengths: dict[int, cp_model.IntVar]) -> None:
        """Have one piece with a stick's right end, one with a left one, and whole sticks between them."""
        firsts, lasts = [], []
        for s, given in there.items():
            first, last, whole = (self.model.new_bool_var("") for _ in range(3))
            self.model.add(first + last + whole == given)
            uncut = self.sticks[s].left and self.sticks[s].right
            self.model.add(whole <= uncut)
            self.model.add(lengths[s] == self.sticks[s].length // self.unit).only_enforce_if(whole)
            self.rights[s] += [(line.day, first), (line.day, whole)]
            self.lefts[s] += [(line.day, last), (line.day, whole)]
            firsts.append(first)
            lasts.append(last)
        self.model.add(sum(firsts) == 1)
        self.model.add(sum(lasts) == 1)

    def _nights(self, s: int) -> list[cp_model.IntVar]:
        """State what a stick can give, and return the nights in which it lies in the van."""
        stick, pieces = self.sticks[s], self.taken[s]
        settings, keep = self.materials[stick.material].settings, self._keep(self.materials[stick.material])
        self.model.add(sum(takes for _, _, takes in pieces) <= (stick.length + settings.kerf) // self.unit)
        on = [self.model.new_bool_var("") for _ in range(DAYS)]
        for line, count, _ in pieces:
            self.model.add(count <= line.quantity * on[line.day])
        self._ends(s, on)
        nights = [self.model.new_bool_var("") for _ in range(DAYS - 1)]
        for early, late in combinations(range(DAYS), 2):
            for night in range(early, late):
                self.model.add_bool_or(on[early].negated(), on[late].negated(), nights[night])
        for night, kept in enumerate(nights):
            by_then = sum(takes for line, _, takes in pieces if line.day <= night)
            left = (stick.length - max(keep, self.unit)) // self.unit
            self.model.add(by_then <= left).only_enforce_if(kept)
        return nights

    def _ends(self, s: int, on: Sequence[cp_model.IntVar]) -> None:
        """Cut each factory end once; once a stick has been cut, what is left has one of them at most."""
        self.model.add(sum(count for _, count in self.lefts[s]) <= int(self.sticks[s].left))
        self.model.add(sum(count for _, count in self.rights[s]) <= int(self.sticks[s].right))
        for day, cut in enumerate(on):
            later = [count for at, count in (*self.lefts[s], *self.rights[s]) if at > day]
            self.model.add(sum(later) <= 1).only_enforce_if(cut)

    def _in_order(self) -> None:
        """Put sticks alike in one order, or each answer would be there once for every order."""
        for (one, taken), (other, following) in pairwise(zip(self.sticks, self.taken, strict=True)):
            if one == other:
                self.model.add(sum(takes for _, _, takes in taken) >= sum(takes for _, _, takes in following))


def _can_be_cut(week: Week, sticks: Sequence[_Stick]) -> bool | None:
    """Return whether the sticks give every piece of the week, None where CP-SAT can't tell."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = SECONDS
    status = solver.solve(_Model(week, sticks).model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return True
    return False if status == cp_model.INFEASIBLE else None


@dataclass(frozen=True)
class Compared:
    """What the two say of one week: ``wrong`` is empty where they agree as far as both can tell.

    ``best`` is the least bill known, ``closed`` says whether it is known that there is none less.
    """

    bill: Decimal
    best: Decimal
    closed: bool
    proven: bool
    certified: bool
    wrong: str

    @property
    def above(self) -> Decimal:
        """How much the plan costs above the least bill known, in percent."""
        return (self.bill / self.best - 1) * 100 if self.best else Decimal(0)


def compared(asked: Asked) -> Compared:
    """Plan a week, have its plan checked, and hold its bill and bound against the whole model."""
    plan = planned(asked.week, asked.moment)
    faults = check_week(asked.week, asked.moment.open_from, plan, asked.moment.orders_from)
    wrong, certified = [f"{fault.place} {fault.detail}" for fault in faults], plan.basis is Basis.CERTIFIED
    if plan.missing or plan.bill is None or any(day.plan.warnings for day in plan.days):
        why = "pieces are missing, or rules are broken"
        return Compared(Decimal(0), Decimal(0), False, plan.proven, certified, why)
    least = cheaper_bill(asked.week, asked.moment, plan.bill)
    best = plan.bill if least.best is None else least.best
    if plan.bound is not None and plan.bound > best:
        wrong.append(f"a bound of {plan.bound} where {best} can be had")
    return Compared(plan.bill, best, least.unknown is None, plan.proven, certified, "; ".join(wrong))


if __name__ == "__main__":
    kind, first = sys.argv[1], int(sys.argv[3]) if len(sys.argv) > 3 else 0
    results = []
    for seed in range(first, first + int(sys.argv[2])):
        results.append(found := compared(KINDS[kind](seed)))
        if found.wrong or found.above or not found.closed:
            print(seed, found, flush=True)
    above = [found.above for found in results]
    print(
        f"{len(results)} weeks, {sum(found.closed for found in results)} closed by the model, "
        f"{sum(found.proven for found in results)} proven, {sum(found.certified for found in results)} certified, "
        f"{sum(a > 0 for a in above)} above the least, by "
        f"{sum(above) / len(above):.2f} % in the mean, {max(above):.2f} % at most; "
        f"{sum(bool(found.wrong) for found in results)} wrong"
    )
