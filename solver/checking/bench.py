"""One material's share of a job and of a plan, laid out side by side for checking, and what is found wrong there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cached_property

from solver.checking.wanted import Wanted, wanted_of
from solver.job import Job
from solver.lengths import say
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.plan import Cut, CutPlan, MaterialPlan, NotCut, PatternUse
from solver.sticks import PlacedPiece, StickUse


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: its code, its place, what was needed and what was found.

    The place is a JSON pointer into the plan as a result has it, or under ``#/required`` into the request.
    """

    code: str
    place: str
    detail: str

    def __str__(self) -> str:
        """Return the fault as a person reads it, on a page or in a terminal."""
        return f"{self.code}, {self.place}: {self.detail}"


def mismatch(needed: object, found: object) -> str:
    """Return the detail of a fault, in one wording everywhere."""
    return f"needed {needed}, found {found}"


def money(amount: Decimal | Fraction) -> str:
    """Return an amount in decimals: two of them, or up to four if it has as many."""
    whole, _, parts = f"{Decimal(Fraction(amount).numerator) / Fraction(amount).denominator:.4f}".partition(".")
    return f"{whole}.{parts.rstrip('0').ljust(2, '0')}"


@dataclass(frozen=True)
class Bench:
    """A material, what is wanted of it, and its plan; ``place`` points at that plan."""

    job: Job
    material: Material
    whole: CutPlan
    plan: MaterialPlan
    place: str

    @cached_property
    def wanted(self) -> dict[int, Wanted]:
        """What the job wants of this material, by item."""
        return wanted_of(self.job, self.material)

    @cached_property
    def offcuts(self) -> dict[str, Offcut]:
        """The offcuts of this material on hand, by id."""
        return {offcut.id: offcut for offcut in self.job.offcuts if offcut.material == self.material.id}

    @cached_property
    def not_cut(self) -> tuple[NotCut, ...]:
        """What the plan declares uncut of this material."""
        return tuple(entry for entry in self.whole.not_cut if entry.item in self.wanted)

    @cached_property
    def by_stick(self) -> dict[str, tuple[PatternUse, StickUse]]:
        """Every stick of this material with its pattern, by the stick's name."""
        return {stick.stick: (use, stick) for use, stick in self.plan.sticks()}

    @cached_property
    def rows(self) -> dict[str, StockLength]:
        """The stock rows of this material, by id."""
        return {row.id: row for row in self.material.stock}

    def say(self, ticks: int) -> str:
        """Return a length as a person would say it in the request's units."""
        return say(ticks, self.job.units)

    def say_all(self, lengths: Iterable[int]) -> str:
        """Return lengths in a row."""
        return ", ".join(map(self.say, lengths)) or "none"

    def cost(self, amount: Fraction) -> str:
        """Return a cost in words: money where the material is priced, else a length of so many ticks."""
        return money(amount) if self.material.priced else self.say(round(amount))

    def steps(self, count: int) -> str:
        """Return a cost that the plan counts in its steps, in words."""
        return self.cost(count * Fraction(self.plan.cost_step))

    def patterns(self) -> Iterator[tuple[str, PatternUse]]:
        """Yield every pattern with its place."""
        for index, use in enumerate(self.plan.patterns):
            yield f"{self.place}/patterns/{index}", use

    def sticks(self) -> Iterator[tuple[str, PatternUse, StickUse]]:
        """Yield every stick with its place and pattern."""
        for place, use in self.patterns():
            for index, stick in enumerate(use.sticks):
                yield f"{place}/sticks/{index}", use, stick

    def served(self) -> Iterator[tuple[str, Cut, PlacedPiece]]:
        """Yield every cut with the piece it serves and that piece's place."""
        for place, use, stick in self.sticks():
            for index, (cut, piece) in enumerate(zip(use.cuts, stick.pieces, strict=False)):
                yield f"{place}/pieces/{index}", cut, piece


def consumed(use: PatternUse) -> int:
    """Return the length that a pattern's pieces and their rooms take up, in ticks."""
    return sum(cut.length + cut.room for cut in use.cuts)


def spare_room(use: PatternUse, kerf: int) -> int:
    """Return what the stick has beyond its pieces and the cuts between them, in ticks; negative if overfull."""
    return use.stock_length - consumed(use) - kerf * (len(use.cuts) - 1)


def true_ends(bench: Bench, use: PatternUse) -> FactoryEnd:
    """Return the factory ends the request gives the stick: both for new stock, as named for an offcut."""
    if use.stock is not None:
        return FactoryEnd.BOTH
    known = (bench.offcuts.get(stick.offcut_id or "") for stick in use.sticks)
    return next((offcut.factory_end for offcut in known if offcut is not None), FactoryEnd.NONE)
