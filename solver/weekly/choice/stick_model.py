"""Whether given sticks give given dated pieces, stick by stick, in the room there is in the van.

A pattern of short pieces is one of very many, but its sticks are few: here every stick has its own variables, for how
often it gives each piece and on which days it is cut. That is the assignment model of Kantorovich (1960, "Mathematical
methods of organizing and planning production"), weak as a linear program; CP-SAT is quick with it where sticks are few
and it need not choose them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

from solver.cutting.problem import Pattern
from solver.lp.cpsat import counted, watched
from solver.lp.lazily import cp_model
from solver.watch import Watch
from solver.weekly.day_cutting import Uses
from solver.weekly.timed import TimedProblem, Van

Pieces: TypeAlias = "dict[int, cp_model.IntVar]"
"""How often a stick gives each piece."""


class StickModel:
    """``sticks`` are supplies by their places, alike ones together; ``wanted`` says how often each piece is cut."""

    def __init__(self, problem: TimedProblem, sticks: Sequence[int], wanted: Mapping[int, int], room: Van) -> None:
        self._problem, self._sticks, self._wanted = problem, sticks, wanted
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
        """Return how the sticks are cut, on as few days as ``work`` allows; None if that finds no way."""
        self._model.minimize(sum(day for on in self._on for day in on.values()))
        solver = counted(work, watch)
        if watched(solver, self._model, watch) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        found: Uses = Counter()
        for place, cut in zip(self._sticks, self._cut, strict=True):
            pieces = tuple(i for i in sorted(cut) for _ in range(solver.value(cut[i])))
            if pieces:
                found[Pattern(place, pieces)] += 1
        return found if all(self._problem.allowed(pattern) for pattern in found) else None
