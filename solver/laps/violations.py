"""Which rules can't all be kept: how few a wall's laps must break, by CP-SAT, and where laps then may lie.

Exact, one wall at a time. The cutting plays no part here: a rule may be broken only where no plan at any cost keeps
them all, and any length can be cut from enough sticks.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass

from solver.categories import LapEnds
from solver.laps.free_ends import candidate_in
from solver.laps.model import LapModel, RunCandidate, distances, reaches
from solver.laps.state import PartialPlan
from solver.laps.templates import FreeSum, levels
from solver.lp.cpsat import counted
from solver.lp.lazily import cp_model
from solver.watch import Watch

MOST_CANDIDATES = 600
"""A wall with more candidates than this is not examined."""

MOST_WORK = 1.0
"""CP-SAT's deterministic seconds for one wall."""


UNKNOWN = 2**31
"""More broken rules than any wall has."""


@dataclass(frozen=True, slots=True)
class MinViolations:
    """``at_least`` rules are broken whatever is done, ``at_most`` in the best found, where runs are ``laid`` so."""

    at_least: int
    at_most: int
    laid: tuple[tuple[RunCandidate, int], ...] | None


def min_violations(model: LapModel, wall: Sequence[int], watch: Watch, *, own_rules: bool = True) -> MinViolations:
    """Return how few rules the runs of a wall can break; without ``own_rules`` only rules between courses count."""
    own = sum(min_own_violations(model, run) for run in wall) if own_rules else 0
    free = model.problem.rules.ends is not LapEnds.FACTORY
    ways = [model.sums[run] if free else model.candidates[run] for run in wall]
    if watch.stopped or sum(map(len, ways)) > MOST_CANDIDATES or not all(ways) or not (model.complete or not free):
        return MinViolations(own, UNKNOWN, None)
    program = (FreeWall if free else FactoryWall)(cp_model.CpModel(), model, wall, own_rules=own_rules)
    return program.solve(watch)


def min_own_violations(model: LapModel, run: int) -> int:
    """Return how few rules that concern it alone a run can break; where any piece may be cut, none is known to be."""
    if model.problem.rules.ends is not LapEnds.FACTORY:
        return 0
    cut = (
        candidate.broken + depth
        for candidate in model.candidates[run]
        for _, _, depth in levels(candidate.low, candidate.high, candidate.holes)
    )
    return min(cut, default=0)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a lap lies, and between which places."""

    at: cp_model.IntVar
    low: int
    high: int


class WallProgram(ABC):
    """One wall's part of a program: each run is laid in one of its ways, ``chosen``, and what is broken is counted."""

    def __init__(
        self, program: cp_model.CpModel, model: LapModel, wall: Sequence[int], *, own_rules: bool = True
    ) -> None:
        self._model, self._wall, self._program = model, wall, program
        self._broken: list[cp_model.IntVar] = []
        self._constant = 0
        self.chosen = {run: [self._program.new_bool_var("") for _ in self._laps_of(run)] for run in wall}
        self._laps = {run: self._places(run) for run in wall}
        for run in wall:
            self._program.add_exactly_one(self.chosen[run])
            self._lay(run, own_rules=own_rules)
        for run in wall:
            self._beside(run)

    @property
    def broken(self) -> cp_model.LinearExprT:
        """How many rules are broken."""
        return sum(self._broken) + self._constant

    @abstractmethod
    def _laps_of(self, run: int) -> list[int]:
        """Return how many laps a run has in each of its ways."""

    @abstractmethod
    def _places(self, run: int) -> list[_Place]:
        """Return where the laps of a run may lie, as many as it has in any way."""

    @abstractmethod
    def _lay(self, run: int, *, own_rules: bool) -> None:
        """State what each way means for the laps, and which of the run's own rules it breaks."""

    @abstractmethod
    def laid(self, solver: cp_model.CpSolver, run: int) -> tuple[RunCandidate, int] | None:
        """Return how a run is laid, None if no stick gives it so."""

    def _keep_out(self, at: cp_model.LinearExprT, low: int, high: int, chosen: cp_model.IntVar) -> None:
        """Count a broken rule if the place lies between two others, where the way is chosen."""
        before, beyond, broken = (self._program.new_bool_var("") for _ in range(3))
        self._program.add(at <= low).only_enforce_if(before)
        self._program.add(at >= high).only_enforce_if(beyond)
        self._program.add_bool_or(before, beyond, broken, chosen.Not())
        self._broken.append(broken)

    def _beside(self, run: int) -> None:
        for other, courses in self._model.near[run]:
            if other > run and other in self._laps:
                for needed in distances(self._model.problem.rules, courses):
                    for n, one in enumerate(self._laps[run]):
                        for m, two in enumerate(self._laps[other]):
                            self._apart(one, two, needed, [*self._missing(run, n), *self._missing(other, m)])

    @property
    def lap_count(self) -> cp_model.LinearExprT:
        """How many laps the runs have together."""
        ways = ((self._laps_of(run), chosen) for run, chosen in self.chosen.items())
        return sum(laps * bit for found, chosen in ways for laps, bit in zip(found, chosen, strict=True))

    def _missing(self, run: int, lap: int) -> list[cp_model.IntVar]:
        """Return the choices in which a run has no such lap."""
        ways = zip(self._laps_of(run), self.chosen[run], strict=True)
        return [chosen for laps, chosen in ways if laps <= lap]

    def _apart(self, one: _Place, two: _Place, needed: int, missing: list[cp_model.IntVar]) -> None:
        if one.low >= two.high + needed or two.low >= one.high + needed:
            return
        if one.high < two.low + needed and two.high < one.low + needed and not missing:
            self._constant += 1
            return
        after, before, broken = (self._program.new_bool_var("") for _ in range(3))
        self._program.add(one.at >= two.at + needed).only_enforce_if(after)
        self._program.add(two.at >= one.at + needed).only_enforce_if(before)
        self._program.add_bool_or(after, before, broken, *missing)
        self._broken.append(broken)

    def solve(self, watch: Watch) -> MinViolations:
        """Search until the fewest are proven, or as far as the work allows."""
        solver = counted(MOST_WORK, watch)
        self._program.minimize(self.broken)
        status = solver.Solve(self._program)
        bound = max(0, round(solver.BestObjectiveBound()))
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return MinViolations(self._constant, UNKNOWN, None)
        laid = [self.laid(solver, run) for run in self._wall]
        known = tuple(entry for entry in laid if entry is not None)
        return MinViolations(bound, round(solver.ObjectiveValue()), known if len(known) == len(laid) else None)


class FactoryWall(WallProgram):
    """The ways are candidates; where its first piece ends says where all laps of a run lie.

    ``firsts`` are the lengths of the runs' first pieces.
    """

    def __init__(
        self, program: cp_model.CpModel, model: LapModel, wall: Sequence[int], *, own_rules: bool = True
    ) -> None:
        self.firsts: dict[int, cp_model.IntVar] = {}
        super().__init__(program, model, wall, own_rules=own_rules)

    def _laps_of(self, run: int) -> list[int]:
        return [len(candidate.offsets) for candidate in self._model.candidates[run]]

    def _places(self, run: int) -> list[_Place]:
        candidates = self._model.candidates[run]
        ranges = [
            [(y.offsets[n] + y.low, y.offsets[n] + y.high) for y in candidates if n < len(y.offsets)]
            for n in range(max(self._laps_of(run)))
        ]
        spans = [(min(low for low, _ in r), max(high for _, high in r)) for r in ranges]
        return [_Place(self._program.new_int_var(low, high, ""), low, high) for low, high in spans]

    def _lay(self, run: int, *, own_rules: bool) -> None:
        candidates = self._model.candidates[run]
        a = self._program.new_int_var(min(y.low for y in candidates), max(y.high for y in candidates), "")
        self.firsts[run] = a
        for candidate, chosen in zip(candidates, self.chosen[run], strict=True):
            self._program.add(a >= candidate.low).only_enforce_if(chosen)
            self._program.add(a <= candidate.high).only_enforce_if(chosen)
            for place, offset in zip(self._laps[run], candidate.offsets, strict=False):
                self._program.add(place.at == a + offset).only_enforce_if(chosen)
            if own_rules:
                self._broken += [chosen] * candidate.broken
                for start, end in candidate.holes:
                    if start < candidate.high and end > candidate.low and end - start > 1:
                        self._keep_out(a, start, end, chosen)

    def laid(self, solver: cp_model.CpSolver, run: int) -> tuple[RunCandidate, int]:
        """Return the candidate chosen, and the length of its first piece."""
        chosen = next(n for n, c in enumerate(self.chosen[run]) if solver.BooleanValue(c))
        return self._model.candidates[run][chosen], solver.Value(self.firsts[run])


class FreeWall(WallProgram):
    """The ways are numbers of pieces, with a lap and an end gap; every piece of a run may be cut.

    ``lengths`` are those of a run's pieces from left to right, 0 where it has no such piece.
    """

    def __init__(
        self, program: cp_model.CpModel, model: LapModel, wall: Sequence[int], *, own_rules: bool = True
    ) -> None:
        self.lengths: dict[int, list[cp_model.IntVar]] = {}
        super().__init__(program, model, wall, own_rules=own_rules)

    def _laps_of(self, run: int) -> list[int]:
        return [each.parts - 1 for each in self._model.sums[run]]

    def _places(self, run: int) -> list[_Place]:
        sums = self._model.sums[run]
        low = min(self._left_end(run, each) - max(0, each.asked.lap) for each in sums)
        high = max(self._right_end(run, each) for each in sums)
        return [_Place(self._program.new_int_var(low, high, ""), low, high) for _ in range(max(self._laps_of(run)))]

    def _left_end(self, run: int, each: FreeSum) -> int:
        these = self._model.problem.runs[run]
        return each.asked.starts_at(these.start, these.left)

    def _right_end(self, run: int, each: FreeSum) -> int:
        return self._left_end(run, each) + each.length - each.asked.lap * (each.parts - 1)

    def _lay(self, run: int, *, own_rules: bool) -> None:
        shortest, keep_clear = self._model.problem.rules.shortest, self._model.problem.runs[run].keep_clear
        most, longest = (max(getattr(e, name) for e in self._model.sums[run]) for name in ("parts", "longest"))
        self.lengths[run] = [self._program.new_int_var(0, longest, "") for _ in range(most)]
        for each, chosen in zip(self._model.sums[run], self.chosen[run], strict=True):
            laps = [place.at for place in self._laps[run][: each.parts - 1]]
            ends = (self._program.new_constant(end(run, each)) for end in (self._left_end, self._right_end))
            lefts, rights = [next(ends), *laps], [*(lap + each.asked.lap for lap in laps), next(ends)]
            for length in self.lengths[run][each.parts :]:
                self._program.add(length == 0).only_enforce_if(chosen)
            for left, right, length in zip(lefts, rights, self.lengths[run], strict=False):
                self._program.add(left + length == right).only_enforce_if(chosen)
                self._program.add_linear_constraint(length, 1, each.longest).only_enforce_if(chosen)
                if own_rules and shortest > 1:
                    self._keep_out(length, 0, shortest, chosen)
            for start, end in reaches(keep_clear, each.asked.lap) if own_rules else ():
                for lap in laps:
                    self._keep_out(lap, start, end, chosen)

    def laid(self, solver: cp_model.CpSolver, run: int) -> tuple[RunCandidate, int] | None:
        """Return the candidate of these pieces, None if no stick gives it so."""
        chosen = next(n for n, c in enumerate(self.chosen[run]) if solver.BooleanValue(c))
        each = self._model.sums[run][chosen]
        laps = [solver.Value(place.at) for place in self._laps[run][: each.parts - 1]]
        lefts, rights = [self._left_end(run, each), *laps], [lap + each.asked.lap for lap in laps]
        lengths = [right - left for left, right in zip(lefts, [*rights, self._right_end(run, each)], strict=True)]
        candidate = candidate_in(self._model, run, each.asked, lengths)
        return None if candidate is None else (candidate, lengths[0])


@dataclass(frozen=True, slots=True)
class Wall:
    """How many rules the ``runs`` of a wall break.

    Each by itself ``own`` at least; all together ``at_least`` in every plan, ``at_most`` in the best laps known.
    """

    runs: tuple[int, ...]
    own: int
    at_least: int
    at_most: int


@dataclass(frozen=True, slots=True)
class Unavoidable:
    """Broken rules by wall; ``laid`` are runs of walls where fewer are broken than in any plan met."""

    walls: tuple[Wall, ...]
    laid: tuple[tuple[RunCandidate, int], ...]

    @property
    def broken(self) -> int:
        """So many rules at least are broken by every plan."""
        return sum(wall.at_least for wall in self.walls)


def unavoidable(model: LapModel, plans: Sequence[PartialPlan], watch: Watch) -> Unavoidable:
    """Look at every wall where each plan breaks a rule that its runs alone need not break."""
    walls, laid = list[Wall](), list[tuple[RunCandidate, int]]()
    for runs in model.walls:
        met = min((plan.broken_about(set(runs)) for plan in plans if _laid_in(plan, runs)), default=UNKNOWN)
        own = sum(min_own_violations(model, run) for run in runs)
        fewest = min_violations(model, runs, watch) if met > own else MinViolations(own, own, None)
        walls.append(Wall(runs, own, fewest.at_least, min(met, fewest.at_most)))
        if fewest.at_most < met and fewest.laid is not None:
            laid += fewest.laid
    return Unavoidable(tuple(walls), tuple(laid))


def _laid_in(plan: PartialPlan, runs: Sequence[int]) -> bool:
    """Whether the plan covers the wall: a run left uncovered for want of sticks breaks no rule."""
    return all(plan.placed[run] is not None for run in runs)


def leeway(model: LapModel, found: Unavoidable, broken: int, watch: Watch) -> tuple[int, ...]:
    """Return how many more of its own rules than the fewest a run of each class may break.

    In a plan, that is, that breaks as few rules as can be. Some plan is known to break ``broken`` of them.
    """
    most = [0] * (max(model.alike, default=-1) + 1)
    for wall in found.walls:
        more = _more(model, wall, most_broken(model, found, wall, broken) - wall.own, watch)
        for run in wall.runs:
            most[model.alike[run]] = max(most[model.alike[run]], more)
    return tuple(most)


def most_broken(model: LapModel, found: Unavoidable, wall: Wall, broken: int) -> int:
    """Return how many rules a wall breaks at the most in a plan that breaks as few as can be, ``broken`` or fewer.

    Where sticks are limited no wall need come down to the fewest that it breaks in some plan, because another may
    have its sticks: then all that is known is that the other walls break what they must.
    """
    limited = any(stick.limit for stick in model.problem.sticks)
    return broken - (found.broken - wall.at_least) if limited else wall.at_most


def _more(model: LapModel, wall: Wall, beyond: int, watch: Watch) -> int:
    """Return how many breaches ``beyond`` its runs' own ones the courses of a wall do not need between them."""
    if beyond <= 0:
        return 0
    return max(0, beyond - min_violations(model, wall.runs, watch, own_rules=False).at_least)
