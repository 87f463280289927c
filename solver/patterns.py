"""From filled sticks to patterns a person can cut: sticks cut alike together, their ends, and what is left over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from solver.demand import Kind, Source
from solver.filling import FilledStick
from solver.materials import FactoryEnd, Offcut
from solver.plan import Cut, CutEnd, LeftOver, PatternUse, StickUse


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
        yield Cut(kind.length, _end(left), _end(right), kind.room)


def _end(factory: bool) -> CutEnd:
    return CutEnd.FACTORY if factory else CutEnd.FIELD
