"""Cutting again: with every run laid, what is left is an ordinary cutting problem, and the engine solves those.

A run's first and last piece are pieces that need their stick's right or left end, unless ends don't matter; whole
sticks are taken off what can be had. The engine does not know that some runs' pieces come from some kinds of sticks
only (a run of three pieces where two longer ones would do): where it took another kind, the kinds all those may come
from are cut again with what fell through, and at last whatever still waits is cut stick by stick.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from solver.cutting.problem import CuttingProblem, Pattern, Piece, Stick
from solver.cutting.solve import solve
from solver.laps.begin import LONG_FIRST, empty_yard, leaning
from solver.laps.freed import cover_from_left_overs
from solver.laps.laying import Laying
from solver.laps.prices import PriceList
from solver.laps.shapes import Kinds
from solver.laps.site import Site
from solver.laps.yard import Filling, Held, Yard
from solver.materials import LapEnds
from solver.watch import Watch

METHODS = 6
"""Methods of the engine that are tried: all up to numbers of sticks, none that ends with the watch only."""

Waiting = dict[tuple[int, bool], list[Held]]
"""Pieces of runs by length and whether they lie at their stick's right end."""


def cut_again(yard: Yard, prices: PriceList, watch: Watch) -> Yard:
    """Return the yard with the same runs laid in the same way, and all pieces cut anew."""
    anew = _laid(yard)
    kinds = frozenset(range(len(yard.site.problem.sticks)))
    fewer = _from_all(kinds, _cut(anew, kinds, watch))
    begun = anew.snapshot()
    _cut_rest(anew, prices)
    while fewer < kinds:
        other = Yard(yard.site)
        other.restore(begun)
        other.lift([], [n for n, s in enumerate(other.sticks) if s.kind in fewer and s.whole_for is None])
        kinds, fewer = fewer, _from_all(fewer, _cut(other, fewer, watch))
        begun = other.snapshot()
        _cut_rest(other, prices)
        anew = min(anew, other, key=lambda y: (y.uncut, y.cost))
    return anew


def cut_plain_first(site: Site, prices: PriceList, watch: Watch) -> Yard:
    """Return a plan whose plain pieces are cut by themselves, and runs as far as may be from what that leaves."""
    yard = empty_yard(site)
    _cut(yard, frozenset(range(len(site.problem.sticks))), watch)
    cover_from_left_overs(yard)
    _cut_rest(yard, prices)
    return yard


def _from_all(kinds: Kinds, pieces: Iterable[Held]) -> Kinds:
    """Return those of the kinds that all the pieces may come from."""
    return kinds.intersection(*(held.kinds for held in pieces))


def _cut_rest(yard: Yard, prices: PriceList) -> None:
    """Cut what waits, stick by stick."""
    dice = np.random.default_rng(0)
    Laying(yard, prices, dice).lay(leaning(yard.site, prices, dice, 0.0, LONG_FIRST), 0.0)


def _laid(yard: Yard) -> Yard:
    """Return the yard with its runs laid and nothing cut but whole sticks."""
    anew = Yard(yard.site)
    for layout, a in filter(None, yard.placed):
        anew.place(layout, a)
    for stick in yard.sticks:
        if stick.whole_for is None:
            _hold(anew, stick)
        elif stick.whole_for < 0:
            anew.add(stick)
    return anew


def _hold(yard: Yard, stick: Filling) -> None:
    """Let the pieces at a stick's ends wait for another."""
    yard.ends += [held for held in (stick.left, *stick.between) if held]
    yard.starts += [stick.right] if stick.right else []


def _cut(yard: Yard, kinds: Kinds, watch: Watch) -> list[Held]:
    """Cut what waits from sticks of these kinds; return the pieces that the engine would take from a wrong one."""
    waiting: Waiting = defaultdict(list)
    for right, held in ((False, yard.ends), (True, yard.starts)):
        for piece in sorted(held, key=lambda h: (h.length, h.run)):
            waiting[piece.length, right].append(piece)
    yard.ends, yard.starts = [], []
    fallen: list[Held] = []
    for pattern, times in solve(_problem(yard, waiting, kinds), watch.quiet(), METHODS).uses:
        for _ in range(times):
            stick = _filling(yard.site, pattern, waiting)
            wrong = [held for held in stick.held if stick.kind not in held.kinds]
            if wrong:
                _hold(yard, stick)
            else:
                yard.add(stick)
            fallen += wrong
    for (_, right), uncut in waiting.items():
        (yard.starts if right else yard.ends).extend(uncut)
    return fallen


def _problem(yard: Yard, waiting: Waiting, kinds: Kinds) -> CuttingProblem:
    problem, (firsts, lasts) = yard.site.problem, yard.site.sides
    plain = (Piece(problem.pieces[i].length, n) for i, n in zip(yard.site.plain, yard.left, strict=True))
    matter = problem.rules.ends is LapEnds.FACTORY
    ends = (
        Piece(length, len(held), left=matter and not right, right=matter and right)
        for (length, right), held in waiting.items()
    )
    sticks = (
        Stick(
            stick.length,
            stick.cost,
            0 if k not in kinds else None if stick.limit is None else stick.limit - yard.used[k],
            left=any(k in found for found in lasts),
            right=any(k in found for found in firsts),
        )
        for k, stick in enumerate(problem.sticks)
    )
    return CuttingProblem(tuple(sticks), (*plain, *ends), problem.kerf)


def _filling(site: Site, pattern: Pattern, waiting: Waiting) -> Filling:
    """Return the pattern as a stick, the pieces of runs taken from those that wait."""
    places, plain = list(waiting), len(site.plain)
    held = [(places[i - plain][1], waiting[places[i - plain]].pop()) for i in pattern.pieces if i >= plain]
    lefts, rights = ([piece for at_right, piece in held if at_right == right] for right in (False, True))
    stick = Filling(pattern.stick, plain=tuple(i for i in pattern.pieces if i < plain))
    between = (*lefts[1:], *rights[1:])
    return replace(stick, left=next(iter(lefts), None), right=next(iter(rights), None), between=between)
