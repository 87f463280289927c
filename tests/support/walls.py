"""Random walls covered piece by piece, right but for the placement rules they break; moved, and in the mirror."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

from hypothesis import strategies as st

from solver.categories import LapEnds
from solver.job import Job, Wall
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, CutPlan, LeftOver, PatternUse
from solver.proof import Proof
from solver.required import CutOut, Edge, End, KeepClear, Meets, Required, Side
from solver.runs import PieceCutOut, Run, RunPiece
from solver.sticks import PlacedPiece, StickUse
from tests import scenario
from tests.scenario import inches
from tests.support import plans

PANEL = inches(150)
QUARTER = inches("0.25")
WALL = inches(600)
"""Where the mirror stands: a wall's zero moves to this place and the other way round."""

Pair = tuple[Job, CutPlan]


@st.composite
def walls(draw: st.DrawFn) -> Pair:
    """One to five courses, each a run of two to four pieces out of panels of their own, cut from any part of them."""
    lap = draw(st.sampled_from((inches(1), 0, -QUARTER)))
    settings = replace(
        scenario.PANEL.settings, lap=lap, extra_laps=2, lap_ends=draw(st.sampled_from((LapEnds.ANY, LapEnds.FACTORY)))
    )
    items = [draw(_items(course)) for course in range(1, draw(st.integers(2, 6)))]
    job = replace(
        scenario.shed(),
        materials=(replace(scenario.PANEL, settings=settings),),
        required=tuple(items),
        walls=(Wall("north", draw(st.sampled_from((*Side, None)))),),
    )
    return job, _covered(draw, job)


@st.composite
def _items(draw: st.DrawFn, course: int) -> Required:
    quarters = st.integers(0, 1200)
    opening = sorted(draw(st.tuples(quarters, quarters).filter(lambda pair: pair[0] < pair[1])))
    start, end = (QUARTER * place for place in opening)
    return Required(
        str(course),
        "panel-sand",
        QUARTER * draw(st.integers(640, 1500)),
        left_end=End(draw(st.sampled_from(Meets))),
        right_end=End(draw(st.sampled_from(Meets))),
        wall="north",
        start=QUARTER * draw(st.integers(0, 100)),
        first_course=course,
        keep_clear=(KeepClear(start, end, course, course),),
        cut_outs=(CutOut(start, end, Edge.TOP, QUARTER),),
    )


def _covered(draw: st.DrawFn, job: Job) -> CutPlan:
    runs: list[Run] = []
    patterns: list[PatternUse] = []
    for item, required in enumerate(job.required):
        lengths = _split(draw, job, required)
        first = len(patterns) + 1
        sticks = [f"S{first + index}" for index in range(len(lengths))]
        numbers = [PlacedPiece(item, required.mark, required.first_course, index + 1) for index in range(len(lengths))]
        patterns += [_pattern(draw, *part) for part in zip(lengths, sticks, numbers, strict=True)]
        runs.append(_run(job, item, lengths, sticks))
    count = len(patterns)
    order = [plans.line("12-6", PANEL, count, "9.80", str(Decimal("9.80") * count))]
    plan = plans.answer(job, patterns, order, 49 * count, Proof("search"))
    return replace(plan, materials=(replace(plan.materials[0], bound=0, runs=tuple(runs)),))


def _split(draw: st.DrawFn, job: Job, item: Required) -> list[int]:
    """Split the length to cover into the fewest pieces or one more, none longer than a panel."""
    settings = job.materials[0].settings
    lap = settings.lap or 0
    ends = {Meets.PLAIN: 0, Meets.CHANNEL: -settings.end_gap, Meets.LAP: lap}
    needed = item.length + ends[item.left_end.meets] + ends[item.right_end.meets]
    count = -(-(needed - lap) // (PANEL - lap)) + draw(st.integers(0, 1))
    left, lengths = needed + lap * (count - 1), []
    for after in range(count - 1, -1, -1):
        least = max(QUARTER, left - after * PANEL) if after else left
        length = draw(st.integers(least // QUARTER, min(PANEL, left - after * QUARTER) // QUARTER)) * QUARTER
        lengths.append(max(least, length))
        left -= lengths[-1]
    return lengths


def _pattern(draw: st.DrawFn, length: int, stick: str, piece: PlacedPiece) -> PatternUse:
    after = draw(st.integers(0, 1))
    whole, left = length == PANEL, PANEL - length
    left_end, right_end = (CutEnd.FACTORY if whole or side else CutEnd.FIELD for side in (after == 1, after == 0))
    end = FactoryEnd.NONE if whole else (FactoryEnd.LEFT, FactoryEnd.RIGHT)[after]
    left_over = LeftOver(left, left >= inches(36), end, after)
    use = StickUse(stick, None, (piece,))
    return PatternUse("12-6", PANEL, FactoryEnd.BOTH, (Cut(length, left_end, right_end),), left_over, (use,))


def _run(job: Job, item: int, lengths: Sequence[int], sticks: Sequence[str]) -> Run:
    required, settings = job.required[item], job.materials[0].settings
    lap = settings.lap or 0
    left = required.start + {Meets.PLAIN: 0, Meets.CHANNEL: settings.end_gap, Meets.LAP: -lap}[required.left_end.meets]
    lefts = [left]
    for length in lengths[:-1]:
        lefts.append(lefts[-1] + length - lap)
    viewed = job.walls[0].viewed_from
    on_top = viewed if isinstance(viewed, Side) else Side.RIGHT
    pieces = tuple(RunPiece(length, stick, 1) for length, stick in zip(lengths, sticks, strict=True))
    cut_outs = tuple(
        PieceCutOut(number, max(0, cut_out.start - begin), max(0, begin + length - cut_out.end), cut_out)
        for cut_out in required.cut_outs
        for number, (begin, length) in enumerate(zip(lefts, lengths, strict=True), 1)
        if begin < cut_out.end and cut_out.start < begin + length
    )
    mark, course = required.mark, required.first_course
    return Run(
        item=item,
        mark=mark,
        wall="north",
        course=course,
        lap=lap,
        end_gap=settings.end_gap,
        starts_at=left,
        pieces=pieces,
        laps_at=tuple(lefts[1:]),
        on_top=(on_top,) * (len(lengths) - 1),
        cut_outs=cut_outs,
    )


def shifted(pair: Pair, by: int) -> Pair:
    """Return the same wall with its zero moved ``by`` ticks to the left."""
    job, plan = pair
    moved = _placed(lambda start, end: (start + by, end + by))
    items = tuple(moved(replace(item, start=item.start + by)) for item in job.required)
    part = plan.materials[0]
    cut_outs = [dict(zip(a.cut_outs, b.cut_outs, strict=True)) for a, b in zip(job.required, items, strict=True)]
    runs = tuple(
        replace(
            run,
            starts_at=run.starts_at + by,
            laps_at=tuple(place + by for place in run.laps_at),
            cut_outs=tuple(replace(found, cut_out=cut_outs[run.item][found.cut_out]) for found in run.cut_outs),
        )
        for run in part.runs
    )
    return replace(job, required=items), replace(plan, materials=(replace(part, runs=runs),))


def mirrored(pair: Pair) -> Pair:
    """Return the same wall seen in a mirror: left is right, and every place is counted from the other end."""
    job, plan = pair
    lap = job.materials[0].settings.lap or 0
    items = tuple(
        replace(
            _placed(lambda start, end: (WALL - end, WALL - start))(item),
            left_end=item.right_end,
            right_end=item.left_end,
            start=WALL - item.start - item.length,
        )
        for item in job.required
    )
    viewed = job.walls[0].viewed_from
    seen = replace(job.walls[0], viewed_from=_OTHER[viewed] if isinstance(viewed, Side) else viewed)
    part = plan.materials[0]
    count = {run.item: len(run.pieces) for run in part.runs}
    mirrored_part = replace(
        part,
        patterns=tuple(_mirrored_pattern(use, count) for use in part.patterns),
        runs=tuple(_mirrored_run(run, items[run.item], lap) for run in part.runs),
    )
    return replace(job, required=items, walls=(seen,)), replace(plan, materials=(mirrored_part,))


_OTHER = {Side.LEFT: Side.RIGHT, Side.RIGHT: Side.LEFT}
_OTHER_END = {
    FactoryEnd.LEFT: FactoryEnd.RIGHT,
    FactoryEnd.RIGHT: FactoryEnd.LEFT,
    FactoryEnd.BOTH: FactoryEnd.BOTH,
    FactoryEnd.NONE: FactoryEnd.NONE,
}


def _placed(move: Callable[[int, int], tuple[int, int]]) -> Callable[[Required], Required]:
    def moved(item: Required) -> Required:
        clear = tuple(KeepClear(*move(c.start, c.end), c.first, c.last) for c in item.keep_clear)
        cut_outs = tuple(CutOut(*move(c.start, c.end), c.edge, c.height, c.course) for c in item.cut_outs)
        return replace(item, keep_clear=clear, cut_outs=cut_outs)

    return moved


def _mirrored_pattern(use: PatternUse, count: dict[int, int]) -> PatternUse:
    cuts = tuple(replace(cut, left=cut.right, right=cut.left) for cut in reversed(use.cuts))
    left = replace(
        use.left_over,
        factory_end=_OTHER_END[use.left_over.factory_end],
        after=len(use.cuts) - use.left_over.after,
    )
    sticks = tuple(
        replace(
            stick,
            pieces=tuple(replace(p, piece=count[p.item] + 1 - p.piece) for p in reversed(stick.pieces)),
        )
        for stick in use.sticks
    )
    return replace(use, factory_end=_OTHER_END[use.factory_end], cuts=cuts, left_over=left, sticks=sticks)


def _mirrored_run(run: Run, item: Required, lap: int) -> Run:
    count = len(run.pieces)
    cut_outs = tuple(
        PieceCutOut(count + 1 - found.piece, found.from_right, found.from_left, item.cut_outs[0])
        for found in run.cut_outs
    )
    return replace(
        run,
        starts_at=WALL - run.laps_at[-1] - run.pieces[-1].length,
        pieces=run.pieces[::-1],
        laps_at=tuple(WALL - place - lap for place in reversed(run.laps_at)),
        on_top=tuple(_OTHER[side] for side in reversed(run.on_top)),
        cut_outs=cut_outs,
    )
