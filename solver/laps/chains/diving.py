"""Whole plans by diving into a linear program over chains.

With chains as columns the program has a row for each plain piece and each class of runs, and none for slots: it is
solved in hundredths of seconds, and what shares a chain fits exactly. It is no bound, for long chains are left out.
Plans are made of it as the cutting engine makes them: what is nearly whole is fixed, and what is left is solved and
priced again (Joncour et al. 2010; Sadykov et al. 2019). Runs are laid on their walls as they are fixed, and where a
lap would break a rule with those laid no further chain may split a run.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from math import inf

import numpy as np

from solver.categories import LapEnds
from solver.laps.bounds.columns import NONE, RunClasses, RunColumn, StickColumn, cost_of
from solver.laps.bounds.master import DEAREST
from solver.laps.chains.placing import Placing
from solver.laps.chains.pricing import Chain, ChainPricer, Values
from solver.laps.model import Floats, LapModel
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, empty_plan, held_first, held_last
from solver.lp.glop import NEARLY, Column, LinearProgram, solved_anew
from solver.watch import Watch

ROUNDS = 200
"""Rounds of pricing at the most before a dive."""

ROUNDS_DIVING = 6
"""Rounds of pricing at the most after each step of it."""

MISSING = 10 * DEAREST
"""What it costs to leave a piece or a run out, in units of the linear program."""

SURELY = 0.7
"""A chain of which there is so much is fixed beside the first."""

LOTS = 0.4
"""How much a lot weighs beside the amount of a chain, in all dives but the first."""


def dived_into(model: LapModel) -> bool:
    """Whether chains fit: on the exact grid, with factory ends, where sticks are not billed together."""
    problem = model.problem
    return model.cell == model.divisor and problem.rules.ends is LapEnds.FACTORY and problem.terms is None


class ChainMaster:
    """The linear program over chains, and the dives into it."""

    def __init__(self, model: LapModel, classes: RunClasses, watch: Watch) -> None:
        """``model`` must be one that ``dived_into`` says yes to."""
        self._model, self._classes, self._watch = model, classes, watch
        self._unit = max(stick.cost for stick in model.problem.sticks) / DEAREST
        self._pricer = ChainPricer(model, classes)
        self._placing = Placing(model, self._pricer.families)
        self._chains: dict[Chain, Column] = {}
        self._costs: list[int] = []
        self._of_class: dict[int, list[Chain]] = defaultdict(list)
        self._barred: set[Chain] = set()
        self._value = 0.0
        self._begin()
        self._write()

    def _begin(self) -> None:
        """Take everything back."""
        self._partial = empty_plan(self._model)
        self._placing.begin(self._partial)
        held = [each.run for each in (*self._partial.starts, *self._partial.ends)]
        self._runs_left = [
            n if piece is None else held.count(-1 - piece)
            for n, piece in zip(self._classes.demand, self._classes.pieces, strict=True)
        ]

    def _write(self) -> None:
        """Write the program down with all chains met."""
        self._program = LinearProgram()
        self._plain = [self._program.row(n) for n in self._partial.left]
        self._runs = [self._program.row(n, n) for n in self._runs_left]
        self._sticks = [self._program.row(-inf, self._sticks_left(k)) for k in range(len(self._model.problem.sticks))]
        for row in (*self._plain, *self._runs):
            row.SetCoefficient(self._program.column(MISSING), 1)
        self._before = self._program.columns
        chains, self._chains, self._costs = list(self._chains), {}, []
        self._of_class.clear()
        for chain in chains:
            self._add(chain)
        for chain in self._barred:
            self._chains[chain].SetUb(0.0)

    def _sticks_left(self, kind: int) -> float:
        limit = self._partial.limit(kind)
        return inf if limit is None else limit - self._partial.used[kind]

    def _add(self, chain: Chain) -> bool:
        """Take a chain in; return whether it is new."""
        if chain in self._chains:
            return False
        cost = sum(cost_of(self._model, column) for column in chain.columns)
        variable = self._chains[chain] = self._program.column(cost / self._unit)
        self._costs.append(cost)
        for rows, counts in ((self._plain, chain.plain), (self._runs, chain.classes), (self._sticks, chain.sticks)):
            for place, n in counts.items():
                rows[place].SetCoefficient(variable, n)
        for alike in chain.classes:
            self._of_class[alike].append(chain)
        return True

    def columns(self) -> list[StickColumn | RunColumn]:
        """Solve the whole, and return the columns that all chains are made of."""
        self._amounts(ROUNDS)
        return list(dict.fromkeys(column for chain in self._chains for column in chain.columns))

    def dive(self, seed: int, most: int) -> PartialPlan | None:
        """Return a plan in which everything is laid and cut; None if it will cost more than ``most``.

        ``seed`` says what is fixed first of what is nearly equal.
        """
        dice = np.random.default_rng(seed)
        rounds = ROUNDS
        try:
            while any(self._partial.left) or any(self._runs_left):
                amounts = self._amounts(rounds)
                spent = self._partial.objective + self._value * self._unit
                if amounts is None or spent > most + NEARLY * self._unit:
                    return None
                if not self._fix(amounts, dice if seed else None):
                    return None
                rounds = ROUNDS_DIVING
            self._partial.shrink(0)
            return self._partial if self._partial.objective <= most else None
        finally:
            self._begin()
            for chain in self._barred:
                self._chains[chain].SetUb(inf)
            self._barred.clear()

    def _amounts(self, rounds: int) -> Floats | None:
        """Return how much of each chain there is in the cheapest way to do what is left.

        None where the watch stops it or GLOP fails.
        """
        for row, n in zip(self._plain, self._partial.left, strict=True):
            row.SetLb(n)
        for row, n in zip(self._runs, self._runs_left, strict=True):
            row.SetBounds(n, n)
        for kind, row in enumerate(self._sticks):
            row.SetUb(self._sticks_left(kind))
        for _ in range(rounds):
            if self._watch.stopped or not solved_anew(self._solved, self._write):
                return None
            self._value = self._program.value
            amounts, values = self._solution()
            chains = self._pricer.price(values, self._partial.left, self._unit, self._placing.open_at, NEARLY)
            if not sum([self._add(chain) for chain in chains if self._fits(chain)]):
                return amounts
        return amounts

    def _solved(self) -> bool:
        """Solve the program as it stands now: one written anew is another one."""
        return self._program.solved()

    def _solution(self) -> tuple[Floats, Values]:
        """Return the amounts of the chains in the last solution, and what it says that things are worth."""
        found = self._program.solution()
        plain, runs, sticks = np.split(np.array(found.dual_value), np.cumsum([len(self._plain), len(self._runs)]))
        costs = np.array([stick.cost for stick in self._model.problem.sticks]) / self._unit
        values = Values(np.maximum(0.0, plain), runs, costs - np.minimum(0.0, sticks))
        return np.array(found.variable_value)[self._before :], values

    def _fix(self, amounts: Floats, dice: np.random.Generator | None) -> bool:
        """Fix what is whole, or else what is nearest to it; return whether anything was."""
        chains = list(self._chains)
        some = np.flatnonzero(amounts > NEARLY)
        # Once a run is split somewhere, the next one is too near.
        times = [(n, 1 if chains[n].splits else int(amounts[n] + NEARLY)) for n in some.tolist()]
        fixed = [self._take(chains[n]) for n, count in times if amounts[n] > 1 - NEARLY for _ in range(count)]
        if any(fixed):
            return True
        score = amounts[some] + (0.0 if dice is None else LOTS * dice.random(len(some)))
        taken = False
        for n in some[np.argsort(-score, kind="stable")].tolist():
            if not taken or amounts[n] >= SURELY:
                taken = self._take(chains[n]) or taken
        return taken

    def _take(self, chain: Chain) -> bool:
        """Lay and cut a chain, unless it is barred by now or more than is left."""
        if chain in self._barred or not self._fits(chain):
            return False
        ends = [self._lay(split) for split in chain.splits]
        held = ends.pop(0)[1] if ends and ends[0][0] is None else None
        for cut in chain.cuts:
            first, last = ends.pop(0) if cut.first != NONE else (None, None)
            plain = tuple(sorted((Counter(cut.plain) & Counter(dict(enumerate(self._partial.left)))).elements()))
            if held or plain or first:
                self._partial.add(OpenStick(cut.kind, left=held, plain=plain, right=first))
            held = last
        self._bar(chain.classes)
        return True

    def _fits(self, chain: Chain) -> bool:
        """Whether a chain has no more runs than wait to be laid, and no more sticks than there are."""
        runs = all(self._runs_left[alike] >= n for alike, n in chain.classes.items())
        return runs and all(self._sticks_left(kind) >= n for kind, n in chain.sticks.items())

    def _lay(self, split: RunColumn) -> tuple[HeldPiece | None, HeldPiece | None]:
        """Lay a run by a split, or take up a piece that needs a factory end; return its first and last piece."""
        self._runs_left[split.alike] -= 1
        piece = self._classes.pieces[split.alike]
        if piece is not None:
            waiting = self._partial.starts if split.first != NONE else self._partial.ends
            held = next(each for each in waiting if each.run == -1 - piece)
            waiting.remove(held)
            return (held, None) if split.first != NONE else (None, held)
        (candidate, a), changed = self._placing.lay(split, *self._pricer.found_at[split])
        self._bar(changed)
        template = candidate.template
        first, last = held_first(candidate, a), held_last(candidate, a)
        return first if template.first else None, last if template.last else None

    def _bar(self, classes: Iterable[int]) -> None:
        """Bar the chains whose splits have no place any more, and let those in that have one again."""
        for chain in dict.fromkeys(chain for alike in sorted(classes) for chain in self._of_class[alike]):
            barred = not (self._fits(chain) and all(self._may_be_laid(split) for split in chain.splits))
            if barred != (chain in self._barred):
                self._chains[chain].SetUb(0.0 if barred else inf)
                (self._barred.add if barred else self._barred.discard)(chain)

    def _may_be_laid(self, split: RunColumn) -> bool:
        number, place = self._pricer.found_at[split]
        return bool(self._placing.open_at[number][place])
