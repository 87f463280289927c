"""From a partial plan that is finished to the answer: kinds of pieces, sticks with owners, covers and broken rules."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from solver.categories import LapEnds
from solver.cutting.problem import Piece, Search
from solver.laps.model import LapModel, RunCandidate, distances, reaches
from solver.laps.problem import Breach, Cover, CutPiece, CutStick, LapPlan, SlotDuals
from solver.laps.state import HeldPiece, OpenStick, PartialPlan
from solver.required import Side
from solver.runs import BreachCode


def answer(partial: PartialPlan, least: int, least_broken: int, proof: Search | SlotDuals, *, stopped: bool) -> LapPlan:
    """Write a partial plan out; its kind costs ``least`` or more (see ``LapPlan.bounded``)."""
    kinds = _Kinds(partial)
    sticks = tuple(sorted(_sticks(partial, kinds), key=lambda stick: (stick.stick, [p.kind for p in stick.pieces])))
    covers = tuple(_cover(partial, kinds, run) for run, at in enumerate(partial.placed) if at is not None)
    plan = LapPlan(
        kinds=kinds.counted(sticks),
        sticks=sticks,
        covers=covers,
        breaches=tuple(_breaches(partial)),
        uncut=tuple(_uncut(partial)),
        uncut_runs=tuple(sorted(partial.cut_off)),
        cost=partial.cost,
        bound=0,
        proof=proof,
        least_broken=least_broken,
        least_uncut=partial.uncut == 0,
        stopped=stopped,
    )
    return plan.bounded(least)


class _Kinds:
    """Numbers the kinds of pieces: the problem's first, then run pieces as they are met, longest first."""

    def __init__(self, partial: PartialPlan) -> None:
        self._model = partial.model
        self._factory = partial.model.problem.rules.ends is LapEnds.FACTORY
        self._given = partial.model.problem.pieces
        placed = [(candidate, a, part) for candidate, a in filter(None, partial.placed) for part in _parts(candidate)]
        cut = {self._key(partial.model, candidate, part, a) for candidate, a, part in placed}
        self._numbers = {key: len(self._given) + n for n, key in enumerate(sorted(cut, reverse=True))}

    def of(self, candidate: RunCandidate, part: int, a: int) -> int:
        """Return the kind of a run's piece, counted from 0."""
        return self._numbers[self._key(self._model, candidate, part, a)]

    def counted(self, sticks: Iterable[CutStick]) -> tuple[Piece, ...]:
        """Return all kinds; those of run pieces with how many are cut."""
        counts = Counter(piece.kind for stick in sticks for piece in stick.pieces)
        runs = (Piece(n, counts[kind], left, right) for (n, left, right), kind in self._numbers.items())
        return (*self._given, *runs)

    def _key(self, model: LapModel, candidate: RunCandidate, part: int, a: int) -> tuple[int, bool, bool]:
        length = part_lengths(model, candidate, a)[part]
        template = candidate.template
        whole = part >= bool(template.first) and part < template.parts - bool(template.last)
        if not self._factory:
            return length, False, False
        if template.loose:
            return length, False, False
        first = bool(template.first) and part == 0
        return (length, True, True) if whole else (length, not first, first)


def _parts(candidate: RunCandidate) -> range:
    return range(candidate.template.parts)


def part_lengths(model: LapModel, candidate: RunCandidate, a: int) -> list[int]:
    """Return the lengths of a run's pieces from left to right."""
    template = candidate.template
    wholes = [model.problem.sticks[k].length for k in template.wholes]
    return [*([a] if template.first else []), *template.cut, *wholes, *([candidate.last(a)] if template.last else [])]


def _sticks(partial: PartialPlan, kinds: _Kinds) -> Iterator[CutStick]:
    waiting = {
        run: _whole_parts(candidate) for run, at in enumerate(partial.placed) if at is not None for candidate in [at[0]]
    }
    for stick in partial.sticks:
        if stick.whole_for is not None:
            yield CutStick(stick.kind, (_whole(partial, kinds, stick, waiting),))
        else:
            pieces = [_held(partial, kinds, held) for held in stick.held]
            pieces += [CutPiece(partial.model.plain[p]) for p in stick.plain]
            yield CutStick(stick.kind, tuple(sorted(pieces, key=lambda piece: piece.kind)))


def _whole_parts(candidate: RunCandidate) -> list[tuple[int, int]]:
    before = bool(candidate.template.first) + len(candidate.template.cut)
    return [(kind, part) for part, kind in enumerate(candidate.template.wholes, before)]


def _whole(
    partial: PartialPlan, kinds: _Kinds, stick: OpenStick, waiting: dict[int, list[tuple[int, int]]]
) -> CutPiece:
    run = stick.whole_for
    if run is None or run < 0:
        return CutPiece(-1 - (run or 0))
    at = partial.placed[run]
    if at is None:
        raise ValueError(f"run {run} has a stick but no place")
    entry = next(entry for entry in waiting[run] if entry[0] == stick.kind)
    waiting[run].remove(entry)
    return CutPiece(kinds.of(at[0], entry[1], at[1]), run, entry[1] + 1)


def _held(partial: PartialPlan, kinds: _Kinds, held: HeldPiece) -> CutPiece:
    if held.run < 0:
        return CutPiece(-1 - held.run)
    at = partial.placed[held.run]
    if at is None:
        raise ValueError(f"run {held.run} has a piece but no place")
    return CutPiece(kinds.of(at[0], held.part, at[1]), held.run, held.part + 1)


def _cover(partial: PartialPlan, kinds: _Kinds, run: int) -> Cover:
    at = partial.placed[run]
    if at is None:
        raise ValueError(f"run {run} has no place")
    candidate, a = at
    laps, allowances = candidate.laps(a), candidate.template.allowances
    viewed_from = partial.model.problem.runs[run].viewed_from
    on_top = tuple(side_on_top(lap, allowances.lap, viewed_from) for lap in laps)
    numbers = tuple(kinds.of(candidate, part, a) for part in _parts(candidate))
    return Cover(run=run, kinds=numbers, laps_at=laps, on_top=on_top, lap=allowances.lap, end_gap=allowances.end_gap)


def side_on_top(place: int, lap: int, viewed_from: Side | int | None) -> Side:
    """Return which panel of a lap lies on top: the one nearer to the eye, so that its end looks away from it.

    From a position along the wall, laps on both sides face away from it. Unseen walls are laid from the left.
    """
    if viewed_from is None:
        return Side.RIGHT
    if isinstance(viewed_from, Side):
        return viewed_from
    return Side.RIGHT if 2 * place + lap < 2 * viewed_from else Side.LEFT


def _uncut(partial: PartialPlan) -> list[int]:
    uncut = Counter({partial.model.plain[p]: n for p, n in enumerate(partial.left) if n})
    uncut.update(-1 - held.run for held in (*partial.ends, *partial.starts) if held.run < 0)
    return [uncut[i] for i in range(len(partial.model.problem.pieces))]


def _breaches(partial: PartialPlan) -> Iterator[Breach]:
    for run, at in enumerate(partial.placed):
        if at is not None:
            yield from _own_breaches(partial, *at)
            yield from _breaches_below(partial, run)


def _own_breaches(partial: PartialPlan, candidate: RunCandidate, a: int) -> Iterator[Breach]:
    model, template = partial.model, candidate.template
    run, shortest = model.problem.runs[candidate.run], model.problem.rules.shortest
    lefts = (template.origin, *candidate.laps(a))
    for place in lefts[1:]:
        for start, end in reaches(run.keep_clear, template.allowances.lap):
            if start < place < end:
                clear = start if place - start <= end - place else end
                code = BreachCode.LAP_OVER_OPENING
                yield Breach(code=code, run=candidate.run, place=place, needed=clear, got=place)
    for place, length in zip(lefts, part_lengths(model, candidate, a), strict=True):
        if length < shortest:
            yield Breach(code=BreachCode.SHORT_PIECE, run=candidate.run, place=place, needed=shortest, got=length)
    if template.field_ends:
        yield _field_end(partial, candidate, lefts, a)


def _field_end(partial: PartialPlan, candidate: RunCandidate, lefts: Sequence[int], a: int) -> Breach:
    """Return the breach of a lapped outer end that is cut on site: of a template with one cut piece, its outer end."""
    lengths, first = part_lengths(partial.model, candidate, a), bool(candidate.template.first)
    length = lengths[0] if first else lengths[-1]
    stick = next(stick for stick in partial.sticks if any(held.run == candidate.run for held in stick.held))
    return Breach(
        code=BreachCode.FIELD_END_LAPPED,
        run=candidate.run,
        place=lefts[0] if first else lefts[-1] + length - candidate.template.allowances.lap,
        needed=length,
        got=partial.model.problem.sticks[stick.kind].length,
    )


def _breaches_below(partial: PartialPlan, run: int) -> Iterator[Breach]:
    rules, runs = partial.model.problem.rules, partial.model.problem.runs
    for other, courses in partial.model.near[run]:
        if (runs[other].course or 0) < (runs[run].course or 0):
            for place in partial.laps[run] or ():
                for below in partial.laps[other] or ():
                    yield from _too_near(run, place, below, courses, distances(rules, courses), rules.spacing)


def _too_near(run: int, place: int, below: int, courses: int, needed: Sequence[int], spacing: int) -> Iterator[Breach]:
    for number, distance in enumerate(needed):
        if abs(place - below) < distance:
            of_spacing = courses == 1 and number == 0 and spacing > 0
            code = BreachCode.LAP_SPACING if of_spacing else BreachCode.LAP_IN_LINE
            yield Breach(code=code, run=run, place=place, needed=distance, got=abs(place - below), other=below)
