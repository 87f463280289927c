"""Every stick is one that can be had, holds what is cut from it, and leaves what the plan says it leaves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from solver.checking.bench import Bench, Fault, consumed, mismatch, spare_room
from solver.materials import FactoryEnd
from solver.plan import CutPlan, PatternUse, StickUse


def check_names(plan: CutPlan) -> Iterator[Fault]:
    """Check that the sticks of the whole plan are named S1, S2, ... each once."""
    names = Counter(stick.stick for part in plan.materials for _, stick in part.sticks())
    expected = {f"S{number}" for number in range(1, names.total() + 1)}
    if set(names) != expected:
        odd = sorted(set(names) ^ expected)[:5]
        yield Fault("stick_name", "#/materials", mismatch(f"S1 to S{names.total()} each once", f"{odd} missing or odd"))


def check_sticks(bench: Bench) -> Iterator[Fault]:
    """Check every pattern's stick, sum and left-over, then that nothing limited is used too often."""
    for place, use in bench.patterns():
        yield from _shape(bench, place, use)
        yield from _source(bench, place, use)
        yield from _holds(bench, place, use)
        yield from _left_over(bench, place, use)
    yield from _limits(bench)


def _shape(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    if not use.sticks or not use.cuts:
        yield Fault("stick", place, mismatch("sticks with cuts", f"{len(use.sticks)} sticks, {len(use.cuts)} cuts"))
    for index, stick in enumerate(use.sticks):
        if len(stick.pieces) != len(use.cuts):
            yield Fault("stick", f"{place}/sticks/{index}", mismatch(f"{len(use.cuts)} pieces", len(stick.pieces)))
    if any(cut.length <= 0 or cut.room < 0 for cut in use.cuts):
        lengths = bench.say_all(cut.length for cut in use.cuts)
        yield Fault("cut_length", place, mismatch("lengths above 0 and rooms not below", lengths))


def _source(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    if use.stock is None:
        for index, stick in enumerate(use.sticks):
            yield from _offcut(bench, f"{place}/sticks/{index}", use, stick)
        return
    row = bench.rows.get(use.stock)
    found = use.stock_length, use.factory_end
    if row is None:
        yield Fault("stock", place, mismatch(f"stock of {bench.material.id}", use.stock))
    elif found != (row.length, FactoryEnd.BOTH):
        yield Fault("stock", place, mismatch(_stick(bench, row.length, FactoryEnd.BOTH), _stick(bench, *found)))
    if any(stick.offcut_id is not None for stick in use.sticks):
        yield Fault("offcut", place, mismatch("new sticks without an offcut's id", "an offcut's id"))


def _offcut(bench: Bench, place: str, use: PatternUse, stick: StickUse) -> Iterator[Fault]:
    offcut = bench.offcuts.get(stick.offcut_id or "")
    if offcut is None:
        yield Fault("offcut", place, mismatch(f"an offcut of {bench.material.id} on hand", stick.offcut_id))
    elif (offcut.length, offcut.factory_end) != (use.stock_length, use.factory_end):
        found = use.stock_length, use.factory_end
        yield Fault("offcut", place, mismatch(_stick(bench, offcut.length, offcut.factory_end), _stick(bench, *found)))


def _holds(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    if spare_room(use, bench.material.settings.kerf) < 0:
        cuts = f"{bench.say(consumed(use))} and {len(use.cuts) - 1} cuts of {bench.say(bench.material.settings.kerf)}"
        yield Fault("overfull", place, mismatch(f"no more than {bench.say(use.stock_length)}", cuts))


def _left_over(bench: Bench, place: str, use: PatternUse) -> Iterator[Fault]:
    settings, left = bench.material.settings, use.left_over
    length = max(0, use.stock_length - consumed(use) - settings.kerf * len(use.cuts))
    keep = length > 0 and length >= settings.keep_offcuts_from
    if (left.length, left.keep) != (length, keep):
        yield Fault("left_over", place, mismatch(_left(bench, length, keep), _left(bench, left.length, left.keep)))
    if not 0 <= left.after <= len(use.cuts):
        yield Fault("left_over", place, mismatch(f"after 0 to {len(use.cuts)} cuts", left.after))


def _stick(bench: Bench, length: int, factory_end: FactoryEnd) -> str:
    return f"{bench.say(length)}, factory end {factory_end}"


def _left(bench: Bench, length: int, keep: bool) -> str:
    return f"{bench.say(length)} {'to keep' if keep else 'not to keep'}"


def _limits(bench: Bench) -> Iterator[Fault]:
    used = Counter(use.stock for _, use, _ in bench.sticks())
    for row in bench.material.stock:
        if row.available is not None and used[row.id] > row.available:
            yield Fault("stock", bench.place, mismatch(f"at most {row.available} of {row.id}", used[row.id]))
    taken = Counter(stick.offcut_id for _, use, stick in bench.sticks() if use.stock is None)
    for offcut in bench.offcuts.values():
        if taken[offcut.id] > offcut.quantity:
            yield Fault("offcut", bench.place, mismatch(f"at most {offcut.quantity} of {offcut.id}", taken[offcut.id]))
