"""Runs longer than a stick: the items stated for ``laps``, and its answer written out as the runs hang."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from solver.allowances import Allowances, may_be_lapped, own
from solver.assignment import Filled, FilledStick, in_cutting_order, shortfalls
from solver.categories import LapEnds, Settings
from solver.cutting.problem import Search
from solver.demand import Demand, Kind, Source
from solver.job import Notice, turns_of
from solver.laps import WORST, plan_laps
from solver.laps.problem import (
    Breach,
    Cover,
    CutPiece,
    CutStick,
    LapPlan,
    LapProblem,
    LapRules,
    LapRun,
    LapStick,
    SlotDuals,
    ValueSet,
)
from solver.lengths import say
from solver.materials import Offcut, StockLength
from solver.plan import NotCut, PatternUse
from solver.proof import EndValues, PieceValue, Proof, RunValues, StickValue
from solver.required import CutOut, Side
from solver.runs import BESIDE_OPENING, LONGEST_STEP, NEAR_LINE, BreachCode, PieceCutOut, Run, RunPiece
from solver.sticks import PlacedPiece
from solver.ticks import TICKS_PER_INCH, TICKS_PER_MM
from solver.walls.appearance import exchanged
from solver.watch import Watch

_SAYS = {
    BreachCode.LAP_SPACING: "laps of adjacent courses are {got} apart, {needed} is asked for",
    BreachCode.LAP_IN_LINE: "laps are in line with too few courses between: {got} apart, {needed} is asked for",
    BreachCode.LAP_OVER_OPENING: "a lap at {got} falls in a stretch to be kept clear; {needed} is the nearest place",
    BreachCode.SHORT_PIECE: "a piece of the run is {got} long, {needed} is the shortest asked for",
    BreachCode.FIELD_END_LAPPED: "a field end is lapped: trim hem and lock there. Sticks of {needed}, not {got}, "
    "have a factory end there",
}
Where = dict[tuple[int, int | None, int], RunPiece]
"""Where each piece of an item is cut, by item, course and piece number."""


def cover(demand: Demand, watch: Watch, *, draft: bool = False) -> Filled:
    """Plan a material's runs and pieces together, and say which stick gives what.

    A ``draft`` is bettered in one round only, and not for its looks.
    """
    problem = lap_problem_of(demand)
    return written(demand, problem, plan_laps(problem, watch, beside=WORST if draft else None))


def written(demand: Demand, problem: LapProblem, plan: LapPlan) -> Filled:
    """Return a plan of a material's runs and pieces as which stick gives what."""
    not_cut = (*shortfalls(demand, plan.uncut), *_runs_not_cut(demand, problem, plan))
    notices = tuple(_notice(demand, problem, breach) for breach in plan.breaches)
    return Filled(
        sticks=tuple(_filled(demand, problem, plan)),
        cost=plan.cost,
        bound=plan.bound,
        least_uncut=plan.least_uncut,
        proof=_proof(demand, plan.proof),
        not_cut=tuple(sorted(not_cut, key=lambda entry: entry.item)),
        notices=notices,
        runs=problem.runs,
        covers=plan.covers,
        exhausted=not plan.stopped,
    )


def _proof(demand: Demand, proof: Search | SlotDuals) -> Proof:
    if isinstance(proof, Search):
        return Proof("search", text=proof.text)
    first, *further = [[value or 0 for value in values.pieces] for values in proof.sets]
    kinds = zip(demand.kinds, first, strict=True)
    return Proof(
        "duals",
        proof.scale,
        tuple(PieceValue(kind.takes, kind.needs_left, kind.needs_right, value) for kind, value in kinds),
        further=tuple(map(tuple, further)),
        grid=proof.cell,
        runs=tuple(_run_values(demand, values) for values in proof.sets),
    )


def _run_values(demand: Demand, values: ValueSet) -> RunValues:
    rows = [source.row for source in demand.sources]

    def named(kinds: Iterable[int], sort: type) -> tuple[str, ...]:
        return tuple(rows[k].id for k in kinds if isinstance(rows[k], sort))

    sides = {True: Side.RIGHT, False: Side.LEFT, None: None}
    ends = (
        EndValues(sides[slot.right], named(slot.kinds, StockLength), named(slot.kinds, Offcut), slot.worth)
        for slot in values.slots
    )
    sticks = (
        StickValue(source.stock, None if source.stock else source.row.id, value)
        for source, value in zip(demand.sources, values.sticks, strict=False)
    )
    return RunValues(tuple(ends), tuple(sticks))


def lap_problem_of(demand: Demand) -> LapProblem:
    """State a material's runs, pieces and sticks in the terms of ``solver.laps``."""
    cutting, settings = demand.problem(), demand.material.settings
    rules = LapRules(
        ends=settings.lap_ends,
        shortest=settings.shortest_piece or 0,
        spacing=settings.lap_spacing or 0,
        repeat=settings.lap_repeat or 0,
        in_line_within=settings.in_line_within or 0,
        extra_laps=settings.most_extra_laps,
        lap_price=int(settings.lap_price / demand.cost_step) if demand.material.priced else 0,
        near=NEAR_LINE,
        longest_step=LONGEST_STEP,
        beside=BESIDE_OPENING,
        nudge=5 * TICKS_PER_MM if demand.job.units.metric else TICKS_PER_INCH // 4,
    )
    sticks = tuple(_lap_stick(demand, source) for source in demand.sources)
    return LapProblem(
        sticks=sticks,
        pieces=cutting.pieces,
        runs=tuple(_runs(demand)),
        rules=rules,
        kerf=cutting.kerf,
        keep_from=cutting.keep_from,
        terms=demand.terms,
    )


def _lap_stick(demand: Demand, source: Source) -> LapStick:
    stick, asked = source.stick, own(source.row, demand.material)
    lapped = may_be_lapped(source.row, demand.material)
    return LapStick(
        length=stick.length,
        cost=stick.cost,
        limit=stick.limit,
        left=stick.left,
        right=stick.right,
        lap=asked.lap,
        end_gap=asked.end_gap,
        lapped=lapped,
    )


def _runs(demand: Demand) -> Iterator[LapRun]:
    viewed_from = {wall.id: wall.viewed_from for wall in demand.job.walls}
    turns = turns_of(demand.job)
    for item in demand.runs:
        required = demand.job.required[item]
        for course in required.course_numbers:
            kept = (c for c in required.keep_clear if course is None or c.first <= course <= c.last)
            clear = tuple((c.start, c.end) for c in kept)
            for copy in range(required.quantity):
                yield LapRun(
                    item=item,
                    length=required.length,
                    left=required.left_end.meets,
                    right=required.right_end.meets,
                    wall=required.wall,
                    course=course,
                    start=required.start,
                    keep_clear=clear,
                    viewed_from=viewed_from.get(required.wall or ""),
                    copy=copy,
                    turn=turns[item, course],
                )


def _filled(demand: Demand, problem: LapProblem, plan: LapPlan) -> Iterator[FilledStick]:
    kinds = [*demand.kinds, *(Kind(p.length, 0, p.left, p.right) for p in plan.kinds[len(demand.kinds) :])]
    runs, parts_before = problem.runs, _parts_before(problem.runs, plan)
    waiting = _Waiting(demand, plan.uncut)

    def own(piece: CutPiece, now: int | None) -> PlacedPiece:
        if piece.run is None or piece.part is None:
            return waiting.take(piece.kind, now)
        run = runs[piece.run]
        mark = demand.job.required[run.item].mark
        return PlacedPiece(run.item, mark, run.course, parts_before[piece.run] + piece.part)

    def cut_at(stick: CutStick) -> int | None:
        return min((runs[piece.run].turn for piece in stick.pieces if piece.run is not None), default=None)

    # Pieces alike go where they are hung soon after their stick is cut; sticks of such pieces alone take the rest.
    dealt: dict[int, list[PlacedPiece]] = {}
    for number in sorted(range(len(plan.sticks)), key=lambda n: (cut_at(plan.sticks[n]) is None, n)):
        stick = plan.sticks[number]
        now = cut_at(stick)
        dealt[number] = [own(piece, now) for piece in stick.pieces]
    sources = [demand.sources[stick.stick] for stick in plan.sticks]
    cuts = [
        [(kinds[piece.kind], whose) for piece, whose in zip(stick.pieces, dealt[number], strict=True)]
        for number, stick in enumerate(plan.sticks)
    ]
    for source, pieces in zip(sources, exchanged(demand, sources, cuts), strict=True):
        yield FilledStick(source, in_cutting_order(pieces))


class _Waiting:
    """Whom the pieces of each kind are for, in the order of hanging; as ``shortfalls`` has it, the last go without."""

    def __init__(self, demand: Demand, uncut: Sequence[int]) -> None:
        turns = turns_of(demand.job)
        served = (claims[: len(claims) - n] for claims, n in zip(demand.claims, uncut, strict=True))
        keyed = (sorted((turns[c.item, c.course], c.piece, c) for c in claims) for claims in served)
        self._claims = [[(turn, claim) for turn, _, claim in some] for some in keyed]

    def take(self, kind: int, now: int | None) -> PlacedPiece:
        """Take what is hung at a turn or soonest after it, else soonest before; without a turn the first."""
        claims = self._claims[kind]
        at = 0 if now is None else min(bisect_left(claims, now, key=lambda entry: entry[0]), len(claims) - 1)
        return claims.pop(at)[1]


def _parts_before(runs: Sequence[LapRun], plan: LapPlan) -> dict[int, int]:
    """Return how many pieces of its item and course lie before each run: numbers go on through an item's copies."""
    taken: dict[tuple[int, int | None], int] = defaultdict(int)
    before = {}
    for cover in sorted(plan.covers, key=lambda c: c.run):
        key = runs[cover.run].item, runs[cover.run].course
        before[cover.run] = taken[key]
        taken[key] += len(cover.kinds)
    return before


def _runs_not_cut(demand: Demand, problem: LapProblem, plan: LapPlan) -> Iterator[NotCut]:
    short: dict[int, int] = defaultdict(int)
    for run in plan.uncut_runs:
        short[problem.runs[run].item] += 1
    for item, quantity in sorted(short.items()):
        required = demand.job.required[item]
        detail = f"the sticks left can't cover {say(required.length, demand.job.units)}; add stock or another length"
        yield NotCut(item, required.mark, quantity, "stock_exhausted", detail)


def _notice(demand: Demand, problem: LapProblem, breach: Breach) -> Notice:
    run = problem.runs[breach.run]
    mark, unit = demand.job.required[run.item].mark, demand.job.units
    says = _SAYS[breach.code].format(needed=say(breach.needed, unit), got=say(breach.got, unit))
    return Notice(
        code=breach.code,
        detail=f"{mark}: {says}; {_mend(demand.material.settings, breach.code)}",
        pointer=f"#/required/{run.item}",
        material=demand.material.id,
        wall=run.wall,
        course=run.course,
        place=breach.place,
        needed=breach.needed,
        got=breach.got,
    )


def _mend(settings: Settings, code: BreachCode) -> str:
    """Return which settings, changed, may keep a rule that this plan had to break."""
    ends = " or lap_ends renotched" if settings.lap_ends is LapEnds.FACTORY else ""
    if code is BreachCode.FIELD_END_LAPPED:
        return "another stock length may mend it"
    return f"extra_laps {settings.most_extra_laps + 1}{ends} may mend it"


def runs_of(demand: Demand, filled: Filled, patterns: Iterable[PatternUse]) -> tuple[Run, ...]:
    """Return the material's runs in the order of the request, courses from the lowest."""
    where = _where(patterns)
    covers = sorted(filled.covers, key=lambda cover: cover.run)
    taken: dict[tuple[int, int | None], int] = defaultdict(int)
    return tuple(_run(demand, filled.runs[cover.run], cover, where, taken) for cover in covers)


def _run(demand: Demand, run: LapRun, cover: Cover, where: Where, taken: dict[tuple[int, int | None], int]) -> Run:
    first = taken[run.item, run.course] + 1
    taken[run.item, run.course] += len(cover.kinds)
    numbers = range(first, first + len(cover.kinds))
    pieces = tuple(where[run.item, run.course, number] for number in numbers)
    required = demand.job.required[run.item]
    cut_outs = [c for c in required.cut_outs if c.course in (None, run.course)]
    starts_at = Allowances(cover.lap, cover.end_gap).starts_at(run.start, run.left)
    return Run(
        item=run.item,
        mark=required.mark,
        wall=run.wall,
        course=run.course,
        lap=cover.lap,
        end_gap=cover.end_gap,
        starts_at=starts_at,
        pieces=pieces,
        laps_at=cover.laps_at,
        on_top=cover.on_top,
        cut_outs=tuple(_given_back(cut_outs, pieces, (starts_at, *cover.laps_at))),
    )


def _where(patterns: Iterable[PatternUse]) -> Where:
    return {
        (piece.item, piece.course, piece.piece): RunPiece(cut.length, stick.stick, place)
        for use in patterns
        for stick in use.sticks
        for place, (piece, cut) in enumerate(zip(stick.pieces, use.cuts, strict=True), 1)
    }


def _given_back(
    cut_outs: Iterable[CutOut], pieces: Sequence[RunPiece], left_ends: Sequence[int]
) -> Iterator[PieceCutOut]:
    """Yield each cut-out once for every piece that reaches into it, measured from the piece's own ends, 0 beyond."""
    for cut_out in cut_outs:
        for number, (piece, left) in enumerate(zip(pieces, left_ends, strict=True), 1):
            if left < cut_out.end and cut_out.start < left + piece.length:
                from_left, from_right = cut_out.start - left, left + piece.length - cut_out.end
                yield PieceCutOut(number, max(0, from_left), max(0, from_right), cut_out)
