"""Which ends are as manufactured follows from where a cut lies in its stick, and lapped ends need it."""

from __future__ import annotations

from collections.abc import Iterator

from solver.checking.bench import Bench, spare_room, true_ends
from solver.checking.fault import Fault, told
from solver.materials import FactoryEnd
from solver.plan import CutEnd, PatternUse


def check_ends(bench: Bench) -> Iterator[Fault]:
    """Check each cut's ends and the left-over's against the stick, then the ends that pieces need."""
    for place, use in bench.patterns():
        yield from _cut_ends(bench, place, use)
        yield from _left_over_end(bench, place, use)
    yield from _needed(bench)


def _cut_ends(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    left, right = _touching(bench, use)
    last = len(use.cuts) - 1
    for index, cut in enumerate(use.cuts):
        may_left, may_right = left and index == 0, right and index == last
        found = cut.left is CutEnd.FACTORY, cut.right is CutEnd.FACTORY
        possible = {(may_left, may_right)}
        if cut.room:
            # Measured and cut on the day: the room may come off either end, so one end stays as made, not both.
            possible = {(may_left, False), (False, may_right)}
        if found not in possible:
            yield Fault("end", f"{place}/cuts/{index}", told(f"factory ends {sorted(possible)}", found))


def _touching(bench: Bench, use: PatternUse) -> tuple[bool, bool]:
    """Return whether the first cut begins and the last cut ends at a factory end of the stick."""
    ends = true_ends(bench, use)
    exact = spare_room(use, bench.material.settings.kerf) == 0
    left_free = exact or use.left_over.after > 0
    right_free = exact or use.left_over.after < len(use.cuts)
    return ends.has_left and left_free, ends.has_right and right_free


def _left_over_end(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    ends, left = true_ends(bench, use), use.left_over
    needed = FactoryEnd.NONE
    if left.length > 0:
        needed = FactoryEnd.of(
            left=ends.has_left and left.after == 0, right=ends.has_right and left.after == len(use.cuts)
        )
    if left.factory_end is not needed:
        yield Fault("left_over", place, told(f"factory end {needed}", left.factory_end))


def _needed(bench: Bench) -> Iterator[Fault]:
    for place, cut, piece in bench.served():
        wanted = bench.wanted.get(piece.item)
        if wanted is None or wanted.is_run:
            continue
        if wanted.needs_left and cut.left is not CutEnd.FACTORY:
            yield Fault("end", place, told("a factory end at the lapped left", cut.left))
        if wanted.needs_right and cut.right is not CutEnd.FACTORY:
            yield Fault("end", place, told("a factory end at the lapped right", cut.right))
