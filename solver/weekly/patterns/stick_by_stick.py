"""Programs in which every stick has its own variables: for how often it gives each piece, and on which days it is cut.

That is the assignment model of Kantorovich (1960, "Mathematical methods of organizing and planning production"), weak
as a linear program; CP-SAT is quick with it where sticks are few and it need not choose them. A pattern of short pieces
is one of very many, but its sticks are few. A run may take a piece of any length of a stick.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, product, repeat
from math import gcd
from typing import NamedTuple, TypeAlias

from solver.allowances import own
from solver.cutting.problem import Pattern
from solver.demand import Kind
from solver.lp.cpsat import counted, watched
from solver.lp.lazily import cp_model
from solver.watch import Watch
from solver.weekly.day_cutting import Uses
from solver.weekly.material_week import JobBaseline
from solver.weekly.timed import Supply, TimedProblem, Van

FEWER_DAYS_WORK = 0.05
"""CP-SAT's deterministic seconds for cutting each stick on few days, once a set does."""
SHARES_WORK = 1.0
"""CP-SAT's deterministic seconds for the shares that days have of a set of sticks."""

Pieces: TypeAlias = "dict[int, cp_model.IntVar]"
"""How often a stick gives each piece."""


class StickModel:
    """``sticks`` are supplies by their places, alike ones together; ``wanted`` says how often each piece is cut."""

    def __init__(self, problem: TimedProblem, sticks: Sequence[int], wanted: Mapping[int, int], room: Van) -> None:
        self._problem, self._sticks, self._wanted = problem, sticks, wanted
        self.refuted = False
        """Whether it is known, once asked, that they don't."""
        self._found: Uses | None = None
        self._model = cp_model.CpModel()
        self._days = sorted({problem.pieces[i].day for i in wanted})
        self._nights: dict[int, list[cp_model.IntVar]] = {}
        self._cut = [self._pieces(place) for place in sticks]
        self._on = [self._stick(place, cut) for place, cut in zip(sticks, self._cut, strict=True)]
        for i, count in wanted.items():
            self._model.add(sum(cut[i] for cut in self._cut) == count)
        for night, carried in self._nights.items():
            if night in room:
                self._model.add(sum(carried) <= room[night])
        for (place, cut), (following, other) in pairwise(zip(sticks, self._cut, strict=True)):
            if place == following:
                # sticks alike are put in one order, or each answer would be there once for every order
                self._model.add(sum(cut.values()) >= sum(other.values()))

    def _pieces(self, place: int) -> Pieces:
        supply, pieces = self._problem.supplies[place], self._problem.pieces
        return {
            i: self._model.new_int_var(0, count if pieces[i].day >= supply.first else 0, "")
            for i, count in self._wanted.items()
        }

    def _stick(self, place: int, cut: Pieces) -> dict[int, cp_model.IntVar]:
        """State what can be cut of one stick, and return on which days it is."""
        supply, pieces = self._problem.supplies[place], self._problem.pieces
        on = {day: self._model.new_bool_var("") for day in self._days}
        for i, count in cut.items():
            self._model.add(count <= self._wanted[i] * on[pieces[i].day])
        room = self._problem.taken(supply.length)
        self._model.add(self._taken(cut, self._days[-1]) <= room)
        self._ends(place, cut, on)
        for night in self._days[:-1]:
            later = [on[day] for day in self._days if day > night]
            kept = self._kept([on[day] for day in self._days if day <= night], later)
            left = room - self._problem.taken(self._problem.shortest)
            self._model.add(self._taken(cut, night) <= left).only_enforce_if(kept)
        self._in_van(supply.opened, on)
        return on

    def _kept(self, before: Sequence[cp_model.IntVar], later: Sequence[cp_model.IntVar]) -> cp_model.IntVar:
        """Return whether a stick is cut both before and later."""
        kept = self._model.new_bool_var("")
        for one in before:
            for other in later:
                self._model.add_bool_or(one.negated(), other.negated(), kept)
        return kept

    def _in_van(self, opened: int | None, on: Mapping[int, cp_model.IntVar]) -> None:
        """Count the nights that the stick lies in the van."""
        first = self._days[0] if opened is None else min(opened, self._days[0])
        for night in range(first, self._days[-1]):
            later = [on[day] for day in self._days if day > night]
            if opened is not None and night >= opened:
                kept = self._model.new_bool_var("")
                for one in later:
                    self._model.add_implication(one, kept)
            else:
                kept = self._kept([on[day] for day in self._days if day <= night], later)
            self._nights.setdefault(night, []).append(kept)

    def _ends(self, place: int, cut: Pieces, on: Mapping[int, cp_model.IntVar]) -> None:
        supply, pieces = self._problem.supplies[place], self._problem.pieces
        lefts, rights = ([i for i in cut if getattr(pieces[i], end)] for end in ("left", "right"))
        if not (lefts or rights):
            return
        self._model.add(sum(cut[i] for i in lefts) <= supply.left)
        self._model.add(sum(cut[i] for i in rights) <= supply.right)
        for day in self._days:
            # a stick that has been cut has one factory end at most
            ended = [cut[i] for i in (*lefts, *rights) if pieces[i].day > day]
            self._model.add(sum(ended) <= 1).only_enforce_if(on[day])

    def _taken(self, cut: Pieces, last: int) -> cp_model.LinearExprT:
        pieces = self._problem.pieces
        up_to = [i for i in cut if pieces[i].day <= last]
        return cp_model.LinearExpr.weighted_sum(
            [cut[i] for i in up_to], [self._problem.taken(pieces[i].length) for i in up_to]
        )

    def cut(self, work: float, watch: Watch) -> Uses | None:
        """Return how the sticks are cut, on few days; None if ``work`` finds no way."""
        self.refuted = self._solve(work, watch) == cp_model.INFEASIBLE
        if self._found is not None:
            self._model.minimize(sum(day for on in self._on for day in on.values()))
            self._solve(FEWER_DAYS_WORK, watch)
        return self._found

    def _solve(self, work: float, watch: Watch) -> object:
        solver = counted(work, watch)
        status = watched(solver, self._model, watch)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._found = self._plan(solver)
            self._model.clear_hints()  # type: ignore[no-untyped-call]
            for variable in (v for cut in self._cut for v in cut.values()):
                self._model.add_hint(variable, solver.value(variable))
        return status

    def _plan(self, solver: cp_model.CpSolver) -> Uses | None:
        found: Uses = Counter()
        for place, cut in zip(self._sticks, self._cut, strict=True):
            pieces = tuple(i for i in sorted(cut) for _ in range(solver.value(cut[i])))
            if pieces:
                found[Pattern(place, pieces)] += 1
        return found if all(self._problem.allowed(pattern) for pattern in found) else None


class Run(NamedTuple):
    """A run: its day, what it is long with one piece, what each further piece adds, and how many it may have."""

    day: int
    length: int
    lap: int
    fewest: int
    most: int


def runs_of(jobs: Sequence[JobBaseline]) -> Iterator[Run]:
    """Yield the runs of jobs, one for each course."""
    for one in jobs:
        material = one.demand.material
        asked, longest = own(None, material), max(row.length for row in material.stock if row.available != 0)
        for required in (one.demand.job.required[item] for item in one.demand.runs):
            length = asked.cut_length(required)
            fewest = max(1, -(-(length - asked.lap) // max(1, longest - asked.lap)))
            run = Run(one.job.day, length, asked.lap, fewest, fewest + material.settings.most_extra_laps)
            yield from repeat(run, required.pieces)


def single_pieces(jobs: Sequence[JobBaseline]) -> Iterator[tuple[Kind, int, int]]:
    """Yield the pieces that are of no run: what, on which day, how many."""
    for one in jobs:
        yield from ((kind, one.job.day, len(c)) for kind, c in zip(one.demand.kinds, one.demand.claims, strict=True))


class Shares:
    """Pieces and runs of jobs out of sticks by their places, alike ones together; runs have no rules but their laps."""

    def __init__(self, problem: TimedProblem, jobs: Sequence[JobBaseline], places: Sequence[int], room: Van) -> None:
        self._problem, self._places, self._model = problem, places, cp_model.CpModel()
        self._pieces, self._runs = list(single_pieces(jobs)), list(runs_of(jobs))
        self._shortest = max(one.demand.material.settings.shortest_piece or 1 for one in jobs)
        self._days = sorted({one.job.day for one in jobs})
        lengths = [problem.supplies[place].length for place in places]
        lengths += [kind.takes for kind, _, _ in self._pieces] + [
            n for run in self._runs for n in (run.length, run.lap)
        ]
        self._unit = gcd(*lengths, problem.kerf, problem.shortest, self._shortest)
        self._kept: list[list[cp_model.IntVar]] = [[] for _ in self._days]
        self._cut: list[list[cp_model.IntVar]] = [[] for _ in self._pieces]
        self._given: list[list[tuple[cp_model.IntVar, cp_model.IntVar]]] = [[] for _ in self._runs]
        self._taken = [self._stick(problem.supplies[place]) for place in places]
        for (_, _, count), cut in zip(self._pieces, self._cut, strict=True):
            self._model.add(sum(cut) == count)
        for run, given in zip(self._runs, self._given, strict=True):
            parts = sum(there for there, _ in given)
            self._model.add_linear_constraint(parts, run.fewest, run.most)
            self._model.add(sum(n for _, n in given) == self._units(run.length) + self._units(run.lap) * (parts - 1))
        for n, kept in enumerate(self._kept[:-1]):
            nights = range(self._days[n], self._days[n + 1])
            self._model.add(sum(kept) <= min(room.get(night, len(places)) for night in nights))
        for (place, taken), (following, other) in pairwise(zip(places, self._taken, strict=True)):
            if place == following:
                self._model.add(sum(taken) >= sum(other))

    def _units(self, length: int) -> int:
        return length // self._unit

    def _stick(self, supply: Supply) -> list[cp_model.LinearExprT]:
        """State what one stick can give, and return what each day takes of it, kerfs and all."""
        model, kerf, whole = self._model, self._units(self._problem.kerf), self._units(supply.length)
        on = {day: model.new_bool_var("") for day in self._days}
        takes: dict[int, list[cp_model.LinearExprT]] = {day: [] for day in self._days}
        ends: dict[int, list[cp_model.IntVar]] = {day: [] for day in self._days}
        for (kind, day, count), cut in zip(self._pieces, self._cut, strict=True):
            cut.append(model.new_int_var(0, count * (day >= supply.first), ""))
            model.add(cut[-1] <= count * on[day])
            takes[day].append(cut[-1] * (self._units(kind.takes) + kerf))
            if kind.needs_left or kind.needs_right:
                ends[day].append(cut[-1])
        for run, given in zip(self._runs, self._given, strict=True):
            there, length = model.new_bool_var(""), model.new_int_var(0, whole, "")
            given.append((there, length))
            model.add(there <= (on[run.day] if run.day >= supply.first else 0))
            model.add(length >= self._units(self._shortest)).only_enforce_if(there)
            model.add(length == 0).only_enforce_if(~there)
            takes[run.day].append(length + there * kerf)
        taken = [sum(takes[day]) for day in self._days]
        model.add(sum(taken) <= whole + kerf)
        model.add(sum(one for own in ends.values() for one in own) <= min(1, supply.left + supply.right))
        for n, kept in enumerate(self._kept[:-1]):
            kept.append(model.new_bool_var(""))
            for early, late in product(self._days[: n + 1], self._days[n + 1 :]):
                model.add_bool_or(~on[early], ~on[late], kept[-1])
            left = whole - self._units(self._problem.shortest)
            model.add(sum(taken[: n + 1]) <= left).only_enforce_if(kept[-1])
        return taken

    def found(self, watch: Watch) -> list[dict[int, int]] | None:
        """Return how long a part of each stick each day has; None where no way is found."""
        solver = counted(SHARES_WORK, watch)
        if watched(solver, self._model, watch) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        shares = []
        for place, taken in zip(self._places, self._taken, strict=True):
            whole = self._problem.supplies[place].length
            own = {day: n * self._unit for day, t in zip(self._days, taken, strict=True) if (n := solver.value(t))}
            # the last has all that is left
            shares.append(
                {d: (n - self._problem.kerf if d < max(own) else whole - sum(own.values()) + n) for d, n in own.items()}
            )
        return shares
