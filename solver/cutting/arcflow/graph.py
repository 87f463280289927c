"""Arc-flow graphs of a problem's sticks, and the parts of the search over them.

Patterns are paths: pieces in falling order of length, positions along the stick, one lane per use of factory ends.

Arc-flow (Valerio de Carvalho 1999) with a layer per piece (DP-flow: Cambazard and O'Sullivan 2010; Delorme,
Iori and Martello 2016, section 5): a path starts at position 0, takes in every layer one option (so many
copies of this piece, moving on by their length), and ends at a stick that is long enough. So each proper
pattern is exactly one path, and a set of arcs left out is a set of patterns left out.

Pieces that need a factory end come first. A lane holds the patterns that use neither end, the left, the
right, or both: where an end is used, its layer takes exactly one of the pieces that need it.

A part (``Node``) says which patterns are left in it, and how often sticks and arcs may be used. Every plan of the
whole problem within the target is in exactly one open part. Parts are never changed, only narrowed to new ones.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import accumulate, pairwise

import numpy as np
from numpy.typing import NDArray

from solver.cutting.bounds import Counts
from solver.cutting.presolve import Reduced
from solver.cutting.pricing.protocol import IntVector
from solver.cutting.problem import CuttingProblem, Pattern

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
        marked = np.zeros(len(self.places), np.bool_)
        marked[0] = True
        for part in (*tails, *heads, *stops):
            marked[part] = True
        used = np.flatnonzero(marked)
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


@dataclass(frozen=True, slots=True)
class Space:
    """What all parts of one problem share."""

    reduced: Reduced
    lanes: tuple[Lane, ...]
    demands: tuple[int, ...]
    costs: tuple[int, ...]

    @classmethod
    def of(cls, reduced: Reduced) -> Space:
        """Lay out the lanes of a reduced problem."""
        problem = reduced.problem
        demands = tuple(piece.demand for piece in problem.pieces)
        return cls(reduced, lanes(reduced), demands, problem.least_costs)

    def lane_of(self, pattern: Pattern) -> int | None:
        """Return the lane that a pattern is a path of, or None for a given one."""
        pieces = [self.reduced.problem.pieces[i] for i in pattern.pieces]
        left, right = any(p.left for p in pieces), any(p.right for p in pieces)
        if pattern.stick >= self.reduced.priced or any(p.left and p.right for p in pieces):
            return None
        return next(n for n, lane in enumerate(self.lanes) if lane.ends == (left, right))


@dataclass(frozen=True, slots=True)
class Node:
    """One part: ``arcs`` by lane, the ``given`` patterns left, stick counts, and how much single arcs may carry."""

    arcs: tuple[Arcs, ...]
    given: tuple[Pattern, ...]
    counts: Counts
    flows: Mapping[Arc, tuple[int, int | None]] = field(default_factory=dict)

    def with_sticks(self, k: int, least: int, most: int | None) -> Node:
        """Return the part with at least and at most so many sticks of kind ``k``."""
        low, high = list(self.counts.least), list(self.counts.most)
        low[k], high[k] = least, most
        return replace(self, counts=Counts(tuple(low), tuple(high)))

    def with_flow(self, arc: Arc, least: int, most: int | None) -> Node:
        """Return the part with at least and at most so much flow on ``arc``."""
        return replace(self, flows={**self.flows, arc: (least, most)})

    def with_arcs(self, lane: int, arcs: Arcs) -> Node:
        """Return the part with these arcs of one lane."""
        return replace(self, arcs=(*self.arcs[:lane], arcs, *self.arcs[lane + 1 :]))


def at_most(node: Node, arc: Arc, most: int) -> Node:
    """Return the part where ``arc`` carries ``most`` at most."""
    n, option, position = arc
    if most == 0:
        arcs = node.arcs[n]
        return node.with_arcs(n, arcs.narrowed(option, arcs.positions(option) != position))
    return node.with_flow(arc, node.flows.get(arc, (0, None))[0], most)


def at_least(space: Space, node: Node, arc: Arc, least: int) -> Node:
    """Return the part where ``arc`` carries ``least`` at least; no other arc has its piece if that is all of it."""
    piece, copies = space.lanes[arc[0]].options[arc[1]].piece, space.lanes[arc[0]].options[arc[1]].copies
    if copies * least < space.demands[piece]:
        return node.with_flow(arc, least, node.flows.get(arc, (0, None))[1])
    for n, lane in enumerate(space.lanes):
        for r, option in enumerate(lane.options):
            if option.piece == piece and option.copies:
                arcs = node.arcs[n]
                alone = (arcs.positions(r) == arc[2]) & ((n, r) == arc[:2])
                node = node.with_arcs(n, arcs.narrowed(r, alone))
    return node if least == 1 else node.with_flow(arc, least, node.flows.get(arc, (0, None))[1])
