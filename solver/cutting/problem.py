"""The cutting-stock problem and its answer in plain integers: what every method here takes and returns."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

N = TypeVar("N", int, NDArray[np.int64], NDArray[np.float64])

MOST_SETS = 40
"""Sets of values that a proof may carry; each is a line of numbers as long as the list of pieces."""


@dataclass(frozen=True, slots=True)
class Stick:
    """One kind of stick: ``limit`` None means as many as wanted; ``left``/``right`` say which ends are factory ends."""

    length: int
    cost: int
    limit: int | None = None
    left: bool = True
    right: bool = True


@dataclass(frozen=True, slots=True)
class Piece:
    """One kind of piece: ``length`` includes its room; ``left``/``right`` say which factory ends it must carry."""

    length: int
    demand: int
    left: bool = False
    right: bool = False


class Sawn:
    """What a saw makes of lengths: each cut takes a kerf. Methods ask for what is taken, and need not know of it."""

    __slots__ = ()
    kerf: int

    def taken(self, length: N, pieces: int = 1) -> N:
        """Return what pieces that are so long together take of a stick, each with the cut after it.

        A stick's last piece needs no cut, so a stick holds pieces that take no more than ``taken(stick.length)``.
        """
        return length + self.kerf * pieces

    def given(self, room: N) -> N:
        """Return the longest piece that takes no more than ``room``."""
        return room - self.kerf


@dataclass(frozen=True, slots=True)
class CuttingProblem(Sawn):
    """Cut every piece from the sticks at least cost.

    A stick holds pieces if ``sum(length) + kerf * (pieces - 1) <= stick.length``. It yields at most one
    piece that needs its left end and one that needs its right; a piece that needs both is a whole stick
    of exactly its length, cut nowhere. What is left of a stick is ``max(0, length - sum - kerf * pieces)``
    and is kept when it is at least ``keep_from``.
    """

    sticks: tuple[Stick, ...]
    pieces: tuple[Piece, ...]
    kerf: int = 0
    keep_from: int = 0

    def cost(self, pattern: Pattern) -> int:
        """Return what one stick cut so costs: that of the stick, whatever is cut from it."""
        return self.sticks[pattern.stick].cost

    @property
    def least_costs(self) -> tuple[int, ...]:
        """What a stick of each kind costs at the least, whatever is cut from it: what bounds count."""
        return tuple(stick.cost for stick in self.sticks)

    def total(self, uses: Iterable[tuple[Pattern, int]]) -> int:
        """Return what a plan costs."""
        return sum(times * self.cost(pattern) for pattern, times in uses)


@dataclass(frozen=True, slots=True, order=True)
class Pattern:
    """One way to cut one kind of stick: the stick's index and the indices of its pieces, ascending, repeated."""

    stick: int
    pieces: tuple[int, ...]


Uses = dict[Pattern, int]
"""How often each pattern is cut."""


@dataclass(frozen=True, slots=True)
class Duals:
    """A certificate anyone can re-derive: piece ``i`` is worth ``values[i] / scale`` units of cost.

    No pattern of stick ``k`` that holds a piece no more often than it is wanted is worth more than
    ``best_k``, so any plan costs at least
    ``sum(demand * value) - sum(limit_k * max(0, best_k - scale * cost_k))`` over ``scale``.
    Where a stick without limit has ``best_k > scale * cost_k`` the certificate proves nothing.

    ``further`` are more such values: numbers of sticks that cost less than the bound are worth less than all pieces
    by one of these sets or another.
    """

    scale: int
    values: tuple[int, ...]
    further: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Search:
    """The bound was reached by exhaustive search; ``text`` says of what, and what makes it safe."""

    text: str


@dataclass(frozen=True, slots=True)
class Cutting:
    """An answer: how often each pattern is cut, what could not be cut, its cost, and a lower bound on any cost.

    ``cost`` and ``bound`` are in the problem's cost units and speak of plans that leave the least total
    length uncut; ``uncut`` counts pieces by index. ``least_uncut`` is False where the stop struck before
    it was shown that no plan leaves less length uncut; then ``bound`` is 0. ``exhausted``: every method was
    applied to its end.
    ``proven`` is ``cost == bound and least_uncut``.
    """

    uses: tuple[tuple[Pattern, int], ...]
    uncut: tuple[int, ...]
    cost: int
    bound: int
    proof: Duals | Search
    least_uncut: bool = True
    exhausted: bool = False

    @property
    def proven(self) -> bool:
        """Whether no plan leaves less uncut, and none that leaves as little costs less."""
        return self.least_uncut and self.cost == self.bound
