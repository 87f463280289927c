"""Laying runs one after another: what is left of a stick begins the next run, as an installer does, but priced.

A run's last piece begins a stick; plain pieces follow; the rest of the stick, up to its right factory end, is the
first piece of another run. So runs hang together in chains through the sticks they share, and a chain wastes
nothing but where a rule forbids the exact length. Which run comes next, what goes between, and when a chain
ends is decided by reduced cost: what the stick and the run cost less what the prices say their pieces are
worth. With prices that prove a bound the reduced costs of all steps add up to the plan's distance from it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from solver.laps.allowed import Allowed, Choice
from solver.laps.fills import Fills
from solver.laps.packing import pack
from solver.laps.prices import Floats, Ints, PriceList, width
from solver.laps.shapes import Kinds
from solver.laps.site import Layout
from solver.laps.yard import Filling, Held, Yard, held_first, held_last


@dataclass(frozen=True, slots=True)
class Offer:
    """Ways to fill a stick up to its right end.

    For each: the kind of stick, the size of its fill, the length of first piece that is left, the reduced cost so far.
    """

    kinds: Ints
    sizes: Ints
    lengths: Ints
    costs: Floats


@dataclass(frozen=True, slots=True)
class Step:
    """One stick to cut: its kind, the size of its fill, and what its right end is for (neither: nothing)."""

    cost: float
    kind: int
    size: int
    run: tuple[Layout, int] | None = None
    start: Held | None = None


class Laying:
    """Lays every run of a yard that has no place, and cuts every piece that waits."""

    def __init__(self, yard: Yard, prices: PriceList, dice: np.random.Generator, sizes: int = 64) -> None:
        """``sizes``: at most so many sizes of fills are tried for each stick, drawn by lot."""
        self._yard, self._prices, self._dice, self._most_sizes = yard, prices, dice, sizes
        self._allowed = Allowed(yard)
        site = yard.site
        self._cell, self._kerf, self._width = site.cell, site.problem.kerf, width(site)
        self._sizes = [-(-(site.problem.pieces[i].length + self._kerf) // self._cell) for i in site.plain]
        self._noise_unit = max(stick.cost for stick in site.problem.sticks) or 1
        self._cheapest = self._cheapest_by_run()
        self._sparing: set[int] = set()
        self._limits = {k: s.limit for k, s in enumerate(site.problem.sticks) if s.limit is not None}

    def lay(self, values: Floats, noise: float) -> None:
        """Complete the plan. ``values`` price the plain pieces; ``noise`` is its share of the dearest stick's cost."""
        self._values, self._noise = values, noise * self._noise_unit
        self._fill_again()
        since = len(self._yard.sticks)
        self._sparing.clear()
        lost: list[Held] = []
        while self._yard.ends or self._yard.starts or self._next_runs():
            self._lay_runs(lost)
            self._begin_sticks_for_starts(lost)
        for held in lost:
            piece = self._yard.site.problem.pieces[-1 - held.run]
            (self._yard.ends if piece.left else self._yard.starts).append(held)
        pack(self._yard, self._sizes)
        self._yard.shrink(since)

    def _lay_runs(self, lost: list[Held]) -> None:
        pending: Held | None = None
        while True:
            if pending is None and self._yard.ends:
                pending = self._yard.ends.pop(int(self._dice.integers(len(self._yard.ends))))
            runs = self._next_runs()
            if not runs and pending is None:
                return
            pending = self._advance(pending, runs, lost)

    def _advance(self, pending: Held | None, runs: list[int], lost: list[Held]) -> Held | None:
        """Take one step; return the last piece that then waits for a stick."""
        alone = self._without_first(runs)
        if alone is not None:
            self._yard.place(alone, alone.low)
            if alone.shape.last:
                self._yard.ends.append(held_last(alone, alone.low))
            return pending
        step = self._best_step(pending, runs)
        if step is not None:
            return self._take(pending, step)
        self._give_up(pending, runs, lost)
        return None

    def _give_up(self, held: Held | None, runs: list[int], lost: list[Held]) -> None:
        """Leave the held piece's run, or the first that waits, to be laid from sticks without limit; then uncut."""
        if held is not None and held.run < 0:
            lost.append(held)
            return
        run = runs[0] if held is None else held.run
        if run in self._sparing:
            self._yard.give_up(run)
        else:
            self._sparing.add(run)
            self._yard.lift([run], [])
        self._fill_again()

    def _without_first(self, runs: list[int]) -> Layout | None:
        """Return a run's layout that needs no cut first piece, if there is one among the next."""
        for run in runs:
            for choice in self._allowed.choices(run, self._enough):
                if not choice.layout.shape.first:
                    return choice.layout
        return None

    def _take(self, pending: Held | None, step: Step) -> Held | None:
        plain = self._fills.trace(step.size)
        right = step.start
        if step.run is not None:
            layout, a = step.run
            right = held_first(layout, a)
        elif right is not None:
            self._yard.starts.remove(right)
        self._yard.add(Filling(step.kind, pending, tuple(sorted(plain)), right))
        if plain:
            self._fill_again()
        if step.run is None:
            return None
        self._yard.place(*step.run)
        return held_last(layout, a) if layout.shape.last else None

    def _fill_again(self) -> None:
        self._fills = Fills(self._sizes, self._values, self._yard.left, self._width, exact=True)
        self._most = np.maximum.accumulate(self._fills.worth)
        self._reached = np.flatnonzero(np.isfinite(self._fills.worth))

    def _next_runs(self) -> list[int]:
        """Return the runs of the lowest course of every wall that are not laid; of runs alike and alone, one."""
        found: list[int] = []
        alone: set[int] = set()
        for wall in self._yard.site.walls:
            waiting = [i for i in wall if self._yard.placed[i] is None and i not in self._yard.cut_off]
            if len(wall) == 1 and waiting:
                alike = self._yard.site.alike[waiting[0]]
                if alike in alone:
                    continue
                alone.add(alike)
            courses = self._yard.site.problem.runs
            found += [i for i in waiting if courses[i].course == courses[waiting[0]].course]
        return found

    def _best_step(self, pending: Held | None, runs: list[int]) -> Step | None:
        """Return the cheapest step. Ending a chain at nothing is only half of one: the next run begins another."""
        going_on = self._cheapest_step(self._beginning(pending, runs))
        if pending is None:
            return going_on
        finishing = self._cheapest_step(self._finishing(pending))
        if going_on is None or finishing is None:
            return finishing or going_on
        if finishing.start is None and finishing.cost < going_on.cost:
            afresh = self._cheapest_step(self._beginning(None, runs))
            if afresh is not None and finishing.cost + afresh.cost > going_on.cost:
                return going_on
        return min(finishing, going_on, key=lambda s: s.cost)

    @staticmethod
    def _cheapest_step(steps: Iterator[Step]) -> Step | None:
        return min(steps, key=lambda s: s.cost, default=None)

    def _beginning(self, pending: Held | None, runs: list[int]) -> Iterator[Step]:
        """Yield the best way to begin each run in each layout, in the pending piece's stick or a new one."""
        worth = self._prices.one_last(pending.kinds, pending.length) if pending else 0.0
        offers: dict[Kinds, Offer] = {}
        for run in runs:
            for choice in self._allowed.choices(run, self._enough):
                first = choice.layout.shape.first
                if not first:
                    continue
                if first not in offers:
                    offers[first] = self._offer(first, pending, worth)
                if (step := self._best(choice, offers[first])) is not None:
                    yield step

    def _finishing(self, pending: Held) -> Iterator[Step]:
        """Yield what ends a chain: the best fill for each kind of stick, alone or up to a first piece that waits."""
        worth = self._prices.one_last(pending.kinds, pending.length)
        for kind in self._kinds(pending.kinds):
            room = self._yard.site.problem.sticks[kind].length - pending.length
            if (step := self._closing(kind, room, worth)) is not None:
                yield step
            for start in self._yard.starts:
                if kind in start.kinds:
                    both = worth + self._prices.one_first(start.kinds, start.length)
                    rest = room - start.length - self._kerf
                    if (step := self._closing(kind, rest, both, start)) is not None:
                        yield step

    def _closing(self, kind: int, room: int, worth: float, start: Held | None = None) -> Step | None:
        """``room`` is what is left beyond the held pieces and the cuts between them."""
        if room < 0:
            return None
        cells = room // self._cell
        cost = self._prices.cost[kind] - worth - float(self._most[cells]) + self._noise * self._dice.random()
        return Step(cost, kind, int(self._fills.worth[: cells + 1].argmax()), start=start)

    def _offer(self, first: Kinds, pending: Held | None, worth: float) -> Offer:
        reached = self._some_sizes()
        parts = []
        for kind in self._kinds(first if pending is None else first & pending.kinds):
            room = self._yard.site.problem.sticks[kind].length - (pending.length + self._kerf if pending else 0)
            sizes = reached[: reached.searchsorted(-(-room // self._cell))]
            costs = self._prices.cost[kind] - worth - self._fills.worth[sizes]
            parts.append((np.full(len(sizes), kind), sizes, room - sizes * self._cell, costs))
        if not parts:
            none = np.zeros(0, np.int64)
            return Offer(none, none, none, np.zeros(0))
        kinds, fills, lengths, costs = (np.concatenate(column) for column in zip(*parts, strict=True))
        return Offer(kinds, fills, lengths, costs)

    def _some_sizes(self) -> Ints:
        """Return sizes of fills, none among them; of many, every so manieth from one drawn by lot."""
        reached = self._reached
        if len(reached) <= self._most_sizes:
            return reached
        apart = -(-len(reached) // self._most_sizes)
        return np.concatenate((reached[:1], reached[1 + int(self._dice.integers(apart)) :: apart]))

    def _best(self, choice: Choice, offer: Offer) -> Step | None:
        """Return the cheapest way to begin a run by one of the offers."""
        if not len(offer.lengths):
            return None
        layout = choice.layout
        lengths, none = choice.longest_up_to(offer.lengths)
        costs = offer.costs + (self._prices.wholes(layout) - self._cheapest[layout.run])
        if layout.shape.last:
            costs = costs + self._prices.last(layout.shape.last, layout.shape.rest - lengths)
        if self._noise:
            costs = costs + self._noise * self._dice.random(len(costs))
        costs[none] = np.inf
        if self._limits:
            costs[layout.shape.rest - lengths > self._longest_last(layout)[offer.kinds]] = np.inf
        at = int(costs.argmin())
        if costs[at] == np.inf:
            return None
        return Step(float(costs[at]), int(offer.kinds[at]), int(offer.sizes[at]), (layout, int(lengths[at])))

    def _longest_last(self, layout: Layout) -> Ints:
        """Return by kind: with the first piece out of one such stick, the longest last piece the sticks left can give.

        -1 where the run's whole sticks leave no stick of that kind for the first piece.
        """
        sticks, shape = self._yard.site.problem.sticks, layout.shape
        left = self._left_beside(layout)
        longest = np.zeros(len(sticks), np.int64)
        for kind in shape.first:
            own = [sticks[k].length for k in shape.last if left.get(k, 2) > (k == kind)]
            longest[kind] = max(own, default=0) if left.get(kind, 1) > 0 else -1
        return longest

    def _left_beside(self, layout: Layout) -> dict[int, int]:
        """Return how many sticks of each limited kind are left beside the layout's whole sticks."""
        used, wholes = self._yard.used, layout.shape.wholes
        if layout.run in self._sparing:
            return {k: -wholes.count(k) for k in self._limits}
        return {k: limit - used[k] - wholes.count(k) for k, limit in self._limits.items()}

    def _begin_sticks_for_starts(self, lost: list[Held]) -> None:
        """Cut a stick for each first piece that no chain has come to."""
        for start in list(self._yard.starts):
            worth = self._prices.one_first(start.kinds, start.length)
            sticks = self._yard.site.problem.sticks
            steps = (
                step
                for kind in self._kinds(start.kinds)
                if (step := self._closing(kind, sticks[kind].length - start.length, worth, start)) is not None
            )
            if start not in self._yard.starts:
                continue
            best = self._cheapest_step(iter(steps))
            if best is not None:
                self._take(None, best)
            else:
                self._yard.starts.remove(start)
                self._give_up(start, [], lost)

    def _kinds(self, kinds: Kinds) -> list[int]:
        return [k for k in sorted(kinds) if self._yard.may_use(k)]

    def _enough(self, choice: Choice) -> bool:
        """Whether the sticks can be had: the whole ones, and some for cut pieces of lengths that are allowed."""
        if not self._limits:
            return True
        layout, sticks = choice.layout, self._yard.site.problem.sticks
        shape, left = layout.shape, self._left_beside(layout)
        if any(n < 0 for n in left.values()):
            return False
        if not shape.first:
            return not shape.last or any(left.get(k, 1) > 0 and sticks[k].length >= shape.rest for k in shape.last)
        kinds = np.array(sorted(shape.first))
        lengths, none = choice.longest_up_to(np.array([sticks[k].length for k in kinds]))
        return bool(((shape.rest - lengths <= self._longest_last(layout)[kinds]) & ~none).any())

    def _cheapest_by_run(self) -> list[float]:
        site, known = self._yard.site, dict[int, float]()
        for run, alike in enumerate(site.alike):
            if alike not in known:
                costs = (self._prices.cheapest(layout, site.cell) for layout in site.layouts[run])
                known[alike] = min(costs, default=0.0)
        return [known[alike] for alike in site.alike]
