"""From a finished yard to the plan: kinds of pieces, sticks with whom each piece is for, covers and broken rules."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from solver.cutting.problem import Piece, Search
from solver.laps.neighbours import distances
from solver.laps.problem import Breach, BreachCode, Cover, CutPiece, CutStick, LapPlan
from solver.laps.site import Layout, Site
from solver.laps.yard import Filling, Held, Yard
from solver.materials import LapEnds
from solver.required import Side


def answer(yard: Yard, bound: int, proof: Search, *, least_uncut: bool, stopped: bool) -> LapPlan:
    """Write a yard's plan out. ``bound`` counts only where it is known that no plan leaves less uncut."""
    kinds = _Kinds(yard)
    sticks = tuple(sorted(_sticks(yard, kinds), key=lambda stick: (stick.stick, [p.kind for p in stick.pieces])))
    covers = tuple(_cover(yard, kinds, run) for run, at in enumerate(yard.placed) if at is not None)
    return LapPlan(
        kinds.counted(sticks),
        sticks,
        covers,
        tuple(_breaches(yard)),
        tuple(_uncut(yard)),
        tuple(sorted(yard.cut_off)),
        yard.cost,
        min(bound, yard.cost) if least_uncut else 0,
        proof,
        least_uncut,
        stopped,
    )


class _Kinds:
    """Numbers the kinds of pieces: the problem's first, then run pieces as they are met, longest first."""

    def __init__(self, yard: Yard) -> None:
        self._site = yard.site
        self._factory = yard.site.problem.rules.ends is LapEnds.FACTORY
        self._given = yard.site.problem.pieces
        placed = [(layout, a, part) for layout, a in filter(None, yard.placed) for part in _parts(layout)]
        cut = {self._key(yard.site, layout, part, a) for layout, a, part in placed}
        self._numbers = {key: len(self._given) + n for n, key in enumerate(sorted(cut, reverse=True))}

    def of(self, layout: Layout, part: int, a: int) -> int:
        """Return the kind of a run's piece, counted from 0."""
        return self._numbers[self._key(self._site, layout, part, a)]

    def counted(self, sticks: Iterable[CutStick]) -> tuple[Piece, ...]:
        """Return all kinds; those of run pieces with how many are cut."""
        counts = Counter(piece.kind for stick in sticks for piece in stick.pieces)
        runs = (Piece(n, counts[kind], left, right) for (n, left, right), kind in self._numbers.items())
        return (*self._given, *runs)

    def _key(self, site: Site, layout: Layout, part: int, a: int) -> tuple[int, bool, bool]:
        length = part_lengths(site, layout, a)[part]
        shape = layout.shape
        whole = part >= bool(shape.first) and part < shape.parts - bool(shape.last)
        if not self._factory:
            return length, False, False
        if shape.loose:
            return length, False, False
        first = bool(shape.first) and part == 0
        return (length, True, True) if whole else (length, not first, first)


def _parts(layout: Layout) -> range:
    return range(layout.shape.parts)


def part_lengths(site: Site, layout: Layout, a: int) -> list[int]:
    """Return the lengths of a run's pieces from left to right."""
    shape = layout.shape
    wholes = [site.problem.sticks[k].length for k in shape.wholes]
    return [*([a] if shape.first else []), *shape.cut, *wholes, *([layout.last(a)] if shape.last else [])]


def _sticks(yard: Yard, kinds: _Kinds) -> Iterator[CutStick]:
    waiting = {run: _whole_parts(layout) for run, at in enumerate(yard.placed) if at is not None for layout in [at[0]]}
    for stick in yard.sticks:
        if stick.whole_for is not None:
            yield CutStick(stick.kind, (_whole(yard, kinds, stick, waiting),))
        else:
            pieces = [_held(yard, kinds, held) for held in stick.held]
            pieces += [CutPiece(yard.site.plain[p]) for p in stick.plain]
            yield CutStick(stick.kind, tuple(sorted(pieces, key=lambda piece: piece.kind)))


def _whole_parts(layout: Layout) -> list[tuple[int, int]]:
    before = bool(layout.shape.first) + len(layout.shape.cut)
    return [(kind, part) for part, kind in enumerate(layout.shape.wholes, before)]


def _whole(yard: Yard, kinds: _Kinds, stick: Filling, waiting: dict[int, list[tuple[int, int]]]) -> CutPiece:
    run = stick.whole_for
    if run is None or run < 0:
        return CutPiece(-1 - (run or 0))
    at = yard.placed[run]
    if at is None:
        raise ValueError(f"run {run} has a stick but no place")
    entry = next(entry for entry in waiting[run] if entry[0] == stick.kind)
    waiting[run].remove(entry)
    return CutPiece(kinds.of(at[0], entry[1], at[1]), run, entry[1] + 1)


def _held(yard: Yard, kinds: _Kinds, held: Held) -> CutPiece:
    if held.run < 0:
        return CutPiece(-1 - held.run)
    at = yard.placed[held.run]
    if at is None:
        raise ValueError(f"run {held.run} has a piece but no place")
    return CutPiece(kinds.of(at[0], held.part, at[1]), held.run, held.part + 1)


def _cover(yard: Yard, kinds: _Kinds, run: int) -> Cover:
    at = yard.placed[run]
    if at is None:
        raise ValueError(f"run {run} has no place")
    layout, a = at
    laps, allowances = layout.laps(a), layout.shape.allowances
    viewed_from = yard.site.problem.runs[run].viewed_from
    on_top = tuple(side_on_top(lap, allowances.lap, viewed_from) for lap in laps)
    numbers = tuple(kinds.of(layout, part, a) for part in _parts(layout))
    return Cover(run, numbers, laps, on_top, allowances.lap, allowances.end_gap)


def side_on_top(place: int, lap: int, viewed_from: Side | int | None) -> Side:
    """Return which panel of a lap lies on top: the one nearer to the eye, so that its end looks away from it.

    From a position along the wall, laps on both sides face away from it. Unseen walls are laid from the left.
    """
    if viewed_from is None:
        return Side.RIGHT
    if isinstance(viewed_from, Side):
        return viewed_from
    return Side.RIGHT if 2 * place + lap < 2 * viewed_from else Side.LEFT


def _uncut(yard: Yard) -> list[int]:
    uncut = Counter({yard.site.plain[p]: n for p, n in enumerate(yard.left) if n})
    uncut.update(-1 - held.run for held in (*yard.ends, *yard.starts) if held.run < 0)
    return [uncut[i] for i in range(len(yard.site.problem.pieces))]


def _breaches(yard: Yard) -> Iterator[Breach]:
    for run, at in enumerate(yard.placed):
        if at is not None:
            yield from _own_breaches(yard.site, *at)
            yield from _breaches_below(yard, run)


def _own_breaches(site: Site, layout: Layout, a: int) -> Iterator[Breach]:
    run, shape = site.problem.runs[layout.run], layout.shape
    lap, shortest = shape.allowances.lap, site.problem.rules.shortest
    lefts = (shape.origin, *layout.laps(a))
    for place in lefts[1:]:
        low, high = sorted((place, place + lap))
        if any(low < end and start < high for start, end in run.keep_clear):
            yield Breach(BreachCode.LAP_OVER_OPENING, layout.run, place)
    for place, length in zip(lefts, part_lengths(site, layout, a), strict=True):
        if length < shortest:
            yield Breach(BreachCode.SHORT_PIECE, layout.run, place, shortest, length)
    if shape.field_ends:
        yield Breach(BreachCode.FIELD_END_LAPPED, layout.run, _field_end(site, layout, lefts, a))


def _field_end(site: Site, layout: Layout, lefts: Sequence[int], a: int) -> int:
    """Return the place of the lapped outer end that is cut on site: of a shape with one cut piece, its outer end."""
    if layout.shape.first:
        return lefts[0]
    return lefts[-1] + part_lengths(site, layout, a)[-1] - layout.shape.allowances.lap


def _breaches_below(yard: Yard, run: int) -> Iterator[Breach]:
    rules, runs = yard.site.problem.rules, yard.site.problem.runs
    for other, courses in yard.site.near[run]:
        if (runs[other].course or 0) < (runs[run].course or 0):
            for place in yard.laps[run] or ():
                for below in yard.laps[other] or ():
                    yield from _too_near(run, place, below, courses, distances(rules, courses), rules.spacing)


def _too_near(run: int, place: int, below: int, courses: int, needed: Sequence[int], spacing: int) -> Iterator[Breach]:
    for number, distance in enumerate(needed):
        if abs(place - below) < distance:
            of_spacing = courses == 1 and number == 0 and spacing > 0
            code = BreachCode.LAP_SPACING if of_spacing else BreachCode.LAP_IN_LINE
            yield Breach(code, run, place, distance, abs(place - below), below)
