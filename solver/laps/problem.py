"""Runs to be covered together with the cutting, and the plan that covers them: integers in, integers out.

Every length is in ticks. The plan speaks of kinds of pieces as ``solver.cutting`` does, so that whatever
lays out a pattern of ordinary pieces lays out these sticks as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from sys import maxsize

from solver.buying.bill import Purchase, cheapest
from solver.buying.terms import Terms
from solver.categories import LapEnds
from solver.cutting.problem import Piece, Sawn, Search
from solver.required import Meets, Side
from solver.runs import BreachCode

Standing = tuple[int, int]
"""How many rules a plan breaks, and what it costs, the price of its laps included."""
WORST: Standing = (maxsize, maxsize)
"""Beside this every draft is carried to the last stick."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LapStick:
    """One kind of stick: what ``solver.cutting.problem.Stick`` says, and the lap and end gap that it asks of a run.

    No piece of a run comes from one that is not ``lapped``.
    """

    length: int
    cost: int
    limit: int | None
    left: bool
    right: bool
    lap: int
    end_gap: int
    lapped: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class LapRun:
    """One course of one item, longer than any stick.

    ``item`` is its place in the job, ``copy`` counts the item's quantity from 0. ``length`` is measured,
    ``keep_clear`` are the open stretches (along the wall) of this very course, and ``viewed_from`` the wall's.
    Placement rules hold between the runs of one ``wall``; a run without wall has no neighbours. ``turn`` says when it
    is hung, the lower the sooner.
    """

    item: int
    length: int
    left: Meets = Meets.CHANNEL
    right: Meets = Meets.CHANNEL
    wall: str | None = None
    course: int | None = None
    start: int = 0
    keep_clear: tuple[tuple[int, int], ...] = ()
    viewed_from: Side | int | None = None
    copy: int = 0
    turn: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LapRules:
    """The rules of one material; 0 stands where it has no such rule.

    ``lap_price`` is what a lap counts beside the sticks, in their units of cost.
    The last four are about looks: laps nearer than ``near`` look in line, steps up to ``longest_step`` make stairs, a
    lap within ``beside`` of an opening looks squeezed in; laps are moved by multiples of ``nudge`` for looks alone.
    """

    ends: LapEnds
    shortest: int = 0
    spacing: int = 0
    repeat: int = 0
    in_line_within: int = 0
    extra_laps: int = 0
    lap_price: int = 0
    near: int = 0
    longest_step: int = 0
    beside: int = 0
    nudge: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class LapProblem(Sawn):
    """Cover every run and cut every piece from the sticks.

    With ``terms`` the first sticks are the lengths that they are for, those that follow are on hand, and what sticks
    cost is what they are bought for: a stick's own ``cost`` is then the least that it can come to.
    """

    sticks: tuple[LapStick, ...]
    pieces: tuple[Piece, ...]
    runs: tuple[LapRun, ...]
    rules: LapRules
    kerf: int = 0
    keep_from: int = 0
    terms: Terms | None = None

    def cost(self, used: Mapping[int, int]) -> int:
        """Return what so many sticks of each kind cost."""
        if self.terms is not None:
            return self.purchase(self.terms, used).cost
        return sum(self.sticks[kind].cost * count for kind, count in used.items())

    def purchase(self, terms: Terms, used: Mapping[int, int]) -> Purchase:
        """Return how so many sticks of each kind are bought."""
        found = cheapest(terms, [used.get(kind, 0) for kind in range(len(terms.lengths))])
        if found is None:
            raise ValueError("more sticks are cut than can be bought")
        return found

    def had(self, used: Mapping[int, int]) -> tuple[int, ...]:
        """Return how many sticks of each kind there are to cut once so many are paid for: what a carton leaves, too.

        No more than so many, where spares are asked for beside what is cut.
        """
        if self.terms is None or self.terms.spares(1):
            return tuple(used.get(kind, 0) for kind in range(len(self.sticks)))
        bought = self.purchase(self.terms, used).sticks
        return (*bought, *(stick.limit or 0 for stick in self.sticks[len(bought) :]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Breach:
    """One broken rule: ``run`` is the run (of two, the one in the higher course) and ``place`` the lap's position.

    For a short piece ``place`` is its left end. ``other`` is the position of the lap below that is too near.
    ``needed`` and ``got`` are ticks, as ``solver.runs`` has them for each code.
    """

    code: BreachCode
    run: int
    place: int
    needed: int
    got: int
    other: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """How one run is covered: ``kinds`` of its pieces from left to right, and where its laps lie along the wall.

    ``lap`` and ``end_gap`` are the largest of its sticks; ``on_top`` says for each lap which of its two panels
    lies on top, and the other goes on first.
    """

    run: int
    kinds: tuple[int, ...]
    laps_at: tuple[int, ...]
    on_top: tuple[Side, ...]
    lap: int
    end_gap: int


@dataclass(frozen=True, slots=True)
class CutPiece:
    """One piece in a stick: its kind and, where it belongs to a run, the run and its number there from 1."""

    kind: int
    run: int | None = None
    part: int | None = None


@dataclass(frozen=True, slots=True)
class CutStick:
    """One stick that is cut: which kind of stick, and its pieces in ascending kind."""

    stick: int
    pieces: tuple[CutPiece, ...]


@dataclass(frozen=True, slots=True)
class SlotValues:
    """What a piece of a run is worth at one end of sticks of these kinds (``right`` None: anywhere), by its cells.

    ``worth`` are cells, ascending, and what so many are worth: between them the straight line says, rounded down, and
    below the first nothing.
    """

    right: bool | None
    kinds: tuple[int, ...]
    worth: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class ValueSet:
    """One set of values: of slots, of the problem's pieces that need no factory end (None: it does), and of sticks.

    Where ends don't matter an uncut stick is a slot as any other, and no stick has a value.
    """

    slots: tuple[SlotValues, ...]
    pieces: tuple[int | None, ...]
    sticks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SlotDuals:
    """A certificate of the bound that anyone can work out again, on a grid of ``cell`` ticks, in 1 / ``scale``.

    All its sets and length together rule out every number of sticks that costs less (``dual_values``).
    """

    cell: int
    scale: int
    sets: tuple[ValueSet, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LapPlan:
    """The answer.

    ``kinds`` begins with the problem's pieces in their order; kinds of run pieces follow, with the factory ends
    that each must carry and as ``demand`` how many are cut. ``uncut`` counts the problem's pieces by index,
    ``uncut_runs`` names runs. ``cost`` and ``bound`` are in the sticks' units; ``least_uncut`` is False where it
    was not shown that no plan leaves less length uncut, and then ``bound`` is 0. Every plan breaks ``least_broken``
    rules or more. ``stopped`` says that the watch ended the search.
    """

    kinds: tuple[Piece, ...]
    sticks: tuple[CutStick, ...]
    covers: tuple[Cover, ...]
    breaches: tuple[Breach, ...]
    uncut: tuple[int, ...]
    uncut_runs: tuple[int, ...]
    cost: int
    bound: int
    proof: Search | SlotDuals
    least_broken: int
    least_uncut: bool = True
    stopped: bool = False

    def bounded(self, least: int) -> LapPlan:
        """Return it with its bound, where plans that leave and break as little as can be cost ``least`` or more.

        That is below its cost where fewer rules might be broken, for such a plan may cost more.
        """
        most = self.cost if len(self.breaches) <= self.least_broken else max(0, self.cost - 1)
        return replace(self, bound=min(least, most) if self.least_uncut else 0)

    @property
    def lap_count(self) -> int:
        """How many laps its runs have."""
        return sum(len(cover.laps_at) for cover in self.covers)

    @property
    def proven(self) -> bool:
        """Whether no plan leaves less uncut, and none that leaves as little costs less."""
        return self.least_uncut and self.cost == self.bound
