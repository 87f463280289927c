"""The pieces of a run cover it, lie where the plan says, face away from the eye and carry their cut-outs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from solver.checking.bench import Bench
from solver.checking.fault import Fault, told
from solver.checking.laid import Laid, laid_runs
from solver.checking.wanted import own_lap
from solver.plan import PieceCutOut
from solver.required import Side


def check_coverage(bench: Bench) -> Iterator[Fault]:
    """Check each run that can be laid out."""
    viewed = {wall.id: wall.viewed_from for wall in bench.job.walls}
    for laid in laid_runs(bench):
        yield from _sum(bench, laid)
        yield from _allowances(bench, laid)
        yield from _fewest(laid, bench.material.settings.extra_laps)
        yield from _lap_places(bench, laid)
        yield from _facing(bench, laid, viewed.get(laid.run.wall or ""))
        yield from _cut_outs(bench, laid)


def _sum(bench: Bench, laid: Laid) -> Iterator[Fault]:
    needed = laid.needed + laid.lap * (len(laid.parts) - 1)
    found = sum(piece.length for piece in laid.run.pieces)
    if found != needed:
        yield Fault("coverage", laid.place, told(f"pieces of {bench.say(needed)} together", bench.say(found)))
    room = sum(part.cut.room for part in laid.parts)
    if room != laid.wanted.required.room:
        yield Fault("coverage", laid.place, told(f"room {bench.say(laid.wanted.required.room)}", bench.say(room)))


def _allowances(bench: Bench, laid: Laid) -> Iterator[Fault]:
    """Check the lap, the end gap and the start that the run says it was cut by, and that its sticks may be lapped."""
    needed, run = (laid.lap, laid.gap, laid.lefts[0]), laid.run
    if (found := (run.lap, run.end_gap, run.starts_at)) != needed:
        words = f"lap, end gap and start {bench.say_all(needed)}"
        yield Fault("coverage", laid.place, told(words, bench.say_all(found)))
    rows = (bench.rows.get(part.use.stock or "") for part in laid.parts)
    if len(laid.parts) > 1 and any(own_lap(row, bench.material) is None for row in rows):
        yield Fault("coverage", laid.place, told("sticks that may be lapped", "one that may not"))


def _fewest(laid: Laid, extra: int) -> Iterator[Fault]:
    """Check that the run has no more pieces than its longest stick asks for, and the extra laps allowed."""
    gained = max(part.use.stock_length for part in laid.parts) - laid.lap
    fewest = max(1, -(-(laid.needed - laid.lap) // gained)) if gained > 0 else 1
    if len(laid.parts) > fewest + extra:
        yield Fault("coverage", laid.place, told(f"at most {fewest + extra} pieces", len(laid.parts)))


def _lap_places(bench: Bench, laid: Laid) -> Iterator[Fault]:
    needed, found = laid.lefts[1:], laid.run.laps_at
    if found != needed:
        yield Fault("coverage", laid.place, told(f"laps at {bench.say_all(needed)}", bench.say_all(found)))


def _facing(bench: Bench, laid: Laid, viewed_from: Side | int | None) -> Iterator[Fault]:
    if len(laid.run.on_top) != len(laid.lefts) - 1:
        yield Fault("coverage", laid.place, told("the panel on top for each lap", ", ".join(laid.run.on_top) or "none"))
        return
    for place, found in zip(laid.lefts[1:], laid.run.on_top, strict=True):
        away = _side_on_top(min(place, place + laid.lap), max(place, place + laid.lap), viewed_from)
        if away is not None and found is not away:
            yield Fault("coverage", laid.place, told(f"{away} on top at {bench.say(place)}", found))


def _side_on_top(start: int, end: int, viewed_from: Side | int | None) -> Side | None:
    """Return the panel on top so that its end looks away from the eye; None where the eye is at the lap or nowhere."""
    if viewed_from is None or isinstance(viewed_from, Side):
        return viewed_from
    if start <= viewed_from <= end:
        return None
    return Side.RIGHT if end < viewed_from else Side.LEFT


def _cut_outs(bench: Bench, laid: Laid) -> Iterator[Fault]:
    needed = Counter(
        PieceCutOut(number, max(0, cut_out.start - left), max(0, right - cut_out.end), cut_out)
        for cut_out in laid.wanted.required.cut_outs
        if cut_out.course is None or cut_out.course == laid.run.course
        for number, (left, right) in enumerate(zip(laid.lefts, laid.rights, strict=True), 1)
        if cut_out.start < right and left < cut_out.end
    )
    found = Counter(laid.run.cut_outs)
    if found != needed:
        yield Fault("coverage", laid.place, told(f"cut-outs {_told(bench, needed)}", _told(bench, found)))


def _told(bench: Bench, cut_outs: Iterable[PieceCutOut]) -> str:
    ends = (f"{bench.say(it.from_left)} and {bench.say(it.from_right)} from the ends" for it in cut_outs)
    return "; ".join(f"piece {it.piece}, {end}" for it, end in zip(cut_outs, ends, strict=True)) or "none"
