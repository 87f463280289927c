"""A few sticks of a plan at a time are cut anew, exactly, if fewer or cheaper ones may do.

A large neighbourhood search (Shaw 1998, "Using constraint programming and local search methods to solve vehicle routing
problems"): some sticks are taken out of the plan with their pieces; sets of sticks that cost less and are long enough
are asked, the cheapest first, whether they give the same pieces in the room that the rest leaves in the van
(``StickModel``). The whole plan is the first neighbourhood where it is small: where no set of sticks that costs less
does, such a plan is the least there is. Of a larger plan the sticks that waste most are taken, one of them with others.

A pattern of short pieces is one of very many, but its sticks are few: here every stick has its own variables, for how
often it gives each piece and on which days it is cut. That is the assignment model of Kantorovich (1960, "Mathematical
methods of organizing and planning production"), weak as a linear program; CP-SAT is quick with it where sticks are few
and it need not choose them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations_with_replacement, pairwise, takewhile
from math import floor
from typing import TypeAlias

import numpy as np

from solver.buying.bill import NEVER, cheapest
from solver.cutting.problem import Pattern
from solver.lp.cpsat import counted, watched
from solver.lp.lazily import cp_model
from solver.watch import Watch
from solver.weekly.day_cutting import Uses
from solver.weekly.purchased import Purchased
from solver.weekly.timed import Supply, TimedProblem, Van

PIECES = 48
"""Pieces cut anew at once, at most."""
STICKS = 8
"""Sticks cut anew at once, at most."""
WORK = 0.05
"""CP-SAT's deterministic seconds for one set of sticks."""
WHOLE_WORK = 0.6
"""The same for a set that would do for the whole plan: what is found then is a better week, or that there is none."""
FEWER_DAYS_WORK = 0.05
"""The same for cutting each stick on few days, once a set does."""
ASKED = 6
"""Sets of sticks that may be asked in vain."""
WHOLE_ASKED = 3
"""So many of them does one count for that was asked for the whole plan and neither does nor is known not to."""
DRAWN = 100
"""Neighbourhoods looked at since the last gain, at most."""


class Recutting:
    """Makes plans of one problem cheaper, with so much ``room`` for them in the van.

    Where it is ``bought`` sticks count for what their cheapest purchase comes to.
    """

    def __init__(self, problem: TimedProblem, room: Van, watch: Watch, bought: Purchased | None = None) -> None:
        self._problem, self._room, self._watch, self._bought = problem, room, watch, bought
        self._left = ASKED
        self.least = False
        """Whether no plan in the room there is costs less than the last that was found, as far as that is known."""
        self._sets = sorted(_sets(problem), key=lambda found: (found[0], -found[1], found[2]))
        self._bills: dict[tuple[int, ...], int] = {}

    def cheaper(self, uses: Mapping[Pattern, int], floor: int) -> Uses:
        """Return a plan that cuts the same and costs no more; ``floor`` is what none costs less than."""
        plan = Counter(uses)
        while self._cost(_sticks(plan)) > floor and (better := self._better(plan)) is not None:
            plan = better
        return plan

    def on_free_sticks(self, uses: Mapping[Pattern, int]) -> Uses:
        """Return a plan with sticks taken from others that cost nothing and do as well, the shortest first."""
        plan, supplies = Counter(uses), self._problem.supplies
        for pattern in sorted(uses, key=lambda p: (-supplies[p.stick].cost, p)):
            for _ in range(uses[pattern] if supplies[pattern.stick].cost else 0):
                rest = plan - Counter([pattern])
                left, room = self._free(_sticks(rest)), self._room_beside(rest)
                others = (Pattern(k, pattern.pieces) for k in sorted(left, key=lambda k: (supplies[k].length, k)))
                other = next((p for p in others if self._problem.allowed(p) and self._fits(p, room)), None)
                if other is None:
                    break
                plan = rest + Counter([other])
        return plan

    def _cost(self, sticks: Counter[int]) -> int:
        """Return what sticks come to, by their places."""
        supplies = self._problem.supplies
        if self._bought is None:
            return sum(supplies[k].cost * n for k, n in sticks.items())
        counts = tuple(sticks[k] for k in range(len(self._bought.terms.lengths)))
        if counts not in self._bills:
            found = cheapest(self._bought.terms, counts)
            self._bills[counts] = NEVER if found is None else found.cost
        return self._bills[counts]

    def _fits(self, pattern: Pattern, room: Van) -> bool:
        return all(room.get(night, 1) > 0 for night in self._problem.nights(pattern))

    def _better(self, plan: Uses) -> Uses | None:
        for taken in self._neighbourhoods(plan):
            rest, refuted, too_few = plan - taken, True, list[Counter[int]]()
            for sticks in self._cheaper(taken, rest):
                if any(Counter(sticks) <= others for others in too_few):
                    continue
                if self._left <= 0 or self._watch.stopped:
                    return None
                model = StickModel(self._problem, sticks, _pieces(taken), self._room_beside(rest))
                found = model.cut(WORK if rest else WHOLE_WORK, self._watch)
                if found is not None:
                    return rest + found
                refuted = refuted and model.refuted
                too_few += [Counter(sticks)] * model.refuted
                self._left -= 1 if rest else 0 if model.refuted else WHOLE_ASKED
            self.least = refuted and not rest and self._asks_all(plan)
        return None

    def _asks_all(self, plan: Uses) -> bool:
        """Whether the sets of sticks that are asked for a whole plan are all that could cut everything for less."""
        free = [supply.limit for supply in self._problem.supplies if not supply.cost]
        uncut, cost = self._problem.objective(plan)[0], self._cost(_sticks(plan))
        prices = [supply.cost for supply in self._problem.supplies if supply.cost]
        if self._bought is not None:
            prices = [floor(sold.each) for sold in self._bought.terms.lengths]
        more = (STICKS + 1) * min(prices, default=0)
        return not uncut and cost <= more and None not in free and sum(limit or 0 for limit in free) <= STICKS

    def _neighbourhoods(self, plan: Uses) -> Iterator[Uses]:
        """Yield sticks to be cut anew: the whole plan if it is small, else some of those that waste most."""
        pieces = self._problem.pieces
        whole = [p for p in plan.elements() if not any(pieces[i].left and pieces[i].right for i in p.pieces)]
        whole.sort(key=lambda p: (-self._waste(p), p))
        chance, seen = np.random.default_rng(0), set[tuple[Pattern, ...]]()
        for _ in range(DRAWN):
            taken = self._few(whole)
            key = tuple(sorted(taken))
            if key not in seen:
                seen.add(key)
                yield Counter(taken)
            if len(taken) == len(whole):
                return
            # the more a stick wastes, the earlier it is likely to come
            whole.sort(key=lambda p: -(1 + self._waste(p)) * chance.random())

    def _few(self, order: Sequence[Pattern]) -> list[Pattern]:
        taken: list[Pattern] = []
        room = PIECES
        for pattern in order:
            if len(taken) < STICKS and len(pattern.pieces) <= room:
                taken.append(pattern)
                room -= len(pattern.pieces)
        return taken

    def _waste(self, pattern: Pattern) -> int:
        used = sum(self._problem.taken(self._problem.pieces[i].length) for i in pattern.pieces)
        return self._problem.taken(self._problem.supplies[pattern.stick].length) - used

    def _cheaper(self, taken: Uses, rest: Uses) -> Iterator[tuple[int, ...]]:
        """Yield sets of sticks that cost less than those taken and are long enough, the cheapest first."""
        supplies, beside = self._problem.supplies, _sticks(rest)
        free = self._free(beside)
        cost = self._cost(beside + _sticks(taken))
        wanted = sum(self._problem.taken(self._problem.pieces[i].length) * n for i, n in _pieces(taken).items())
        wanted -= sum(self._problem.taken(supplies[k].length) for k in free)
        asked = (entry for entry in self._sets if entry[1] >= wanted and _there(supplies, beside + Counter(entry[2])))
        if self._bought is None:
            before = self._cost(beside)
            yield from ((*free, *sticks) for price, _, sticks in takewhile(lambda e: before + e[0] < cost, asked))
        else:
            billed = ((self._cost(beside + Counter(sticks)), -length, sticks) for _, length, sticks in asked)
            yield from ((*free, *sticks) for bill, _, sticks in sorted(billed) if bill < cost)

    def _free(self, beside: Counter[int]) -> list[int]:
        """Return what costs nothing and is not used by the rest, the longest, in the order of places."""
        supplies = self._problem.supplies
        left = {k: (s.limit or 0) - beside[k] for k, s in enumerate(supplies) if not s.cost}
        longest = sorted(left, key=lambda k: (-supplies[k].length, k))
        return sorted([k for k in longest for _ in range(left[k])][:STICKS])

    def _room_beside(self, rest: Uses) -> Van:
        room = dict(self._room)
        for pattern, times in rest.items():
            for night in self._problem.nights(pattern):
                if night in room:
                    room[night] -= times
        return room


def _sets(problem: TimedProblem) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Yield what can be bought for a neighbourhood: cost, length that it takes to fill, and sticks by their places."""
    supplies = problem.supplies
    bought = [k for k, supply in enumerate(supplies) if supply.cost and supply.limit != 0]
    for count in range(STICKS + 1):
        for sticks in combinations_with_replacement(bought, count):
            yield sum(supplies[k].cost for k in sticks), sum(problem.taken(supplies[k].length) for k in sticks), sticks


def _there(supplies: Sequence[Supply], used: Counter[int]) -> bool:
    return all(n <= limit for k, n in used.items() if (limit := supplies[k].limit) is not None)


def _pieces(uses: Uses) -> Counter[int]:
    made: Counter[int] = Counter()
    for pattern, times in uses.items():
        for i in pattern.pieces:
            made[i] += times
    return made


def _sticks(uses: Uses) -> Counter[int]:
    used: Counter[int] = Counter()
    for pattern, times in uses.items():
        used[pattern.stick] += times
    return used


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
