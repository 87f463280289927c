"""Every run is there once, made of cuts that are its own and of no other run."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import combinations

from solver.checking.bench import Bench
from solver.checking.fault import Fault, told
from solver.checking.laid import Laid, laid_runs, part_of
from solver.checking.pieces import consecutive
from solver.checking.wanted import Wanted
from solver.plan import Run


def check_runs(bench: Bench) -> Iterator[Fault]:
    """Check each run against its item and its cuts, then that none is missing, doubled or in another's place."""
    for index, run in enumerate(bench.plan.runs):
        yield from _identity(bench, f"{bench.place}/runs/{index}", run)
    yield from _every_cut_once(bench)
    for wanted in _run_items(bench):
        yield from _complete(bench, wanted)
        yield from _numbered(bench, wanted)
    yield from _apart(bench)


def _run_items(bench: Bench) -> list[Wanted]:
    return [wanted for wanted in bench.wanted.values() if wanted.is_run]


def _identity(bench: Bench, place: str, run: Run) -> Iterator[Fault]:
    wanted = bench.wanted.get(run.item)
    if wanted is None or not wanted.is_run:
        yield Fault("run", place, told("an item longer than every stick", run.item))
        return
    same = wanted.required.mark, wanted.required.wall
    if (run.mark, run.wall) != same or run.course not in wanted.courses:
        needed = f"mark {same[0]}, wall {same[1]}, {wanted.told_courses}"
        yield Fault("run", place, told(needed, f"mark {run.mark}, wall {run.wall}, course {run.course}"))
    if not run.pieces:
        yield Fault("run", place, told("pieces", "none"))
    for index, piece in enumerate(run.pieces):
        part = part_of(bench, piece)
        found = part and (part.cut.length, part.placed.item, part.placed.course)
        if found != (piece.length, run.item, run.course):
            needed = _cut_for(bench, piece.length, run.item, run.course)
            cut = _cut_for(bench, *found) if found else "no such cut"
            yield Fault("run", f"{place}/pieces/{index}", told(needed, cut))


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
        yield Fault("run", bench.place, told("every cut of a run in one run, once", f"stick and cut {odd}"))


def _complete(bench: Bench, wanted: Wanted) -> Iterator[Fault]:
    place = f"#/required/{wanted.item}"
    laid = Counter(run.course for run in bench.plan.runs if run.item == wanted.item)
    uncut = sum(entry.quantity for entry in bench.not_cut if entry.item == wanted.item)
    if laid.total() + uncut != wanted.required.pieces:
        yield Fault("run", place, told(wanted.required.pieces, f"{laid.total()} runs and {uncut} declared uncut"))
    if any(count > wanted.required.quantity for count in laid.values()):
        yield Fault("run", place, told(f"{wanted.required.quantity} in a course", max(laid.values())))


def _numbered(bench: Bench, wanted: Wanted) -> Iterator[Fault]:
    """Check that pieces count from the left within each run, and 1, 2, ... within the item and course."""
    numbers: dict[int | None, list[int]] = defaultdict(list)
    for laid in laid_runs(bench):
        if laid.run.item == wanted.item:
            found = [part.placed.piece for part in laid.parts]
            numbers[laid.run.course] += found
            if found != list(range(found[0], found[0] + len(found))):
                yield Fault("run", laid.place, told("pieces numbered from the left", found))
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
                yield Fault("run", one.place, told(f"one run at a place of {wall} course {course}", other.place))
