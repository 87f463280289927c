"""What a crew leader asks: what the jobs cost alone, what they cost pooled, and what nothing can go below.

A material's bound is that of the pooled week as if all were cut on one day, and no van too small: every plan of the
week is a plan of that problem too, so the engine's proven bound holds. It is higher where no cheaper choice is left in
the van, or nothing can be carried and the days are proven. Of a material with runs it is that of all runs and pieces
together (``together``), or of their length. What is sold by rules is billed: the bound is that of one purchase for all,
which comes to no more than the deliveries' together, for prices fall and cartons are shared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import NamedTuple

from solver.allowances import Allowances, own
from solver.assignment import fill, proof_of
from solver.buying.terms import has_terms, terms_of
from solver.cutting import Cutting, Stick, solve
from solver.cutting.reachable import Costs, least_cover
from solver.demand import Demand, cost_step, demand_of
from solver.materials import Material
from solver.order import lines_of
from solver.plan import MaterialPlan, OrderLine, StoppedBy, total_of
from solver.proof import SEARCHED, DatedValue, DatedValues, Proof
from solver.required import Required
from solver.watch import Watch
from solver.weekly.day_cutting import DAY_SECONDS
from solver.weekly.material_week import COST_UNITS, OF_DAYS, JobBaseline, MaterialWeek
from solver.weekly.patterns.column_pool import priced
from solver.weekly.patterns.generation import FINE, JointBound
from solver.weekly.plan import Compared, DayPlan, DeliveryOrder, Figures
from solver.weekly.pooling import Pooled, van_of
from solver.weekly.purchased import without_spares
from solver.weekly.timed import Supply, TimedProblem
from solver.weekly.week import DAYS, Week

OF_LENGTH = "the length that is wanted, in whole sticks"
OF_PATTERNS = "all ways to cut the week's sticks"
OF_PURCHASES = "all ways to cut the week's sticks and to buy them"


class Bound(NamedTuple):
    """What a material's new sticks cost at least, in its cost steps, and what that rests on."""

    cost: int
    proof: Proof


def cost_bound(pooled: Pooled) -> Bound | None:
    """Return the highest bound that is known of what a material's new sticks cost; None if none is."""
    week, whole = pooled.week, not _uncut(pooled)
    if week.has_runs:
        found = [_by_length(pooled, _at_the_least(pooled)), _laid_bound(pooled)] if whole else []
    else:
        found = [*_as_on_one_day(pooled, week.relaxed if week.bought is None else week.bought.cutting)]
        if week.bought is None and pooled.optimal:
            found.append(Bound(week.problem.objective(pooled.uses)[1], Proof("search", text=OF_PATTERNS)))
        elif whole:
            found.append(Bound(pooled.floor, Proof("search", text=OF_DAYS if week.bought is None else OF_PURCHASES)))
    return max(found, key=lambda bound: bound.cost, default=None)


def _as_on_one_day(pooled: Pooled, relaxed: Cutting) -> Iterator[Bound]:
    bound = _relaxed_bound(pooled, relaxed)
    if bound is not None:
        pieces = pooled.week.problem.relaxed().pieces
        yield Bound(bound, proof_of(((p.length, p.left, p.right) for p in pieces), relaxed.proof))


def is_least(pooled: Pooled) -> bool:
    """Whether everything of a material is cut, and none of its sticks can be saved."""
    bound, (uncut, cost) = cost_bound(pooled), pooled.week.objective(pooled.uses)
    return bound is not None and not uncut and cost == bound.cost


def _at_the_least(pooled: Pooled) -> TimedProblem:
    """Return the problem with sticks at the least that one can come to."""
    problem, material = pooled.week.problem, pooled.week.material
    if not has_terms(material):
        return problem
    lengths = without_spares(material).lengths
    lowest = (replace(supply, cost=floor(sold.each)) for supply, sold in zip(problem.supplies, lengths, strict=False))
    return replace(problem, supplies=(*lowest, *problem.supplies[len(lengths) :]))


def _laid_bound(pooled: Pooled) -> Bound:
    """Return what no laying of the runs costs less than; one that breaks rules might."""
    breaks = any(one.filled.notices for one in pooled.week.laid)
    known = 0 if breaks else pooled.week.laid_bound
    return Bound(known, pooled.week.laid_proof)


def stick_bound(pooled: Pooled, watch: Watch) -> int | None:
    """Return a bound on how many sticks are bought; None if none is known."""
    problem = pooled.week.problem
    supplies = tuple(replace(supply, cost=int(supply.cost > 0)) for supply in problem.supplies)
    counted = replace(problem, supplies=supplies)
    if pooled.week.has_runs:
        return _by_length(pooled, counted).cost if not _uncut(pooled) else None
    return _relaxed_bound(pooled, solve(counted.relaxed(), watch))


def _relaxed_bound(pooled: Pooled, relaxed: Cutting) -> int | None:
    """Return the bound of the relaxed problem; a plan that leaves more uncut than it may cost less."""
    pieces = pooled.week.problem.relaxed().pieces
    uncut = sum(n * piece.length for n, piece in zip(relaxed.uncut, pieces, strict=True))
    return relaxed.bound if relaxed.least_uncut and uncut == _uncut(pooled) else None


def _uncut(pooled: Pooled) -> int:
    problem = pooled.week.problem
    wanted = sum(piece.demand * piece.length for piece in problem.pieces)
    cut = sum(times * problem.pieces[i].length for pattern, times in pooled.uses.items() for i in pattern.pieces)
    runs = sum(entry.quantity for one in pooled.week.laid for entry in one.filled.not_cut if _is_run(one, entry.item))
    return wanted - cut + runs


def _is_run(one: JobBaseline, item: int) -> bool:
    return item in one.demand.runs


def _by_length(pooled: Pooled, problem: TimedProblem) -> Bound:
    """Return the least cost of whole sticks from the cost of the length that is wanted, at the best price of length."""
    wanted = sum(_wanted(one.demand) for one in pooled.week.baselines)
    return Bound(least_by_length(wanted, problem.supplies), Proof("search", text=OF_LENGTH))


def least_by_length(wanted: int, sticks: Sequence[Stick | Supply]) -> int:
    """Return what sticks cost at least that are together ``wanted`` long, those that cost nothing used up first."""
    left = wanted - sum(stick.length * (stick.limit or 0) for stick in sticks if not stick.cost)
    paid = [stick for stick in sticks if stick.cost and stick.limit != 0]
    if left <= 0 or not paid or any(stick.limit is None for stick in sticks if not stick.cost):
        return 0
    least = -int(-left * min(Fraction(stick.cost, stick.length) for stick in paid) // 1)
    most = least + max(stick.cost for stick in paid)
    found = least_cover(((stick.cost, stick.length, stick.limit) for stick in paid), left, most)
    return Costs.of(((stick.cost, stick.limit) for stick in paid), most).lift(least) if found is None else found


def _wanted(demand: Demand) -> int:
    """Return the least length that pieces and runs take up, in ticks: a lap may be left out, a gap not.

    Each stick may ask for its own: runs are taken to have the widest gaps of all, between as many pieces as sticks
    that gain least by each make.
    """
    pieces = sum(k.takes * len(c) for k, c in zip(demand.kinds, demand.claims, strict=True))
    material = demand.material
    asked = [own(row, material) for row in (None, *material.stock)]
    lap, gap = max(0, *(each.lap for each in asked)), min(0, *(each.lap for each in asked))
    gained = min(max(1, row.length - max(0, own(row, material).lap)) for row in material.stock)
    lapless = Allowances(0, max(each.end_gap for each in asked))
    runs = 0
    for required in (demand.job.required[item] for item in demand.runs):
        gaps = 2 + (required.length + 2 * lap) // gained + material.settings.most_extra_laps
        runs += required.pieces * (lapless.cut_length(required) + gap * (gaps + 2))
    return pieces + runs


def compared(pooled: Pooled, orders: Iterable[DeliveryOrder], watch: Watch) -> Compared:
    """Return the figures of one material; ``orders`` are those that may still change."""
    week = pooled.week
    step = cost_step(week.material)
    alone = _figures(week, (place for one in week.baselines for place in one.places), step)
    found = _figures(week, (p.stick for p, times in pooled.uses.items() for _ in range(times)), step)
    if has_terms(week.material):
        alone = replace(alone, cost=sum((_billed(week, one.places) for one in week.baselines), Decimal(0)))
        lines = (line for order in orders for line in order.lines if line.material == week.material.id)
        found = replace(found, cost=sum(map(_charged, lines), Decimal(0)))
    bound = cost_bound(pooled)
    figures = None if bound is None else _bound_figures(pooled, bound.cost, step, watch)
    return Compared(week.material.id, week.material.priced, alone, found, figures, bound.proof if bound else SEARCHED)


def _billed(week: MaterialWeek, places: Iterable[int]) -> Decimal:
    """Return what a job's sticks come to that are ordered for it alone."""
    counts = Counter(week.hand.sources[place].stock for place in places if week.hand.orderable(place))
    lines = lines_of(week.material, Counter({stock: count for stock, count in counts.items() if stock}))
    return sum(map(_charged, lines), Decimal(0))


def _charged(line: OrderLine) -> Decimal:
    """Return what a line comes to: money, or ticks where it has no price."""
    return Decimal(line.length * (line.sticks + line.spares)) if line.amount is None else line.amount + line.fixed_cost


def with_day_bounds(day: DayPlan, parts: Mapping[str, Pooled], least: Container[str], watch: Watch) -> DayPlan:
    """Return a day with bounds: of what it is cut from, no plan of it costs less, the other days left as they are.

    ``least`` are materials of which no plan of the week costs less; then no day of them does by itself.
    """
    given = (_with_bound(day, part, parts[part.material].week, watch, least=least) for part in day.plan.materials)
    return replace(day, plan=replace(day.plan, materials=tuple(given)))


def _with_bound(
    day: DayPlan, part: MaterialPlan, week: MaterialWeek, watch: Watch, *, least: Container[str]
) -> MaterialPlan:
    material = next(each for each in day.job.materials if each.id == part.material)
    items = [item for item, required in enumerate(day.job.required) if required.material == material.id]
    if not (has_terms(material) or any(entry.item in items for entry in day.plan.not_cut)):
        demand = demand_of(day.job, material, items)
        bound = _of_runs(demand, week, part.cost) if demand.runs else _of_a_day(demand, watch)
        if bound.cost < part.cost and part.material in least:
            text = "no plan of the week costs less, the other days as they are"
            bound = Bound(part.cost, Proof("search", text=text))
        part = replace(part, bound=bound.cost, proof=bound.proof, least_uncut=True)
    return replace(part, stopped_by=_ended(part))


def _ended(part: MaterialPlan) -> StoppedBy:
    """Return what ended the planning of a day: a proof only where its bound is reached, whatever was of the week."""
    if part.bound == part.cost:
        return StoppedBy.PROOF if part.least_uncut else part.stopped_by
    return StoppedBy.EFFORT if part.stopped_by is StoppedBy.PROOF else part.stopped_by


def _of_a_day(demand: Demand, watch: Watch) -> Bound:
    filled = fill(demand, solve(demand.problem(), watch.within(DAY_SECONDS)))
    return Bound(filled.bound, filled.proof)


def _of_runs(demand: Demand, week: MaterialWeek, cost: int) -> Bound:
    """Return what a day's runs and pieces come to at least; a laying that breaks rules may cost less than one alone."""
    sticks = [source.stick for source in demand.sources]
    by_length = Bound(least_by_length(_wanted(demand), sticks), Proof("search", text=OF_LENGTH))
    alone = (bound for bound in _as_planned_alone(demand, week) if bound.cost <= cost)
    return max((by_length, *alone), key=lambda bound: bound.cost)


def _as_planned_alone(demand: Demand, week: MaterialWeek) -> Iterator[Bound]:
    """Yield what a job comes to at least that wants by itself the same as a day, out of the same sticks."""
    for one in week.baselines:
        done = one.filled.least_uncut and not (one.filled.not_cut or one.filled.notices)
        if done and one.demand.sources == demand.sources and _asked(one.demand) == _asked(demand):
            yield Bound(one.filled.bound, one.filled.proof)


def _asked(demand: Demand) -> list[Required]:
    return [required for required in demand.job.required if required.material == demand.material.id]


def bill_bound(
    week: Week, compared: Sequence[Compared], joint: JointBound | None, orders: Sequence[DeliveryOrder]
) -> Decimal | None:
    """Return what no plan's orders come to less than: those that are closed, and what can still be planned.

    That is at least the materials' bounds, or that of all of them jointly if higher, and the spares of so many sticks.
    None where a material has no prices, or nothing is known.
    """
    closed = total_of([line for order in orders if order.closed for line in order.lines])
    bounds = [entry.bound for entry in compared if entry.bound is not None]
    each = [sum((bound.cost for bound in bounds), Decimal(0))] if len(bounds) == len(compared) else []
    known = [*each, *([Decimal(joint.least) / COST_UNITS] if joint else [])]
    if closed is None or not known or not all(entry.priced for entry in compared):
        return None
    materials = {material.id: material for material in week.materials}
    spares = (_spares_bound(materials[entry.material], entry.bound.sticks) for entry in compared if entry.bound)
    return closed + max(known) + sum(spares, Decimal(0))


def dated_values(
    week: Week, parts: Sequence[Pooled], joint: JointBound | None, compared: Sequence[Compared], watch: Watch
) -> DatedValues | None:
    """Return values of dated pieces, where the bound of all materials may rest on more than on their own values.

    They are of all materials where the van decides, else of those that have no values of their own. What is sold by
    rules, laid in runs or without prices is not valued so.
    """
    each = sum((entry.bound.cost for entry in compared if entry.bound), Decimal(0))
    valued = [
        part for part in parts if not part.week.has_runs and part.week.bought is None and part.week.material.priced
    ]
    if joint is not None and Decimal(joint.least) / COST_UNITS > each:
        chosen = valued if len(valued) == len(parts) else []
    else:
        own = {entry.material for entry in compared if entry.proof.kind == "duals"}
        chosen = [part for part in valued if part.week.material.id not in own]
    if not chosen:
        return None
    weeks = [part.week for part in chosen]
    if joint is None or not joint.values or len(chosen) < len(parts):
        joint = priced(weeks, [part.uses for part in chosen], van_of(week.limits.carry), watch)
    return _dated(week, weeks, joint) if joint else None


def _dated(week: Week, weeks: Sequence[MaterialWeek], joint: JointBound) -> DatedValues:
    values = (
        DatedValue(one.material.id, week.date(piece.day), piece.length, piece.left, piece.right, value)
        for one, own in zip(weeks, joint.values, strict=True)
        for piece, value in zip(one.problem.pieces, own, strict=True)
        if value
    )
    nights = (joint.nights.get(night, 0) for night in range(DAYS))
    return DatedValues(int(COST_UNITS) * FINE, tuple(values), tuple(nights))


def _spares_bound(material: Material, sticks: int) -> Decimal:
    """Return what the spares of so many sticks cost at least; where stock is limited there may be fewer."""
    prices = [row.price for row in material.stock if row.price is not None]
    # what a carton leaves over may be the spares
    if not prices or has_terms(material) or any(row.available is not None for row in material.stock):
        return Decimal(0)
    return terms_of(material, cost_step(material)).spares(sticks) * min(prices)


def _bound_figures(pooled: Pooled, cost: int, step: Decimal, watch: Watch) -> Figures:
    hand = pooled.week.hand
    costs = {supply.cost for supply in hand.supplies[: hand.rows]}
    one_price = len(costs) == 1 and max(costs) and pooled.week.bought is None
    sticks = -(-cost // max(costs)) if one_price else stick_bound(pooled, watch)
    return Figures(sticks or 0, cost * step)


def _figures(week: MaterialWeek, places: Iterable[int], step: Decimal) -> Figures:
    costs = [week.hand.supplies[place].cost for place in places if week.hand.orderable(place)]
    return Figures(len(costs), sum(costs) * step)
