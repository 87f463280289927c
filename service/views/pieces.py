"""Every piece of a plan by itself: what it is called, what it is, which stick it comes from, and where it goes."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from itertools import accumulate
from typing import Generic, TypeVar, overload

from service.drawing.layout import shapes_of
from service.drawing.lettering import Tags, clean
from service.views.facts import factory_ends, material_of
from service.views.written import quoted
from solver.categories import LapEnds
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import CutEnd, CutPlan, MaterialPlan, PatternUse
from solver.required import LONGEST_NAME, Required
from solver.sticks import StickRun, runs_of

_FACTORY = CutEnd.FACTORY
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece. ``id`` is its stick and which cut of it; ``where`` says in words where it goes.

    ``words`` is what the customer wrote of it; ``ends`` says which of its ends are factory ends, where that matters;
    ``from_right`` that it is measured from the right end of its stick, beyond what is left over; ``longest`` is the
    longest length that is cut from its stick, and ``kept`` what is kept of that, told with the last of its pieces.
    """

    id: str
    name: str
    material: str
    length: int
    stick: str
    stick_length: int
    cut: int
    wall: str | None
    course: int | None
    where: str
    words: str
    shape: tuple[str, ...]
    ends: str
    from_right: bool
    longest: int
    kept: int

    @property
    def is_named_by_place(self) -> bool:
        """Whether its name says already where it goes: wall, course, and which from the left."""
        return self.wall is not None and self.course is not None


@dataclass(frozen=True, slots=True)
class KeptOffcut:
    """What is left of a stick and kept: its name in addresses, and what is to be known of it to use it."""

    id: str
    material: str
    length: int
    stick: str
    ends: str


class Lots(Sequence[T], Generic[T]):
    """Lots of things, one behind the other, each told by how many it has and how any of them is made when looked at."""

    def __init__(self, lots: Iterable[tuple[int, Callable[[int], T]]]) -> None:
        self._lots = tuple(lots)
        self.firsts = tuple(accumulate((count for count, _ in self._lots), initial=0))

    def __len__(self) -> int:
        return self.firsts[-1]

    @overload
    def __getitem__(self, index: int) -> T: ...

    @overload
    def __getitem__(self, index: slice) -> list[T]: ...

    def __getitem__(self, index: int | slice) -> T | list[T]:
        if isinstance(index, slice):
            return [self[place] for place in range(*index.indices(len(self)))]
        place = range(len(self))[index]
        lot = bisect_right(self.firsts, place) - 1
        return self._lots[lot][1](place - self.firsts[lot])


@dataclass(frozen=True, slots=True)
class Lot:
    """Sticks that follow one another and are cut alike, and the pattern and the material that they are of."""

    part: MaterialPlan
    use: PatternUse
    run: StickRun

    @property
    def count(self) -> int:
        """How many pieces they give."""
        return self.run.count * len(self.run.pieces)


class Pieces(Lots[Piece]):
    """Every piece of a plan, material by material and stick by stick; ``lots`` are their sticks."""

    def __init__(self, job: Job, plan: CutPlan) -> None:
        self._job = job
        self._tags, self._shapes = Tags.of(job, plan), shapes_of(job, plan)
        self.lots = tuple(lot for lot in _lots(plan) if lot.count)
        super().__init__((lot.count, partial(self._piece, lot)) for lot in self.lots)

    def place(self, name: str) -> int | None:
        """Return how many pieces come before the one called so (``piece_id``), None where there is none."""
        stick, _, cut = name.rpartition("-")
        numbers, places = self._by_number
        place = places[max(0, bisect_right(numbers, stick_number(stick)) - 1)] if places else 0
        for lot, first in zip(self.lots[place : place + 1], self.firsts[place:], strict=False):
            n, known = stick_number(stick) - stick_number(lot.run.stick), len(lot.run.pieces)
            if 0 <= n < lot.run.count and lot.run.name(n) == stick and cut in map(str, range(1, known + 1)):
                return first + n * known + int(cut) - 1
        return None

    @cached_property
    def _by_number(self) -> tuple[list[int], list[int]]:
        """The number of the first stick of each lot, in order, and which lot it is."""
        every = sorted((stick_number(lot.run.stick), place) for place, lot in enumerate(self.lots))
        return [number for number, _ in every], [place for _, place in every]

    def _piece(self, lot: Lot, place: int) -> Piece:
        n, before = divmod(place, len(lot.run.pieces))
        piece, made, stick, left = lot.run.piece(n, before), lot.use.cuts[before], lot.run.name(n), lot.use.left_over
        required, shape = self._job.required[piece.item], self._shapes.get((stick, before + 1))
        ends = FactoryEnd.of(left=made.left is _FACTORY, right=made.right is _FACTORY)
        return Piece(
            piece_id(stick, before + 1), self._tags.tag(piece), lot.part.material, made.length, stick,
            lot.use.stock_length, before + 1, required.wall, piece.course, _where(required, piece.course),
            quoted(required), shape.words if shape else (), _ends(self._job, lot.part, ends),
            bool(left.length) and before >= left.after, max(cut.length for cut in lot.use.cuts),
            left.length if left.keep and before + 1 == len(lot.use.cuts) else 0,
        )  # fmt: skip


def stick_number(stick: str) -> int:
    """Return the number in the name of a stick, by which sticks are in order."""
    # an address may hold thousands of digits, which Python makes no number of
    digits = stick[1:LONGEST_NAME]
    return int(digits) if digits.isdecimal() else 0


def _lots(plan: CutPlan) -> Iterator[Lot]:
    for part in plan.materials:
        for use in part.patterns:
            yield from (Lot(part, use, run) for run in runs_of(use.sticks))


def pieces_of(job: Job, plan: CutPlan) -> Pieces:
    """Return every piece of a plan, material by material and stick by stick."""
    return Pieces(job, plan)


def offcuts_of(job: Job, plan: CutPlan) -> Lots[KeptOffcut]:
    """Return every offcut that is kept, stick by stick."""
    return Lots((lot.run.count, partial(_offcut, job, lot)) for lot in _lots(plan) if lot.use.left_over.keep)


def _offcut(job: Job, lot: Lot, n: int) -> KeptOffcut:
    left, stick = lot.use.left_over, lot.run.name(n)
    return KeptOffcut(f"{stick}-keep", lot.part.material, left.length, stick, _ends(job, lot.part, left.factory_end))


def _ends(job: Job, part: MaterialPlan, end: FactoryEnd) -> str:
    settings = material_of(job, part.material).settings
    return "" if settings.lap_ends is LapEnds.ANY else factory_ends(end)


def piece_id(stick: str, cut: int) -> str:
    """Return what a piece is called in addresses and in the record."""
    return f"{stick}-{cut}"


def kept_label(number: str, stick: str) -> str:
    """Return what is written on the offcut that a stick of a plan leaves: its label on the rack."""
    return f"{number}-{stick}"


def _where(required: Required, course: int | None) -> str:
    wall = f"wall {clean(required.wall)}" if required.wall else ""
    row = f"course {course}" if course is not None else ""
    return ", ".join(filter(None, [wall, row, clean(required.ref or "")]))
