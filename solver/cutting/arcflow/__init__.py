"""Destructive lower bounds by the search over parts, for costs and for given numbers of sticks.

``Closing`` closes the distance between the best plan and the bound, one reachable cost at a time from below:
each step asks whether a plan of that cost exists. The lower the cost asked for, the smaller the gap of the
duals and the fewer patterns are left, so the questions are easiest in this order (destructive bounding:
Klein and Scholl 1999).

``settle`` finds whether there is a plan with given numbers of sticks, every stick being limited to its number. What
the numbers cost is then all that may be spent, so a plan must use them to the last, the gap of the duals is next to
nothing, and few patterns are left.

The search asks whether there is a plan of at most some cost: branch and price over the arcs, depth first, every part
narrowed before it is split. In each part: column generation over the arcs that are left; if the duals show that no
plan within the target is left, the part is done; otherwise arcs too far from every such plan are dropped. Patterns few
enough to be written down are tightened by cuts, and the integer program finishes the part off. Otherwise it is split:
on the number of sticks of one kind where that is fractional (first, because a stick count moves the bound most), else
on the flow of one arc: of the longest piece whose arcs carry fractions, the one nearest a half. So pieces are placed
from the longest down, and either side of a split says something. With one kind of stick it is the arc nearest a half,
of whichever piece (``evenly``): of long lists without waste that makes far smaller trees.

With one kind of stick a cost is a number of sticks, so ``Closing`` alone asks, and takes turns with dives: where
there is a plan without waste, a dive may come upon it long before the search does.

The method is that of de Lima, Iori and Miyazawa (2022): flow models solved by fixing with several dual
solutions, branching on arcs, and a general solver once little is left. Column generation elsewhere stops as soon as
bound and value stand for the same cost. Here (``converged``) what counts is how small the gap to the target gets, and
that keeps shrinking till no pattern improves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import takewhile
from math import ceil, floor

import numpy as np

from solver.cutting.arcflow.enumerated import Answer, Outcome, Task, holds, solved, tightened
from solver.cutting.arcflow.fixing import NEVER, Fair, Question, Weighed, Worth, by_length, fair, fixed, mean, weigh
from solver.cutting.arcflow.graph import Node, Space, at_least, at_most
from solver.cutting.arcflow.growth import TooLarge, grown
from solver.cutting.arcflow.master import Master, NumberedUses, Point
from solver.cutting.arcflow.paths import TooMany, improving, listed
from solver.cutting.bounds import Counts
from solver.cutting.columns import SLACK, Relaxation
from solver.cutting.count_bounds import Numbers
from solver.cutting.incumbent import Incumbent
from solver.cutting.presolve import trimmed
from solver.cutting.pricing.protocol import Pricer, Prices
from solver.cutting.problem import Pattern, Uses
from solver.lp.glop import NEARLY
from solver.watch import Watch

TAKEN = 5
"""Patterns taken to start with, for every piece: more of them slow the linear program down."""

TEXT = (
    "all plans of lower cost, branch by branch: integer duals of patterns and odd cuts leave out patterns, and what is "
    "left is searched by an integer program with whole costs, no gap and half a step of room"
)
"""What a bound from here rests on."""


class Closing:
    """Raises the bound of one standing or lowers its cost, by turns with whoever else looks for plans."""

    def __init__(self, incumbent: Incumbent, pricer: Pricer, known: Iterable[Pattern]) -> None:
        """``known``: patterns to start from, of which the best are taken."""
        self._incumbent = incumbent
        self._search = Search(Space.of(incumbent.reduced), pricer, best_known(incumbent, known), incumbent.watch)
        self._search.evenly = len(self._search.space.costs) == 1

    def on(self, parts: int) -> None:
        """Go on until cost and bound meet, ``parts`` more parts are searched, or the watch stops."""
        incumbent, search, last = self._incumbent, self._search, self._search.parts + parts
        while not incumbent.done and search.parts < last:
            outcome = search.run(incumbent.bound, last - search.parts)
            if outcome.answer is Answer.OPEN:
                return
            if outcome.answer is Answer.FOUND:
                incumbent.offer(outcome.uses)
            else:
                incumbent.searched_to(incumbent.bound + 1, TEXT)


def best_known(incumbent: Incumbent, known: Iterable[Pattern]) -> list[Pattern]:
    """Return the proper patterns among those known that cost least beyond what their pieces are worth."""
    problem, certificate = incumbent.reduced.problem, incumbent.certificate
    worth = (1, [0] * len(problem.pieces)) if certificate is None else (certificate.scale, certificate.values)
    demands = [piece.demand for piece in problem.pieces]
    proper = (p for p in known if all(p.pieces.count(i) <= demands[i] for i in set(p.pieces)))
    costs = ((worth[0] * problem.cost(p) - sum(worth[1][i] for i in p.pieces), p) for p in proper)
    return [p for _, p in sorted(costs)[: TAKEN * len(demands)]]


def settle(incumbent: Incumbent, relaxation: Relaxation, numbers: Numbers, parts: int) -> Outcome:
    """Look for a plan with at most so many sticks of each kind, in at most so many parts of the search."""
    reduced = incumbent.reduced
    limited = (replace(stick, limit=n) for stick, n in zip(reduced.problem.sticks, numbers, strict=True))
    space = Space.of(replace(reduced, problem=replace(reduced.problem, sticks=tuple(limited))))
    search = Search(space, relaxation.pricer, best_known(incumbent, relaxation.master.patterns), incumbent.watch)
    return search.run(sum(cost * n for cost, n in zip(space.costs, numbers, strict=True)), parts)


COLUMNS = 30
"""New columns a round, by lane."""
FEW = 12_000
"""Patterns that the integer program is given at most."""
CORNERS = 12
"""Dual solutions tried before the search begins."""
NEARBY = 1e-3
"""How much larger the demands are made for that, at most."""
NODES = 1_000
"""Nodes that HiGHS may search."""


def converged(space: Space, master: Master, pricer: Pricer, target: int, watch: Watch) -> tuple[Worth, Fair] | None:
    """Return the last duals with fair prices, or None where the watch stops it or the program fails."""
    master.release()
    master.price_missing(forbidding=False)
    while not watch.stopped and (point := master.solve({}, watch)) is not None:
        proven, patterns = _proven(space, point.worth, pricer, target, watch)
        new = master.add(patterns)
        if proven.hopeless or (not new and not (point.missing and master.price_missing(forbidding=True))):
            return point.worth, proven
    return None


def _proven(space: Space, worth: Worth, pricer: Pricer, target: int, watch: Watch) -> tuple[Fair, Sequence[Pattern]]:
    """Return what duals prove over all patterns, and patterns worth more than their stick."""
    prices = pricer.price(worth.values, np.array(space.demands, np.int64), _floors(space, worth), watch)
    question = Question(space.demands, space.costs, Counts.of(space.reduced.problem.sticks), {}, target)
    return fair(question, worth, _best(space, worth, prices)), prices.patterns


def _floors(space: Space, worth: Worth) -> list[int]:
    """Return what a pattern of each real stick must be worth more than."""
    slack = (int(SLACK * worth.scale * max(1, cost)) for cost in space.costs)
    return [price + more for price, more in zip(worth.prices(space.costs), slack, strict=True)][: space.reduced.priced]


def _best(space: Space, worth: Worth, prices: Prices) -> Sequence[int]:
    """Return what no pattern of each stick is worth more than, given ones included."""
    best = [*prices.ceilings, *(NEVER for _ in space.costs[space.reduced.priced :])]
    for pattern in space.reduced.given:
        best[pattern.stick] = max(best[pattern.stick], int(worth.values[pattern.pieces[0]]))
    return best


class Search:
    """One space, searched for any number of targets; columns are kept from one to the next."""

    def __init__(self, space: Space, pricer: Pricer, known: Iterable[Pattern], watch: Watch, few: int = FEW) -> None:
        """``known``: proper patterns to start from; ``few``: how many the integer program is given at most.

        Set ``evenly`` to split on the arc nearest a half, of whichever piece.
        """
        self.space, self.watch, self.evenly = space, watch, False
        self._pricer, self._few = pricer, few
        self.master = Master(space)
        self.master.add(takewhile(lambda _: not watch.stopped, known))
        self.parts = 0
        self.rounds = 0
        self.programs = 0
        self._target: int | None = None
        self._left: list[Node] = []
        self._given_up = False

    def run(self, target: int, parts: int) -> Outcome:
        """Search for a plan of cost ``target`` or less in at most so many parts; go on where it is asked once more."""
        if target != self._target:
            root = Answer.OPEN if self.watch.stopped else self._root(target)
            self._target, self._left = target, [root] if isinstance(root, Node) else []
            self._given_up = root is Answer.OPEN
        while self._left:
            if self.watch.stopped or parts <= 0:
                return Outcome(Answer.OPEN)
            parts -= 1
            self.parts += 1
            outcome = self._visit(self._left.pop(), target)
            if not isinstance(outcome, Outcome):
                self._left += outcome
            elif outcome.answer is not Answer.NONE:
                self._given_up = True
                return outcome
        return Outcome(Answer.OPEN if self._given_up else Answer.NONE)

    def _root(self, target: int) -> Node | Answer:
        """Return the part of all patterns that may be in a plan within the target, or what is known without it."""
        found = converged(self.space, self.master, self._pricer, target, self.watch)
        if found is None:
            return Answer.OPEN
        if found[1].hopeless:
            return Answer.NONE
        root = self._grown(*found, target)
        if root is None:
            return Answer.OPEN
        self.master.routes.begin(root)
        narrowed = self._fixed(root, by_length(self.space), target)
        return Answer.NONE if narrowed is None else self._centred(narrowed, target)

    def _grown(self, worth: Worth, proven: Fair, target: int) -> Node | None:
        """Grow the part of all patterns by duals or, where these leave too many arcs, by their mean with others.

        A mean of optimal duals is optimal, and leaves only the paths that each of them leaves.
        """
        duals, others = [worth], self._others(target)
        while True:
            try:
                return grown(self.space, worth, proven)
            except TooLarge:
                another = next(others, None)
            if another is None:
                return None
            duals.append(another)
            worth = mean(duals)
            proven, patterns = _proven(self.space, worth, self._pricer, target, self.watch)
            self.master.add(patterns)

    def _others(self, target: int) -> Iterator[Worth]:
        """Yield more optimal duals where no length is left to waste: lengths, then those of nearby demands."""
        material = by_length(self.space)
        proven, _ = _proven(self.space, material, self._pricer, target, self.watch)
        if proven.gap is None or proven.gap > NEARLY * material.scale:
            return
        yield material
        for n in range(1, CORNERS):
            self.master.demand(_nearby(self.space.demands, n))
            found = converged(self.space, self.master, self._pricer, target, self.watch)
            self.master.demand(self.space.demands)
            if found is None:
                return
            yield found[0]

    def _fixed(self, node: Node, worth: Worth, target: int) -> Node | None:
        """Drop what these duals show to be in no plan within the target; None where they leave no such plan."""
        weighed = weigh(self.space, node, worth, target)
        return None if weighed.fair.hopeless else fixed(weighed, weighed.paid())

    def _centred(self, node: Node, target: int) -> Node | Answer:
        """Drop what any of several dual solutions drops, and their mean, until patterns are few enough to be listed.

        Each is best for slightly larger demands. Where the linear program's value is the target, only paths of no
        reduced cost are left, and the mean, which is inside the face that the others are corners of, has the fewest.
        """
        duals: list[Worth] = []
        narrowed: Node | None = node
        while narrowed is not None and len(duals) < CORNERS:
            self.master.demand(_nearby(self.space.demands, len(duals)))
            priced = self._priced(narrowed, target)
            self.master.demand(self.space.demands)
            if isinstance(priced, Answer):
                return priced
            duals.append(priced[1].worth)
            narrowed = self._fixed(narrowed, duals[-1], target)
            if narrowed is not None and self._listed(narrowed, duals[-1], target) is not None:
                return narrowed
        centred = None if narrowed is None else self._fixed(narrowed, mean(duals), target)
        return Answer.NONE if centred is None else centred

    def _listed(self, node: Node, worth: Worth, target: int) -> list[Pattern] | None:
        weighed = weigh(self.space, node, worth, target)
        try:
            return listed(weighed, weighed.paid(), self._few)
        except TooMany:
            return None

    def _visit(self, node: Node, target: int) -> Outcome | list[Node]:
        priced = self._priced(node, target)
        if isinstance(priced, Answer):
            return Outcome(priced)
        weighed, point = priced
        uses = self.master.uses()
        if not point.missing and (plan := self._whole(uses, target)) is not None:
            return Outcome(Answer.FOUND, plan)
        paid = weighed.paid()
        narrowed = fixed(weighed, paid)
        try:
            patterns = listed(weighed, paid, self._few)
        except TooMany:
            return self._split(narrowed, uses)
        self.programs += 1
        task = tightened(Task(self.space, narrowed, patterns, target), self.watch)
        outcome = solved(task, NODES, self.watch) if task else Outcome(Answer.NONE)
        if outcome.answer is not Answer.OPEN:
            return outcome
        self._few = min(self._few, len(patterns) // 2)
        return self._split(narrowed, uses)

    def _priced(self, node: Node, target: int) -> tuple[Weighed, Point] | Answer:
        """Generate columns until none improves; NONE where the duals leave no plan, OPEN where that is not known."""
        self.master.restrict(node)
        self.master.price_missing(forbidding=False)
        while not self.watch.stopped and (point := self.master.solve(node.flows, self.watch)) is not None:
            self.rounds += 1
            weighed = weigh(self.space, node, point.worth, target)
            if weighed.fair.hopeless:
                return Answer.NONE
            new = self.master.add(p for tables in weighed.asked() for p in improving(tables, COLUMNS))
            if not new and not (point.missing and self.master.price_missing(forbidding=True)):
                return weighed, point
        return Answer.OPEN

    def _whole(self, uses: NumberedUses, target: int) -> Uses | None:
        """Return the plan that a point is, if it is one."""
        if any(abs(amount - round(amount)) > NEARLY for _, amount in uses):
            return None
        whole = {self.master.patterns[number]: round(amount) for number, amount in uses if amount > NEARLY}
        plan = trimmed(whole, self.space.reduced)
        return plan if holds(self.space, Counts.of(self.space.reduced.problem.sticks), plan, target) else None

    def _split(self, node: Node, uses: NumberedUses) -> Outcome | list[Node]:
        """Return the parts that a part falls into, the most promising last."""
        return self._split_sticks(node, uses) or self._split_flow(node, uses) or Outcome(Answer.OPEN)

    def _split_sticks(self, node: Node, uses: NumberedUses) -> list[Node]:
        amounts = np.zeros(len(self.space.costs))
        for number, amount in uses:
            amounts[self.master.patterns[number].stick] += amount
        k = int(np.abs(amounts - np.round(amounts)).argmax())
        if abs(amounts[k] - round(amounts[k])) <= NEARLY:
            return []
        low, high = node.counts.least[k], node.counts.most[k]
        parts = [node.with_sticks(k, low, floor(amounts[k])), node.with_sticks(k, ceil(amounts[k]), high)]
        return parts if amounts[k] - floor(amounts[k]) > 0.5 else parts[::-1]

    def _split_flow(self, node: Node, uses: NumberedUses) -> list[Node]:
        flow = self.master.routes.flow(uses)
        fractions = flow.amounts - np.floor(flow.amounts + NEARLY)
        open_ones = np.flatnonzero(fractions > NEARLY)
        if not len(open_ones):
            return []
        pieces = [self.space.lanes[n].options[option].piece for n, option, _ in (flow.arcs[p] for p in open_ones)]
        halves = np.abs(fractions[open_ones] - 0.5).tolist()
        keys = list(zip(*((halves, pieces) if self.evenly else (pieces, halves)), strict=True))
        place = open_ones[keys.index(min(keys))]
        arc, most = flow.arcs[place], floor(flow.amounts[place] + NEARLY)
        return [at_most(node, arc, most), at_least(self.space, node, arc, most + 1)]


def _nearby(demands: Sequence[int], n: int) -> list[float]:
    """Return the demands, for ``n`` above 0 each a little larger, always by the same amounts."""
    more = np.random.default_rng(n).random(len(demands)) * (NEARBY if n else 0.0)
    return [float(amount) for amount in np.array(demands) + more]
