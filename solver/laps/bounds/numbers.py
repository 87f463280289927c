"""The cheapest numbers of sticks that nothing rules out: what they cost, no plan undercuts.

Rows of values rule numbers out (``dual_values``), and so does length: what is wanted must come out of the sticks.
Numbers that a search has shown to do for no plan are passed over too.
"""

from __future__ import annotations

from solver.buying.choice import Choice, Kinds
from solver.buying.terms import Terms
from solver.cutting.bounds import Certificate
from solver.cutting.count_bounds import Numbers, rules_out
from solver.cutting.problem import MOST_SETS
from solver.cutting.stick_counts import StickCounts
from solver.laps.bounds.dual_values import DualValues, NumberRow
from solver.laps.model import LapModel
from solver.watch import Watch

FINE = 2**30
"""Parts that the dearest stick is cut into where only length is counted."""


class Purchases:
    """Numbers of sticks by the bill, the cheapest purchase first; to ``StickNumbers`` what ``StickCounts`` is."""

    def __init__(self, model: LapModel, terms: Terms, pieces: int) -> None:
        """No plan cuts more sticks than ``pieces``."""
        sticks, lengths = model.problem.sticks, len(terms.lengths)
        self._kinds = Kinds(
            tuple(kind if kind < lengths else None for kind in range(len(sticks))),
            tuple(0 if kind < lengths else stick.limit or 0 for kind, stick in enumerate(sticks)),
        )
        self._choice, self._lengths = Choice(), lengths
        self._part = self._choice.add(terms, self._kinds, pieces)
        self._given: Numbers | None = None

    def add(self, cut: Certificate) -> None:
        """Rule out sticks that are together worth less than everything."""
        ruled_out = self._given is not None and rules_out(cut, self._given)
        self._part.learn(cut, self._given[: self._lengths] if self._given and ruled_out else None)

    def pass_over(self, numbers: Numbers) -> None:
        """Rule out so many sticks and fewer."""
        self._part.exclude(numbers[: self._lengths])

    def cheapest(self, below: int, watch: Watch) -> tuple[int, Numbers | None]:
        """Return a bound on the bill of all numbers not ruled out, and those of the cheapest bill below this."""
        reached, found = self._choice.cheapest(below, watch)
        self._given = None if found is None else self._kinds.numbers(found[0])
        return reached, self._given


class StickNumbers:
    """Numbers of sticks under a growing list of rows."""

    def __init__(self, model: LapModel, below: int, watch: Watch, *, choose: bool = True) -> None:
        """Numbers that cost ``below`` or more are not looked at; without ``choose`` they are listed or given up."""
        self._choose = choose
        self._model, self._below, self._watch = model, below, watch
        self._rows: list[tuple[NumberRow, DualValues | None]] = []
        self._settled: list[Numbers] = []
        self._counts: StickCounts | Purchases
        self._cheapest: Numbers | None = None
        self._least, self._stale = 0, True
        self._begin()
        self.add(length_row(model), None)

    def _begin(self) -> None:
        self._counts = self._every()
        for row, _ in self._rows:
            self._counts.add(_cut(row))
        for numbers in self._settled:
            self._counts.pass_over(numbers)

    def _every(self) -> StickCounts | Purchases:
        """Return all numbers, none ruled out."""
        problem, most = self._model.problem, most_pieces(self._model)
        if problem.terms is not None:
            return Purchases(self._model, problem.terms, most)
        limits = (most if stick.limit is None else min(most, stick.limit) for stick in problem.sticks)
        affordable = ((self._below - 1) // stick.cost if stick.cost else most for stick in problem.sticks)
        ranges = tuple(min(pair) for pair in zip(limits, affordable, strict=True))
        return StickCounts([stick.cost for stick in problem.sticks], ranges, choose=self._choose)

    def look_below(self, cost: int) -> None:
        """Look at numbers that cost less than this alone."""
        if cost > self._below:
            self._below = cost
            self._begin()
            self._stale = True
        elif cost < self._below:
            self._below, self._stale = cost, self._stale or self._cheapest is None

    def add(self, row: NumberRow, values: DualValues | None) -> None:
        """Rule out what these values rule out; None where it is length alone."""
        self._rows.append((row, values))
        self._counts.add(_cut(row))
        self._stale = self._stale or self._cheapest is None or row.lacking(self._cheapest) > 0

    def settle(self, numbers: Numbers) -> None:
        """Pass these numbers over: a search has shown that no plan has them."""
        self._settled.append(numbers)
        self._counts.pass_over(numbers)
        self._stale = True

    def allows(self, numbers: Numbers) -> bool:
        """Whether no row rules these numbers out."""
        return all(row.lacking(numbers) <= 0 for row, _ in self._rows)

    def resting_on(self) -> list[DualValues] | None:
        """Return few of the values that rule out, with length, all numbers below the bound; None where they don't."""
        if self._settled:
            return None
        chosen = StickNumbers(self._model, self.least, endless(), choose=False)
        rested: list[DualValues] = []
        while (numbers := chosen.cheapest) is not None and len(rested) < MOST_SETS:
            row, values = max(self._rows, key=lambda entry: entry[0].lacking(numbers) / max(1, entry[0].worth))
            if values is None or row.lacking(numbers) <= 0:
                return None
            chosen.add(row, values)
            rested.append(values)
        return rested if chosen.least >= self.least else None

    @property
    def searched(self) -> bool:
        """Whether the bound rests on a search as well."""
        return bool(self._settled)

    @property
    def least(self) -> int:
        """No plan of interest costs less."""
        self._look()
        return self._least

    @property
    def cheapest(self) -> Numbers | None:
        """The cheapest numbers that nothing rules out; None where there are none, or it was not decided."""
        self._look()
        return self._cheapest

    def _look(self) -> None:
        if self._stale:
            reached, self._cheapest = self._counts.cheapest(self._below, self._watch)
            self._least, self._stale = max(self._least, reached), False


def endless() -> Watch:
    """Return a watch that never stops, for what takes little: putting down what is known already."""
    return Watch(lambda: 0.0, 1.0)


def _cut(row: NumberRow) -> Certificate:
    return Certificate(row.scale, (), row.yields, row.worth, 0)


def most_pieces(model: LapModel) -> int:
    """Return how many pieces any plan has at the most."""
    runs = 0
    for candidates, free in zip(model.candidates, model.sums, strict=True):
        parts = [each.parts for each in free] or [candidate.template.parts for candidate in candidates]
        runs += max(parts, default=0)
    return sum(piece.demand for piece in model.problem.pieces) + runs


def length_row(model: LapModel) -> NumberRow:
    """Return what length says of the numbers: all pieces, each with its cut, come out of sticks with one cut more."""
    problem = model.problem
    longest = max(problem.taken(stick.length) for stick in problem.sticks)
    fine = FINE // longest + 1
    yields = tuple(fine * problem.taken(stick.length) for stick in problem.sticks)
    dearest = max(stick.cost for stick in problem.sticks)
    return NumberRow(yields, fine * _least_length(model), max(1, fine * longest // max(1, dearest)))


def _least_length(model: LapModel) -> int:
    """Return what all pieces and the cuts between them take up at the least, in ticks."""
    problem = model.problem
    pieces = sum(problem.taken(piece.length) * piece.demand for piece in problem.pieces)
    runs = 0
    for candidates, free in zip(model.candidates, model.sums, strict=True):
        templates = [candidate.template for candidate in candidates]
        sums = [problem.taken(each.length, each.parts) for each in free] or [
            problem.taken(template.rest + sum(problem.sticks[k].length for k in template.wholes), template.parts)
            for template in templates
        ]
        runs += min(sums, default=0)
    return pieces + runs
