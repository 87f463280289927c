"""Patterns as paths: pieces in falling order of length, positions along the stick, one lane per use of factory ends.

Arc-flow (Valerio de Carvalho 1999) with a layer per piece (DP-flow: Cambazard and O'Sullivan 2010; Delorme,
Iori and Martello 2016, section 5): a path starts at position 0, takes in every layer one option (so many
copies of this piece, moving on by their length), and ends at a stick that is long enough. So each proper
pattern is exactly one path, and a set of arcs left out is a set of patterns left out.

Pieces that need a factory end come first. A lane holds the patterns that use neither end, the left, the
right, or both: where an end is used, its layer takes exactly one of the pieces that need it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from solver.cutting.presolve import Reduced
from solver.cutting.pricing import IntVector
from solver.cutting.problem import CuttingProblem

Bits = NDArray[np.bool_]

Ends = tuple[bool, bool]
"""Whether the left and the right factory end is used."""

_ALL_ENDS: tuple[Ends, ...] = ((False, False), (True, False), (False, True), (True, True))

Arc = tuple[int, int, int]
"""Lane, option, and the position it starts from."""


@dataclass(frozen=True, slots=True)
class Option:
    """So many copies of a piece, moving on by ``shift``; a layer's first option may be none of it."""

    piece: int
    copies: int
    shift: int


@dataclass(frozen=True, slots=True)
class Lane:
    """The graph of the patterns that use these factory ends.

    ``ends`` are the ends used, left and right. ``layers`` are ranges of the flat list ``options``. An arc is
    an option and the position it starts from. ``sticks`` may end a path here, ``lengths`` are theirs.
    """

    ends: Ends
    options: tuple[Option, ...]
    layers: tuple[range, ...]
    sticks: tuple[int, ...]
    lengths: tuple[int, ...]

    @property
    def size(self) -> int:
        """The number of positions."""
        return max(self.lengths) + 1


@dataclass(frozen=True, slots=True)
class Arcs:
    """The arcs of a lane that are left.

    ``places`` are the positions in use; ``tails[r]`` and ``heads[r]`` index them, for every arc of option
    ``r``; ``ends[n]`` index those where the lane's stick ``n`` may end a path.
    """

    places: IntVector
    tails: tuple[IntVector, ...]
    heads: tuple[IntVector, ...]
    ends: tuple[IntVector, ...]

    @property
    def count(self) -> int:
        """How many arcs are left."""
        return sum(len(tails) for tails in self.tails)

    def positions(self, r: int) -> IntVector:
        """Return where the arcs of option ``r`` start."""
        return self.places[self.tails[r]]

    def kept(self, arcs: Sequence[Bits], ends: Sequence[Bits]) -> Arcs:
        """Return the arcs and ends so marked, and only the places that they use."""
        tails = [tail[bits] for tail, bits in zip(self.tails, arcs, strict=True)]
        heads = [head[bits] for head, bits in zip(self.heads, arcs, strict=True)]
        stops = [end[bits] for end, bits in zip(self.ends, ends, strict=True)]
        used = np.unique(np.concatenate([np.zeros(1, np.int64), *tails, *heads, *stops]))
        if 2 * len(used) > len(self.places):
            return Arcs(self.places, tuple(tails), tuple(heads), tuple(stops))
        renamed = (tuple(np.searchsorted(used, part) for part in parts) for parts in (tails, heads, stops))
        return Arcs(self.places[used], *renamed)

    def narrowed(self, r: int, bits: Bits) -> Arcs:
        """Return the arcs with only those of option ``r`` so marked."""
        tails, heads = list(self.tails), list(self.heads)
        tails[r], heads[r] = tails[r][bits], heads[r][bits]
        return Arcs(self.places, tuple(tails), tuple(heads), self.ends)


def lanes(reduced: Reduced) -> tuple[Lane, ...]:
    """Return the lanes of a reduced problem, those without pieces or sticks left out."""
    made = (_lane(reduced.problem, reduced.priced, ends) for ends in _ALL_ENDS)
    return tuple(lane for lane in made if lane is not None)


def _lane(problem: CuttingProblem, priced: int, ends: Ends) -> Lane | None:
    left, right = ends
    sticks = [k for k in range(priced) if problem.sticks[k].left >= left and problem.sticks[k].right >= right]
    heads = [_needing(problem, (True, False))] * left + [_needing(problem, (False, True))] * right
    plain = _needing(problem, (False, False))
    if not sticks or not all(heads) or not (heads or plain):
        return None
    longest = max(problem.sticks[k].length for k in sticks)
    layers = [[Option(i, 1, problem.pieces[i].length) for i in head] for head in heads]
    for i in plain:
        piece = problem.pieces[i]
        most = min(piece.demand, longest // piece.length)
        layers.append([Option(i, copies, copies * piece.length) for copies in range(most + 1)])
    starts = accumulate((len(layer) for layer in layers), initial=0)
    ranges = tuple(range(a, b) for a, b in pairwise(starts))
    options = tuple(option for layer in layers for option in layer)
    return Lane(ends, options, ranges, tuple(sticks), tuple(problem.sticks[k].length for k in sticks))


def _needing(problem: CuttingProblem, ends: Ends) -> list[int]:
    return [i for i, piece in enumerate(problem.pieces) if (piece.left, piece.right) == ends]
