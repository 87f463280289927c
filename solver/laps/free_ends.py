"""Runs made of cut pieces alone, where ends don't matter: what sticks have left over, however short, lapped into one.

Templates put whole sticks between two cut pieces. Where many sticks have a little left beside their plain pieces and
the rules allow the laps, a run can be had of that for nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice, permutations

from solver.allowances import Allowances
from solver.laps.model import LapModel, RunCandidate, broken_beside, candidate_of
from solver.laps.state import PartialPlan, pieces_of
from solver.laps.templates import RunTemplate, most_parts, own, span

MOST_ORDERS = 720
"""Orders of a run's pieces that are tried: all of six."""


def laid_in(
    partial: PartialPlan, run: int, asked: Allowances, lengths: Sequence[int]
) -> tuple[RunCandidate, int, Sequence[int]]:
    """Return a run in pieces of these lengths, all cut from sticks that ask for one lap and gap.

    They lie in the order that breaks the fewest rules. Comes with the length of its first piece, and the places of the
    lengths from left to right.
    """
    best: tuple[int, RunCandidate, int, Sequence[int]] | None = None
    for order in islice(permutations(range(len(lengths))), MOST_ORDERS):
        candidate = candidate_in(partial.model, run, asked, [lengths[place] for place in order])
        if candidate is None:
            continue
        a = lengths[order[0]]
        broken = candidate.breaks(a) + broken_beside(partial.model, run, candidate.laps(a), partial.laps)
        if best is None or broken < best[0]:
            best = broken, candidate, a, order
        if not broken:
            break
    if best is None:
        raise ValueError(f"{lengths} are no pieces of run {run}")
    return best[1:]


def candidate_in(model: LapModel, run: int, asked: Allowances, lengths: Sequence[int]) -> RunCandidate | None:
    """Return the candidate of a run in cut pieces of these lengths from the left; None if no stick gives it."""
    template = _template(model, run, asked, lengths)
    return candidate_of(model.problem, run, template) if template.first else None


def _template(model: LapModel, run: int, asked: Allowances, lengths: Sequence[int]) -> RunTemplate:
    these = model.problem.runs[run]
    kinds = _asking(model, asked) if len(lengths) <= most_parts(model.problem, these) else frozenset()
    origin = asked.starts_at(these.start, these.left)
    if len(lengths) == 1:
        return RunTemplate(first=kinds, wholes=(), last=frozenset(), rest=lengths[0], origin=origin, allowances=asked)
    return RunTemplate(
        first=kinds,
        wholes=(),
        last=kinds,
        rest=lengths[0] + lengths[-1],
        origin=origin,
        allowances=asked,
        cut=tuple(lengths[1:-1]),
    )


def _asking(model: LapModel, asked: Allowances) -> frozenset[int]:
    """Return the kinds of sticks that ask for this lap and gap, and may be lapped."""
    sticks = model.problem.sticks
    return frozenset(k for k, s in enumerate(sticks) if s.limit != 0 and s.lapped and own(s) == asked)


def cover_from_left_overs(partial: PartialPlan) -> None:
    """Lay every run that the sticks cut so far have enough left for, the longest first."""
    runs = partial.model.problem.runs
    asked = dict.fromkeys(own(stick) for stick in partial.model.problem.sticks)
    for run in sorted(range(len(runs)), key=lambda n: -runs[n].length):
        ways = (cut for one in asked if (cut := _from_left_overs(partial, run, one)) is not None)
        if (cut := next(ways, None)) is not None:
            one, numbers, lengths = cut
            candidate, a, order = laid_in(partial, run, one, lengths)
            partial.place(candidate, a)
            for place, piece in zip(order, pieces_of(candidate, a), strict=True):
                partial.cut_more(numbers[place], piece)


def _from_left_overs(
    partial: PartialPlan, run: int, asked: Allowances
) -> tuple[Allowances, list[int], list[int]] | None:
    """Return which sticks give how much of a run, in as few pieces as can be; None where they can't."""
    problem, kinds = partial.model.problem, _asking(partial.model, asked)
    least = max(1, problem.rules.shortest)
    left = sorted(
        (-problem.given(stick.room), number)
        for number, stick in enumerate(partial.sticks)
        if stick.kind in kinds and problem.given(stick.room) >= least
    )
    together = 0
    for parts, (room, _) in enumerate(left[: most_parts(problem, problem.runs[run])], 1):
        together -= room
        beyond = together - span(problem.runs[run], parts, asked)
        if beyond >= 0:
            lengths = [-room for room, _ in left[:parts]]
            for place in reversed(range(parts)):
                spared = min(beyond, lengths[place] - least)
                lengths[place], beyond = lengths[place] - spared, beyond - spared
            return None if beyond else (asked, [number for _, number in left[:parts]], lengths)
    return None
