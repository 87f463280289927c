"""A part of the search: which patterns are left in it, and how often sticks and arcs may be used.

Every plan of the whole problem within the target is in exactly one open part. Parts are never changed, only
narrowed to new ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from solver.cutting.certificate import Counts
from solver.cutting.flow.graph import Arc, Arcs, Lane, lanes
from solver.cutting.presolve import Reduced
from solver.cutting.problem import Pattern


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
        return cls(reduced, lanes(reduced), demands, tuple(stick.cost for stick in problem.sticks))

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
