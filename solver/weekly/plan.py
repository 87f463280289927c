"""The answer to a week: a cut plan for each day, what is carried, what is ordered, and how it compares."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from solver.job import Job
from solver.materials import FactoryEnd, Offcut
from solver.plan import CutPlan, OrderLine, total_of, unpriced_in
from solver.proof import SEARCHED, Basis, DatedValues, Proof
from solver.weekly.week import Done, Kept, Report, Sticks


@dataclass(frozen=True, slots=True)
class Origin:
    """Where an item of a day's job comes from: the week's job and the item's place in it."""

    job: str
    item: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOffcut:
    """What a stick of a day leaves to keep: the label to write on it, and the day it is wanted again, if any."""

    label: str
    material: str
    stick: str
    length: int
    factory_end: FactoryEnd
    wanted: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan:
    """One day's sheet: all its jobs as one, how they are cut, and what is kept. ``frozen`` may not change any more.

    The job's offcuts are those brought that day: from the rack, or left by an earlier day and known by label.
    """

    date: date
    job: Job
    origins: tuple[Origin, ...]
    plan: CutPlan
    kept: tuple[KeptOffcut, ...]
    frozen: bool = False

    def as_planned(self) -> Report:
        """Return the report of a day on which everything was cut as on the sheet."""
        left, sticks, used = Counter[int](), Counter[tuple[str, str]](), list[str]()
        for entry in self.plan.not_cut:
            left[entry.item] += entry.quantity
        for part in self.plan.materials:
            for use, stick in part.sticks():
                if use.stock is not None:
                    sticks[part.material, use.stock] += 1
                if stick.offcut_id:
                    used.append(stick.offcut_id)
        done = (
            Done(origin.job, origin.item, pieces)
            for place, (origin, required) in enumerate(zip(self.origins, self.job.required, strict=True))
            if (pieces := required.pieces - left[place])
        )
        kept = (
            Kept(Offcut(one.label, one.material, one.length, 1, one.factory_end), in_van=one.wanted is not None)
            for one in self.kept
        )
        return Report(
            self.date,
            tuple(done),
            tuple(Sticks(material, stock, count) for (material, stock), count in sticks.items()),
            tuple(used),
            tuple(kept),
        )


@dataclass(frozen=True, slots=True)
class DeliveryOrder:
    """What one delivery brings; ``closed`` where it can't be changed any more."""

    date: date
    lines: tuple[OrderLine, ...]
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Figures:
    """Sticks that are bought and what they cost: money, or ticks of length where the material has no prices."""

    sticks: int
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Compared:
    """One material: its jobs planned alone, the pooled plan, and what no plan can go below (None: not known).

    All three speak of what can still be planned: sticks already delivered count nothing. What is sold by rules costs
    what it is billed, spares and all; planned alone, what each job by itself would be. The bound rests on ``proof``:
    values are of pieces whatever day they are cut on.
    """

    material: str
    priced: bool
    alone: Figures
    pooled: Figures
    bound: Figures | None
    proof: Proof = SEARCHED

    @property
    def proven(self) -> bool:
        """Whether no plan of the material costs less."""
        return self.bound is not None and self.pooled.cost == self.bound.cost


@dataclass(frozen=True, slots=True)
class Missing:
    """Pieces of a job that no stick is left for."""

    job: str
    item: int
    mark: str
    quantity: int
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPlan:
    """The whole answer.

    ``carried`` counts offcuts taken along to a later day, ``nights`` those in the van in the night after each day
    from Monday, and ``changes`` the sticks of the announced sheets that are cut otherwise now. ``bound`` is what
    the bill of no plan of the week is less than, in the van that there is; None where it is not known. ``to_buy``
    would do for what is ``missing``. ``bound`` rests on the proofs of the materials' bounds, or on ``dated`` values of
    pieces of all of them; ``basis`` is what of that the checker has worked out again.
    """

    crew: str
    week: str
    days: tuple[DayPlan, ...]
    orders: tuple[DeliveryOrder, ...]
    compared: tuple[Compared, ...]
    missing: tuple[Missing, ...]
    nights: tuple[int, ...]
    carried: int
    changes: int
    notes: tuple[str, ...] = ()
    bound: Decimal | None = None
    to_buy: tuple[OrderLine, ...] = ()
    dated: DatedValues | None = None
    basis: Basis = Basis.SEARCHED

    @property
    def cost(self) -> Decimal:
        """What the new sticks of priced materials cost: without spares, or, sold by rules, what they are billed."""
        return sum((entry.pooled.cost for entry in self.compared if entry.priced), Decimal(0))

    @property
    def bill(self) -> Decimal | None:
        """What the week's orders come to; None where anything on them has no price."""
        return total_of([line for order in self.orders for line in order.lines])

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The materials on the week's orders that have no price."""
        return unpriced_in(line for order in self.orders for line in order.lines)

    @property
    def proven(self) -> bool:
        """Whether nothing is missing, and no plan of the week costs less: the bill, or each material without prices."""
        each = all(entry.proven for entry in self.compared)
        return not self.missing and (each if self.bound is None else self.bound == self.bill)
