"""Every run is there once, made of cuts of its own: they cover it, lie where the plan says and face away from the eye.

Each piece carries its part of the cut-outs.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import accumulate, combinations

from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.pieces import consecutive
from solver.checking.wanted import Wanted, allowance, own_gap, own_lap
from solver.materials import StockLength
from solver.plan import Cut, PatternUse
from solver.required import Required, Side
from solver.runs import PieceCutOut, Run, RunPiece
from solver.sticks import PlacedPiece


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of a run: the pattern and cut it is, and whom the stick says it is for."""

    use: PatternUse
    cut: Cut
    placed: PlacedPiece


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A run whose item and cuts exist; ``lap`` and ``gap`` are the largest that its sticks ask for, in ticks."""

    place: str
    run: Run
    wanted: Wanted
    parts: tuple[Part, ...]
    lap: int
    gap: int

    @property
    def needed(self) -> int:
        """The length covered from the first piece's left end to the last one's right end, in ticks."""
        item = self.wanted.required
        ends = (item.left_end, item.right_end)
        return item.length + sum(allowance(end, self.lap, self.gap) for end in ends)

    @property
    def lefts(self) -> tuple[int, ...]:
        """Where each piece begins, in ticks along the wall."""
        item = self.wanted.required
        first = item.start - allowance(item.left_end, self.lap, self.gap)
        return tuple(accumulate((piece.length - self.lap for piece in self.run.pieces[:-1]), initial=first))

    @property
    def rights(self) -> tuple[int, ...]:
        """Where each piece ends, in ticks along the wall."""
        return tuple(left + piece.length for left, piece in zip(self.lefts, self.run.pieces, strict=True))


def laid_runs(bench: Bench) -> Iterator[Laid]:
    """Yield the runs of a plan that can be laid out at all; what is wrong with the others is told elsewhere."""
    for index, run in enumerate(bench.plan.runs):
        wanted = bench.wanted.get(run.item)
        parts = [part_of(bench, piece) for piece in run.pieces]
        found = tuple(part for part in parts if part is not None)
        if wanted is not None and found and len(found) == len(parts):
            yield _laid(bench, f"{bench.place}/runs/{index}", run, wanted, found)


def part_of(bench: Bench, piece: RunPiece) -> Part | None:
    """Return the cut that a piece of a run names, or None if there is none such."""
    use, stick = bench.by_stick.get(piece.stick, (None, None))
    if use is None or stick is None or not 1 <= piece.cut <= min(len(use.cuts), len(stick.pieces)):
        return None
    return Part(use, use.cuts[piece.cut - 1], stick.pieces[piece.cut - 1])


def _laid(bench: Bench, place: str, run: Run, wanted: Wanted, parts: tuple[Part, ...]) -> Laid:
    rows = [bench.rows.get(part.use.stock or "") for part in parts]
    laps = [lap for row in rows if (lap := own_lap(row, bench.material)) is not None]
    gap = max(own_gap(row, bench.material) for row in rows)
    return Laid(place=place, run=run, wanted=wanted, parts=parts, lap=max(laps, default=0), gap=gap)


def check_runs(bench: Bench) -> Iterator[Fault]:
    """Check each run against its item and its cuts, then that none is missing, doubled or in another's place."""
    for index, run in enumerate(bench.plan.runs):
        yield from _identity(bench, f"{bench.place}/runs/{index}", run)
    yield from _every_cut_once(bench)
    runs: dict[int, list[Laid]] = defaultdict(list)
    for laid in laid_runs(bench):
        runs[laid.run.item].append(laid)
    for wanted in _run_items(bench):
        yield from _complete(bench, wanted)
        yield from _numbered(runs[wanted.item], wanted)
    yield from _apart(bench)


def _run_items(bench: Bench) -> list[Wanted]:
    return [wanted for wanted in bench.wanted.values() if wanted.is_run]


def _identity(bench: Bench, place: str, run: Run) -> Iterator[Fault]:
    wanted = bench.wanted.get(run.item)
    if wanted is None or not wanted.is_run:
        yield Fault("run", place, mismatch("an item longer than every stick", run.item))
        return
    same = wanted.required.mark, wanted.required.wall
    if (run.mark, run.wall) != same or run.course not in wanted.courses:
        needed = f"mark {same[0]}, wall {same[1]}, {wanted.courses_in_words}"
        yield Fault("run", place, mismatch(needed, f"mark {run.mark}, wall {run.wall}, course {run.course}"))
    if not run.pieces:
        yield Fault("run", place, mismatch("pieces", "none"))
    for index, piece in enumerate(run.pieces):
        part = part_of(bench, piece)
        found = part and (part.cut.length, part.placed.item, part.placed.course)
        if found != (piece.length, run.item, run.course):
            needed = _cut_for(bench, piece.length, run.item, run.course)
            cut = _cut_for(bench, *found) if found else "no such cut"
            yield Fault("run", f"{place}/pieces/{index}", mismatch(needed, cut))


def _cut_for(bench: Bench, length: int, item: int, course: int | None) -> str:
    return f"a cut of {bench.say(length)} for item {item} in course {course}"


def _every_cut_once(bench: Bench) -> Iterator[Fault]:
    named = Counter((piece.stick, piece.cut) for run in bench.plan.runs for piece in run.pieces)
    runs = {wanted.item for wanted in _run_items(bench)}
    cut = Counter(
        (stick.stick, number)
        for _, stick in bench.plan.sticks()
        for number, piece in enumerate(stick.pieces, 1)
        if piece.item in runs
    )
    if named != cut:
        odd = sorted((named - cut) + (cut - named))[:5]
        yield Fault("run", bench.place, mismatch("every cut of a run in one run, once", f"stick and cut {odd}"))


def _complete(bench: Bench, wanted: Wanted) -> Iterator[Fault]:
    place = f"#/required/{wanted.item}"
    laid = Counter(run.course for run in bench.plan.runs if run.item == wanted.item)
    uncut = sum(entry.quantity for entry in bench.not_cut if entry.item == wanted.item)
    if laid.total() + uncut != wanted.required.pieces:
        yield Fault("run", place, mismatch(wanted.required.pieces, f"{laid.total()} runs and {uncut} declared uncut"))
    if any(count > wanted.required.quantity for count in laid.values()):
        yield Fault("run", place, mismatch(f"{wanted.required.quantity} in a course", max(laid.values())))


def _numbered(runs: Iterable[Laid], wanted: Wanted) -> Iterator[Fault]:
    """Check that pieces count from the left within each run, and 1, 2, ... within the item and course."""
    numbers: dict[int | None, list[int]] = defaultdict(list)
    for laid in runs:
        found = [part.placed.piece for part in laid.parts]
        numbers[laid.run.course] += found
        if found != list(range(found[0], found[0] + len(found))):
            yield Fault("run", laid.place, mismatch("pieces numbered from the left", found))
    for found in numbers.values():
        yield from consecutive(f"#/required/{wanted.item}", found)


def _apart(bench: Bench) -> Iterator[Fault]:
    by_course: dict[tuple[str, int], list[Laid]] = defaultdict(list)
    for laid in laid_runs(bench):
        if laid.run.wall is not None and laid.run.course is not None:
            by_course[laid.run.wall, laid.run.course].append(laid)
    for (wall, course), runs in by_course.items():
        for one, other in combinations(runs, 2):
            a, b = one.wanted.required, other.wanted.required
            if a.start < b.start + b.length and b.start < a.start + a.length:
                yield Fault("run", one.place, mismatch(f"one run at a place of {wall} course {course}", other.place))


def check_coverage(bench: Bench) -> Iterator[Fault]:
    """Check each run that can be laid out."""
    viewed = {wall.id: wall.viewed_from for wall in bench.job.walls}
    for laid in laid_runs(bench):
        yield from _sum(bench, laid)
        yield from _allowances(bench, laid)
        yield from _not_too_many(bench, laid)
        yield from _lap_places(bench, laid)
        yield from _facing(bench, laid, viewed.get(laid.run.wall or ""))
        yield from _cut_outs(bench, laid)


def _sum(bench: Bench, laid: Laid) -> Iterator[Fault]:
    needed = laid.needed + laid.lap * (len(laid.parts) - 1)
    found = sum(piece.length for piece in laid.run.pieces)
    if found != needed:
        yield Fault("coverage", laid.place, mismatch(f"pieces of {bench.say(needed)} together", bench.say(found)))
    room = sum(part.cut.room for part in laid.parts)
    if room != laid.wanted.required.room:
        yield Fault("coverage", laid.place, mismatch(f"room {bench.say(laid.wanted.required.room)}", bench.say(room)))


def _allowances(bench: Bench, laid: Laid) -> Iterator[Fault]:
    """Check the lap, the end gap and the start that the run says it was cut by, and that its sticks may be lapped."""
    needed, run = (laid.lap, laid.gap, laid.lefts[0]), laid.run
    if (found := (run.lap, run.end_gap, run.starts_at)) != needed:
        words = f"lap, end gap and start {bench.say_all(needed)}"
        yield Fault("coverage", laid.place, mismatch(words, bench.say_all(found)))
    rows = (bench.rows.get(part.use.stock or "") for part in laid.parts)
    if len(laid.parts) > 1 and any(own_lap(row, bench.material) is None for row in rows):
        yield Fault("coverage", laid.place, mismatch("sticks that may be lapped", "one that may not"))


def _not_too_many(bench: Bench, laid: Laid) -> Iterator[Fault]:
    """Check that the run has no more pieces than it may."""
    most = most_pieces(bench, laid.wanted.required)
    if len(laid.parts) > most:
        yield Fault("coverage", laid.place, mismatch(f"at most {most} pieces", len(laid.parts)))


def most_pieces(bench: Bench, item: Required) -> int:
    """Return how many pieces a run may have: the fewest that will do, and the extra laps allowed.

    The fewest are those of the length that asks for fewest of the ones sold without limit; where each is limited, those
    of the length that asks for most.
    """
    rows = [row for row in bench.material.stock if row.available != 0 and own_lap(row, bench.material) is not None]
    endless = [_fewest(bench, item, row) for row in rows if row.available is None]
    fewest = min(endless) if endless else max((_fewest(bench, item, row) for row in rows), default=1)
    return fewest + bench.material.settings.most_extra_laps


def _fewest(bench: Bench, item: Required, row: StockLength) -> int:
    """Return how many sticks of the row reach over the run: each but one gains its length less a lap."""
    lap, gap = own_lap(row, bench.material) or 0, own_gap(row, bench.material)
    needed = item.length + sum(allowance(end, lap, gap) for end in (item.left_end, item.right_end))
    return max(1, -(-(needed - lap) // (row.length - lap))) if row.length > lap else 1


def _lap_places(bench: Bench, laid: Laid) -> Iterator[Fault]:
    needed, found = laid.lefts[1:], laid.run.laps_at
    if found != needed:
        yield Fault("coverage", laid.place, mismatch(f"laps at {bench.say_all(needed)}", bench.say_all(found)))


def _facing(bench: Bench, laid: Laid, viewed_from: Side | int | None) -> Iterator[Fault]:
    if len(laid.run.on_top) != len(laid.lefts) - 1:
        yield Fault(
            "coverage", laid.place, mismatch("the panel on top for each lap", ", ".join(laid.run.on_top) or "none")
        )
        return
    for place, found in zip(laid.lefts[1:], laid.run.on_top, strict=True):
        away = _side_on_top(min(place, place + laid.lap), max(place, place + laid.lap), viewed_from)
        if away is not None and found is not away:
            yield Fault("coverage", laid.place, mismatch(f"{away} on top at {bench.say(place)}", found))


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
        yield Fault("coverage", laid.place, mismatch(f"cut-outs {_in_words(bench, needed)}", _in_words(bench, found)))


def _in_words(bench: Bench, cut_outs: Iterable[PieceCutOut]) -> str:
    ends = (f"{bench.say(it.from_left)} and {bench.say(it.from_right)} from the ends" for it in cut_outs)
    return "; ".join(f"piece {it.piece}, {end}" for it, end in zip(cut_outs, ends, strict=True)) or "none"
