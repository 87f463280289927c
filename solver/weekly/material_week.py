"""One material of a week: its dated pieces and whom each is for, how its jobs are cut alone, and what was announced.

A baseline is each job planned by itself in date order, the rack served first come first served: what pooling is held
against. It also gives every piece its length: runs longer than a stick are laid here, on their own day, and keep
their laps.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from operator import attrgetter

from solver.allowances import differ
from solver.assignment import Filled, FilledStick, fill
from solver.buying.terms import has_terms
from solver.categories import Settings
from solver.cutting import Cutting, Pattern, solve
from solver.demand import Demand, Kind, Source, cost_step, demand_of, is_run
from solver.materials import Material
from solver.proof import SEARCHED, Proof
from solver.sticks import PlacedPiece
from solver.watch import Watch
from solver.weekly.moment import Moment
from solver.weekly.purchased import Purchased, as_purchased, laid_by_bill, limited
from solver.weekly.state import Hand, OpenJob, WeekState
from solver.weekly.timed import TimedPiece, TimedProblem

Claim = tuple[str, PlacedPiece]
"""A piece of a job, by the job's id; the piece names the item by its place in the week's job."""
Signature = tuple[str, tuple[int, ...]]
"""A stick and its pieces, told apart by what it is called rather than by whether it is delivered yet."""
OF_DAYS = "each day by itself"
"""What bounds rest on that are those of the days together."""
COST_UNITS = Decimal(10_000)
"""Money is counted in ten-thousandths, the finest that a price may have."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """Dated kinds, and whom each piece is for (``claims[i]`` for ``kinds[i]``), in the order of the jobs."""

    kinds: tuple[tuple[Kind, int], ...]
    claims: tuple[tuple[Claim, ...], ...]

    def problem(self, hand: Hand, settings: Settings) -> TimedProblem:
        """Return the week as integers."""
        pieces = tuple(
            TimedPiece(kind.takes, len(claims), kind.needs_left, kind.needs_right, day)
            for (kind, day), claims in zip(self.kinds, self.claims, strict=True)
        )
        return TimedProblem(hand.supplies, pieces, settings.kerf, settings.keep_offcuts_from)


def pieces_of(baselines: Iterable[JobBaseline]) -> Pieces:
    """Gather the pieces of every job: those of its items, and those that its runs were laid in."""
    claims: dict[tuple[Kind, int], list[Claim]] = defaultdict(list)
    for one in baselines:
        for kind, piece in _pieces(one):
            claims[kind, one.job.day].append(claim_of(one, piece))
    order = attrgetter("room", "needs_left", "needs_right")
    kinds = tuple(sorted(claims, key=lambda key: (key[1], -key[0].takes, *order(key[0]))))
    return Pieces(kinds, tuple(tuple(claims[key]) for key in kinds))


def baseline_patterns(baselines: Iterable[JobBaseline], pieces: Pieces) -> Counter[Pattern]:
    """Return how the jobs alone are cut, as patterns of the week."""
    index = {key: i for i, key in enumerate(pieces.kinds)}
    return Counter(
        Pattern(place, tuple(sorted(index[kind, one.job.day] for kind in stick.kinds)))
        for one in baselines
        for place, stick in zip(one.places, one.filled.sticks, strict=True)
    )


def announced_sticks(moment: Moment, material: str, pieces: Pieces) -> Counter[Signature]:
    """Return the sticks of the sheets that may still change, with the pieces that are still wanted of them."""
    days = moment.announced.days if moment.announced else ()
    index = {
        (*_named(claim), kind.length): i
        for i, ((kind, _), claims) in enumerate(zip(pieces.kinds, pieces.claims, strict=True))
        for claim in claims
    }
    chains: dict[str, tuple[str, list[int]]] = {}
    found: list[tuple[str, list[int]]] = []
    for day in (day for day in days if day.date >= moment.open_from):
        labels = {kept.stick: kept.label for kept in day.kept}
        for part in (part for part in day.plan.materials if part.material == material):
            for use, stick in part.sticks():
                chain = chains.pop(stick.offcut_id or "", None)
                if chain is None:
                    chain = (stick.offcut_id or f"stock {use.stock}", [])
                    found.append(chain)
                for piece, cut in zip(stick.pieces, use.cuts, strict=True):
                    origin = day.origins[piece.item]
                    # a run may be laid otherwise than it was announced
                    named = origin.job, origin.item, piece.course, piece.piece, cut.length
                    chain[1].append(index.get(named, -1))
                if stick.stick in labels:
                    chains[labels[stick.stick]] = chain
    return Counter((name, tuple(sorted(places))) for name, places in found)


def _pieces(one: JobBaseline) -> Iterator[tuple[Kind, PlacedPiece]]:
    for kind, claims in zip(one.demand.kinds, one.demand.claims, strict=True):
        yield from ((kind, claim) for claim in claims)
    for stick in one.filled.sticks:
        yield from ((kind, piece) for kind, piece in stick.cuts if piece.item in one.demand.runs)


def claim_of(one: JobBaseline, piece: PlacedPiece) -> Claim:
    """Return whom a piece of a job planned alone is for."""
    origin = one.job.origins[piece.item]
    return one.job.id, PlacedPiece(origin.item, piece.mark, piece.course, piece.piece)


def _named(claim: Claim) -> tuple[str, int, int | None, int]:
    job, piece = claim
    return job, piece.item, piece.course, piece.piece


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialWeek:
    """One material of the week.

    ``start`` is how the jobs alone are cut, ``relaxed`` the answer to the problem as if all were cut on one day, and
    ``announced`` the sticks of the sheets that may still change. A ``fixed`` one is cut just as its jobs are alone. One
    that is sold by rules is ``bought`` for that one day; its supplies then cost what sticks come to in that bill.
    Runs are ``laid`` as each job's are alone, or as all the week's are together (``together``); ``laid_bound`` is what
    no laying costs less than that keeps the rules and cuts everything, in its cost steps, 0 where it is not known; it
    rests on ``laid_proof``. Of a ``draft`` the jobs' own layings are drafts.
    """

    material: Material
    hand: Hand
    baselines: tuple[JobBaseline, ...]
    pieces: Pieces
    problem: TimedProblem
    start: Mapping[Pattern, int]
    relaxed: Cutting
    announced: Mapping[Signature, int]
    fixed: bool
    laid: tuple[JobBaseline, ...]
    laid_bound: int = 0
    laid_proof: Proof = SEARCHED
    draft: bool = False
    bought: Purchased | None = None

    @property
    def has_runs(self) -> bool:
        """Whether runs longer than a stick are among its items."""
        return any(one.demand.runs for one in self.baselines)

    @property
    def hurried(self) -> bool:
        """Whether the clock cut a job's own plan short; it goes into the week's."""
        return any(one.hurried for one in (*self.baselines, *self.laid))

    @property
    def cost_scale(self) -> int:
        """How many ten-thousandths of money a step of its cost is."""
        return int(cost_step(self.material) * COST_UNITS)

    @property
    def names(self) -> tuple[str, ...]:
        """What each supply is called in an announced plan, delivered or not."""
        return tuple(map(_name, self.hand.sources))

    @property
    def as_bought(self) -> MaterialWeek:
        """The week with no sticks to order but those of the purchase; itself where it is not sold by rules."""
        return self if self.bought is None or self.fixed else self._cut_from(self.bought.sticks, {})

    def cut_from_purchase(self, uses: Mapping[Pattern, int]) -> MaterialWeek:
        """Return the week with no sticks to order but those of the purchase that a plan asks for, begun from it."""
        found = None if self.bought is None else self.bought.purchase(uses)
        return self if found is None else self._cut_from(found.sticks, uses)

    def _cut_from(self, sticks: Sequence[int], start: Mapping[Pattern, int]) -> MaterialWeek:
        hand = limited(self.hand, sticks)
        return replace(self, hand=hand, problem=replace(self.problem, supplies=hand.supplies), start=start)

    def objective(self, uses: Mapping[Pattern, int]) -> tuple[int, int]:
        """Return the length that a plan leaves uncut, and what its new sticks come to in cost steps, by their bill."""
        uncut, cost = self.problem.objective(uses)
        found = None if self.bought is None else self.bought.purchase(uses)
        return uncut, cost if found is None else found.cost

    def with_opening(self, weight: int) -> TimedProblem:
        """Return its problem with ``weight`` parts in a cost step, of which a whole stick of the shop costs one."""
        supplies = (
            replace(supply, cost=supply.cost * weight + self.opens(Pattern(k, ())))
            for k, supply in enumerate(self.problem.supplies)
        )
        return replace(self.problem, supplies=tuple(supplies))

    def opens(self, pattern: Pattern) -> bool:
        """Whether a pattern cuts a whole stick that lies in the shop: it costs nothing more, but it could go back."""
        return not self.hand.orderable(pattern.stick) and self.hand.sources[pattern.stick].stock is not None

    def signed(self, pattern: Pattern) -> Signature:
        """Return what a pattern is known by in an announced plan."""
        return _name(self.hand.sources[pattern.stick]), pattern.pieces


def _name(source: Source) -> str:
    return f"stock {source.stock}" if source.stock else source.row.id


def weeks_of(state: WeekState, watch: Watch, *, keep_runs: bool, draft: bool = False) -> tuple[MaterialWeek, ...]:
    """Return every material that a job still needs, its jobs planned alone.

    With ``keep_runs`` materials that have runs are left to their jobs' own plans. With ``draft`` the runs of several
    jobs are laid as drafts, where they can be laid together as well.
    """
    wanted = {required.material for job in state.jobs for required in job.job.required}
    materials = [material for material in state.week.materials if material.id in wanted]
    return tuple(
        _material_week(
            state, material, watch.within(watch.left / (len(materials) - place)), keep_runs=keep_runs, draft=draft
        )
        for place, material in enumerate(materials)
    )


def _material_week(state: WeekState, material: Material, watch: Watch, *, keep_runs: bool, draft: bool) -> MaterialWeek:
    hand, of_days = state.hand(material), next(m for m in state.materials if m.id == material.id)
    draft = draft and not keep_runs and not differ(material) and _is_laid_at_once(state, of_days)
    baselines = plan_baselines(state.jobs, material, hand, watch.within(watch.left / 2), draft=draft)
    pieces = pieces_of(baselines)
    one_day = pieces.problem(hand, of_days.settings).relaxed()
    hand, bought = as_purchased(state, material, hand, one_day, watch.within(watch.left / 4))
    problem = pieces.problem(hand, of_days.settings)
    fixed = not problem.pieces or _fixed(material, baselines, keep_runs=keep_runs)
    start, relaxed = baseline_patterns(baselines, pieces), solve(problem.relaxed(), watch.within(watch.left / 2))
    bound, proof = _days_bound(hand, baselines, apart=bought is None and state.week.limits.carry == 0)
    return MaterialWeek(
        material=material,
        hand=hand,
        baselines=baselines,
        pieces=pieces,
        problem=problem,
        start=start,
        relaxed=relaxed,
        announced=announced_sticks(state.moment, material.id, pieces),
        fixed=fixed,
        laid=baselines,
        laid_bound=bound,
        laid_proof=proof,
        draft=draft,
        bought=bought,
    )


def _days_bound(hand: Hand, baselines: Sequence[JobBaseline], *, apart: bool) -> tuple[int, Proof]:
    """Return what jobs cost at least that share no day, sticks, offcuts or bill, and why; 0 if that is not known."""
    shared = not apart or len({one.job.day for one in baselines}) < len(baselines)
    shared = shared or any(supply.limit is not None for supply in hand.supplies)
    known = all(one.filled.least_uncut and not one.filled.not_cut for one in baselines)
    in_van = any(supply.opened is not None for supply in hand.supplies)  # none of that is given to a job alone
    if in_van or not known or (shared and len(baselines) > 1):
        return 0, SEARCHED
    proof = baselines[0].filled.proof if len(baselines) == 1 else Proof("search", text=OF_DAYS)
    return sum(one.filled.bound for one in baselines), proof


def _is_laid_at_once(state: WeekState, material: Material) -> bool:
    """Whether runs of several jobs may share sticks, or a bill is shared by all jobs: it has no bound but that."""
    runs, bill = jobs_with_runs(state.jobs, material), has_terms(material)
    return bool(runs) and len(state.jobs) > 1 if bill else runs > 1 and state.week.limits.carry != 0


def jobs_with_runs(jobs: Iterable[OpenJob], material: Material) -> int:
    """Return how many jobs have runs of a material."""
    return sum(any(r.material == material.id and is_run(r, material) for r in job.job.required) for job in jobs)


def _fixed(material: Material, baselines: Iterable[JobBaseline], *, keep_runs: bool) -> bool:
    """Whether the jobs' own cuts must stay: laps hang on which stick a run's piece comes from, or on chance ends."""
    kept = keep_runs or differ(material)
    return any(one.demand.runs and (kept or one.filled.notices) for one in baselines)


@dataclass(frozen=True, slots=True)
class JobBaseline:
    """One job's share of a material planned by itself: its demand, the answer, and each stick's place in the hand.

    Or planned with others: then the answer has its runs, and the sticks with their pieces alone.
    """

    job: OpenJob
    demand: Demand
    filled: Filled
    places: tuple[int, ...]

    @property
    def hurried(self) -> bool:
        """Whether the clock cut the search for it short, so that more time may find another."""
        proven = self.filled.least_uncut and self.filled.cost == self.filled.bound
        return not (proven or self.filled.exhausted)


def plan_baselines(
    jobs: Sequence[OpenJob], material: Material, hand: Hand, watch: Watch, *, draft: bool = False
) -> tuple[JobBaseline, ...]:
    """Plan each job that needs the material by itself, with what those before it have left."""
    limits = [supply.limit for supply in hand.supplies]
    wanting = [(job, items) for job in jobs if (items := _items(job, material))]
    return tuple(
        _alone(job, items, material, hand, limits, watch.within(watch.left / (len(wanting) - place)), draft=draft)
        for place, (job, items) in enumerate(wanting)
    )


def _items(job: OpenJob, material: Material) -> list[int]:
    return [i for i, required in enumerate(job.job.required) if required.material == material.id]


def _alone(
    job: OpenJob,
    items: Sequence[int],
    material: Material,
    hand: Hand,
    limits: list[int | None],
    watch: Watch,
    *,
    draft: bool,
) -> JobBaseline:
    own = next(m for m in job.job.materials if m.id == material.id)
    sources = tuple(_sources(hand, limits, job.day))
    demand = replace(demand_of(job.job, own, items), sources=sources)
    filled = laid_by_bill(demand, watch, draft=draft) if demand.runs else fill(demand, solve(demand.problem(), watch))
    places = tuple(_place(sources, stick) for stick in filled.sticks)
    for place in places:
        if (limit := limits[place]) is not None:
            limits[place] = limit - 1
    return JobBaseline(job, demand, filled, places)


def _sources(hand: Hand, limits: Sequence[int | None], day: int) -> Iterator[Source]:
    """Yield what is there on a day; a stick that has lain in the van is left to the pooled plan."""
    for source, supply, limit in zip(hand.sources, hand.supplies, limits, strict=True):
        there = supply.first <= day and supply.opened is None
        yield replace(source, stick=replace(source.stick, limit=limit if there else 0))


def _place(sources: Sequence[Source], stick: FilledStick) -> int:
    return next(k for k, source in enumerate(sources) if source is stick.source)
