"""The arc-flow network of a cutting problem, from the textbook: Valerio de Carvalho, Annals of OR 86 (1999).

A stick is a path from position 0 to its length, a piece an arc as long as it is, and what is left a run of
loss arcs; a plan is a flow that crosses each piece's arcs as often as it is wanted (equations 1-5 there).
Kerf is folded in: pieces and sticks are a kerf longer. Arcs are laid out longest piece first (his second
reduction), and only from positions that can be reached so.

Factory ends are a layer beside the position: a piece that needs the left end may only be the first arc
of a path, one that needs the right end only the last before the loss, and the layer remembers which ends a
path has used, so it can only close at a stick that has them. A piece that needs both is a stick of its own.
Nothing here comes from the engine but the two dataclasses that state the problem.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from solver.cutting.problem import CuttingProblem, Piece

Node = tuple[str, int, bool, bool]
"""Phase (``start``, ``fill`` or ``loss``), position, and whether the left and right end are used."""


@dataclass(frozen=True, slots=True)
class Arc:
    """From ``tail`` to ``head``: a piece, a stick that closes a path, or neither (loss)."""

    tail: Node | None
    head: Node | None
    piece: int | None = None
    stick: int | None = None


SOURCE: Node = ("start", 0, False, False)


@dataclass(slots=True)
class Network:
    """All arcs; flow is kept at every node but ``SOURCE``, and arcs with a ``stick`` cost what it costs."""

    problem: CuttingProblem
    arcs: list[Arc] = field(default_factory=list)

    @property
    def nodes(self) -> list[Node]:
        """Nodes where flow is kept."""
        ends = {node for arc in self.arcs for node in (arc.tail, arc.head) if node is not None}
        return sorted(ends - {SOURCE})


def network(problem: CuttingProblem) -> Network:
    """Lay out the network."""
    net = Network(problem)
    widest = max((stick.length for stick in problem.sticks), default=0) + problem.kerf
    filled = _middle(net, _first(net, widest), widest)
    _close(net, _last(net, filled, widest))
    for i, piece in enumerate(problem.pieces):
        if piece.left and piece.right:
            whole = (k for k, s in enumerate(problem.sticks) if s.left and s.right and s.length == piece.length)
            net.arcs.extend(Arc(None, None, i, k) for k in whole)
    return net


def _takes(net: Network, piece: Piece) -> int:
    return piece.length + net.problem.kerf


def _first(net: Network, widest: int) -> dict[Node, list[int]]:
    """Lay the arcs of pieces at the left end; return the nodes from which the middle may be filled."""
    starts: set[Node] = {("fill", 0, False, False)}
    net.arcs.append(Arc(SOURCE, ("fill", 0, False, False)))
    for i, piece in enumerate(net.problem.pieces):
        if piece.left and not piece.right and piece.demand and _takes(net, piece) <= widest:
            head: Node = ("fill", _takes(net, piece), True, False)
            net.arcs.append(Arc(SOURCE, head, i))
            starts.add(head)
    return {node: [] for node in starts}


def _middle(net: Network, starts: dict[Node, list[int]], widest: int) -> set[Node]:
    """Lay the arcs of pieces that need no end, longest first; return all nodes reached."""
    reached = set(starts)
    plain = [i for i, p in enumerate(net.problem.pieces) if not (p.left or p.right) and p.demand]
    for i in sorted(plain, key=lambda i: -net.problem.pieces[i].length):
        takes = _takes(net, net.problem.pieces[i])
        laid: set[Node] = set()
        for phase, begin, left, right in sorted(reached):
            for copy in range(net.problem.pieces[i].demand):
                tail: Node = (phase, begin + copy * takes, left, right)
                head: Node = (phase, begin + (copy + 1) * takes, left, right)
                if head[1] > widest:
                    break
                if tail not in laid:
                    net.arcs.append(Arc(tail, head, i))
                    laid.add(tail)
                reached.add(head)
    return reached


def _last(net: Network, filled: set[Node], widest: int) -> set[Node]:
    """Lay the arcs of pieces at the right end, and pass on without one; return the nodes reached."""
    reached: set[Node] = set()
    for tail in sorted(filled):
        _, at, left, _ = tail
        ends: list[tuple[Node, int | None]] = [(("loss", at, left, False), None)]
        for i, piece in enumerate(net.problem.pieces):
            if piece.right and not piece.left and piece.demand and at + _takes(net, piece) <= widest:
                ends.append((("loss", at + _takes(net, piece), left, True), i))
        net.arcs.extend(Arc(tail, head, i) for head, i in ends)
        reached.update(head for head, _ in ends)
    return reached


def _close(net: Network, reached: set[Node]) -> None:
    """Lay the loss arcs up to every stick's length, and arcs that close a path at a stick with the ends used."""
    for left, right in ((False, False), (True, False), (False, True), (True, True)):
        here = {at for _, at, has_left, has_right in reached if (has_left, has_right) == (left, right)}
        closing = [
            (stick.length + net.problem.kerf, k)
            for k, stick in enumerate(net.problem.sticks)
            if stick.limit != 0 and stick.left >= left and stick.right >= right
        ]
        places = sorted(here | {length for length, _ in closing}) if here else []
        for tail, head in pairwise(places):
            net.arcs.append(Arc(("loss", tail, left, right), ("loss", head, left, right)))
        net.arcs.extend(Arc(("loss", length, left, right), None, stick=k) for length, k in closing if here)
