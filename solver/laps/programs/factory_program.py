"""Whether sticks of given numbers make a plan with factory ends: everything at once, by CP-SAT, for small jobs.

Runs are laid as in ``violations``, all walls in one program, and no more rules are broken than must be. A stick that is
cut gives one last piece at its left end or none, one first piece at its right end or none, and plain pieces between. So
sticks with pieces of runs are told apart by whose pieces they hold, which leaves no equal sticks to exchange: of two
ends it is asked whether they lie in one stick of a kind, of each whether it is alone in one. Sticks of plain pieces
alone are counted by pattern.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from solver.laps.model import LapModel, bags, with_end
from solver.laps.state import HeldPiece, OpenStick, PartialPlan, held_first, held_last
from solver.laps.templates import Kinds
from solver.laps.violations import FactoryWall
from solver.lp.cpsat import counted
from solver.lp.lazily import cp_model
from solver.watch import Watch


@dataclass(frozen=True, slots=True)
class _End:
    """A piece at an end of a stick, of a run (or of the problem: -1 - index), and its length where it is there.

    It is there in these ``ways``, each with the sticks that may give it. ``plain`` are the pieces beside it.
    """

    run: int
    length: cp_model.IntVar
    ways: tuple[tuple[cp_model.IntVar, Kinds], ...]
    plain: tuple[cp_model.IntVar, ...]
    alone: Mapping[int, cp_model.IntVar]

    def there(self, kind: int | None = None) -> cp_model.LinearExprT:
        """Return 1 where it is there, and may come from such a stick."""
        return sum(chosen for chosen, kinds in self.ways if kind is None or kind in kinds)


class FactoryProgram:
    """Sticks of these numbers, or fewer, in which at most ``broken`` rules are broken.

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
        self._model, self._numbers = model, numbers
        self._program = cp_model.CpModel()
        self._walls = [FactoryWall(self._program, model, wall) for wall in model.walls]
        self._program.add(sum(wall.broken for wall in self._walls) <= broken)
        lap_count = sum(wall.lap_count for wall in self._walls)
        if laps is not None:
            self._program.add(lap_count <= laps)
        self._chosen = {run: chosen for wall in self._walls for run, chosen in wall.chosen.items()}
        self._kinds = [k for k, n in enumerate(numbers) if n]
        self._used: dict[int, list[cp_model.LinearExprT]] = defaultdict(list)
        self._wholes = dict(self._whole_pieces())
        self._lasts = [*self._of_runs(last=True), *self._of_pieces(left=True)]
        self._firsts = [*self._of_runs(last=False), *self._of_pieces(left=False)]
        self._beside = {pair: self._bool() for pair in product(*map(range, self._pairs()), self._kinds)}
        self._patterns = {
            (k, bag): self._program.new_int_var(0, numbers[k], "")
            for k in self._kinds
            for bag in bags(model, k)
            if any(bag)
        }
        self._share()
        self._hold()
        self._cover()
        self._count()
        if most is not None:
            used = [*map(sum, self._used.values()), lap_count]
            costs = [*(model.problem.sticks[k].cost for k in self._used), model.problem.rules.lap_price]
            self._program.add(cp_model.LinearExpr.weighted_sum(used, costs) <= most)

    def _pairs(self) -> tuple[int, int]:
        return len(self._lasts), len(self._firsts)

    def _bool(self) -> cp_model.IntVar:
        return self._program.new_bool_var("")

    def _whole_pieces(self) -> Iterator[tuple[tuple[int, int], cp_model.IntVar]]:
        """Yield how many sticks of a kind serve uncut for a piece that needs both ends, by piece and kind."""
        for index, piece in enumerate(self._model.problem.pieces):
            if piece.left and piece.right:
                found = {}
                for k in self._kinds:
                    stick = self._model.problem.sticks[k]
                    if stick.left and stick.right and stick.length == piece.length:
                        found[index, k] = self._program.new_int_var(0, piece.demand, "")
                        self._used[k].append(found[index, k])
                self._program.add(sum(found.values()) == piece.demand)
                yield from found.items()

    def _of_runs(self, *, last: bool) -> Iterator[_End]:
        for run, chosen in self._chosen.items():
            ways = [
                (bit, candidate.template)
                for bit, candidate in zip(chosen, self._model.candidates[run], strict=True)
                if (candidate.template.last if last else candidate.template.first)
            ]
            length = next(wall.firsts[run] for wall in self._walls if run in wall.firsts)
            if last and ways:
                rest = self._program.new_int_var(1, max(template.rest for _, template in ways), "")
                for bit, template in ways:
                    self._program.add(rest == template.rest - length).only_enforce_if(bit)
                length = rest
            if ways:
                yield self._end(run, length, [(bit, t.last if last else t.first) for bit, t in ways])

    def _of_pieces(self, *, left: bool) -> Iterator[_End]:
        kinds = with_end(self._model.problem, right=not left)
        for index, piece in enumerate(self._model.problem.pieces):
            if (piece.left, piece.right) == (left, not left):
                for _ in range(piece.demand):
                    here, length = (self._program.new_constant(n) for n in (1, piece.length))
                    yield self._end(-1 - index, length, [(here, kinds)])

    def _end(self, run: int, length: cp_model.IntVar, ways: Sequence[tuple[cp_model.IntVar, Kinds]]) -> _End:
        demands = (self._model.problem.pieces[i].demand for i in self._model.plain)
        plain = tuple(self._program.new_int_var(0, n, "") for n in demands)
        return _End(run, length, tuple(ways), plain, {k: self._bool() for k in self._kinds})

    def _share(self) -> None:
        """Every end lies in one stick of a kind that may give it, beside another or alone."""
        for place, ends in enumerate((self._lasts, self._firsts)):
            for n, end in enumerate(ends):
                beside = {k: [x for pair, x in self._beside.items() if pair[place] == n and pair[2] == k]
                          for k in self._kinds}  # fmt: skip
                for k in self._kinds:
                    self._program.add(sum(beside[k]) + end.alone[k] <= end.there(k))
                every = (x for k in self._kinds for x in (*beside[k], end.alone[k]))
                self._program.add(sum(every) == end.there())
        for (_, _, k), x in self._beside.items():
            self._used[k].append(x)
        for end in (*self._lasts, *self._firsts):
            for k, alone in end.alone.items():
                self._used[k].append(alone)

    def _hold(self) -> None:
        """What lies in a stick is no longer than it; beside a first piece that is not alone, its last one says what."""
        for end in (*self._lasts, *self._firsts):
            for k, alone in end.alone.items():
                self._fits([end.length], end.plain, k).only_enforce_if(alone)
        for (n, m, k), x in self._beside.items():
            last, first = self._lasts[n], self._firsts[m]
            self._fits([last.length, first.length], last.plain, k).only_enforce_if(x)
        for end in self._lasts:
            self._only_where(end.plain, end.there())
        for end in self._firsts:
            self._only_where(end.plain, sum(end.alone.values()))

    def _only_where(self, bag: Sequence[cp_model.IntVar], there: cp_model.LinearExprT) -> None:
        for piece, i in zip(bag, self._model.plain, strict=True):
            self._program.add(piece <= self._model.problem.pieces[i].demand * there)

    def _fits(
        self, lengths: Sequence[cp_model.IntVar], bag: Sequence[cp_model.IntVar], kind: int
    ) -> cp_model.Constraint:
        problem = self._model.problem
        taken = [problem.taken(problem.pieces[i].length) for i in self._model.plain]
        load = cp_model.LinearExpr.weighted_sum([*lengths, *bag], [*(1 for _ in lengths), *taken])
        return self._program.add(load <= problem.taken(problem.sticks[kind].length, 1 - len(lengths)))

    def _cover(self) -> None:
        """Plain pieces are as many as wanted."""
        for place, i in enumerate(self._model.plain):
            cut = sum(end.plain[place] for end in (*self._lasts, *self._firsts))
            alone = sum(bag[place] * n for (_, bag), n in self._patterns.items())
            self._program.add(cut + alone == self._model.problem.pieces[i].demand)

    def _count(self) -> None:
        """No more sticks are used than there are; all that is cut is no longer together than they are."""
        problem = self._model.problem
        for (k, _), n in self._patterns.items():
            self._used[k].append(n)
        length: list[cp_model.LinearExprT] = []
        for run, chosen in self._chosen.items():
            for bit, candidate in zip(chosen, self._model.candidates[run], strict=True):
                template = candidate.template
                for k in template.wholes:
                    self._used[k].append(bit)
                wholes = sum(problem.sticks[k].length for k in template.wholes)
                length.append(problem.taken(template.rest + wholes, template.parts) * bit)
        length += [problem.taken(piece.length) * piece.demand for piece in problem.pieces]
        self._program.add(
            sum(length) <= sum(n * problem.taken(problem.sticks[k].length) for k, n in enumerate(self._numbers))
        )
        for k in range(len(problem.sticks)):
            self._program.add(sum(self._used[k]) <= self._numbers[k])

    def solve(self, work: float, watch: Watch) -> PartialPlan | bool:
        """Return a plan; False where there is none, True where it was not decided."""
        solver = counted(work, watch)
        status = solver.solve(self._program)
        if status == cp_model.INFEASIBLE:
            return False
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return True
        return self._plan(solver)

    def _plan(self, solver: cp_model.CpSolver) -> PartialPlan:
        partial = PartialPlan(self._model)
        for candidate, a in (wall.laid(solver, run) for wall in self._walls for run in wall.chosen):
            partial.place(candidate, a)
        for stick in (*self._alone(solver, partial), *self._shared(solver, partial)):
            partial.add(stick)
        return partial

    def _alone(self, solver: cp_model.CpSolver, partial: PartialPlan) -> Iterator[OpenStick]:
        """Yield sticks that serve uncut for a piece, and those that hold plain pieces alone or one piece of a run."""
        for (index, k), n in self._wholes.items():
            yield from (OpenStick(k, whole_for=-1 - index) for _ in range(solver.value(n)))
        for (k, bag), n in self._patterns.items():
            yield from (OpenStick(k, plain=_repeated(bag)) for _ in range(solver.value(n)))
        for ends, last in ((self._lasts, True), (self._firsts, False)):
            for end in ends:
                held, plain = self._held(partial, end, last=last), _repeated(map(solver.value, end.plain))
                for k in (k for k, alone in end.alone.items() if solver.boolean_value(alone)):
                    yield OpenStick(k, left=held if last else None, right=None if last else held, plain=plain)

    def _shared(self, solver: cp_model.CpSolver, partial: PartialPlan) -> Iterator[OpenStick]:
        """Yield sticks that hold a last piece and a first one."""
        for (n, m, k), beside in self._beside.items():
            if solver.boolean_value(beside):
                last, first = self._lasts[n], self._firsts[m]
                left, right = self._held(partial, last, last=True), self._held(partial, first, last=False)
                yield OpenStick(k, left=left, right=right, plain=_repeated(map(solver.value, last.plain)))

    def _held(self, partial: PartialPlan, end: _End, *, last: bool) -> HeldPiece | None:
        if end.run < 0:
            piece = self._model.problem.pieces[-1 - end.run]
            return HeldPiece(piece.length, end.run, with_end(self._model.problem, right=not last))
        placed = partial.placed[end.run]
        return placed and (held_last if last else held_first)(*placed)


def _repeated(bag: Iterable[int]) -> tuple[int, ...]:
    return tuple(piece for piece, count in enumerate(bag) for _ in range(count))
