"""The whole way from a problem of runs to its plan, and what is done in which order and how often.

What no plan can cut is set aside (``presolve``). The rest is made a ``model``. Runs are first laid by the price of
length (``construct``). How few rules a wall can break at any cost is found exactly (``violations``). Column generation
bounds the cost of all plans that break no more (``bound``) and leaves prices and columns. Runs are laid anew at these
prices. Whole plans are made of sticks that hang together, where those have several prices (``chains``), and of the
columns, staggered as the rules ask (``restricted``), their laps assigned to the courses (``assign``). They are mended
within their sticks (``rearranging``) and then by ruin and recreate (``improve``) as the best plan is. That one's pieces
are cut again by the engine. Of small jobs the cheapest numbers of sticks are decided one by one (``exact``).
"""

from __future__ import annotations

from math import gcd

from solver.categories import LapEnds
from solver.cutting.problem import Search
from solver.laps.answer import answer
from solver.laps.assign import columns_of, plan_from_columns
from solver.laps.bounds.bound import ColumnGeneration
from solver.laps.bounds.columns import RunClasses, classes_of
from solver.laps.bounds.numbers import StickNumbers
from solver.laps.bounds.pricing import PriceList, by_length
from solver.laps.chains.diving import ChainMaster, dived_into
from solver.laps.crowding import Crowds
from solver.laps.fewer import lap_rows, with_fewer_laps
from solver.laps.improve import Goal, RuinAndRecreate, cut_plain_first, lay_anew, lay_placed, recut
from solver.laps.model import LapModel, fewest_laps, model_of
from solver.laps.presolve import presolve
from solver.laps.problem import WORST, LapPlan, LapProblem, SlotDuals, Standing
from solver.laps.programs.exact import fill, small_enough, sought
from solver.laps.rearranging.mending import BETTER_TRIES, mended
from solver.laps.rearranging.polish import polished
from solver.laps.restricted import aims, aims_of, by_reduced_cost, restricted_master
from solver.laps.state import PartialPlan
from solver.laps.violations import Unavoidable, leeway, unavoidable
from solver.watch import Watch

BOUND_ROUNDS = 120
"""Rounds of column generation before plans are made again, for a plan is of use long before the bound is final."""

MOST_NUMBERS = 200
"""Numbers of sticks that are looked at after each bound."""

TWO_PRICES = 2
"""With more prices than this, where it may take long, numbers are ruled out only once plans have been made."""

PLANS_BY_PRICE, MORE_NOISE = 8, 0.005
"""Plans laid anew at the prices of each bound; each draws by so much more lot than the one before, in shares of a
price, and the first by none."""

NEAR, NEAR_ONE_PRICE = 3e-4, 2e-3
"""Plans are first made when the bound is this near to the linear program's cost; sooner where sticks have one price, as
whole sticks are seldom wanting for so little."""

WHOLE_PLANS = 3
"""Plans made of columns in the first round where sticks have one price: any of them may be mended at no cost."""

TURNS = 8
"""Times in a round that searching about the best plan and cutting it again follow each other at the most."""

DIVES = 12
"""Dives into the program over chains in each round, where sticks have several prices."""

FOR_LOOKS, FOR_LAPS = 0.15, 0.4
"""The share of the time that is kept for looks, and of what is left then, that in which laps are taken out first."""

FIRST_PLANS = 3
"""Plans laid by the price of length, before anything else is known: the first draws no lots."""

ROUNDS = 6
"""How often bound and plans are bettered in turn; after that more is not to be had for the work."""


def plan_laps(problem: LapProblem, watch: Watch, *, beside: Standing | None = None) -> LapPlan:
    """Return the best plan found before the watch stops: least uncut, fewest rules broken, least cost, fewest laps.

    Where a lap has a price, sticks and laps together are kept least; ``bound`` is that of the sticks all the same. A
    plan to be held ``beside`` another of that standing is a draft until it is as good: it is bettered in one round
    only, and not for its looks; and where it can be no better than the other, not to the last stick.
    """
    found = presolve(problem)
    return found.answer(_planned(found.problem, watch, beside))


def _planned(problem: LapProblem, watch: Watch, beside: Standing | None) -> LapPlan:
    model = model_of(problem)
    search = watch.within(watch.left * (1 - FOR_LOOKS))
    driver = LapSolver(model, search, beside)
    by_size = PriceList(model, by_length(model))
    for seed in range(FIRST_PLANS):
        if not seed or not search.stopped:
            driver.offer(lay_anew(model, by_size, seed, 0.02 * seed))
    # The engine cuts the pieces better, and all there is to do where every run was impossible.
    driver.offer(recut(driver.best, by_size, search))
    driver.find_fewest_broken(by_size)
    for number in range(ROUNDS):
        if driver.finished or (number and driver.drafted):
            break
        driver.better_bound()
        driver.count(before_plans=True)
        driver.settle()
        driver.better_plan(number)
        driver.count()
    stopped, proof = search.stopped, driver.proof()
    if not driver.drafted:
        driver.polish(watch)
    return answer(driver.best, driver.least, driver.least_broken, proof, stopped=stopped)


class LapSolver:
    """Betters plan and bound in turn."""

    def __init__(self, model: LapModel, watch: Watch, beside: Standing | None) -> None:
        self._model, self._watch, self._beside = model, watch, beside
        self._plans: list[PartialPlan] = []
        self._generation: ColumnGeneration | None = None
        self._classes: RunClasses | None = None
        self._chains: ChainMaster | None = None
        self._unavoidable, self._crowds = Unavoidable((), ()), Crowds(model)
        costs = {stick.cost for stick in model.problem.sticks if stick.cost > 0 and stick.limit != 0}
        lap_price = model.problem.rules.lap_price
        self._costs, self._one_price, self._step = costs, len(costs) == 1, gcd(lap_price, *costs) or 1
        self._least_for_laps = lap_price * sum(fewest_laps(model)) if lap_price else 0
        self._dearest = max(stick.cost for stick in model.problem.sticks)
        self._undecided: tuple[int, ...] | None = None
        self.best, self.least = PartialPlan(model), 0

    def offer(self, partial: PartialPlan) -> None:
        """Keep a plan, as the best if it is."""
        self._plans.append(partial)
        if len(self._plans) == 1 or partial.standing < self.best.standing:
            self.best = partial
            self._watch.report(partial.cost, min(self.least, partial.cost))

    @property
    def finished(self) -> bool:
        """Whether the best plan is proven or time is up."""
        best = self.best
        kept = best.uncut == 0 and best.broken <= self._unavoidable.broken
        return self._watch.stopped or (kept and best.objective <= self._least_objective)

    @property
    def drafted(self) -> bool:
        """Whether the best plan is a draft that is not as good as the plan beside it, or has none beside it."""
        best, beside = self.best, self._beside
        return beside is not None and (beside == WORST or best.uncut > 0 or best.standing[1:3] > beside)

    @property
    def _least_objective(self) -> int:
        """What no plan costs less than, its laps' price included."""
        return self.least + self._least_for_laps

    @property
    def least_broken(self) -> int:
        """So many rules at least are broken by every plan."""
        return self._unavoidable.broken

    def proof(self) -> Search | SlotDuals:
        """Return what the bound rests on."""
        if (known := self._generation) and (found := known.certificate()) and known.numbers.least >= self.least:
            return found
        text = (
            "values of slots and pieces in whole numbers; every split of every run and every cut of every stick "
            f"priced exactly on a grid of {self._model.cell} ticks"
        )
        if self._classes and self._classes.laps:
            text += "; and the fewest laps of each wall that keep the rules, by a constraint program"
        if known and known.numbers.searched:
            text += "; and all plans of each number of sticks of less cost, searched by a constraint program"
        return Search(text)

    def find_fewest_broken(self, prices: PriceList) -> None:
        """Find how few rules must be broken; where no plan so far breaks as few, lay one that does."""
        self._unavoidable = unavoidable(self._model, self._plans, self._watch)
        if self._unavoidable.laid:
            placed = {candidate.run: (candidate, a) for candidate, a in filter(None, self.best.placed)}
            placed |= {candidate.run: (candidate, a) for candidate, a in self._unavoidable.laid}
            self.offer(lay_placed(self._model, placed.values(), prices))

    def better_bound(self) -> None:
        """Raise the bound for some rounds; with sticks that all cost nothing it is 0 and stays so."""
        if self.best.uncut or not self._dearest:
            return
        first = self._generation is None
        if self._generation is None:
            own_breaches = leeway(self._model, self._unavoidable, self.best.broken, self._watch)
            laps = lap_rows(self._model, self._unavoidable, self._plans, self.best.broken, self._watch)
            self._classes = classes_of(self._model, own_breaches, laps)
            numbers = StickNumbers(self._model, self.best.cost, self._watch)
            start = [column for plan in self._plans for column in columns_of(plan)]
            if not self._one_price and dived_into(self._model):
                self._chains = ChainMaster(self._model, self._classes, self._watch)
                start += self._chains.columns()
            self._generation = ColumnGeneration(self._model, self._classes, numbers, start)
        near = (NEAR_ONE_PRICE if self._one_price else NEAR) if first else 0.0
        self._generation.numbers.look_below(self.best.cost)
        step = self._dearest if self._one_price and not self._model.problem.terms else 0
        self._generation.run(BOUND_ROUNDS, self.best.cost, near, self._watch, step)
        self._raise()

    def _raise(self) -> None:
        if self._generation is not None:
            self.least = max(self.least, self._generation.numbers.least)
            self._watch.report(self.best.cost, min(self.least, self.best.cost))

    def count(self, *, before_plans: bool = False) -> None:
        """Rule out numbers of sticks by values, the cheapest first, until some are met that may do."""
        if before_plans and len(self._costs) > TWO_PRICES:
            return
        for _ in range(MOST_NUMBERS):
            if self.finished or not self._ruled_out_by_values():
                return

    def _ruled_out_by_values(self) -> bool:
        """Look for values that rule out the cheapest numbers; with one price the linear program has shown all."""
        if self._generation is None or self._one_price or not self._model.complete:
            return False
        cheapest = self._generation.numbers.cheapest
        ruled_out = cheapest is not None and self._generation.rules_out(cheapest, self._watch)
        self._raise()
        return ruled_out

    def settle(self) -> None:
        """Decide about the cheapest numbers of sticks of a small job, one after the other, until some make a plan."""
        if self._generation is None or not self._model.complete:
            return
        numbers = self._generation.numbers
        for _ in range(MOST_NUMBERS):
            cheapest = None if self.finished else numbers.cheapest
            if cheapest is None or cheapest == self._undecided or not small_enough(self._model, cheapest):
                return
            if self._ruled_out_by_values():
                continue
            found = fill(self._model, cheapest, self.best.broken, self._watch)
            if found is not False:
                self._undecided = cheapest
                self.offer(found if isinstance(found, PartialPlan) else self.best)
                return
            numbers.settle(cheapest)
            self._raise()

    def better_plan(self, number: int) -> None:
        """Make plans at the new prices and out of the columns, and search about the best."""
        prices = self._prices()
        if self._generation is None or self._classes is None:
            self._search_about_best(prices, number)
            return
        if not number and self._model.problem.rules.ends is not LapEnds.FACTORY and not self.finished:
            self.offer(cut_plain_first(self._model, prices, self._watch))
        self._dive(prices, number)
        self._lay_anew(prices, number)
        self._recut(prices)
        self._from_purchase(prices, number)
        if not (self._one_price and self.best.objective <= self._least_objective + self._dearest):
            # Where the last stick is all there is to save, it is sooner saved by a whole plan.
            self._polish(prices, 2 * number)
        self._generation.add(column for plan in self._plans[-PLANS_BY_PRICE:] for column in columns_of(plan))
        for attempt in range(self._whole_plans(number)):
            if not self.finished:
                self._from_columns(prices, WHOLE_PLANS * number + attempt)
        self._recut(prices)
        self._polish(prices, 2 * number + 1)

    def _whole_plans(self, number: int) -> int:
        """Return how many plans are made of columns in a round: none for a draft that is near enough."""
        if self._beside is not None:
            better = (self._unavoidable.broken, self._least_objective) <= self._beside
            return int(better or self.best.objective > self._least_objective + self._dearest)
        return WHOLE_PLANS if self._one_price and not number else 1

    def _polish(self, prices: PriceList, number: int) -> None:
        """Search about the best plan and let the engine cut it again, in turn, as long as that betters it."""
        for turn in range(TURNS):
            before = self.best.standing
            if self.finished:
                return
            self._search_about_best(prices, TURNS * number + turn)
            self._recut(prices)
            if self.best.standing == before:
                return

    def polish(self, watch: Watch) -> None:
        """Take laps out of the best plan, and better its looks."""
        if self.best.uncut or not self._model.problem.runs or watch.stopped:
            return
        fewer = with_fewer_laps(self.best, self._prices().prices, watch.within(watch.left * FOR_LAPS))
        self.best = polished(fewer, watch)

    def _prices(self) -> PriceList:
        return PriceList(self._model, self._generation.prices if self._generation else by_length(self._model))

    def _lay_anew(self, prices: PriceList, number: int) -> None:
        """Lay everything at these prices in some ways; what breaks few rules is cut by the engine."""
        for seed in range(PLANS_BY_PRICE):
            if self.finished:
                return
            plan = lay_anew(self._model, prices, PLANS_BY_PRICE * number + seed, MORE_NOISE * seed)
            few = plan.uncut == 0 and plan.broken <= self._unavoidable.broken
            self.offer(recut(plan, prices, self._watch) if few else plan)

    def _recut(self, prices: PriceList) -> None:
        """Let the engine cut the best plan's pieces, its runs laid as they are."""
        if not self.finished and self.best.uncut == 0:
            self.offer(recut(self.best, prices, self._watch))

    def _from_purchase(self, prices: PriceList, number: int) -> None:
        """Seek a plan of the sticks that come with the cheapest purchase which nothing rules out."""
        if self._generation and self._model.problem.terms and (sticks := self._generation.numbers.cheapest):
            self.offer(sought(self._model, sticks, self._unavoidable.broken, prices, number, self._watch))

    def _dive(self, prices: PriceList, number: int) -> None:
        """Make plans of chains; the engine cuts their pieces again, of which the last ones fixed lie badly."""
        for seed in range(DIVES * number, DIVES * (number + 1)) if self._chains else ():
            most = self.best.objective + self._dearest // 2
            plan = self._chains.dive(seed, most) if self._chains and not self.finished else None
            if plan is not None:
                plan = min(plan, recut(plan, prices, self._watch), key=lambda each: (each.uncut, each.objective))
                if plan.objective < self.best.objective or plan.standing < self.best.standing:
                    self._mend(plan, prices, number)
                    self._recut(prices)

    def _from_columns(self, prices: PriceList, number: int) -> None:
        if self._model.cell != self._model.divisor or self._generation is None or self._classes is None:
            return
        columns = dict.fromkeys([*self._generation.columns, *self._generation.varied(number)])
        ranked = by_reduced_cost(self._model, prices, columns)
        apart, below = self._one_price and not self._least_for_laps, self.best.objective - self._step
        sought_for = aims(self._least_objective, below, self._dearest, apart=apart, first=not number)
        if self._model.problem.terms:
            sought_for = aims_of(self._model.problem, self._generation.numbers.cheapest, self.best.lap_count)
        for aim in sought_for:
            if self.finished:
                return
            counts = restricted_master(self._model, self._classes, ranked, aim, self._crowds, self._watch)
            if counts is not None:
                self._mend(plan_from_columns(self._model, counts, number), prices, number)
                return

    def _mend(self, plan: PartialPlan, prices: PriceList, number: int) -> None:
        goal = Goal(self._unavoidable.broken, self.best.objective - self._step)
        if found := mended(plan, prices, goal, self._least_objective, number, self._watch, soon=self._one_price):
            self.offer(found)

    def _search_about_best(self, prices: PriceList, number: int) -> None:
        if not self._model.problem.runs:
            return
        goal = Goal(self._unavoidable.broken, self._least_objective)
        RuinAndRecreate(self.best, prices, goal, number).run(BETTER_TRIES, self._watch)
        self._watch.report(self.best.cost, min(self.least, self.best.cost))
