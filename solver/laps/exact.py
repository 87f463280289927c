"""Small jobs where ends don't matter, all at once: which stick gives how much of which run, by CP-SAT.

Here no row of whole sticks is given beforehand: every piece may be cut, and what many sticks have left, however short,
can be made into one run. How the pieces of a run lie along it is left open; they are ordered afterwards. So a cost
that the program rules out is ruled out for every plan that keeps the rules, and a plan it finds may yet break some.

A run takes one piece of a stick: two would be longer by a lap. A piece may come to nothing, because then lengths in
whole divisors suffice (see the package); such an answer is no plan, and one is sought with pieces of one divisor more.
"""

from __future__ import annotations

from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.laps.begin import empty_yard
from solver.laps.freed import laid_in
from solver.laps.shapes import fewest_parts, own, span
from solver.laps.site import Site
from solver.laps.yard import Held, Yard, filled, pieces_of
from solver.lp.cpsat import counted
from solver.materials import LapEnds
from solver.watch import Watch

MOST_STICKS = 24
"""Jobs that may take more sticks than this are left to the other plan makers."""

MOST_PIECES = 60
"""So are those with more pieces of runs that a stick might give, over all sticks."""

MOST_WORK = 2.0
"""CP-SAT's deterministic seconds for one program."""


@dataclass(frozen=True, slots=True)
class Exact:
    """``at_least``: no plan that keeps all rules and costs less than asked for costs less; ``plan`` is one found."""

    at_least: int
    plan: Yard | None


def small_enough(site: Site, below: int) -> bool:
    """Whether a job is one for this program, if only plans that cost less than ``below`` are looked for."""
    if site.problem.rules.ends is LapEnds.FACTORY or any(piece.left or piece.right for piece in site.problem.pieces):
        return False
    sticks = len(_slots(site, below))
    return sticks <= MOST_STICKS and sticks * len(site.problem.runs) <= MOST_PIECES


def cheaper(site: Site, least: int, below: int, watch: Watch) -> Exact:
    """Look for the cheapest plan that costs ``least`` or more and less than ``below``."""
    loose = _Program(site, least, below, shortest=0)
    at_least = loose.solve(watch)
    if not loose.alone:
        at_least = least
    if loose.found and not loose.complete:
        loose = _Program(site, at_least, below, shortest=1)
        loose.solve(watch)
    return Exact(at_least, loose.plan() if loose.found else None)


def _slots(site: Site, below: int) -> list[int]:
    """Return the kind of every stick that a plan of less than this cost may use."""
    sticks = site.problem.sticks
    counts = (
        min(MOST_STICKS + 1 if s.limit is None else s.limit, (below - 1) // s.cost if s.cost else MOST_STICKS + 1)
        for s in sticks
    )
    return [kind for kind, count in enumerate(counts) for _ in range(count)]


class _Program:
    def __init__(self, site: Site, least: int, below: int, shortest: int) -> None:
        """``shortest`` is the shortest piece in divisors, where no rule asks for longer ones."""
        self._site, self._slots, self._least, self._below = site, _slots(site, below), least, below
        self._shortest = max(shortest, -(-site.problem.rules.shortest // site.divisor))
        self._model = cp_model.CpModel()
        self._solver = cp_model.CpSolver()
        groups = {own(stick) for stick in site.problem.sticks if stick.limit != 0 and stick.lapped}
        self.alone = len(groups) == 1
        """Whether all sticks lap alike: only then is every plan one of this program's."""
        self._groups = sorted(groups, key=lambda asked: (asked.lap, asked.end_gap))
        self._used = [self._model.new_bool_var("") for _ in self._slots]
        self._given = [[self._model.new_bool_var("") for _ in self._slots] for _ in site.problem.runs]
        self._lengths = [[self._length(kind) for kind in self._slots] for _ in site.problem.runs]
        self._plain = [
            [self._model.new_int_var(0, site.problem.pieces[i].demand, "") for _ in self._slots] for i in site.plain
        ]
        self._asked = [[self._model.new_bool_var("") for _ in self._groups] for _ in site.problem.runs]
        self._cover()
        self._fill()
        self._pay()
        self.found = False

    def _length(self, kind: int) -> cp_model.IntVar:
        return self._model.new_int_var(0, self._site.problem.sticks[kind].length // self._site.divisor, "")

    def _cover(self) -> None:
        """Every run's pieces add up; plain pieces are as many as wanted."""
        for run in range(len(self._site.problem.runs)):
            self._model.add_exactly_one(self._asked[run])
            for group in range(len(self._groups)):
                self._cover_by(run, group)
        for i, counts in zip(self._site.plain, self._plain, strict=True):
            self._model.add(sum(counts) == self._site.problem.pieces[i].demand)

    def _cover_by(self, run: int, group: int) -> None:
        """State what holds where a run is made of sticks that ask for one lap and gap."""
        problem, asked = self._site.problem, self._groups[group]
        chosen, parts = self._asked[run][group], sum(self._given[run])
        together = (span(problem.runs[run], 1, asked) - asked.lap) + asked.lap * parts
        self._model.add(sum(self._lengths[run]) * self._site.divisor == together).only_enforce_if(chosen)
        for kind, given in zip(self._slots, self._given[run], strict=True):
            stick = problem.sticks[kind]
            if not stick.lapped or own(stick) != asked:
                self._model.add(given == 0).only_enforce_if(chosen)
                continue
            most = fewest_parts(problem.runs[run], stick.length, asked) + problem.rules.extra_laps
            # Of the run's sticks the longest decides: so many pieces only where it gives none, or none longer does.
            longer = [g for k, g in zip(self._slots, self._given[run], strict=True) if self._longer(k, stick.length)]
            self._model.add(parts <= most).only_enforce_if(chosen, given, *(other.Not() for other in longer))

    def _longer(self, kind: int, length: int) -> bool:
        return self._site.problem.sticks[kind].length > length

    def _fill(self) -> None:
        """What a stick gives is no longer than it; of sticks of a kind the first are used, the fullest first."""
        problem, loads = self._site.problem, []
        for slot, kind in enumerate(self._slots):
            pieces = [problem.pieces[i].length + problem.kerf for i in self._site.plain]
            plain = sum(n * self._plain[p][slot] for p, n in enumerate(pieces))
            cuts = sum(given[slot] for given in self._given)
            runs = sum(lengths[slot] for lengths in self._lengths)
            load = plain + problem.kerf * cuts + self._site.divisor * runs
            self._model.add(load <= (problem.sticks[kind].length + problem.kerf) * self._used[slot])
            loads.append(load)
            for given, lengths in zip(self._given, self._lengths, strict=True):
                self._model.add(lengths[slot] == 0).only_enforce_if(given[slot].Not())
                self._model.add(lengths[slot] >= self._shortest).only_enforce_if(given[slot])
        for slot in range(1, len(self._slots)):
            if self._slots[slot] == self._slots[slot - 1]:
                self._model.add_implication(self._used[slot], self._used[slot - 1])
                self._model.add(loads[slot] <= loads[slot - 1])

    def _pay(self) -> None:
        sticks = self._site.problem.sticks
        cost = sum(sticks[kind].cost * used for kind, used in zip(self._slots, self._used, strict=True))
        self._model.add(cost >= self._least)
        self._model.add(cost < self._below)
        self._model.minimize(cost)

    def solve(self, watch: Watch) -> int:
        """Search; return the least that a plan costs, ``below`` if none costs less than that."""
        self._solver = counted(MOST_WORK, watch)
        status = self._solver.Solve(self._model)
        self.found = status in {cp_model.OPTIMAL, cp_model.FEASIBLE}
        if status == cp_model.INFEASIBLE:
            return self._below
        bound: float = self._solver.BestObjectiveBound()
        return max(self._least, round(bound))

    def _chosen(self, variable: cp_model.IntVar) -> bool:
        return bool(self._solver.BooleanValue(variable))

    @property
    def complete(self) -> bool:
        """Whether every piece is one: none of no length."""
        return all(
            self._solver.Value(length) > 0
            for givens, lengths in zip(self._given, self._lengths, strict=True)
            for given, length in zip(givens, lengths, strict=True)
            if self._chosen(given)
        )

    def plan(self) -> Yard:
        """Return the answer as a plan, the pieces of each run in the order that breaks the fewest rules."""
        yard = empty_yard(self._site)
        held: list[list[Held]] = [[] for _ in self._slots]
        for run in range(len(self._site.problem.runs)):
            given = [slot for slot, given in enumerate(self._given[run]) if self._chosen(given)]
            lengths = [self._solver.Value(self._lengths[run][slot]) * self._site.divisor for slot in given]
            asked = next(g for g, chosen in zip(self._groups, self._asked[run], strict=True) if self._chosen(chosen))
            layout, a, order = laid_in(yard, run, asked, lengths)
            yard.place(layout, a)
            for place, piece in zip(order, pieces_of(layout, a), strict=True):
                held[given[place]].append(piece)
        for slot, kind in enumerate(self._slots):
            if self._chosen(self._used[slot]):
                plain = [p for p, counts in enumerate(self._plain) for _ in range(self._solver.Value(counts[slot]))]
                yard.add(filled(kind, held[slot], plain))
        return yard
