"""What one material's plan is chosen from: its patterns, plans to begin with, and what no plan undercuts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from solver.cutting.problem import Cutting, Pattern
from solver.watch import Watch
from solver.weekly.dated import DatedProblem
from solver.weekly.day_cutting import DayCutting, Uses
from solver.weekly.pieces import Signature


@dataclass(frozen=True, slots=True)
class Pool:
    """One material's choice: its problem, the patterns to choose from, plans to begin with, what was announced.

    The first of ``starts`` carries nothing. ``names`` says what each supply is called in ``announced``. ``relaxed`` is
    the answer to the problem as if all were cut on one day, which no plan undercuts. ``cost_scale`` makes costs of
    different materials whole numbers of one unit; ``money`` tells them from lengths. ``complete`` says whether no
    other pattern is allowed.
    """

    problem: DatedProblem
    patterns: Sequence[Pattern]
    starts: Sequence[Mapping[Pattern, int]]
    relaxed: Cutting
    announced: Mapping[Signature, int]
    names: Sequence[str]
    cost_scale: int
    money: bool
    complete: bool

    @property
    def floor(self) -> int:
        """What no plan that cuts everything costs less than, in cost steps."""
        return self.relaxed.bound if self.relaxed.least_uncut and not any(self.relaxed.uncut) else 0

    def signed(self, pattern: Pattern) -> Signature:
        """Return what a pattern is known by in an announced plan."""
        return self.names[pattern.stick], pattern.pieces

    def with_patterns(self, more: Iterable[Pattern]) -> Pool:
        """Return the pool with more patterns to choose from."""
        return replace(self, patterns=list(dict.fromkeys((*self.patterns, *more))))

    def lightened(self, uses: Mapping[Pattern, int], watch: Watch) -> Uses:
        """Return a plan as good that carries no offcut which saves nothing, and cuts no piece too often."""
        exact = self.problem.trimmed(uses)
        lighter = DayCutting(self.problem, watch).lightened(exact)
        return lighter if self._carried(lighter) < self._carried(exact) else Counter(exact)

    def familiar(self, uses: Mapping[Pattern, int], watch: Watch) -> Uses:
        """Return a plan as good that keeps to what was announced of each day, as far as that costs nothing."""
        signed = {self.signed(pattern): pattern for pattern in self.patterns}
        known = {signed[name]: count for name, count in self.announced.items() if name in signed}
        return DayCutting(self.problem, watch).familiar(uses, known)

    def _carried(self, uses: Mapping[Pattern, int]) -> int:
        return sum(self.problem.carried(pattern) * times for pattern, times in uses.items())
