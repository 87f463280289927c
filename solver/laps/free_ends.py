"""Runs made of cut pieces alone, where ends don't matter: what sticks have left over, however short, lapped into one.

Templates put whole sticks between two cut pieces. Where many sticks have a little left beside their plain pieces and
the rules allow the laps, a run can be had of that for nothing.

Small jobs are looked at all at once: which stick gives how much of which run, by CP-SAT. How the pieces of a run lie
along it is left open; they are ordered afterwards. So a cost that the program rules out is ruled out for every plan
that keeps the rules, and a plan it finds may yet break some. A run takes one piece of a stick: two would be longer by
a lap. A piece may come to nothing, because then lengths in whole divisors suffice (see the package); such an answer is
no plan, and one is sought with pieces of one divisor more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice, permutations

from ortools.sat.python import cp_model

from solver.allowances import Allowances
from solver.laps.model import LapModel, RunCandidate, broken_beside, candidate_of
from solver.laps.state import HeldPiece, PartialPlan, empty_plan, pieces_of, stick_of
from solver.laps.templates import RunTemplate, fewest_parts, own, span
from solver.lp.cpsat import counted
from solver.materials import LapEnds
from solver.watch import Watch

MOST_STICKS = 24
"""Jobs that may take more sticks than this are left to the other plan makers."""

MOST_PIECES = 60
"""So are those with more pieces of runs that a stick might give, over all sticks."""

MOST_WORK = 1.0
"""CP-SAT's deterministic seconds for one program."""


MOST_ORDERS = 720
"""Orders of a run's pieces that are tried: all of six."""


def laid_in(
    partial: PartialPlan, run: int, asked: Allowances, lengths: Sequence[int]
) -> tuple[RunCandidate, int, Sequence[int]]:
    """Return a run in pieces of these lengths, all cut from sticks that ask for one lap and gap.

    They lie in the order that breaks the fewest rules. Comes with the length of its first piece, and the places of the
    lengths from left to right.
    """
    best: tuple[int, RunCandidate, int, Sequence[int]] | None = None
    for order in islice(permutations(range(len(lengths))), MOST_ORDERS):
        candidate = candidate_in(partial.model, run, asked, [lengths[place] for place in order])
        if candidate is None:
            continue
        a = lengths[order[0]]
        broken = candidate.breaks(a) + broken_beside(partial.model, run, candidate.laps(a), partial.laps)
        if best is None or broken < best[0]:
            best = broken, candidate, a, order
        if not broken:
            break
    if best is None:
        raise ValueError(f"{lengths} are no pieces of run {run}")
    return best[1:]


def candidate_in(model: LapModel, run: int, asked: Allowances, lengths: Sequence[int]) -> RunCandidate | None:
    """Return the candidate of a run in cut pieces of these lengths from the left; None if no stick gives it."""
    template = _template(model, run, asked, lengths)
    return candidate_of(model.problem, run, template) if template.first else None


def _template(model: LapModel, run: int, asked: Allowances, lengths: Sequence[int]) -> RunTemplate:
    these = model.problem.runs[run]
    kinds = frozenset(k for k, most in _most_parts(model, run, asked).items() if len(lengths) <= most)
    origin = asked.starts_at(these.start, these.left)
    if len(lengths) == 1:
        return RunTemplate(first=kinds, wholes=(), last=frozenset(), rest=lengths[0], origin=origin, allowances=asked)
    return RunTemplate(
        first=kinds,
        wholes=(),
        last=kinds,
        rest=lengths[0] + lengths[-1],
        origin=origin,
        allowances=asked,
        cut=tuple(lengths[1:-1]),
    )


def _most_parts(model: LapModel, run: int, asked: Allowances) -> dict[int, int]:
    """Return for each kind of stick that asks for this lap and gap how many pieces it allows a run to have."""
    problem = model.problem
    return {
        kind: fewest_parts(problem.runs[run], stick.length, asked) + problem.rules.extra_laps
        for kind, stick in enumerate(problem.sticks)
        if stick.limit != 0 and stick.lapped and own(stick) == asked
    }


def cover_from_left_overs(partial: PartialPlan) -> None:
    """Lay every run that the sticks cut so far have enough left for, the longest first."""
    runs = partial.model.problem.runs
    asked = dict.fromkeys(own(stick) for stick in partial.model.problem.sticks)
    for run in sorted(range(len(runs)), key=lambda n: -runs[n].length):
        ways = (cut for one in asked if (cut := _from_left_overs(partial, run, one)) is not None)
        if (cut := next(ways, None)) is not None:
            one, numbers, lengths = cut
            candidate, a, order = laid_in(partial, run, one, lengths)
            partial.place(candidate, a)
            for place, piece in zip(order, pieces_of(candidate, a), strict=True):
                partial.cut_more(numbers[place], piece)


def _from_left_overs(
    partial: PartialPlan, run: int, asked: Allowances
) -> tuple[Allowances, list[int], list[int]] | None:
    """Return which sticks give how much of a run, in as few pieces as can be; None where they can't."""
    problem, most = partial.model.problem, _most_parts(partial.model, run, asked)
    least = max(1, problem.rules.shortest)
    left = sorted(
        (problem.kerf - stick.room, number)
        for number, stick in enumerate(partial.sticks)
        if stick.kind in most and stick.room - problem.kerf >= least
    )
    together, allowed = 0, max(most.values(), default=0)
    for parts, (room, number) in enumerate(left, 1):
        together, allowed = together - room, min(allowed, most[partial.sticks[number].kind])
        beyond = together - span(problem.runs[run], parts, asked)
        if parts > allowed:
            return None
        if beyond >= 0:
            lengths = [-room for room, _ in left[:parts]]
            for place in reversed(range(parts)):
                spared = min(beyond, lengths[place] - least)
                lengths[place], beyond = lengths[place] - spared, beyond - spared
            return None if beyond else (asked, [number for _, number in left[:parts]], lengths)
    return None


@dataclass(frozen=True, slots=True)
class Exact:
    """``at_least``: no plan that keeps all rules and costs less than asked for costs less; ``plan`` is one found."""

    at_least: int
    plan: PartialPlan | None


def small_enough(model: LapModel, below: int) -> bool:
    """Whether a job is one for this program, if only plans that cost less than ``below`` are looked for."""
    if model.problem.rules.ends is LapEnds.FACTORY or any(piece.left or piece.right for piece in model.problem.pieces):
        return False
    sticks = len(_slots(model, below))
    return sticks <= MOST_STICKS and sticks * len(model.problem.runs) <= MOST_PIECES


def cheaper(model: LapModel, least: int, below: int, watch: Watch) -> Exact:
    """Look for the cheapest plan that costs ``least`` or more and less than ``below``."""
    loose = _Program(model, least, below, shortest=0)
    at_least = loose.solve(watch)
    if not loose.alone:
        at_least = least
    if loose.found and not loose.complete:
        loose = _Program(model, at_least, below, shortest=1)
        loose.solve(watch)
    return Exact(at_least, loose.plan() if loose.found else None)


def _slots(model: LapModel, below: int) -> list[int]:
    """Return the kind of every stick that a plan of less than this cost may use."""
    sticks = model.problem.sticks
    counts = (
        min(MOST_STICKS + 1 if s.limit is None else s.limit, (below - 1) // s.cost if s.cost else MOST_STICKS + 1)
        for s in sticks
    )
    return [kind for kind, count in enumerate(counts) for _ in range(count)]


class _Program:
    def __init__(self, model: LapModel, least: int, below: int, shortest: int) -> None:
        """``shortest`` is the shortest piece in divisors, where no rule asks for longer ones."""
        self._model, self._slots, self._least, self._below = model, _slots(model, below), least, below
        self._shortest = max(shortest, -(-model.problem.rules.shortest // model.divisor))
        self._program = cp_model.CpModel()
        self._solver = cp_model.CpSolver()
        groups = {own(stick) for stick in model.problem.sticks if stick.limit != 0 and stick.lapped}
        self.alone = len(groups) == 1
        """Whether all sticks lap alike: only then is every plan one of this program's."""
        self._groups = sorted(groups, key=lambda asked: (asked.lap, asked.end_gap))
        self._used = [self._program.new_bool_var("") for _ in self._slots]
        self._given = [[self._program.new_bool_var("") for _ in self._slots] for _ in model.problem.runs]
        self._lengths = [[self._length(kind) for kind in self._slots] for _ in model.problem.runs]
        self._plain = [
            [self._program.new_int_var(0, model.problem.pieces[i].demand, "") for _ in self._slots] for i in model.plain
        ]
        self._asked = [[self._program.new_bool_var("") for _ in self._groups] for _ in model.problem.runs]
        self._cover()
        self._fill()
        self._pay()
        self.found = False

    def _length(self, kind: int) -> cp_model.IntVar:
        return self._program.new_int_var(0, self._model.problem.sticks[kind].length // self._model.divisor, "")

    def _cover(self) -> None:
        """Every run's pieces add up; plain pieces are as many as wanted."""
        for run in range(len(self._model.problem.runs)):
            self._program.add_exactly_one(self._asked[run])
            self._program.add(sum(self._given[run]) >= 1)
            for group in range(len(self._groups)):
                self._cover_by(run, group)
        for i, counts in zip(self._model.plain, self._plain, strict=True):
            self._program.add(sum(counts) == self._model.problem.pieces[i].demand)

    def _cover_by(self, run: int, group: int) -> None:
        """State what holds where a run is made of sticks that ask for one lap and gap."""
        problem, asked = self._model.problem, self._groups[group]
        chosen, parts = self._asked[run][group], sum(self._given[run])
        together = (span(problem.runs[run], 1, asked) - asked.lap) + asked.lap * parts
        self._program.add(sum(self._lengths[run]) * self._model.divisor == together).only_enforce_if(chosen)
        for kind, given in zip(self._slots, self._given[run], strict=True):
            stick = problem.sticks[kind]
            if not stick.lapped or own(stick) != asked:
                self._program.add(given == 0).only_enforce_if(chosen)
                continue
            most = fewest_parts(problem.runs[run], stick.length, asked) + problem.rules.extra_laps
            # Of the run's sticks the longest decides: so many pieces only where it gives none, or none longer does.
            longer = [g for k, g in zip(self._slots, self._given[run], strict=True) if self._longer(k, stick.length)]
            self._program.add(parts <= most).only_enforce_if(chosen, given, *(other.Not() for other in longer))

    def _longer(self, kind: int, length: int) -> bool:
        return self._model.problem.sticks[kind].length > length

    def _fill(self) -> None:
        """What a stick gives is no longer than it; of sticks of a kind the first are used, the fullest first."""
        problem, loads = self._model.problem, []
        for slot, kind in enumerate(self._slots):
            pieces = [problem.taken(problem.pieces[i].length) for i in self._model.plain]
            plain = sum(n * self._plain[p][slot] for p, n in enumerate(pieces))
            cuts = sum(given[slot] for given in self._given)
            runs = sum(lengths[slot] for lengths in self._lengths)
            load = plain + problem.kerf * cuts + self._model.divisor * runs
            self._program.add(load <= problem.taken(problem.sticks[kind].length) * self._used[slot])
            loads.append(load)
            for given, lengths in zip(self._given, self._lengths, strict=True):
                self._program.add(lengths[slot] == 0).only_enforce_if(given[slot].Not())
                self._program.add(lengths[slot] >= self._shortest).only_enforce_if(given[slot])
        for slot in range(1, len(self._slots)):
            if self._slots[slot] == self._slots[slot - 1]:
                self._program.add_implication(self._used[slot], self._used[slot - 1])
                self._program.add(loads[slot] <= loads[slot - 1])

    def _pay(self) -> None:
        sticks = self._model.problem.sticks
        cost = sum(sticks[kind].cost * used for kind, used in zip(self._slots, self._used, strict=True))
        self._program.add(cost >= self._least)
        self._program.add(cost < self._below)
        self._program.minimize(cost)

    def solve(self, watch: Watch) -> int:
        """Search; return the least that a plan costs, ``below`` if none costs less than that."""
        self._solver = counted(MOST_WORK, watch)
        status = self._solver.Solve(self._program)
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

    def plan(self) -> PartialPlan:
        """Return the answer as a plan, the pieces of each run in the order that breaks the fewest rules."""
        partial = empty_plan(self._model)
        held: list[list[HeldPiece]] = [[] for _ in self._slots]
        for run in range(len(self._model.problem.runs)):
            given = [slot for slot, given in enumerate(self._given[run]) if self._chosen(given)]
            lengths = [self._solver.Value(self._lengths[run][slot]) * self._model.divisor for slot in given]
            asked = next(g for g, chosen in zip(self._groups, self._asked[run], strict=True) if self._chosen(chosen))
            candidate, a, order = laid_in(partial, run, asked, lengths)
            partial.place(candidate, a)
            for place, piece in zip(order, pieces_of(candidate, a), strict=True):
                held[given[place]].append(piece)
        for slot, kind in enumerate(self._slots):
            plain = [p for p, counts in enumerate(self._plain) for _ in range(self._solver.Value(counts[slot]))]
            # A stick that costs nothing may be said to be used for nothing.
            if held[slot] or plain:
                partial.add(stick_of(kind, held[slot], plain))
        return partial
