"""Laying runs one after another: what is left of a stick begins the next run, as an installer does, but priced.

A run's last piece begins a stick; plain pieces follow; the rest of the stick, up to its right factory end, is the
first piece of another run. So runs hang together in chains through the sticks they share, and a chain wastes
nothing but where a rule forbids the exact length. Which run comes next, what goes between, and when a chain
ends is decided by reduced cost: what the stick and the run cost less what the prices say their pieces are
worth. With prices that prove a bound the reduced costs of all steps add up to the plan's distance from it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from solver.laps.bounds.pricing import Fills, PriceList
from solver.laps.choices import Choice, LapChoices, Supply, Turns
from solver.laps.model import Floats, Ints, RunCandidate
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, held_first, held_last
from solver.laps.templates import Kinds


@dataclass(frozen=True, slots=True)
class Offer:
    """Ways to fill a stick up to its right end.

    For each, in arrays of shape (ways,): the kind of stick, the size of its fill in cells, the length in ticks of first
    piece that is left, the reduced cost so far.
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
    run: tuple[RunCandidate, int] | None = None
    start: HeldPiece | None = None


class Construction:
    """Lays every run of a partial plan that has no place, and cuts every piece that waits."""

    def __init__(self, partial: PartialPlan, prices: PriceList, dice: np.random.Generator, sizes: int = 64) -> None:
        """``sizes``: at most so many sizes of fills are tried for each stick, drawn by lot."""
        self._partial, self._prices, self._dice, self._most_sizes = partial, prices, dice, sizes
        self._lap_choices = LapChoices(partial)
        model = partial.model
        self._cell, self._width, self._taken = model.cell, model.width, model.problem.taken
        self._sizes = [-(-self._taken(model.problem.pieces[i].length) // self._cell) for i in model.plain]
        self._noise_unit = max(stick.cost for stick in model.problem.sticks) or 1
        self._cheapest = self._cheapest_by_run()
        self._supply, self._turns = Supply(partial), Turns(partial)

    def lay(self, values: Floats, noise: float) -> None:
        """Complete the plan.

        ``values`` price the plain pieces, shape (plain pieces,); ``noise`` is its share of the dearest stick's cost.
        """
        self._values, self._noise = values, noise * self._noise_unit
        self._fill_again()
        since = len(self._partial.sticks)
        self._supply.sparing.clear()
        self._turns.begin()
        lost: list[HeldPiece] = []
        while self._partial.ends or self._partial.starts or self._turns.next_runs():
            self._lay_runs(lost)
            self._begin_sticks_for_starts(lost)
        for held in lost:
            piece = self._partial.model.problem.pieces[-1 - held.run]
            (self._partial.ends if piece.left else self._partial.starts).append(held)
        pack(self._partial, self._sizes)
        self._partial.shrink(since)

    def _lay_runs(self, lost: list[HeldPiece]) -> None:
        pending: HeldPiece | None = None
        while True:
            if pending is None and self._partial.ends:
                pending = self._partial.ends.pop(int(self._dice.integers(len(self._partial.ends))))
            runs = self._turns.next_runs()
            if not runs and pending is None:
                return
            pending = self._advance(pending, runs, lost)

    def _advance(self, pending: HeldPiece | None, runs: list[int], lost: list[HeldPiece]) -> HeldPiece | None:
        """Take one step; return the last piece that then waits for a stick."""
        alone = self._without_first(runs)
        if alone is not None:
            self._partial.place(alone, alone.low)
            if alone.template.last:
                self._partial.ends.append(held_last(alone, alone.low))
            return pending
        step = self._best_step(pending, runs)
        if step is not None:
            return self._take(pending, step)
        self._give_up(pending, runs, lost)
        return None

    def _give_up(self, held: HeldPiece | None, runs: list[int], lost: list[HeldPiece]) -> None:
        """Leave the held piece's run, or the first that waits, to be laid from sticks without limit; then uncut."""
        if held is not None and held.run < 0:
            lost.append(held)
            return
        run = runs[0] if held is None else held.run
        if run in self._supply.sparing:
            self._partial.give_up(run)
        else:
            self._supply.sparing.add(run)
            self._partial.lift([run], [])
            self._turns.again(run)
        self._fill_again()

    def _without_first(self, runs: list[int]) -> RunCandidate | None:
        """Return a run's candidate that needs no cut first piece, if there is one among the next."""
        for run in runs:
            for choice in self._lap_choices.choices(run, self._supply.enough):
                if not choice.candidate.template.first:
                    return choice.candidate
        return None

    def _take(self, pending: HeldPiece | None, step: Step) -> HeldPiece | None:
        plain = self._fills.trace(step.size)
        right = step.start
        if step.run is not None:
            candidate, a = step.run
            right = held_first(candidate, a)
        elif right is not None:
            self._partial.starts.remove(right)
        self._partial.add(OpenStick(step.kind, left=pending, plain=tuple(sorted(plain)), right=right))
        if plain:
            self._fill_again()
        if step.run is None:
            return None
        self._partial.place(*step.run)
        return held_last(candidate, a) if candidate.template.last else None

    def _fill_again(self) -> None:
        self._fills = Fills(self._sizes, self._values, self._partial.left, self._width, exact=True)
        self._most = np.maximum.accumulate(self._fills.worth)
        self._reached = np.flatnonzero(np.isfinite(self._fills.worth))

    def _best_step(self, pending: HeldPiece | None, runs: list[int]) -> Step | None:
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

    def _beginning(self, pending: HeldPiece | None, runs: list[int]) -> Iterator[Step]:
        """Yield the best way to begin each run in each candidate, in the pending piece's stick or a new one."""
        worth = self._prices.one_last(pending.kinds, pending.length) if pending else 0.0
        offers: dict[Kinds, Offer] = {}
        for run in runs:
            for choice in self._lap_choices.choices(run, self._supply.enough):
                first = choice.candidate.template.first
                if not first:
                    continue
                if first not in offers:
                    offers[first] = self._offer(first, pending, worth)
                if (step := self._best(choice, offers[first])) is not None:
                    yield step

    def _finishing(self, pending: HeldPiece) -> Iterator[Step]:
        """Yield what ends a chain: the best fill for each kind of stick, alone or up to a first piece that waits."""
        worth = self._prices.one_last(pending.kinds, pending.length)
        for kind in self._kinds(pending.kinds):
            room = self._partial.model.problem.sticks[kind].length - pending.length
            if (step := self._closing(kind, room, worth)) is not None:
                yield step
            for start in self._partial.starts:
                if kind in start.kinds:
                    both = worth + self._prices.one_first(start.kinds, start.length)
                    rest = room - self._taken(start.length)
                    if (step := self._closing(kind, rest, both, start)) is not None:
                        yield step

    def _closing(self, kind: int, room: int, worth: float, start: HeldPiece | None = None) -> Step | None:
        """``room`` is what is left beyond the held pieces and the cuts between them."""
        if room < 0:
            return None
        cells = room // self._cell
        cost = self._prices.cost[kind] - worth - float(self._most[cells]) + self._noise * self._dice.random()
        return Step(cost, kind, int(self._fills.worth[: cells + 1].argmax()), start=start)

    def _offer(self, first: Kinds, pending: HeldPiece | None, worth: float) -> Offer:
        reached = self._some_sizes()
        parts = []
        for kind in self._kinds(first if pending is None else first & pending.kinds):
            room = self._partial.model.problem.sticks[kind].length - (self._taken(pending.length) if pending else 0)
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
        candidate = choice.candidate
        lengths, none = choice.longest_up_to(offer.lengths)
        costs = offer.costs + (self._prices.wholes(candidate) - self._cheapest[candidate.run])
        if candidate.template.last:
            costs = costs + self._prices.last(candidate.template.last, candidate.template.rest - lengths)
        if self._noise:
            costs = costs + self._noise * self._dice.random(len(costs))
        costs[none] = np.inf
        if self._supply.limited:
            costs[candidate.template.rest - lengths > self._supply.longest_last(candidate)[offer.kinds]] = np.inf
        at = int(costs.argmin())
        if costs[at] == np.inf:
            return None
        return Step(float(costs[at]), int(offer.kinds[at]), int(offer.sizes[at]), (candidate, int(lengths[at])))

    def _begin_sticks_for_starts(self, lost: list[HeldPiece]) -> None:
        """Cut a stick for each first piece that no chain has come to."""
        for start in list(self._partial.starts):
            worth = self._prices.one_first(start.kinds, start.length)
            sticks = self._partial.model.problem.sticks
            steps = (
                step
                for kind in self._kinds(start.kinds)
                if (step := self._closing(kind, sticks[kind].length - start.length, worth, start)) is not None
            )
            if start not in self._partial.starts:
                continue
            best = self._cheapest_step(iter(steps))
            if best is not None:
                self._take(None, best)
            else:
                self._partial.starts.remove(start)
                self._give_up(start, [], lost)

    def _kinds(self, kinds: Kinds) -> list[int]:
        return [k for k in sorted(kinds) if self._partial.may_use(k)]

    def _cheapest_by_run(self) -> list[float]:
        model, known = self._partial.model, dict[int, float]()
        for run, alike in enumerate(model.alike):
            if alike not in known:
                costs = (self._prices.cheapest(candidate, model.cell) for candidate in model.candidates[run])
                known[alike] = min(costs, default=0.0)
        return [known[alike] for alike in model.alike]


def pack(partial: PartialPlan, sizes: Sequence[int]) -> None:
    """Cut what is left of the plain pieces, always the stick that costs least for what it holds.

    Of fills of one size the longest pieces go first (subset sums, longest first: a common heuristic).
    """
    top = max(sizes, default=1)
    values = np.array([size * (1.0 + 1e-4 * size / top) for size in sizes])
    while any(partial.left):
        fills = Fills(sizes, values, partial.left, partial.model.width, exact=True)
        best = _best_stick(partial, fills)
        if best is None:
            return
        kind, size = best
        partial.add(OpenStick(kind, plain=tuple(sorted(fills.trace(size)))))


def _best_stick(partial: PartialPlan, fills: Fills) -> tuple[int, int] | None:
    best, least = None, np.inf
    for kind, stick in enumerate(partial.model.problem.sticks):
        if partial.may_use(kind):
            cells = partial.model.cells(stick.length)
            size = int(fills.worth[: cells + 1].argmax())
            if size and stick.cost / size < least:
                best, least = (kind, size), stick.cost / size
    return best
