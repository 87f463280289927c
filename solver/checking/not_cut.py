"""What the plan leaves uncut could not have been cut, for the reason it gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.checking.bench import Bench, consumed, true_ends
from solver.checking.fault import Fault, told
from solver.checking.fitting import Load, fits
from solver.checking.wanted import Wanted, own_lap
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import CutPlan, NotCut, PatternUse, StickUse

STOCK_EXHAUSTED = "stock_exhausted"
ENDS_IMPOSSIBLE = "ends_impossible"


def check_entries(job: Job, plan: CutPlan) -> Iterator[Fault]:
    """Check that each uncut entry names an item of the job once, by its mark, with a quantity and a known code."""
    seen: set[int] = set()
    for index, entry in enumerate(plan.not_cut):
        place = f"#/not_cut/{index}"
        if not 0 <= entry.item < len(job.required) or entry.item in seen:
            yield Fault("not_cut", place, told("an item of the request, once", entry.item))
            continue
        seen.add(entry.item)
        if entry.mark != job.required[entry.item].mark or entry.quantity <= 0:
            needed = f"mark {job.required[entry.item].mark} and a quantity above 0"
            yield Fault("not_cut", place, told(needed, f"mark {entry.mark} and {entry.quantity}"))
        if entry.code not in (STOCK_EXHAUSTED, ENDS_IMPOSSIBLE):
            yield Fault("not_cut", place, told(f"{STOCK_EXHAUSTED} or {ENDS_IMPOSSIBLE}", entry.code))


def check_not_cut(bench: Bench) -> Iterator[Fault]:
    """Check the reason given for every uncut piece of this material."""
    for entry in bench.not_cut:
        wanted = bench.wanted[entry.item]
        yield from _run_reason(bench, entry, wanted) if wanted.is_run else _reason(bench, entry, wanted)


def _reason(bench: Bench, entry: NotCut, wanted: Wanted) -> Iterator[Fault]:
    place = f"#/required/{entry.item}"
    possible = [(load, left) for load, left in _unused(bench) if fits(load, wanted, 0)]
    if bool(possible) == (entry.code == ENDS_IMPOSSIBLE):
        yield Fault("not_cut", place, told("a stick that fits" if not possible else STOCK_EXHAUSTED, entry.code))
    elif any(left is None or left > 0 for _, left in possible):
        yield Fault("not_cut", place, told("no unused stick that fits", "one that does"))
    elif bench.plan.least_uncut and any(fits(load, wanted, _kerf(bench)) for load in _used(bench)):
        yield Fault("not_cut", place, told("no left-over that fits", "one that does"))


def _run_reason(bench: Bench, entry: NotCut, wanted: Wanted) -> Iterator[Fault]:
    """Any ends will do for a run, re-notched where they must be: only a want of sticks leaves one uncovered."""
    place = f"#/required/{entry.item}"
    if entry.code != STOCK_EXHAUSTED:
        yield Fault("not_cut", place, told(STOCK_EXHAUSTED, entry.code))
    for load, left in _unused(bench, lapped=True):
        if left is None or (bench.plan.least_uncut and _covers(load.length, left, wanted)):
            found = f"{left} of {bench.say(load.length)}" if left else f"any number of {bench.say(load.length)}"
            yield Fault("not_cut", place, told("no unused sticks that cover the run", found))


def _covers(length: int, count: int, wanted: Wanted) -> bool:
    return count > 0 and length * count - (wanted.lap or 0) * (count - 1) >= wanted.in_stick


def _kerf(bench: Bench) -> int:
    return bench.material.settings.kerf


def _unused(bench: Bench, *, lapped: bool = False) -> Iterator[tuple[Load, int | None]]:
    """Yield every kind of stick, and how many of it are not used (None: no limit); of ``lapped`` those that may be."""
    used = Counter(use.stock for _, use, _ in bench.sticks())
    taken = Counter(stick.offcut_id for _, _, stick in bench.sticks())
    for row in bench.material.stock:
        if lapped and own_lap(row, bench.material) is None:
            continue
        left = None if row.available is None else row.available - used[row.id]
        yield Load(row.length, FactoryEnd.BOTH), left
    for offcut in bench.offcuts.values() if not lapped or own_lap(None, bench.material) is not None else ():
        yield Load(offcut.length, offcut.factory_end), offcut.quantity - taken[offcut.id]


def _used(bench: Bench) -> Iterator[Load]:
    for _, use, stick in bench.sticks():
        yield _load(bench, use, stick)


def _load(bench: Bench, use: PatternUse, stick: StickUse) -> Load:
    served = [bench.wanted[piece.item] for piece in stick.pieces if piece.item in bench.wanted]
    lefts = sum(wanted.needs_left for wanted in served)
    rights = sum(wanted.needs_right for wanted in served)
    return Load(use.stock_length, true_ends(bench, use), consumed(use), len(use.cuts), lefts, rights)
