"""What no plan can cut is set aside before anything is sought: then a bound for all the rest can be proven.

A piece is set aside that no stick gives with the ends it must have, and a run that all sticks together can't cover.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from itertools import product

from solver.categories import LapEnds
from solver.cutting.problem import Piece
from solver.laps.problem import CutPiece, CutStick, LapPlan, LapProblem, LapRun
from solver.laps.templates import RunTemplate, free_sums, of_each, templates_of


@dataclass(frozen=True, slots=True)
class Presolved:
    """The ``problem`` without what is impossible, and ``asked``, the problem with it; ``runs`` are kept, by index."""

    problem: LapProblem
    asked: LapProblem
    runs: tuple[int, ...]

    def answer(self, plan: LapPlan) -> LapPlan:
        """Return the plan of the problem as an answer to all that was asked."""
        uncut = zip(plan.uncut, self.problem.pieces, self.asked.pieces, strict=True)
        return replace(
            plan,
            kinds=(*self.asked.pieces, *plan.kinds[len(self.asked.pieces) :]),
            sticks=tuple(CutStick(stick.stick, tuple(map(self._piece, stick.pieces))) for stick in plan.sticks),
            covers=tuple(replace(cover, run=self.runs[cover.run]) for cover in plan.covers),
            breaches=tuple(replace(breach, run=self.runs[breach.run]) for breach in plan.breaches),
            uncut=tuple(count + all_of.demand - some.demand for count, some, all_of in uncut),
            uncut_runs=self._uncut_runs(plan),
        )

    def _piece(self, piece: CutPiece) -> CutPiece:
        return piece if piece.run is None else replace(piece, run=self.runs[piece.run])

    def _uncut_runs(self, plan: LapPlan) -> tuple[int, ...]:
        covered = {self.runs[cover.run] for cover in plan.covers}
        return tuple(run for run in range(len(self.asked.runs)) if run not in covered)


def presolve(problem: LapProblem) -> Presolved:
    """Return the problem without the pieces and runs that no plan could cut, whatever else it left uncut."""
    pieces = tuple(piece if _fits(problem, piece) else replace(piece, demand=0) for piece in problem.pieces)
    runs = tuple(n for n, coverable in enumerate(of_each(problem, _coverable)) if coverable)
    return Presolved(replace(problem, pieces=pieces, runs=tuple(problem.runs[n] for n in runs)), problem, runs)


def _fits(problem: LapProblem, piece: Piece) -> bool:
    whole = piece.left and piece.right
    return any(
        stick.limit != 0
        and (stick.left or not piece.left)
        and (stick.right or not piece.right)
        and (stick.length == piece.length if whole else stick.length >= piece.length)
        for stick in problem.sticks
    )


def _coverable(problem: LapProblem, run: LapRun) -> bool:
    if problem.rules.ends is not LapEnds.FACTORY:
        free = free_sums(problem, run)
        return bool(free.sums) or not free.complete
    listed = templates_of(problem, run)
    return any(_can_be_had(problem, template) for template in listed.templates) or not listed.complete


def _can_be_had(problem: LapProblem, template: RunTemplate) -> bool:
    """Whether there are sticks for all pieces of the template; no stick gives two of them."""
    used = Counter(template.wholes)

    def left(kind: int) -> int:
        limit = problem.sticks[kind].limit
        return 2 if limit is None else limit - used[kind]

    def reach(kind: int | None) -> int:
        return 0 if kind is None else problem.sticks[kind].length

    ends = product(template.first or (None,), template.last or (None,))
    return all(left(kind) >= 0 for kind in used) and any(
        reach(first) + reach(last) >= template.rest
        and all(left(k) >= (first, last).count(k) for k in (first, last) if k is not None)
        for first, last in ends
    )
