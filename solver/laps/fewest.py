"""How few rules a wall's laps can break at any cost: exact, by CP-SAT, one wall at a time.

The cutting plays no part here: a rule may be broken only where no plan at any cost keeps them all, and any
length can be cut from enough sticks.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.laps.freed import layout_in
from solver.laps.intervals import levels
from solver.laps.neighbours import distances
from solver.laps.site import Layout, Site, reaches
from solver.laps.sums import FreeSum
from solver.lp.cpsat import counted
from solver.materials import LapEnds
from solver.watch import Watch

MOST_LAYOUTS = 600
"""A wall with more layouts than this is not examined."""

MOST_WORK = 1.0
"""CP-SAT's deterministic seconds for one wall."""


UNKNOWN = 2**31
"""More broken rules than any wall has."""


@dataclass(frozen=True, slots=True)
class Fewest:
    """``at_least`` rules are broken whatever is done, ``at_most`` in the best found: ``laid``, layouts and lengths."""

    at_least: int
    at_most: int
    laid: tuple[tuple[Layout, int], ...] | None


def fewest_broken(site: Site, wall: Sequence[int], watch: Watch, *, own_rules: bool = True) -> Fewest:
    """Return how few rules the runs of a wall can break; without ``own_rules`` only rules between courses count."""
    own = sum(fewest_own(site, run) for run in wall) if own_rules else 0
    free = site.problem.rules.ends is not LapEnds.FACTORY
    ways = [site.sums[run] if free else site.layouts[run] for run in wall]
    if sum(map(len, ways)) > MOST_LAYOUTS or not all(ways) or not (site.complete or not free):
        return Fewest(own, UNKNOWN, None)
    return (_FreeWall if free else _FactoryWall)(site, wall, own_rules=own_rules).solve(watch)


def fewest_own(site: Site, run: int) -> int:
    """Return how few rules that concern it alone a run can break; where any piece may be cut, none is known to be."""
    if site.problem.rules.ends is not LapEnds.FACTORY:
        return 0
    cut = (
        layout.broken + depth
        for layout in site.layouts[run]
        for _, _, depth in levels(layout.low, layout.high, layout.holes)
    )
    return min(cut, default=0)


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a lap lies, and between which places."""

    at: cp_model.IntVar
    low: int
    high: int


class _Wall(ABC):
    """One wall's program: each run is laid in one of its ways, and what is broken is counted."""

    def __init__(self, site: Site, wall: Sequence[int], *, own_rules: bool) -> None:
        self._site, self._wall = site, wall
        self._lengths: dict[int, cp_model.IntVar] = {}
        self._model = cp_model.CpModel()
        self._broken: list[cp_model.IntVar] = []
        self._constant = 0
        self._chosen = {run: [self._model.new_bool_var("") for _ in self._laps_of(run)] for run in wall}
        self._laps = {run: self._places(run) for run in wall}
        for run in wall:
            self._model.add_exactly_one(self._chosen[run])
            self._lay(run, own_rules=own_rules)
        for run in wall:
            self._beside(run)
        self._model.minimize(sum(self._broken) + self._constant)

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
    def _laid(self, solver: cp_model.CpSolver, run: int) -> tuple[Layout, int] | None:
        """Return how a run is laid, None if no stick gives it so."""

    def _keep_out(self, at: cp_model.LinearExprT, low: int, high: int, chosen: cp_model.IntVar) -> None:
        """Count a broken rule if the place lies between two others, where the way is chosen."""
        before, beyond, broken = (self._model.new_bool_var("") for _ in range(3))
        self._model.add(at <= low).only_enforce_if(before)
        self._model.add(at >= high).only_enforce_if(beyond)
        self._model.add_bool_or(before, beyond, broken, chosen.Not())
        self._broken.append(broken)

    def _beside(self, run: int) -> None:
        for other, courses in self._site.near[run]:
            if other > run and other in self._laps:
                for needed in distances(self._site.problem.rules, courses):
                    for n, one in enumerate(self._laps[run]):
                        for m, two in enumerate(self._laps[other]):
                            self._apart(one, two, needed, [*self._missing(run, n), *self._missing(other, m)])

    def _missing(self, run: int, lap: int) -> list[cp_model.IntVar]:
        """Return the choices in which a run has no such lap."""
        ways = zip(self._laps_of(run), self._chosen[run], strict=True)
        return [chosen for laps, chosen in ways if laps <= lap]

    def _apart(self, one: _Place, two: _Place, needed: int, missing: list[cp_model.IntVar]) -> None:
        if one.low >= two.high + needed or two.low >= one.high + needed:
            return
        if one.high < two.low + needed and two.high < one.low + needed and not missing:
            self._constant += 1
            return
        after, before, broken = (self._model.new_bool_var("") for _ in range(3))
        self._model.add(one.at >= two.at + needed).only_enforce_if(after)
        self._model.add(two.at >= one.at + needed).only_enforce_if(before)
        self._model.add_bool_or(after, before, broken, *missing)
        self._broken.append(broken)

    def solve(self, watch: Watch) -> Fewest:
        """Search until the fewest are proven, or as far as the work allows."""
        solver = counted(MOST_WORK, watch)
        status = solver.Solve(self._model)
        bound = max(0, round(solver.BestObjectiveBound()))
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return Fewest(self._constant, UNKNOWN, None)
        laid = [self._laid(solver, run) for run in self._wall]
        known = tuple(entry for entry in laid if entry is not None)
        return Fewest(bound, round(solver.ObjectiveValue()), known if len(known) == len(laid) else None)


class _FactoryWall(_Wall):
    """The ways are layouts; where its first piece ends says where all laps of a run lie."""

    def _laps_of(self, run: int) -> list[int]:
        return [len(layout.offsets) for layout in self._site.layouts[run]]

    def _places(self, run: int) -> list[_Place]:
        layouts = self._site.layouts[run]
        ranges = [
            [(y.offsets[n] + y.low, y.offsets[n] + y.high) for y in layouts if n < len(y.offsets)]
            for n in range(max(self._laps_of(run)))
        ]
        spans = [(min(low for low, _ in r), max(high for _, high in r)) for r in ranges]
        return [_Place(self._model.new_int_var(low, high, ""), low, high) for low, high in spans]

    def _lay(self, run: int, *, own_rules: bool) -> None:
        layouts = self._site.layouts[run]
        a = self._model.new_int_var(min(y.low for y in layouts), max(y.high for y in layouts), "")
        self._lengths[run] = a
        for layout, chosen in zip(layouts, self._chosen[run], strict=True):
            self._model.add(a >= layout.low).only_enforce_if(chosen)
            self._model.add(a <= layout.high).only_enforce_if(chosen)
            for place, offset in zip(self._laps[run], layout.offsets, strict=False):
                self._model.add(place.at == a + offset).only_enforce_if(chosen)
            if own_rules:
                self._broken += [chosen] * layout.broken
                for start, end in layout.holes:
                    if start < layout.high and end > layout.low and end - start > 1:
                        self._keep_out(a, start, end, chosen)

    def _laid(self, solver: cp_model.CpSolver, run: int) -> tuple[Layout, int]:
        chosen = next(n for n, c in enumerate(self._chosen[run]) if solver.BooleanValue(c))
        return self._site.layouts[run][chosen], solver.Value(self._lengths[run])


class _FreeWall(_Wall):
    """The ways are numbers of pieces, with a lap and an end gap; every piece of a run may be cut."""

    def _laps_of(self, run: int) -> list[int]:
        return [each.parts - 1 for each in self._site.sums[run]]

    def _places(self, run: int) -> list[_Place]:
        sums = self._site.sums[run]
        low = min(self._left_end(run, each) - max(0, each.asked.lap) for each in sums)
        high = max(self._right_end(run, each) for each in sums)
        return [_Place(self._model.new_int_var(low, high, ""), low, high) for _ in range(max(self._laps_of(run)))]

    def _left_end(self, run: int, each: FreeSum) -> int:
        these = self._site.problem.runs[run]
        return each.asked.starts_at(these.start, these.left)

    def _right_end(self, run: int, each: FreeSum) -> int:
        return self._left_end(run, each) + each.length - each.asked.lap * (each.parts - 1)

    def _lay(self, run: int, *, own_rules: bool) -> None:
        shortest, keep_clear = self._site.problem.rules.shortest, self._site.problem.runs[run].keep_clear
        for each, chosen in zip(self._site.sums[run], self._chosen[run], strict=True):
            laps = [place.at for place in self._laps[run][: each.parts - 1]]
            ends = (self._model.new_constant(end(run, each)) for end in (self._left_end, self._right_end))
            lefts, rights = [next(ends), *laps], [*(lap + each.asked.lap for lap in laps), next(ends)]
            for left, right in zip(lefts, rights, strict=True):
                length = self._model.new_int_var(1, each.longest, "")
                self._model.add(left + length == right).only_enforce_if(chosen)
                if own_rules and shortest > 1:
                    self._keep_out(length, 0, shortest, chosen)
            for start, end in reaches(keep_clear, each.asked.lap) if own_rules else ():
                for lap in laps:
                    self._keep_out(lap, start, end, chosen)

    def _laid(self, solver: cp_model.CpSolver, run: int) -> tuple[Layout, int] | None:
        chosen = next(n for n, c in enumerate(self._chosen[run]) if solver.BooleanValue(c))
        each = self._site.sums[run][chosen]
        laps = [solver.Value(place.at) for place in self._laps[run][: each.parts - 1]]
        lefts, rights = [self._left_end(run, each), *laps], [lap + each.asked.lap for lap in laps]
        lengths = [right - left for left, right in zip(lefts, [*rights, self._right_end(run, each)], strict=True)]
        layout = layout_in(self._site, run, each.asked, lengths)
        return None if layout is None else (layout, lengths[0])
