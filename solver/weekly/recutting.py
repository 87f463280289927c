"""A few sticks of a plan at a time are cut anew, exactly, if fewer or cheaper ones may do.

A large neighbourhood search (Shaw 1998, "Using constraint programming and local search methods to solve vehicle routing
problems"): some sticks are taken out of the plan with their pieces; sets of sticks that cost less and are long enough
are asked, the cheapest first, whether they give the same pieces in the room that the rest leaves in the van
(``StickModel``). The whole plan is the first neighbourhood where it is small: where no set of sticks that costs less
does, such a plan is the least there is. Of a larger plan the sticks that waste most are taken, one of them with others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

import numpy as np

from solver.buying.bill import NEVER, cheapest
from solver.cutting.problem import Pattern
from solver.watch import Watch
from solver.weekly.day_cutting import Uses
from solver.weekly.patterns.stick_by_stick import StickModel
from solver.weekly.patterns.stick_sets import STICKS, CheaperSets, Offered
from solver.weekly.purchased import Purchased, least_costs
from solver.weekly.timed import TimedProblem, Van

PIECES = 48
"""Pieces cut anew at once, at most."""
WORK = 0.05
"""CP-SAT's deterministic seconds for one set of sticks."""
WHOLE_WORK = 0.6
"""The same for a set that would do for the whole plan: what is found then is a better week, or that there is none."""
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
        self._least = least_costs(problem.supplies, bought)
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
            if self._watch.stopped:
                return None
            rest, refuted, too_few = plan - taken, True, list[Counter[int]]()
            free, sets = self._free(_sticks(rest)), self._cheaper(taken, rest)
            for _, bought in sets.found(self._watch):
                sticks = (*free, *bought)
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
            self.least = refuted and sets.all and not rest and self._asks_all(plan)
        return None

    def _asks_all(self, plan: Uses) -> bool:
        """Whether the sets of sticks that are asked for a whole plan are all that could cut everything for less."""
        free = [supply.limit for supply in self._problem.supplies if not supply.cost]
        uncut, cost = self._problem.objective(plan)[0], self._cost(_sticks(plan))
        least = [self._least[k] for k, supply in enumerate(self._problem.supplies) if supply.cost]
        more = (STICKS + 1) * min(least, default=Fraction(0))
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

    def _cheaper(self, taken: Uses, rest: Uses) -> CheaperSets:
        """Return what there is of sets of sticks that cost less than those taken and are long enough."""
        problem, beside = self._problem, _sticks(rest)
        wanted = sum(problem.taken(problem.pieces[i].length) * n for i, n in _pieces(taken).items())
        wanted -= sum(problem.taken(problem.supplies[k].length) for k in self._free(beside))
        bought = [(k, supply) for k, supply in enumerate(problem.supplies) if supply.cost]
        offered = [
            Offered(k, problem.taken(s.length), self._least[k], None if s.limit is None else s.limit - beside[k])
            for k, s in bought
        ]
        return CheaperSets(
            offered,
            lambda sticks: self._cost(beside + Counter(sticks)),
            self._cost(beside + _sticks(taken)),
            wanted,
            sum((self._least[k] * beside[k] for k, _ in bought), Fraction(0)),
        )

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
