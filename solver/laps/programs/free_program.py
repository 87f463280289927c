"""Whether sticks of given numbers make a plan where ends don't matter: everything at once, by CP-SAT, for small jobs.

``ShareProgram`` asks which stick gives how much of which run, and leaves open how the pieces of a run lie along it. So
what it rules out is ruled out for every plan that keeps the rules, and a plan it finds may yet break some. A run takes
one piece of a stick: two would be longer by a lap. A piece may come to nothing, because then lengths in whole divisors
suffice (see the package). ``FreeProgram`` lays the runs as well, as ``violations`` does.
"""

from __future__ import annotations

from collections.abc import Sequence

from solver.laps.free_ends import candidate_in, laid_in
from solver.laps.model import LapModel
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

    def hold(self, cuts: Sequence[Sequence[tuple[cp_model.IntVar, int]]]) -> None:
        """State that what a stick gives is no longer than it, and that of sticks alike the fullest come first.

        ``cuts`` are what pieces of runs take of each stick, cuts included, as a sum of variables with factors.
        """
        problem, loads = self.model.problem, list[cp_model.LinearExprT]()
        pieces = [problem.taken(problem.pieces[i].length) for i in self.model.plain]
        for slot, kind in enumerate(self.kinds):
            plain = [counts[slot] for counts in self.plain]
            variables, factors = [v for v, _ in cuts[slot]], [f for _, f in cuts[slot]]
            load = cp_model.LinearExpr.weighted_sum([*plain, *variables], [*pieces, *factors])
            self.program.add(load <= problem.taken(problem.sticks[kind].length))
            if slot and kind == self.kinds[slot - 1]:
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
            ]
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
        self._sticks.hold(cuts)
        if most is not None:
            pieces = [[given[slot] for given in self._given.values()] for slot in range(len(self._sticks.kinds))]
            both = [self._sticks.cost(pieces), lap_count]
            program.add(cp_model.LinearExpr.weighted_sum(both, [1, model.problem.rules.lap_price]) <= most)

    def _cut(self, run: int, cuts: Sequence[list[tuple[cp_model.IntVar, int]]]) -> None:
        """Every piece that the run has comes from one stick, as long as its way allows."""
        program, problem, sums = self._sticks.program, self._model.problem, self._model.sums[run]
        for part, length in enumerate(self._lengths[run]):
            given = self._given[run, part] = [program.new_bool_var("") for _ in self._sticks.kinds]
            ways = zip(sums, self._chosen[run], strict=True)
            there = sum(bit for each, bit in ways if each.parts > part)
            program.add(sum(given) == there)
            for slot, kind in enumerate(self._sticks.kinds):
                stick = problem.sticks[kind]
                taken = program.new_int_var(0, problem.taken(stick.length), "")
                program.add(taken == length + problem.kerf).only_enforce_if(given[slot])
                program.add(taken == 0).only_enforce_if(given[slot].Not())
                cuts[slot].append((taken, 1))
                if not stick.lapped:
                    program.add(given[slot] == 0)
                for each, way in zip(sums, self._chosen[run], strict=True):
                    if stick.length > each.longest:
                        program.add_implication(way, given[slot].Not())

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
