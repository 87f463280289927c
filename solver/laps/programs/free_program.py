"""Whether sticks of given numbers make a plan where ends don't matter: everything at once, by CP-SAT, for small jobs.

``ShareProgram`` asks which stick gives how much of which run, and leaves open how the pieces of a run lie along it. So
what it rules out is ruled out for every plan that keeps the rules, and a plan it finds may yet break some. A run takes
one piece of a stick: two would be longer by a lap. A piece may come to nothing, because then lengths in whole divisors
suffice (see the package). ``FreeProgram`` lays the runs as well, as ``violations`` does.

``ComponentProgram`` asks for less still, and is soon done. Say how many pieces each stick gives each run, and let z be
what they are together beyond the shortest that they may be. Rows say what the z of a run and of a stick come to, so at
a corner runs and sticks with a z above nothing between them make a forest (Klee and Witzgall 1968, *Facets and vertices
of transportation polytopes*). Runs that hang together through sticks are a tree with them, and a tree has one edge less
than nodes: their pieces are no fewer than runs and sticks together, less one, and their z comes out of those sticks.
"""

from __future__ import annotations

from collections.abc import Sequence

from solver.laps.free_ends import candidate_in, laid_in
from solver.laps.model import Bag, LapModel, bags
from solver.laps.state import HeldPiece, PartialPlan, empty_plan, pieces_of, stick_of
from solver.laps.templates import own
from solver.laps.violations import FreeWall
from solver.lp.cpsat import counted
from solver.lp.lazily import cp_model
from solver.watch import Watch


class _Sticks:
    """Sticks of given numbers, in the order of their kinds, and the plain pieces that each gives."""

    def __init__(self, model: LapModel, numbers: Sequence[int]) -> None:
        self.model, self.program = model, cp_model.CpModel()
        self.kinds = [kind for kind, n in enumerate(numbers) for _ in range(n)]
        demands = [model.problem.pieces[i].demand for i in model.plain]
        self.plain = [[self.program.new_int_var(0, n, "") for _ in self.kinds] for n in demands]
        for demand, counts in zip(demands, self.plain, strict=True):
            self.program.add(sum(counts) == demand)
        self.lapped = [model.problem.sticks[kind].lapped for kind in self.kinds]

    def hold(self, cuts: Sequence[Sequence[tuple[cp_model.IntVar, int]]], *, ordered: bool) -> None:
        """State that what a stick gives is no longer than it, and where ``ordered``, that the fullest alike come first.

        ``cuts`` are what pieces of runs take of each stick, cuts included, as a sum of variables with factors.
        """
        problem, loads = self.model.problem, list[cp_model.LinearExprT]()
        pieces = [problem.taken(problem.pieces[i].length) for i in self.model.plain]
        for slot, kind in enumerate(self.kinds):
            plain = [counts[slot] for counts in self.plain]
            variables, factors = [v for v, _ in cuts[slot]], [f for _, f in cuts[slot]]
            load = cp_model.LinearExpr.weighted_sum([*plain, *variables], [*pieces, *factors])
            self.program.add(load <= problem.taken(problem.sticks[kind].length))
            if ordered and slot and kind == self.kinds[slot - 1]:
                self.program.add(load <= loads[-1])
            loads.append(load)

    @property
    def alone(self) -> bool:
        """Whether all sticks lap alike: only then is every answer a plan."""
        return len({own(s) for s in self.model.problem.sticks if s.limit != 0 and s.lapped}) == 1

    def solved(self, work: float, watch: Watch) -> cp_model.CpSolver | bool:
        """Return the solver with an answer; False where there is none, True where it was not decided."""
        solver = counted(work, watch)
        solver.parameters.linearization_level = 2
        status = solver.solve(self.program)
        if status == cp_model.INFEASIBLE:
            return False
        return solver if status in {cp_model.OPTIMAL, cp_model.FEASIBLE} else True

    def cost(self, cuts: Sequence[Sequence[cp_model.IntVar]]) -> cp_model.LinearExpr:
        """Return what those sticks cost that give anything; ``cuts`` say of each what is cut of it for runs."""
        used = [self.program.new_bool_var("") for _ in self.kinds]
        for slot, bit in enumerate(used):
            for piece in cuts[slot]:
                self.program.add_implication(piece, bit)
            for counts in self.plain:
                self.program.add(counts[slot] == 0).only_enforce_if(bit.Not())
        return cp_model.LinearExpr.weighted_sum(used, [self.model.problem.sticks[kind].cost for kind in self.kinds])

    def cut(self, solver: cp_model.CpSolver, partial: PartialPlan, held: Sequence[Sequence[HeldPiece]]) -> PartialPlan:
        """Return the plan with its sticks cut; ``held`` are the pieces of runs in each."""
        for slot, kind in enumerate(self.kinds):
            plain = [p for p, counts in enumerate(self.plain) for _ in range(solver.value(counts[slot]))]
            if held[slot] or plain:
                partial.add(stick_of(kind, held[slot], plain))
        return partial


class ShareProgram:
    """Sticks of these numbers, or fewer, shared out among runs whose pieces may lie in any order."""

    def __init__(self, model: LapModel, numbers: Sequence[int], shortest: int) -> None:
        """``shortest`` is the shortest piece in divisors, where no rule asks for longer ones."""
        self._model, self._sticks = model, _Sticks(model, numbers)
        self._shortest = max(shortest, model.problem.rules.shortest // model.divisor)
        program, slots = self._sticks.program, self._sticks.kinds
        self._given = [[program.new_bool_var("") for _ in slots] for _ in model.problem.runs]
        self._lengths = [[self._length(kind) for kind in slots] for _ in model.problem.runs]
        self._chosen = [[program.new_bool_var("") for _ in sums] for sums in model.sums]
        for run in range(len(model.problem.runs)):
            self._cover(run)
        self._order()
        pairs = list(zip(self._lengths, self._given, strict=True))
        factors = model.divisor, model.problem.kerf
        self._sticks.hold(
            [
                [term for pair in pairs for term in zip((v[n] for v in pair), factors, strict=True)]
                for n in range(len(slots))
            ],
            ordered=True,
        )

    def _order(self) -> None:
        """Of runs alike the later ones take later sticks: they could be exchanged."""
        last: dict[int, cp_model.LinearExprT] = {}
        for alike, given in zip(self._model.alike, self._given, strict=True):
            places = sum(slot * bit for slot, bit in enumerate(given))
            if alike in last:
                self._sticks.program.add(last[alike] <= places)
            last[alike] = places

    def _length(self, kind: int) -> cp_model.IntVar:
        longest = self._model.problem.sticks[kind].length // self._model.divisor
        return self._sticks.program.new_int_var(0, longest, "")

    def _cover(self, run: int) -> None:
        """A run's pieces add up in one of its ways, each of them no longer than its longest stick."""
        program, given, lengths = self._sticks.program, self._given[run], self._lengths[run]
        sums, chosen, divisor = self._model.sums[run], self._chosen[run], self._model.divisor
        program.add_exactly_one(chosen)
        pairs = list(zip(sums, chosen, strict=True))
        program.add(sum(given) == sum(each.parts * bit for each, bit in pairs))
        program.add(sum(lengths) == sum(each.length // divisor * bit for each, bit in pairs))
        for slot, (bit, length) in enumerate(zip(given, lengths, strict=True)):
            program.add(length == 0).only_enforce_if(bit.Not())
            program.add(length >= self._shortest).only_enforce_if(bit)
            stick = self._model.problem.sticks[self._sticks.kinds[slot]]
            if not stick.lapped:
                program.add(bit == 0)
            for each, way in pairs:
                if stick.length > each.longest:
                    program.add_implication(way, bit.Not())

    def solve(self, work: float, watch: Watch) -> PartialPlan | bool:
        """Return a plan; False where there is none, True where it was not decided or the answer is none."""
        solver = self._sticks.solved(work, watch)
        if isinstance(solver, bool):
            return solver
        return self._plan(solver) if self._sticks.alone and self._complete(solver) else True

    def _complete(self, solver: cp_model.CpSolver) -> bool:
        """Whether every piece is one: none of no length."""
        pairs = zip(self._given, self._lengths, strict=True)
        return all(
            solver.value(length) > 0
            for givens, lengths in pairs
            for given, length in zip(givens, lengths, strict=True)
            if solver.boolean_value(given)
        )

    def _plan(self, solver: cp_model.CpSolver) -> PartialPlan:
        """Return the answer as a plan, the pieces of each run in the order that breaks the fewest rules."""
        partial = empty_plan(self._model)
        held: list[list[HeldPiece]] = [[] for _ in self._sticks.kinds]
        for run in range(len(self._model.problem.runs)):
            given = [slot for slot, given in enumerate(self._given[run]) if solver.boolean_value(given)]
            lengths = [solver.value(self._lengths[run][slot]) * self._model.divisor for slot in given]
            ways = zip(self._model.sums[run], self._chosen[run], strict=True)
            asked = next(each.asked for each, chosen in ways if solver.boolean_value(chosen))
            candidate, a, order = laid_in(partial, run, asked, lengths)
            partial.place(candidate, a)
            for place, piece in zip(order, pieces_of(candidate, a), strict=True):
                held[given[place]].append(piece)
        return self._sticks.cut(solver, partial, held)


class ComponentProgram:
    """Sticks of these numbers, or fewer, dealt to runs that hang together: what there is no such way for, no plan has.

    A component goes by the number of its first run. Sticks are counted by kind and plain pieces.
    """

    def __init__(self, model: LapModel, numbers: Sequence[int], shortest: int, laps: int | None = None) -> None:
        """No piece of a run is shorter than ``shortest``; runs have so many ``laps`` at most, where that is said."""
        self._model, self._shortest, self._program = model, shortest, cp_model.CpModel()
        self._runs = range(len(model.problem.runs))
        self._chosen = [
            [(run, each, self._program.new_bool_var("")) for run in self._runs[first:] for each in model.sums[run]]
            for first in self._runs
        ]
        self._dealt = [
            (kind, bag, [self._program.new_int_var(0, n, "") for _ in range(len(self._runs) + 1)])
            for kind, n in enumerate(numbers)
            if n
            for bag in bags(model, kind)
        ]
        most = sum(max((each.parts for each in sums), default=0) for sums in model.sums)
        held = [self._program.new_int_var(0, most, "") for _ in range(len(self._runs) + 1)]
        for place, pieces in enumerate(held):
            self._hold(place, pieces)
        for first in self._runs:
            self._hang_together(first, held[first])
        self._cover(numbers, sum(held), laps)

    def _cover(self, numbers: Sequence[int], pieces: cp_model.LinearExprT, laps: int | None) -> None:
        """Every run is in one component, plain pieces are as many as wanted, sticks no more than there are."""
        ways = [entry for chosen in self._chosen for entry in chosen]
        for run in self._runs:
            self._program.add_exactly_one(bit for other, _, bit in ways if other == run)
        self._program.add(pieces == sum(each.parts * bit for _, each, bit in ways))
        if laps is not None:
            self._program.add(pieces <= laps + len(self._runs))
        for kind, n in enumerate(numbers):
            self._program.add(sum(v for k, _, counts in self._dealt if k == kind for v in counts) <= n)
        for place, i in enumerate(self._model.plain):
            cut = sum(bag[place] * v for _, bag, counts in self._dealt for v in counts)
            self._program.add(cut == self._model.problem.pieces[i].demand)

    def _room(self, kind: int, bag: Bag) -> int:
        """Return what a stick has for pieces of runs, cuts included."""
        problem = self._model.problem
        plain = (n * problem.taken(problem.pieces[i].length) for n, i in zip(bag, self._model.plain, strict=True))
        return problem.taken(problem.sticks[kind].length) - sum(plain)

    def _hold(self, place: int, pieces: cp_model.IntVar) -> None:
        """Sticks of a component, or of none, give no more of the shortest ``pieces`` than they have room for."""
        least = self._shortest + self._model.problem.kerf
        room = list[cp_model.LinearExprT]()
        for kind, bag, counts in self._dealt:
            if self._model.problem.sticks[kind].lapped:
                room.append(counts[place] * (self._room(kind, bag) // max(1, least)))
            elif place < len(self._runs):
                self._program.add(counts[place] == 0)
        if least:
            self._program.add(pieces <= sum(room))

    def _hang_together(self, first: int, pieces: cp_model.IntVar) -> None:
        """A component is a tree, and its sticks have room for what its runs are beyond their shortest pieces."""
        kerf, ways = self._model.problem.kerf, self._chosen[first]
        there = sum(bit for run, _, bit in ways if run == first)
        for _, each, bit in ways:
            self._program.add(bit <= (there if each.length >= self._shortest * each.parts else 0))
        runs, parts = sum(bit for _, _, bit in ways), sum(each.parts * bit for _, each, bit in ways)
        sticks = sum(counts[first] for _, _, counts in self._dealt)
        self._program.add(sticks <= parts - runs + there)
        self._program.add(pieces >= sticks + runs - there)
        beyond = sum((each.length - self._shortest * each.parts) * bit for _, each, bit in ways)
        room = sum(self._room(kind, bag) * counts[first] for kind, bag, counts in self._dealt)
        self._program.add(beyond <= room - (self._shortest + kerf) * pieces)

    def solve(self, work: float, watch: Watch) -> bool:
        """Return False where there is no such way, True where there is or it was not decided."""
        solver = counted(work, watch)
        solver.parameters.linearization_level = 2
        return bool(solver.solve(self._program) != cp_model.INFEASIBLE)


class FreeProgram:
    """Sticks of these numbers, or fewer, and runs laid with at most ``broken`` rules broken.

    With ``laps`` they have so many laps at the most, with ``most`` they cost no more, the price of their laps included.
    """

    def __init__(
        self,
        model: LapModel,
        numbers: Sequence[int],
        broken: int,
        laps: int | None = None,
        most: int | None = None,
    ) -> None:
        self._model, self._sticks = model, _Sticks(model, numbers)
        program = self._sticks.program
        self._walls = [FreeWall(program, model, wall) for wall in model.walls]
        program.add(sum(wall.broken for wall in self._walls) <= broken)
        lap_count = sum(wall.lap_count for wall in self._walls)
        if laps is not None:
            program.add(lap_count <= laps)
        self._lengths = {run: lengths for wall in self._walls for run, lengths in wall.lengths.items()}
        self._chosen = {run: chosen for wall in self._walls for run, chosen in wall.chosen.items()}
        self._given: dict[tuple[int, int], list[cp_model.IntVar]] = {}
        cuts: list[list[tuple[cp_model.IntVar, int]]] = [[] for _ in self._sticks.kinds]
        for run in self._lengths:
            self._cut(run, cuts)
        # In order of their loads sticks alike would be harder to tell apart than by what CP-SAT finds itself.
        self._sticks.hold(cuts, ordered=False)
        if most is not None:
            pieces = [[given[slot] for given in self._given.values()] for slot in range(len(self._sticks.kinds))]
            both = [self._sticks.cost(pieces), lap_count]
            program.add(cp_model.LinearExpr.weighted_sum(both, [1, model.problem.rules.lap_price]) <= most)

    def _cut(self, run: int, cuts: Sequence[list[tuple[cp_model.IntVar, int]]]) -> None:
        """Every piece that the run has comes from one stick, as long as its way allows."""
        program, problem, sums = self._sticks.program, self._model.problem, self._model.sums[run]
        # This and the sum of all that is taken follow from the rest, but not for the linear relaxation.
        together = (each.length * bit for each, bit in zip(sums, self._chosen[run], strict=True))
        program.add(sum(self._lengths[run]) == sum(together))
        for part, length in enumerate(self._lengths[run]):
            given = self._given[run, part] = [program.new_bool_var("") for _ in self._sticks.kinds]
            ways = zip(sums, self._chosen[run], strict=True)
            there = sum(bit for each, bit in ways if each.parts > part)
            program.add(sum(given) == there)
            every = list[cp_model.IntVar]()
            for slot, kind in enumerate(self._sticks.kinds):
                stick = problem.sticks[kind]
                taken = program.new_int_var(0, problem.taken(stick.length), "")
                program.add(taken == length + problem.kerf).only_enforce_if(given[slot])
                program.add(taken == 0).only_enforce_if(given[slot].Not())
                cuts[slot].append((taken, 1))
                every.append(taken)
                if not stick.lapped:
                    program.add(given[slot] == 0)
                for each, way in zip(sums, self._chosen[run], strict=True):
                    if stick.length > each.longest:
                        program.add_implication(way, given[slot].Not())
            program.add(sum(every) == length + problem.kerf * there)

    def solve(self, work: float, watch: Watch) -> PartialPlan | bool:
        """Return a plan; False where there is none, True where it was not decided or the answer is none."""
        solver = self._sticks.solved(work, watch)
        if isinstance(solver, bool):
            return solver
        return self._plan(solver) if self._sticks.alone else True

    def _plan(self, solver: cp_model.CpSolver) -> PartialPlan | bool:
        partial = empty_plan(self._model)
        held: list[list[HeldPiece]] = [[] for _ in self._sticks.kinds]
        for run, chosen in self._chosen.items():
            ways = zip(self._model.sums[run], chosen, strict=True)
            each = next(each for each, bit in ways if solver.boolean_value(bit))
            lengths = [solver.value(length) for length in self._lengths[run][: each.parts]]
            candidate = candidate_in(self._model, run, each.asked, lengths)
            if candidate is None:
                return True
            partial.place(candidate, lengths[0])
            for part, piece in enumerate(pieces_of(candidate, lengths[0])):
                slot = next(s for s, given in enumerate(self._given[run, part]) if solver.boolean_value(given))
                held[slot].append(piece)
        return self._sticks.cut(solver, partial, held)
