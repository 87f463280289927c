"""Every required piece is cut once, at its right length and with the ends it needs, or declared uncut for its reason.

Which ends are as manufactured follows from where a cut lies in its stick. Every stick is one that can be had, holds
what is cut from it, and leaves what the plan says it leaves.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from solver.checking.bench import Bench, Fault, consumed, mismatch, spare_room, true_ends
from solver.checking.bills import to_be_had
from solver.checking.wanted import Load, Wanted, fits, own_lap
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, CutPlan, Enough, NotCut, PatternUse
from solver.sticks import PlacedPiece, StickUse

Numbers = dict[tuple[int, int | None], list[int]]
"""Piece numbers found, by item and course."""
STOCK_EXHAUSTED = "stock_exhausted"
ENDS_IMPOSSIBLE = "ends_impossible"


def check_pieces(bench: Bench) -> Iterator[Fault]:
    """Check each cut against the item it serves, then that no piece is missing, doubled or out of number."""
    numbers: Numbers = defaultdict(list)
    for place, cut, piece in bench.served():
        wanted = bench.wanted.get(piece.item)
        if wanted is None:
            yield Fault("piece", place, mismatch(f"an item of {bench.material.id}", f"item {piece.item}"))
            continue
        numbers[piece.item, piece.course].append(piece.piece)
        yield from _identity(place, piece, wanted)
        if not wanted.is_run:
            yield from _length(bench, place, cut, wanted)
    for wanted in bench.wanted.values():
        if not wanted.is_run:
            yield from _complete(bench, wanted, numbers)


def _identity(place: str, piece: PlacedPiece, wanted: Wanted) -> Iterator[Fault]:
    if piece.mark != wanted.required.mark:
        yield Fault("piece", place, mismatch(f"mark {wanted.required.mark}", piece.mark))
    if piece.course not in wanted.courses:
        yield Fault("piece", place, mismatch(wanted.courses_in_words, piece.course))


def _length(bench: Bench, place: str, cut: Cut, wanted: Wanted) -> Iterator[Fault]:
    if cut.length != wanted.cut:
        yield Fault("cut_length", place, mismatch(bench.say(wanted.cut), bench.say(cut.length)))
    if cut.room != wanted.required.room:
        yield Fault("cut_length", place, mismatch(f"room {bench.say(wanted.required.room)}", bench.say(cut.room)))


def _complete(bench: Bench, wanted: Wanted, numbers: Numbers) -> Iterator[Fault]:
    place = f"#/required/{wanted.item}"
    cut = 0
    for course in wanted.courses:
        found = numbers[wanted.item, course]
        cut += len(found)
        yield from consecutive(place, found)
        if len(found) > wanted.required.quantity:
            yield Fault("piece", place, mismatch(f"{wanted.required.quantity} in course {course}", len(found)))
    uncut = sum(entry.quantity for entry in bench.not_cut if entry.item == wanted.item)
    if cut + uncut != wanted.required.pieces:
        yield Fault("piece", place, mismatch(wanted.required.pieces, f"{cut} cut and {uncut} declared uncut"))


def consecutive(place: str, found: list[int]) -> Iterator[Fault]:
    """Check that pieces count 1, 2, ... with none twice."""
    if sorted(found) != list(range(1, len(found) + 1)):
        twice = sorted(number for number, times in Counter(found).items() if times > 1)
        yield Fault("piece", place, mismatch(f"pieces 1 to {len(found)}", f"twice {twice}" if twice else sorted(found)))


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
            yield Fault("end", f"{place}/cuts/{index}", mismatch(f"factory ends {sorted(possible)}", found))


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
        yield Fault("left_over", place, mismatch(f"factory end {needed}", left.factory_end))


def _needed(bench: Bench) -> Iterator[Fault]:
    for place, cut, piece in bench.served():
        wanted = bench.wanted.get(piece.item)
        if wanted is None or wanted.is_run:
            continue
        if wanted.needs_left and cut.left is not CutEnd.FACTORY:
            yield Fault("end", place, mismatch("a factory end at the lapped left", cut.left))
        if wanted.needs_right and cut.right is not CutEnd.FACTORY:
            yield Fault("end", place, mismatch("a factory end at the lapped right", cut.right))


def check_entries(job: Job, plan: CutPlan) -> Iterator[Fault]:
    """Check that each uncut entry names an item of the job once, by its mark, with a quantity and a known code."""
    seen: set[int] = set()
    for index, entry in enumerate(plan.not_cut):
        place = f"#/not_cut/{index}"
        if not 0 <= entry.item < len(job.required) or entry.item in seen:
            yield Fault("not_cut", place, mismatch("an item of the request, once", entry.item))
            continue
        seen.add(entry.item)
        if entry.mark != job.required[entry.item].mark or entry.quantity <= 0:
            needed = f"mark {job.required[entry.item].mark} and a quantity above 0"
            yield Fault("not_cut", place, mismatch(needed, f"mark {entry.mark} and {entry.quantity}"))
        if entry.code not in (STOCK_EXHAUSTED, ENDS_IMPOSSIBLE):
            yield Fault("not_cut", place, mismatch(f"{STOCK_EXHAUSTED} or {ENDS_IMPOSSIBLE}", entry.code))


def check_not_cut(bench: Bench) -> Iterator[Fault]:
    """Check the reason given for every uncut piece of this material."""
    for entry in bench.not_cut:
        wanted = bench.wanted[entry.item]
        yield from _run_reason(bench, entry, wanted) if wanted.is_run else _reason(bench, entry, wanted)
        enough = [] if wanted.is_run else list(_enough(bench, entry, wanted))
        if entry.enough is not None and entry.enough not in enough:
            yield Fault("not_cut", f"#/required/{entry.item}", mismatch(f"one of {enough}", entry.enough))


def _enough(bench: Bench, entry: NotCut, wanted: Wanted) -> Iterator[Enough]:
    """Yield what more of each stock length would give the pieces, of those that need fewest sticks and are cheapest."""
    kerf, found = _kerf(bench), []
    for row in bench.material.stock:
        if fits(Load(row.length, FactoryEnd.BOTH), wanted, 0):
            ends = wanted.needs_left or wanted.needs_right
            each = 1 if ends else (row.length + kerf) // (wanted.in_stick + kerf)
            price = row.price if bench.material.priced else row.length
            found.append((-(-entry.quantity // each), price, row.id))
    for sticks, price, stock in found:
        if (sticks, price) == min(found)[:2]:
            yield Enough(stock, sticks)


def _reason(bench: Bench, entry: NotCut, wanted: Wanted) -> Iterator[Fault]:
    place = f"#/required/{entry.item}"
    possible = [(load, left) for load, left in _unused(bench) if fits(load, wanted, 0)]
    if bool(possible) == (entry.code == ENDS_IMPOSSIBLE):
        yield Fault("not_cut", place, mismatch("a stick that fits" if not possible else STOCK_EXHAUSTED, entry.code))
    elif any(left is None or left > 0 for _, left in possible):
        yield Fault("not_cut", place, mismatch("no unused stick that fits", "one that does"))
    elif bench.plan.least_uncut and any(fits(load, wanted, _kerf(bench)) for load in _used(bench)):
        yield Fault("not_cut", place, mismatch("no left-over that fits", "one that does"))


def _run_reason(bench: Bench, entry: NotCut, wanted: Wanted) -> Iterator[Fault]:
    """Any ends will do for a run, re-notched where they must be: only a want of sticks leaves one uncovered."""
    place = f"#/required/{entry.item}"
    if entry.code != STOCK_EXHAUSTED:
        yield Fault("not_cut", place, mismatch(STOCK_EXHAUSTED, entry.code))
    for load, left in _unused(bench, lapped=True):
        if left is None or (bench.plan.least_uncut and _covers(load.length, left, wanted)):
            found = f"{left} of {bench.say(load.length)}" if left else f"any number of {bench.say(load.length)}"
            yield Fault("not_cut", place, mismatch("no unused sticks that cover the run", found))


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
        most = to_be_had(row)
        left = None if most is None else most - used[row.id]
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
    return Load(
        length=use.stock_length,
        ends=true_ends(bench, use),
        taken=consumed(use),
        pieces=len(use.cuts),
        lefts=lefts,
        rights=rights,
    )


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
