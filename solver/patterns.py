"""From filled sticks to patterns a person can cut: sticks cut alike together, their ends, and what is left over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

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
    groups = sorted(alike.values(), key=lambda group: _pattern_key(group, first_seen))
    return tuple(_pattern(group, kerf, keep_from, names) for group in groups)


def _pattern_key(group: Sequence[FilledStick], first_seen: dict[str | None, int]) -> tuple[object, ...]:
    head = group[0]
    stock = first_seen[head.source.stock]
    cuts = tuple((-kind.length, kind.room, kind.needs_left, kind.needs_right) for kind in head.kinds)
    return stock, -head.source.stick.length, -len(group), cuts, head.source.ends, head.after or 0


def _pattern(group: Sequence[FilledStick], kerf: int, keep_from: int, names: Iterator[str]) -> PatternUse:
    head = group[0]
    source = head.source
    left_over = _left_over(head, kerf, keep_from)
    trimmed = source.stick.length > sum(kind.takes for kind in head.kinds) + kerf * (len(head.kinds) - 1)
    cuts = tuple(_cuts(source, head.kinds, left_over.after if trimmed else None))
    ids = _offcut_ids(group)
    uses = tuple(
        StickUse(next(names), offcut_id, tuple(claim for _, claim in stick.cuts))
        for stick, offcut_id in zip(group, ids, strict=True)
    )
    return PatternUse(source.stock, source.stick.length, source.ends, cuts, left_over, uses)


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
