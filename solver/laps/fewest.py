"""How few rules a wall's laps can break at any cost: exact, by CP-SAT, one wall at a time.

The cutting plays no part here: a rule may be broken only where no plan at any cost keeps them all, and any
length can be cut from enough sticks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.laps.intervals import levels
from solver.laps.neighbours import distances
from solver.laps.site import Layout, Site
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
    if sum(len(site.layouts[run]) for run in wall) > MOST_LAYOUTS or not all(site.layouts[run] for run in wall):
        return Fewest(own, UNKNOWN, None)
    return _Wall(site, wall, own_rules=own_rules).solve(watch)


def fewest_own(site: Site, run: int) -> int:
    """Return how few rules that concern it alone a run can break."""
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


class _Wall:
    def __init__(self, site: Site, wall: Sequence[int], *, own_rules: bool) -> None:
        self._site, self._wall = site, wall
        self._model = cp_model.CpModel()
        self._broken: list[cp_model.IntVar] = []
        self._constant = 0
        self._lengths = {run: self._length(site.layouts[run]) for run in wall}
        self._chosen = {run: [self._model.new_bool_var("") for _ in site.layouts[run]] for run in wall}
        self._laps = {run: self._places(run) for run in wall}
        for run in wall:
            self._lay(run, own_rules=own_rules)
        for run in wall:
            self._beside(run)
        self._model.minimize(sum(self._broken) + self._constant)

    def _length(self, layouts: Sequence[Layout]) -> cp_model.IntVar:
        return self._model.new_int_var(min(y.low for y in layouts), max(y.high for y in layouts), "")

    def _places(self, run: int) -> list[_Place]:
        layouts = self._site.layouts[run]
        count = max(len(layout.offsets) for layout in layouts)
        ranges = [
            [(y.offsets[n] + y.low, y.offsets[n] + y.high) for y in layouts if n < len(y.offsets)] for n in range(count)
        ]
        spans = [(min(low for low, _ in r), max(high for _, high in r)) for r in ranges]
        return [_Place(self._model.new_int_var(low, high, ""), low, high) for low, high in spans]

    def _lay(self, run: int, *, own_rules: bool) -> None:
        self._model.add_exactly_one(self._chosen[run])
        a = self._lengths[run]
        for layout, chosen in zip(self._site.layouts[run], self._chosen[run], strict=True):
            self._model.add(a >= layout.low).only_enforce_if(chosen)
            self._model.add(a <= layout.high).only_enforce_if(chosen)
            for place, offset in zip(self._laps[run], layout.offsets, strict=False):
                self._model.add(place.at == a + offset).only_enforce_if(chosen)
            if own_rules:
                self._own_rules(layout, chosen, a)

    def _own_rules(self, layout: Layout, chosen: cp_model.IntVar, a: cp_model.IntVar) -> None:
        self._broken += [chosen] * layout.broken
        for start, end in layout.holes:
            if start < layout.high and end > layout.low and end - start > 1:
                before, beyond, broken = (self._model.new_bool_var("") for _ in range(3))
                self._model.add(a <= start).only_enforce_if(before)
                self._model.add(a >= end).only_enforce_if(beyond)
                self._model.add_bool_or(before, beyond, broken, chosen.Not())
                self._broken.append(broken)

    def _beside(self, run: int) -> None:
        for other, courses in self._site.near[run]:
            if other > run and other in self._lengths:
                for needed in distances(self._site.problem.rules, courses):
                    for n, one in enumerate(self._laps[run]):
                        for m, two in enumerate(self._laps[other]):
                            self._apart(one, two, needed, [*self._missing(run, n), *self._missing(other, m)])

    def _missing(self, run: int, lap: int) -> list[cp_model.IntVar]:
        """Return the choices in which a run has no such lap."""
        layouts = zip(self._site.layouts[run], self._chosen[run], strict=True)
        return [chosen for layout, chosen in layouts if len(layout.offsets) <= lap]

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
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = MOST_WORK
        solver.parameters.max_time_in_seconds = max(0.01, min(3600.0, watch.left))
        status = solver.Solve(self._model)
        bound = max(0, round(solver.BestObjectiveBound()))
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return Fewest(self._constant, UNKNOWN, None)
        return Fewest(bound, round(solver.ObjectiveValue()), tuple(self._laid(solver, run) for run in self._wall))

    def _laid(self, solver: cp_model.CpSolver, run: int) -> tuple[Layout, int]:
        chosen = next(n for n, c in enumerate(self._chosen[run]) if solver.BooleanValue(c))
        return self._site.layouts[run][chosen], solver.Value(self._lengths[run])
