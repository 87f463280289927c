"""The cheapest plan where cutting counts beside the bill: purchases and patterns as one program.

Where every pattern can be written down, that program is the whole problem, and CP-SAT's optimum is proven. Else
patterns come from column generation (``sawn``): the program over those gives plans, and the purchases (``choice``) with
what cutting costs at the least by every cut learnt give the bound, which may then lie below the cheapest plan.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from solver.buying.bill import NEVER
from solver.buying.choice import Choice, Kinds, Part
from solver.buying.order import order_of
from solver.buying.saw import Saw, Way, cuts_of, way_of, ways_of
from solver.buying.sawn import Gains, Relaxed
from solver.buying.terms import Minimum, Terms
from solver.cutting.problem import CuttingProblem, Pattern, Uses
from solver.lp.lazily import cp_model
from solver.watch import Watch

MOST_LISTED = 3_000
"""Patterns of all materials up to which every one is written down."""
EFFORT = 4.0
"""CP-SAT's counted work for the program over patterns."""
PURCHASES = 30
"""Purchases that cutting is asked about for the bound."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One material: its problem, whose first sticks are the lengths of ``terms``, and what counts beside them."""

    problem: CuttingProblem
    terms: Terms
    saw: Saw

    @property
    def kinds(self) -> Kinds:
        """Its kinds of stick as purchases have them."""
        lengths, sticks = len(self.terms.lengths), self.problem.sticks
        places = tuple(k if k < lengths else None for k in range(len(sticks)))
        return Kinds(places, tuple(stick.limit or 0 for stick in sticks))

    @property
    def pieces(self) -> int:
        """How many pieces are cut."""
        return sum(piece.demand for piece in self.problem.pieces)

    def cutting(self, uses: Uses) -> int:
        """Return what cutting a plan's sticks costs."""
        return self.saw.total(ways_of(self.problem, uses.items()), self.problem.kerf)

    def sticks(self, uses: Uses) -> tuple[int, ...]:
        """Return how many sticks of each length a plan cuts."""
        counts = Counter[int]()
        for pattern, times in uses.items():
            counts[pattern.stick] += times
        return tuple(counts[k] for k in range(len(self.terms.lengths)))

    def numbers(self, sticks: Sequence[int]) -> list[int]:
        """Return numbers of every kind of stick, all that is on hand among them."""
        return [*sticks, *(stick.limit or 0 for stick in self.problem.sticks[len(self.terms.lengths) :])]


@dataclass(frozen=True, slots=True)
class Planned:
    """Plans of all materials, what they come to together, and what no plan comes to less than."""

    plans: tuple[Uses, ...]
    cost: int
    bound: int


def cost_of(cuts: Sequence[Cut], plans: Sequence[Uses], minimum: Minimum | None, watch: Watch) -> int:
    """Return what plans come to, cutting and all; without end where they can't be bought."""
    sticks = [cut.sticks(uses) for cut, uses in zip(cuts, plans, strict=True)]
    order = order_of([cut.terms for cut in cuts], sticks, minimum, watch)
    if order is None or order.refused:
        return NEVER
    return order.cost + sum(cut.cutting(uses) for cut, uses in zip(cuts, plans, strict=True))


def reckoned(
    cuts: Sequence[Cut], plans: Sequence[Uses], bound: int, watch: Watch, minimum: Minimum | None = None
) -> Planned:
    """Return the cheapest plans found, from plans whose bill is low; no bill is lower than ``bound``."""
    start = Planned(tuple(plans), cost_of(cuts, plans, minimum, watch), 0)
    least = sum(cut.saw.pattern * fewest_patterns(cut.problem) for cut in cuts)
    found = _closer(start, start, bound + least)
    every = _every(cuts)
    if every:
        program = _Program(cuts, every, minimum)
        found = _better(found, *program.solve(found, watch), complete=True)
    if found.bound >= found.cost or watch.stopped:
        return found
    relaxed = _Bounding(cuts, found.plans, found.cost, minimum)
    found = _closer(found, found, relaxed.run(found.cost, watch))
    if not every and found.bound < found.cost:
        found = _better(found, *_Program(cuts, relaxed.patterns, minimum).solve(found, watch), complete=False)
    return found


def _closer(found: Planned, plans: Planned, bound: int) -> Planned:
    return Planned(plans.plans, plans.cost, min(max(found.bound, bound), plans.cost))


def _better(found: Planned, plans: tuple[Uses, ...] | None, cost: int, bound: int, *, complete: bool) -> Planned:
    best = Planned(plans, cost, 0) if plans is not None and cost < found.cost else found
    return _closer(found, best, bound if complete else 0)


def fewest_patterns(problem: CuttingProblem) -> int:
    """Return how many patterns that take a cut any plan has at the least.

    A length that is no stick's own has to be cut, and a pattern has no more of those lengths than the shortest fit.
    """
    longest = max((stick.length for stick in problem.sticks), default=0)
    whole = {stick.length for stick in problem.sticks}
    lengths = sorted({piece.length for piece in problem.pieces if piece.demand} - whole)
    fit, taken = 0, 0
    while fit < len(lengths) and problem.taken(taken + lengths[fit], fit + 1) <= problem.taken(longest):
        taken, fit = taken + lengths[fit], fit + 1
    return -(-len(lengths) // fit) if fit else 0


def _every(cuts: Sequence[Cut]) -> list[list[Pattern]] | None:
    """Return all patterns of each material; None where they are too many."""
    found, left = [], MOST_LISTED
    for cut in cuts:
        listed = []
        for pattern in every_pattern(cut.problem):
            listed.append(pattern)
            if len(listed) > left:
                return None
        left -= len(listed)
        found.append(listed)
    return found


def every_pattern(problem: CuttingProblem) -> Iterator[Pattern]:
    """Yield every way to cut each kind of stick, those among them that leave more than they need."""
    pieces = problem.pieces
    free = [i for i, p in enumerate(pieces) if p.demand and not (p.left or p.right)]
    for k, stick in enumerate(problem.sticks):
        room = problem.taken(stick.length)
        lefts = [(), *((i,) for i, p in enumerate(pieces) if p.demand and p.left and not p.right and stick.left)]
        rights = [(), *((i,) for i, p in enumerate(pieces) if p.demand and p.right and not p.left and stick.right)]
        for ends in ((*left, *right) for left in lefts for right in rights):
            taken = sum(problem.taken(pieces[i].length) for i in ends)
            if taken <= room:
                for inside in _multisets(problem, free, room - taken):
                    if ends or inside:
                        yield Pattern(k, tuple(sorted((*ends, *inside))))
        for i, piece in enumerate(pieces):
            both = piece.left and piece.right and stick.left and stick.right
            if piece.demand and both and piece.length == stick.length:
                yield Pattern(k, (i,))


def _multisets(problem: CuttingProblem, free: Sequence[int], room: int) -> Iterator[tuple[int, ...]]:
    if not free:
        yield ()
        return
    i, takes = free[0], problem.taken(problem.pieces[free[0]].length)
    for copies in range(min(problem.pieces[i].demand, room // takes) + 1):
        for rest in _multisets(problem, free[1:], room - copies * takes):
            yield (i,) * copies + rest


class _Program:
    """Purchases, and how often each of some patterns is cut."""

    def __init__(self, cuts: Sequence[Cut], patterns: Sequence[Iterable[Pattern]], minimum: Minimum | None) -> None:
        self._cuts, self._minimum = cuts, minimum
        self._choice = Choice(minimum)
        pairs = zip(cuts, patterns, strict=True)
        self._times = [self._material(cut, own) for cut, own in pairs]

    def _material(self, cut: Cut, patterns: Iterable[Pattern]) -> dict[Pattern, cp_model.IntVar]:
        """Add a material's patterns: what they yield, of which sticks, and what they cost."""
        part = self._choice.add(cut.terms, cut.kinds, cut.pieces)
        model, problem = self._choice.model, cut.problem
        served: dict[int, list[cp_model.LinearExprT]] = defaultdict(list)
        used: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        setups: dict[Way, cp_model.IntVar] = {}
        times = {}
        for pattern in patterns:
            copies = Counter(pattern.pieces)
            most = min(problem.pieces[i].demand // n for i, n in copies.items())
            if most:
                times[pattern] = own = model.new_int_var(0, most, "")
                used[pattern.stick].append(own)
                for i, n in copies.items():
                    served[i].append(n * own)
                way = way_of(problem, pattern)
                self._choice.beside.append(own * cut.saw.cost(way, problem.kerf))
                if cut.saw.pattern and cuts_of(way, problem.kerf):
                    if way not in setups:
                        setups[way] = model.new_bool_var("")
                    model.add(own <= most * setups[way])
        self._choice.beside += [setup * cut.saw.pattern for setup in setups.values()]
        for i, piece in enumerate(problem.pieces):
            model.add(sum(served[i]) == piece.demand)
        for k, stick in enumerate(problem.sticks):
            model.add(sum(used[k]) <= (part.cut[k] if k < len(part.cut) else stick.limit or 0))
        return times

    def solve(self, start: Planned, watch: Watch) -> tuple[tuple[Uses, ...] | None, int, int]:
        """Return the best plans, what they come to, and what no plan of these patterns comes to less than."""
        for times, uses in zip(self._times, start.plans, strict=True):
            for pattern, own in times.items():
                self._choice.model.add_hint(own, uses.get(pattern, 0))
        bound, _ = self._choice.cheapest(start.cost, watch, EFFORT)
        solver = self._choice.solved
        if solver is None:
            return None, NEVER, bound
        plans = tuple({p: solver.value(own) for p, own in times.items() if solver.value(own)} for times in self._times)
        return plans, cost_of(self._cuts, plans, self._minimum, watch), bound


class _Bounding:
    """The bound by purchases and cuts on what cutting costs, and the patterns met on the way."""

    def __init__(self, cuts: Sequence[Cut], plans: Sequence[Uses], most: int, minimum: Minimum | None) -> None:
        """``most``: what cutting may cost, so that numbers stay small."""
        self._cuts = cuts
        self._choice = Choice(minimum)
        self._parts = [self._choice.add(cut.terms, cut.kinds, cut.pieces) for cut in cuts]
        self._costs = [self._choice.model.new_int_var(0, most, "") for _ in cuts]
        self._choice.beside += self._costs
        self._relaxed = [self._start(cut, uses) for cut, uses in zip(cuts, plans, strict=True)]

    @staticmethod
    def _start(cut: Cut, uses: Uses) -> Relaxed:
        on_hand = [0.0] * (len(cut.problem.sticks) - len(cut.terms.lengths))
        prices = [float(sold.each) + sold.fixed / max(1, cut.pieces) for sold in cut.terms.lengths]
        relaxed = Relaxed(cut.problem, cut.saw, [*prices, *on_hand])
        for pattern in uses:
            relaxed.add(pattern)
        return relaxed

    @property
    def patterns(self) -> list[list[Pattern]]:
        """The patterns of each material that are known."""
        return [list(relaxed.patterns) for relaxed in self._relaxed]

    def run(self, below: int, watch: Watch) -> int:
        """Return what no plan comes to less than, up to ``below``."""
        for relaxed, part, cost, cut in zip(self._relaxed, self._parts, self._costs, self._cuts, strict=True):
            self._learn(part, cost, cut, relaxed.at_prices(watch))
        best = 0
        for _ in range(PURCHASES):
            reached, chosen = self._choice.cheapest(below, watch)
            best = max(best, reached)
            if chosen is None or best >= below or not self._deeper(chosen, watch):
                break
        return best

    def _deeper(self, chosen: Sequence[Sequence[int]], watch: Watch) -> bool:
        """Ask what cutting so many sticks costs, and say whether that was more than known."""
        solver = self._choice.solved
        more = False
        assert solver is not None
        known = [solver.value(cost) for cost in self._costs]
        for place, (cut, sticks) in enumerate(zip(self._cuts, chosen, strict=True)):
            gains = self._relaxed[place].at_numbers(cut.numbers(sticks), watch)
            if gains is not None:
                yields = sum(g * n for g, n in zip(gains.gains, cut.numbers(sticks), strict=True))
                more |= gains.worth - yields > known[place] * gains.scale
                self._learn(self._parts[place], self._costs[place], cut, gains)
        return more

    def _learn(self, part: Part, cost: cp_model.IntVar, cut: Cut, gains: Gains | None) -> None:
        if gains is None:
            return
        lengths = len(cut.terms.lengths)
        on_hand = cut.numbers([0] * lengths)
        given = sum(gain * n for gain, n in zip(gains.gains, on_hand, strict=True))
        yields = [gain * own for gain, own in zip(gains.gains, part.cut, strict=False)]
        total = cp_model.LinearExpr.sum([gains.scale * cost, *yields])
        self._choice.model.add(total >= gains.worth - given)
