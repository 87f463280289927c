"""A lap plan held against its problem, written from the meaning of both; shares nothing with how plans are made."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import count as numbers
from itertools import pairwise

from solver.categories import LapEnds
from solver.laps.problem import Cover, LapPlan, LapProblem, LapRun, LapStick
from solver.required import Meets
from solver.runs import BreachCode


def complaints(problem: LapProblem, plan: LapPlan) -> list[str]:
    """Return what is wrong with a plan: sticks, coverage, ends, broken rules that are not told, cost and bound."""
    return [
        *_sticks(problem, plan),
        *_counts(problem, plan),
        *(wrong for cover in plan.covers for wrong in _cover(problem, plan, cover)),
        *_rules(problem, plan),
        *_costs(problem, plan),
    ]


def _sticks(problem: LapProblem, plan: LapPlan) -> Iterator[str]:
    for stick in plan.sticks:
        have, kinds = problem.sticks[stick.stick], [plan.kinds[p.kind] for p in stick.pieces]
        taken = sum(kind.length for kind in kinds) + problem.kerf * (len(kinds) - 1)
        if not kinds:
            yield f"nothing is cut of {have}"
        if taken > have.length:
            yield f"{kinds} don't fit {have}"
        lefts, rights = sum(kind.left for kind in kinds), sum(kind.right for kind in kinds)
        if lefts > have.left or rights > have.right:
            yield f"{kinds} need more factory ends than {have} has"
        if any(kind.left and kind.right and (len(kinds) > 1 or kind.length != have.length) for kind in kinds):
            yield f"{kinds} should be an uncut stick of {have}"
    for kind, count in Counter(stick.stick for stick in plan.sticks).items():
        limit = problem.sticks[kind].limit
        if limit is not None and count > limit:
            yield f"{count} of {problem.sticks[kind]} used"


def _counts(problem: LapProblem, plan: LapPlan) -> Iterator[str]:
    cut = Counter(piece.kind for stick in plan.sticks for piece in stick.pieces)
    for index, piece in enumerate(problem.pieces):
        if plan.kinds[index] != piece or cut[index] + plan.uncut[index] != piece.demand:
            yield f"{cut[index]} cut and {plan.uncut[index]} uncut of {piece}"
    covered = {cover.run for cover in plan.covers}
    if sorted([*covered, *plan.uncut_runs]) != list(range(len(problem.runs))):
        yield f"{covered} covered, {plan.uncut_runs} not"
    parts = Counter((p.run, p.part, p.kind) for stick in plan.sticks for p in stick.pieces if p.run is not None)
    wanted = Counter((c.run, n, kind) for c in plan.covers for n, kind in enumerate(c.kinds, 1))
    if parts != wanted:
        yield f"parts {parts} for {wanted}"


def _cover(problem: LapProblem, plan: LapPlan, cover: Cover) -> Iterator[str]:
    run, lengths = problem.runs[cover.run], [plan.kinds[k].length for k in cover.kinds]
    used = [problem.sticks[s.stick] for s in plan.sticks if any(p.run == cover.run for p in s.pieces)]
    if (cover.lap, cover.end_gap) != (max(s.lap for s in used), max(s.end_gap for s in used)):
        yield f"lap {cover.lap} and gap {cover.end_gap} from {used}"
    covered = run.length + sum(_end(end, cover) for end in (run.left, run.right))
    if sum(lengths) != covered + cover.lap * (len(lengths) - 1):
        yield f"{lengths} for {run}"
    places = [run.start - _end(run.left, cover)]
    for length in lengths:
        places.append(places[-1] + length - cover.lap)
    if tuple(places[1:-1]) != cover.laps_at:
        yield f"laps at {cover.laps_at} of {lengths}"
    if len(lengths) > (most := most_parts(problem, run)):
        yield f"{len(lengths)} pieces for {covered}, {most} allowed"
    yield from _ends(problem, plan, cover, run)


def most_parts(problem: LapProblem, run: LapRun) -> int:
    """Return how many pieces a run may have, from the meaning of ``extra_laps``."""

    def fewest(stick: LapStick) -> int:
        ends = {Meets.PLAIN: 0, Meets.CHANNEL: -stick.end_gap, Meets.LAP: stick.lap}
        together = run.length + ends[run.left] + ends[run.right]
        return next(n for n in numbers(1) if n * stick.length - (n - 1) * stick.lap >= together)

    usable = [s for s in problem.sticks if s.limit != 0 and s.lapped and s.length > s.lap]
    if endless := [fewest(s) for s in usable if s.limit is None]:
        return min(endless) + problem.rules.extra_laps
    bought = [s for s in usable if s.cost] or [max(usable, key=lambda s: s.length)]
    return max(map(fewest, bought)) + problem.rules.extra_laps


def _end(end: Meets, cover: Cover) -> int:
    return {Meets.PLAIN: 0, Meets.CHANNEL: -cover.end_gap, Meets.LAP: cover.lap}[end]


def _ends(problem: LapProblem, plan: LapPlan, cover: Cover, run: LapRun) -> Iterator[str]:
    if problem.rules.ends is not LapEnds.FACTORY:
        return
    kinds = [plan.kinds[k] for k in cover.kinds]
    lefts = [run.left is Meets.LAP, *(True for _ in kinds[1:])]
    rights = [*(True for _ in kinds[1:]), run.right is Meets.LAP]
    field = sum(need > kind.left for need, kind in zip(lefts, kinds, strict=True))
    field += sum(need > kind.right for need, kind in zip(rights, kinds, strict=True))
    told = [b for b in plan.breaches if b.run == cover.run and b.code is BreachCode.FIELD_END_LAPPED]
    if field != len(told):
        yield f"{field} field ends lapped, {len(told)} told"


def _rules(problem: LapProblem, plan: LapPlan) -> Iterator[str]:
    broken: Counter[tuple[str, int, int]] = Counter()
    for cover in plan.covers:
        run, lengths = problem.runs[cover.run], [plan.kinds[k].length for k in cover.kinds]
        lefts = [run.start - _end(run.left, cover), *cover.laps_at]
        for place in cover.laps_at:
            low, high = sorted((place, place + cover.lap))
            if any(low < end and start < high for start, end in run.keep_clear):
                broken[BreachCode.LAP_OVER_OPENING, cover.run, place] += 1
        for place, length in zip(lefts, lengths, strict=True):
            if length < problem.rules.shortest:
                broken[BreachCode.SHORT_PIECE, cover.run, place] += 1
        for other in plan.covers:
            for code, place in _beside(problem, cover, other):
                broken[code, cover.run, place] += 1
    told = Counter((b.code, b.run, b.place) for b in plan.breaches if b.code is not BreachCode.FIELD_END_LAPPED)
    if broken != told:
        yield f"broken {broken}, told {told}"


def _beside(problem: LapProblem, upper: Cover, lower: Cover) -> Iterator[tuple[str, int]]:
    one, two, rules = problem.runs[upper.run], problem.runs[lower.run], problem.rules
    if one.wall is None or one.wall != two.wall or one.course is None or two.course is None:
        return
    courses = one.course - two.course
    for place in upper.laps_at if courses > 0 else ():
        for below in lower.laps_at:
            if courses == 1 and abs(place - below) < rules.spacing:
                yield BreachCode.LAP_SPACING, place
            if courses <= rules.repeat and abs(place - below) < rules.in_line_within:
                yield BreachCode.LAP_IN_LINE, place


def _costs(problem: LapProblem, plan: LapPlan) -> Iterator[str]:
    if plan.cost != problem.cost(Counter(stick.stick for stick in plan.sticks)):
        yield f"cost {plan.cost}"
    if not 0 <= plan.bound <= plan.cost:
        yield f"bound {plan.bound} of cost {plan.cost}"
    if any(one > other for one, other in pairwise(stick.stick for stick in plan.sticks)):
        yield "sticks out of order"
