"""What is known so far about one problem: the best plan, the bound, and the fewest rules that must be broken."""

from __future__ import annotations

from collections.abc import Iterator
from math import gcd

from solver.cutting.problem import Search as Searched
from solver.laps.again import cut_again, cut_plain_first
from solver.laps.begin import lay_anew, lay_placed
from solver.laps.bounding import Bounding
from solver.laps.cheapest import Lattice, least_length
from solver.laps.columns import Classes, classes_of
from solver.laps.exact import cheaper, small_enough
from solver.laps.pool import by_reduced_cost
from solver.laps.prices import PriceList, by_length
from solver.laps.recut import columns_of, lay_columns
from solver.laps.restricted import Aim, whole_numbers
from solver.laps.search import Goal, Search
from solver.laps.site import Site
from solver.laps.staggering import Stagger
from solver.laps.unavoidable import Unavoidable, leeway, unavoidable
from solver.laps.yard import Yard
from solver.materials import LapEnds
from solver.watch import Watch

BOUND_ROUNDS = 120
"""Rounds of column generation before plans are made again, for a plan is of use long before the bound is final."""

PLANS_BY_PRICE = 8
"""Plans laid anew at the prices of each bound."""

NOISE = 0.005
"""Each of them draws by so much more lot than the one before, in shares of a price; the first draws by none."""

POOL = 2400
"""How many columns a whole plan is looked for in."""

NEAR = 3e-4
"""Where costs lie close together, plans are first made when the bound is this near to the linear program's cost."""

NODES = 30
"""Nodes that HiGHS may search for a whole plan: counted, for time would make plans differ."""

ROOM = 5
"""The first plan sought where costs lie close together may cost so many of the dearest stick more than the bound."""

SOON = 20
"""The search for it ends with one that costs a SOONth of the dearest stick more than the bound."""

VARIED = 40
"""How often columns are priced at values a little off the best, beside those that the linear program met."""

MEND_TRIES = 600
"""Tries to mend the laps of a plan made of columns: it has the cost already, so more of them are worth it."""

TURNS = 8
"""Times in a round that searching about the best plan and cutting it again follow each other at the most."""

BETTER_TRIES = 150
"""Tries to better a plan otherwise, in each round anew."""


class Effort:
    """Betters plan and bound in turn."""

    def __init__(self, site: Site, watch: Watch) -> None:
        self._site, self._watch = site, watch
        self._plans: list[Yard] = []
        self._bounding: Bounding | None = None
        self._classes: Classes | None = None
        self._unavoidable = Unavoidable((), ())
        costs = {stick.cost for stick in site.problem.sticks if stick.cost > 0 and stick.limit != 0}
        self._one_price, self._step = len(costs) == 1, gcd(*costs) or 1
        self._dearest = max(stick.cost for stick in site.problem.sticks)
        self._settled: int | None = None
        self.best = Yard(site)
        self.least = 0

    def offer(self, yard: Yard) -> None:
        """Keep a plan, as the best if it is."""
        self._plans.append(yard)
        if len(self._plans) == 1 or _standing(yard) < _standing(self.best):
            self.best = yard
            self._watch.report(yard.cost, min(self.least, yard.cost))

    @property
    def finished(self) -> bool:
        """Whether the best plan is proven or time is up."""
        return self._watch.stopped or self._reached()

    def _reached(self) -> bool:
        best = self.best
        return best.uncut == 0 and best.broken <= self._unavoidable.broken and best.cost <= self.least

    @property
    def proven_least(self) -> int:
        """A bound for the answer: below its cost where fewer rules might be broken, as that plan may cost more."""
        if self.best.broken <= self._unavoidable.broken:
            return self.least
        return min(self.least, max(0, self.best.cost - 1))

    @property
    def proof(self) -> Searched:
        """What the bound rests on."""
        return Searched(
            "values of slots and pieces in whole numbers; every split of every run and every cut of every stick "
            f"priced exactly on a grid of {self._site.cell} ticks"
        )

    def find_fewest_broken(self, prices: PriceList) -> None:
        """Find how few rules must be broken; where no plan so far breaks as few, lay one that does."""
        self._unavoidable = unavoidable(self._site, self._plans, self._watch)
        if self._unavoidable.laid:
            placed = {layout.run: (layout, a) for layout, a in filter(None, self.best.placed)}
            placed |= {layout.run: (layout, a) for layout, a in self._unavoidable.laid}
            self.offer(lay_placed(self._site, placed.values(), prices))

    def better_bound(self) -> None:
        """Raise the bound for some rounds; with sticks that all cost nothing it is 0 and stays so."""
        if self.best.uncut or not self._dearest:
            return
        first = self._bounding is None
        if self._bounding is None:
            self._classes = classes_of(self._site, leeway(self._site, self._unavoidable, self.best.broken, self._watch))
            lattice = Lattice(self._site.problem, least_length(self._site), self.best.cost)
            start = [column for plan in self._plans for column in columns_of(plan)]
            self._bounding = Bounding(self._site, self._classes, lattice, start)
        near = NEAR if first and not self._one_price else 0.0
        self._bounding.run(BOUND_ROUNDS, self.best.cost, near, self._watch)
        self.least = max(self.least, self._bounding.least)
        self._watch.report(self.best.cost, min(self.least, self.best.cost))

    def settle(self) -> None:
        """Seek all cheaper plans of a small job at once, where ends don't matter and no rule need be broken."""
        site, below = self._site, self.best.cost
        if self.finished or self.best.uncut or self.best.broken or below == self._settled:
            return
        self._settled = below
        if not small_enough(site, below):
            return
        found = cheaper(site, self.least, below, self._watch)
        if site.complete:
            self.least = max(self.least, found.at_least)
        if found.plan is not None:
            self.offer(found.plan)

    def better_plan(self, number: int) -> None:
        """Make plans at the new prices and out of the columns, and search about the best."""
        if self._bounding is None or self._classes is None:
            self._search_about_best(PriceList(self._site, by_length(self._site)), number)
            return
        prices = PriceList(self._site, self._bounding.prices)
        if not number and self._site.problem.rules.ends is not LapEnds.FACTORY and not self.finished:
            self.offer(cut_plain_first(self._site, prices, self._watch))
        self._lay_anew(prices, number)
        self._cut_again(prices)
        self._polish(prices, 2 * number)
        self._bounding.add(column for plan in self._plans[-PLANS_BY_PRICE:] for column in columns_of(plan))
        self._from_columns(prices, number)
        self._cut_again(prices)
        self._polish(prices, 2 * number + 1)

    def _polish(self, prices: PriceList, number: int) -> None:
        """Search about the best plan and let the engine cut it again, in turn, as long as that betters it."""
        for turn in range(TURNS):
            before = _standing(self.best)
            if self.finished:
                return
            self._search_about_best(prices, TURNS * number + turn)
            self._cut_again(prices)
            if _standing(self.best) == before:
                return

    def _lay_anew(self, prices: PriceList, number: int) -> None:
        """Lay everything at these prices in some ways; what breaks few rules is cut by the engine."""
        for seed in range(PLANS_BY_PRICE):
            if self.finished:
                return
            plan = lay_anew(self._site, prices, PLANS_BY_PRICE * number + seed, NOISE * seed)
            few = plan.uncut == 0 and plan.broken <= self._unavoidable.broken
            self.offer(cut_again(plan, prices, self._watch) if few else plan)

    def _cut_again(self, prices: PriceList) -> None:
        """Let the engine cut the best plan's pieces, its runs laid as they are."""
        if not self.finished and self.best.uncut == 0:
            self.offer(cut_again(self.best, prices, self._watch))

    def _from_columns(self, prices: PriceList, number: int) -> None:
        if self._site.cell != self._site.divisor or self._bounding is None or self._classes is None:
            return
        columns = dict.fromkeys([*self._bounding.columns, *self._bounding.varied(VARIED, number)])
        ranked = [column for _, column in by_reduced_cost(self._site, prices, columns)]
        for aim in self._aims(number):
            if self.finished:
                return
            counts = whole_numbers(self._site, self._classes, ranked, aim, self._watch)
            if counts is not None:
                self._mend(lay_columns(self._site, counts, number), prices, number)
                return

    def _aims(self, number: int) -> Iterator[Aim]:
        """Yield what whole plans to look for: at the bound where costs are far apart, else as cheap as may be."""
        least, below = self.least, self.best.cost - self._step
        if self._one_price:
            yield from (Aim(POOL, least, least, NODES, stagger) for stagger in Stagger)
        else:
            below = below if number else least + ROOM * self._dearest
            least += 0 if number else self._dearest // SOON
        yield from (Aim(POOL, below, least, NODES, stagger) for stagger in Stagger)

    def _mend(self, yard: Yard, prices: PriceList, number: int) -> None:
        """Mend a plan's laps without giving up cost, or if need be giving up some."""
        mended = Search(yard, prices, Goal(self._unavoidable.broken, yard.cost, cost_first=True), number).run(
            MEND_TRIES, self._watch
        )
        if not mended:
            goal = Goal(self._unavoidable.broken, self.least, cost_first=False)
            Search(yard, prices, goal, number).run(BETTER_TRIES, self._watch)
        self.offer(yard)

    def _search_about_best(self, prices: PriceList, number: int) -> None:
        goal = Goal(self._unavoidable.broken, self.least, cost_first=False)
        Search(self.best, prices, goal, number).run(BETTER_TRIES, self._watch)
        self._watch.report(self.best.cost, min(self.least, self.best.cost))


def _standing(yard: Yard) -> tuple[int, int, int]:
    return yard.uncut, yard.broken, yard.cost
