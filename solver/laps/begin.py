"""The first plans: everything laid by the price of length alone, and by what a lower bound says pieces are worth."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from solver.laps.laying import Laying
from solver.laps.prices import Floats, PriceList
from solver.laps.site import Layout, Site, with_end
from solver.laps.yard import Filling, Held, Yard

LONG_FIRST = 0.02
"""How much more than its price the longest plain piece counts, in sticks: it is hard to place later."""


def empty_yard(site: Site) -> Yard:
    """Return a yard with nothing laid; pieces that need a factory end wait, those that need both are cut at once."""
    yard = Yard(site)
    for index, piece in enumerate(site.problem.pieces):
        for _ in range(piece.demand):
            if piece.left and piece.right:
                _cut_whole(yard, index)
            elif piece.left or piece.right:
                held = Held(piece.length, -1 - index, with_end(site.problem, right=piece.right))
                (yard.ends if piece.left else yard.starts).append(held)
    return yard


def _cut_whole(yard: Yard, index: int) -> None:
    piece, sticks = yard.site.problem.pieces[index], yard.site.problem.sticks
    both = with_end(yard.site.problem, right=True) & with_end(yard.site.problem, right=False)
    exact = [k for k in sorted(both) if sticks[k].length == piece.length and yard.may_use(k)]
    if exact:
        yard.add(Filling(min(exact, key=lambda k: sticks[k].cost), whole_for=-1 - index))
    else:
        yard.ends.append(Held(piece.length, -1 - index, frozenset()))


def leaning(site: Site, prices: PriceList, dice: np.random.Generator, spread: float, lean: float) -> Floats:
    """Return prices of plain pieces, each moved by up to ``spread`` of itself and long ones by ``lean`` more."""
    plain = prices.prices.plain
    lengths = np.array([site.problem.pieces[i].length for i in site.plain], np.float64)
    longest = max(stick.length for stick in site.problem.sticks)
    dearest = max(stick.cost for stick in site.problem.sticks)
    moved: Floats = plain * (1.0 + spread * dice.uniform(-1.0, 1.0, len(plain)))
    return moved + lean * dearest * (lengths / longest) ** 2


def lay_anew(site: Site, prices: PriceList, seed: int, noise: float) -> Yard:
    """Return a yard with everything laid, the ``seed`` drawing the lots."""
    dice = np.random.default_rng(seed)
    yard = empty_yard(site)
    Laying(yard, prices, dice).lay(leaning(site, prices, dice, noise, LONG_FIRST), noise / 20)
    return yard


def lay_placed(site: Site, placed: Iterable[tuple[Layout, int]], prices: PriceList) -> Yard:
    """Return a yard with these runs laid so, where their whole sticks can be had, the others anyhow, and all cut."""
    yard = empty_yard(site)
    for layout, a in placed:
        wholes = layout.shape.wholes
        if all((n := site.problem.sticks[k].limit) is None or yard.used[k] + wholes.count(k) <= n for k in wholes):
            yard.place_held(layout, a)
    dice = np.random.default_rng(0)
    Laying(yard, prices, dice).lay(leaning(site, prices, dice, 0.0, LONG_FIRST), 0.0)
    return yard
