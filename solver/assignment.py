"""From the integer answer to sticks a person can cut: which piece of which item every stick gives, and what is not cut.

Sticks cut alike are gathered into patterns, with their ends and what is left over.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from solver.cutting.problem import Cutting, Duals, Search, Stick
from solver.demand import Demand, Kind, Source
from solver.job import Notice
from solver.laps.problem import Cover, LapRun
from solver.lengths import say
from solver.materials import FactoryEnd, Offcut
from solver.plan import Cut, CutEnd, Enough, FewestLaps, LeftOver, NotCut, PatternUse
from solver.proof import PieceValue, Proof
from solver.sticks import PlacedPiece, StickUse


def shortfalls(demand: Demand, uncut_of_kinds: Sequence[int]) -> Iterator[NotCut]:
    """Yield one entry for each item with pieces left uncut: the last claims of every kind go without."""
    for kind, claims, uncut in zip(demand.kinds, demand.claims, uncut_of_kinds, strict=True):
        able = [source for source in demand.sources if _takes(source.stick, kind)]
        short = Counter((claim.item, claim.mark) for claim in islice(reversed(claims), uncut))
        for (item, mark), quantity in sorted(short.items()):
            enough = _enough(demand, kind, able, quantity)
            code = "stock_exhausted" if able else "ends_impossible"
            yield NotCut(item, mark, quantity, code, _in_words(demand, kind, code, enough), enough)


def _enough(demand: Demand, kind: Kind, able: Sequence[Source], quantity: int) -> Enough | None:
    """Return of which stock length the fewest, and then the cheapest, more would give so many pieces, if any would."""
    kerf = demand.material.settings.kerf
    found = []
    for source in able:
        if source.stock is not None:
            each = 1 if kind.needs_left or kind.needs_right else (source.stick.length + kerf) // (kind.takes + kerf)
            sticks = -(-quantity // each)
            found.append((sticks, sticks * source.stick.cost, source.stock))
    return Enough(min(found)[2], min(found)[0]) if found else None


def _in_words(demand: Demand, kind: Kind, code: str, enough: Enough | None) -> str:
    units = demand.job.units
    length = say(kind.length, units)
    if code == "ends_impossible":
        return f"no stick gives {length} with factory ends where it is lapped; allow re-notched ends or divide it"
    more = f"; {enough.sticks} more of {_told(demand, enough.stock)} would do for these" if enough else ""
    return f"every stick that could give {length} is used up{more}; add stock or another length"


def _told(demand: Demand, stock: str) -> str:
    row = next(row for row in demand.material.stock if row.id == stock)
    wait = f", which comes in {row.wait_days} days," if demand.job.too_late(row) else ""
    return say(row.length, demand.job.units) + wait


def _takes(stick: Stick, kind: Kind) -> bool:
    ends_match = (stick.left or not kind.needs_left) and (stick.right or not kind.needs_right)
    whole = kind.needs_left and kind.needs_right
    return ends_match and (kind.takes == stick.length if whole else kind.takes <= stick.length)


@dataclass(frozen=True, slots=True)
class FilledStick:
    """One stick: where it comes from, and its pieces from the left end with whom each is for.

    ``after`` is how many cuts what is left must lie behind, for the sake of its end; None leaves that open.
    """

    source: Source
    cuts: tuple[tuple[Kind, PlacedPiece], ...]
    after: int | None = None

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds of its pieces, from the left end."""
        return tuple(kind for kind, _ in self.cuts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """One material's answer before it is written out: its sticks, cost and bound in cost steps, and the rest.

    ``exhausted``: the search for a cheaper plan came to its own end.
    """

    sticks: tuple[FilledStick, ...]
    cost: int
    bound: int
    least_uncut: bool
    proof: Proof
    not_cut: tuple[NotCut, ...]
    notices: tuple[Notice, ...] = ()
    runs: tuple[LapRun, ...] = ()
    covers: tuple[Cover, ...] = ()
    fewest: FewestLaps | None = None
    exhausted: bool = False

    @property
    def bought(self) -> int:
        """How many sticks are bought."""
        return sum(stick.source.stock is not None for stick in self.sticks)


def fill(demand: Demand, answer: Cutting) -> Filled:
    """Deal every kind's pieces to the answer's patterns, in the order of the items."""
    waiting = [deque(claims) for claims in demand.claims]
    sticks = tuple(
        FilledStick(
            demand.sources[pattern.stick],
            in_cutting_order((demand.kinds[k], waiting[k].popleft()) for k in pattern.pieces),
        )
        for pattern, uses in sorted(answer.uses)
        for _ in range(uses)
    )
    not_cut = tuple(shortfalls(demand, answer.uncut))
    return Filled(
        sticks=sticks,
        cost=answer.cost,
        bound=answer.bound,
        least_uncut=answer.least_uncut,
        proof=proof_of(((k.takes, k.needs_left, k.needs_right) for k in demand.kinds), answer.proof),
        not_cut=not_cut,
        exhausted=answer.exhausted,
    )


def in_cutting_order(cuts: Iterable[tuple[Kind, PlacedPiece]]) -> tuple[tuple[Kind, PlacedPiece], ...]:
    """Order a stick's pieces from its left end: what needs that end, the longest first, then what needs the right."""

    def place(cut: tuple[Kind, PlacedPiece]) -> tuple[int, int, int]:
        kind, _ = cut
        return (0 if kind.needs_left else 2 if kind.needs_right else 1), -kind.length, kind.room

    return tuple(sorted(cuts, key=place))


def proof_of(pieces: Iterable[tuple[int, bool, bool]], proof: Duals | Search) -> Proof:
    """Return what a bound of the integer problem rests on; its pieces are said by what they take and need."""
    if not isinstance(proof, Duals):
        return Proof("search", text=proof.text)
    values = (PieceValue(*piece, value) for piece, value in zip(pieces, proof.values, strict=True))
    return Proof("duals", proof.scale, tuple(values), further=proof.further)


def patterns_of(
    sticks: Iterable[FilledStick], kerf: int, keep_from: int, names: Iterator[str]
) -> tuple[PatternUse, ...]:
    """Gather sticks cut alike into patterns: by stock as listed, most used first, then longest cuts first."""
    alike: dict[tuple[object, ...], list[FilledStick]] = defaultdict(list)
    first_seen: dict[str | None, int] = {}
    for stick in sticks:
        first_seen.setdefault(stick.source.stock, len(first_seen))
        source = stick.source
        alike[source.stock, source.stick.length, source.ends, stick.kinds, stick.after].append(stick)
    # a whole panel that must keep one factory end comes out like one that must keep both
    patterns: dict[PatternUse, list[FilledStick]] = defaultdict(list)
    for group in alike.values():
        patterns[_nameless(group[0], kerf, keep_from)].extend(group)
    ordered = sorted(patterns.items(), key=lambda item: _pattern_key(item[0], item[1], first_seen))
    return tuple(_named(pattern, group, names) for pattern, group in ordered)


def _pattern_key(
    pattern: PatternUse, group: Sequence[FilledStick], first_seen: dict[str | None, int]
) -> tuple[object, ...]:
    needs = tuple((-kind.length, kind.room, kind.needs_left, kind.needs_right) for kind in group[0].kinds)
    after = pattern.left_over.after
    return first_seen[pattern.stock], -pattern.stock_length, -len(group), needs, pattern.factory_end, after


def _nameless(stick: FilledStick, kerf: int, keep_from: int) -> PatternUse:
    """Return how a stick is cut, as the pattern of no stick yet."""
    source = stick.source
    left_over = _left_over(stick, kerf, keep_from)
    trimmed = source.stick.length > sum(kind.takes for kind in stick.kinds) + kerf * (len(stick.kinds) - 1)
    cuts = tuple(_cuts(source, stick.kinds, left_over.after if trimmed else None))
    return PatternUse(
        stock=source.stock,
        stock_length=source.stick.length,
        factory_end=source.ends,
        cuts=cuts,
        left_over=left_over,
        sticks=(),
    )


def _named(pattern: PatternUse, group: Sequence[FilledStick], names: Iterator[str]) -> PatternUse:
    pairs = zip(group, _offcut_ids(group), strict=True)
    uses = tuple(StickUse(next(names), id_, tuple(claim for _, claim in stick.cuts)) for stick, id_ in pairs)
    return replace(pattern, sticks=uses)


def _offcut_ids(group: Sequence[FilledStick]) -> Iterator[str | None]:
    return (stick.source.row.id if isinstance(stick.source.row, Offcut) else None for stick in group)


def _left_over(stick: FilledStick, kerf: int, keep_from: int) -> LeftOver:
    source, kinds = stick.source, stick.kinds
    length = max(0, source.stick.length - sum(kind.takes for kind in kinds) - kerf * len(kinds))
    after = _left_over_after(source, kinds) if stick.after is None else stick.after
    ends = FactoryEnd.of(left=after == 0 and source.stick.left, right=after == len(kinds) and source.stick.right)
    return LeftOver(length, length >= max(1, keep_from), ends if length else FactoryEnd.NONE, after)


def _left_over_after(source: Source, kinds: Sequence[Kind]) -> int:
    """Lay the left-over where it keeps a factory end, if the pieces let it: at the right, the left, or between."""
    free_left, free_right = not kinds[0].needs_left, not kinds[-1].needs_right
    if free_right and (source.stick.right or not (free_left and source.stick.left)):
        return len(kinds)
    return 0 if free_left else len(kinds) if free_right else len(kinds) - 1


def _cuts(source: Source, kinds: Sequence[Kind], trimmed_after: int | None) -> Iterator[Cut]:
    last = len(kinds) - 1
    for place, kind in enumerate(kinds):
        left = place == 0 and source.stick.left and trimmed_after != 0
        right = place == last and source.stick.right and trimmed_after != last + 1
        if left and right and kind.room:
            # cut to measure on the day, a whole stick keeps one of its ends
            left, right = not kind.needs_right, kind.needs_right
        yield Cut(kind.length, _end(left), _end(right), kind.room)


def _end(factory: bool) -> CutEnd:
    return CutEnd.FACTORY if factory else CutEnd.FIELD
