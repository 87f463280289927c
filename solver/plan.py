"""The answer: which piece comes out of which stick, how the runs lie, what it costs, and how good it is.

All lengths are ticks. Costs are whole numbers of ``MaterialPlan.cost_step``: money where stock has
prices, else ticks of length.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from solver.categories import Settings
from solver.job import Notice
from solver.materials import FactoryEnd
from solver.proof import Proof
from solver.runs import Looks, Run
from solver.sticks import StickUse, alike


class CutEnd(StrEnum):
    """How one end of a cut piece came about."""

    FACTORY = "factory"
    FIELD = "field"


class StoppedBy(StrEnum):
    """What ended the solving. ``effort``: all the counted work for such a list was done; more time changes nothing."""

    PROOF = "proof"
    EFFORT = "effort"
    TIME = "time"
    CANCEL = "cancel"

    @classmethod
    def of(cls, *, proven: bool, exhausted: bool, cancelled: bool) -> StoppedBy:
        """Return what ended it; ``exhausted``: all that was to be tried had been, before anybody said stop."""
        if proven:
            return cls.PROOF
        return cls.EFFORT if exhausted else cls.CANCEL if cancelled else cls.TIME


@dataclass(frozen=True, slots=True)
class Cut:
    """One piece in a pattern, and which of its ends are the stick's factory ends."""

    length: int
    left: CutEnd
    right: CutEnd
    room: int = 0


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What is left of a stick; ``after`` counts the cuts that lie to its left.

    A remainder no wider than the kerf leaves nothing, but it is still trimmed off at ``after``:
    the piece beside it there has a field end.
    """

    length: int
    keep: bool
    factory_end: FactoryEnd
    after: int


@dataclass(frozen=True, slots=True)
class PatternUse:
    """So many sticks cut alike, cuts from the left end; ``stock`` is None where they are offcuts on hand."""

    stock: str | None
    stock_length: int
    factory_end: FactoryEnd
    cuts: tuple[Cut, ...]
    left_over: LeftOver
    sticks: Sequence[StickUse]

    @property
    def count(self) -> int:
        """How many sticks are cut so."""
        return len(self.sticks)


@dataclass(frozen=True, slots=True, kw_only=True)
class FewestLaps:
    """The best plan found of no run with more laps than it needs, where the plan itself has more.

    It has so many ``laps``, buys so many ``sticks`` at ``cost`` (in the plan's ``cost_step``) and breaks so many rules;
    these are None where none was found that cuts as much. ``stopped_by`` says what ended the search for it: after
    ``proof`` none costs less or breaks fewer.
    """

    laps: int
    stopped_by: StoppedBy
    sticks: int | None = None
    cost: int | None = None
    broken: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """What counts beside the order of a material: the buyer's own reckoning, in no invoice. Decimal money.

    ``patterns`` are those that take a cut. ``kept_value`` is what is kept of sticks, and spare ones whole, less what
    was on hand and is used up.
    """

    cuts: int
    patterns: int
    cut_cost: Decimal
    pattern_cost: Decimal
    kept_value: Decimal

    @property
    def total(self) -> Decimal:
        """What it adds to what is ordered; below 0 where more is kept than cutting costs."""
        return self.cut_cost + self.pattern_cost - self.kept_value


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialPlan:
    """The plan of one material: its patterns in order, its runs, cost and bound in ``cost_step``, and the proof.

    Cost and bound are those of the sticks; ``lap_cost`` is what the laps counted beside them, in money. ``fewest``
    is None where no run has more laps than it needs. ``looks`` are counted where its pieces are for walls.
    Where cutting or offcuts count, ``reckoning`` says what they come to, which is in ``cost`` and ``bound`` too.
    """

    material: str
    settings: Settings
    priced: bool
    cost_step: Decimal
    cost: int
    bound: int
    least_uncut: bool
    proof: Proof
    stopped_by: StoppedBy
    patterns: tuple[PatternUse, ...]
    runs: tuple[Run, ...] = ()
    lap_cost: Decimal = Decimal(0)
    looks: Looks | None = None
    fewest: FewestLaps | None = None
    reckoning: Reckoning | None = None

    @property
    def proven(self) -> bool:
        """Whether no plan can cost less."""
        return self.least_uncut and self.cost == self.bound

    @property
    def new_sticks(self) -> int:
        """How many sticks are bought."""
        return sum(use.count for use in self.patterns if use.stock is not None)

    @property
    def bought_length(self) -> int:
        """Total length of sticks bought, in ticks."""
        return sum(use.count * use.stock_length for use in self.patterns if use.stock is not None)

    @property
    def offcut_length(self) -> int:
        """Total length of offcuts on hand that are used, in ticks."""
        return sum(use.count * use.stock_length for use in self.patterns if use.stock is None)

    @property
    def used_length(self) -> int:
        """Total length of the pieces cut, in ticks."""
        return sum(use.count * cut.length for use in self.patterns for cut in use.cuts)

    @property
    def kept_length(self) -> int:
        """Total length of left-overs to keep, in ticks."""
        return sum(use.count * use.left_over.length for use in self.patterns if use.left_over.keep)

    @property
    def scrap_length(self) -> int:
        """Length consumed that is neither a piece nor kept, in ticks."""
        return self.bought_length + self.offcut_length - self.used_length - self.kept_length

    def sticks(self) -> Iterator[tuple[PatternUse, StickUse]]:
        """Yield every stick with its pattern, in order."""
        return ((use, stick) for use in self.patterns for stick in use.sticks)

    def alike(self) -> Iterator[tuple[PatternUse, StickUse, int]]:
        """Yield some sticks with their pattern, and for how many each stands: those give the same items."""
        return ((use, stick, count) for use in self.patterns for stick, count in alike(use.sticks))


@dataclass(frozen=True, slots=True)
class Enough:
    """So many more sticks of a stock length would give pieces that stay uncut, these alone."""

    stock: str
    sticks: int


@dataclass(frozen=True, slots=True)
class NotCut:
    """Pieces that can't be cut from these lengths, and why; ``enough`` is what more stock would give them, if any."""

    item: int
    mark: str
    quantity: int
    code: str
    detail: str
    enough: Enough | None = None


@dataclass(frozen=True, slots=True)
class OrderLine:
    """What to order of one stock length: sticks needed and spares, as whole cartons and loose sticks.

    ``spares`` are all sticks bought that are not cut. ``unit_price`` is that of a stick when so many are bought.
    ``amount`` is decimal money or None where the stock has no price; ``fixed_cost`` comes on top.
    It comes ``wait_days`` after it is ordered.
    """

    material: str
    stock: str
    length: int
    code: str | None
    sticks: int
    spares: int
    cartons: int
    loose: int
    unit_price: Decimal | None
    amount: Decimal | None
    fixed_cost: Decimal = Decimal(0)
    supplier: str = ""
    wait_days: int = 0

    @property
    def carton_price(self) -> Decimal | None:
        """What each carton costs when so many are bought; None where none is bought, or nothing has a price."""
        if not self.cartons or self.amount is None or self.unit_price is None:
            return None
        return (self.amount - self.loose * self.unit_price) / self.cartons


@dataclass(frozen=True, slots=True)
class Bill:
    """What an order of priced materials comes to, and what no order comes to less than.

    It is that of one ``supplier``, or of all together. ``goods`` are what sticks and cartons cost, ``fixed_costs`` come
    once a length, ``order_cost`` and ``delivery`` once an order, ``small_order`` is charged because
    the goods are below the minimum. ``own`` is the buyer's own reckoning (``Reckoning``), which is in
    the bound and not in the total. All decimal money.
    """

    goods: Decimal
    fixed_costs: Decimal
    small_order: Decimal
    bound: Decimal
    own: Decimal = Decimal(0)
    order_cost: Decimal = Decimal(0)
    delivery: Decimal = Decimal(0)
    supplier: str = ""

    @classmethod
    def of_all(cls, bills: Iterable[Bill]) -> Bill:
        """Return what several orders come to together."""
        bills = tuple(bills)
        names = "goods", "fixed_costs", "small_order", "bound", "own", "order_cost", "delivery"
        sums: list[Decimal] = [sum((getattr(bill, name) for bill in bills), Decimal(0)) for name in names]
        goods, fixed, small, bound, own, order_cost, delivery = sums
        return cls(goods, fixed, small, bound, own, order_cost, delivery)

    @property
    def charges(self) -> Decimal:
        """What the order comes to beside its lines."""
        return self.small_order + self.order_cost + self.delivery

    @property
    def total(self) -> Decimal:
        """What the supplier charges."""
        return self.goods + self.fixed_costs + self.charges

    @property
    def proven(self) -> bool:
        """Whether no order can come to less."""
        return self.total + self.own == self.bound


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The whole answer to a job, as checked and stored.

    ``bill`` where an order can come to more than its lines; ``bills`` are then those of each supplier, if any is named.
    """

    materials: tuple[MaterialPlan, ...]
    not_cut: tuple[NotCut, ...]
    order: tuple[OrderLine, ...]
    warnings: tuple[Notice, ...]
    cautions: tuple[str, ...]
    bill: Bill | None = None
    bills: tuple[Bill, ...] = ()

    @property
    def stopped_by(self) -> StoppedBy:
        """What ended the solving of the whole job."""
        reasons = {plan.stopped_by for plan in self.materials}
        return next((reason for reason in reversed(StoppedBy) if reason in reasons), StoppedBy.PROOF)

    @property
    def order_total(self) -> Decimal | None:
        """What the order comes to; None where anything on it has no price, 0 where all has and nothing is bought."""
        total = total_of(self.order) if self.order or all(part.priced for part in self.materials) else None
        return total + self.bill.charges if total is not None and self.bill else total

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The materials on the order that have no price."""
        return unpriced_in(self.order)


def total_of(lines: Sequence[OrderLine]) -> Decimal | None:
    """Return what lines of an order come to; None where one of them has no price, for any sum would be too low."""
    amounts = [line.amount + line.fixed_cost for line in lines if line.amount is not None]
    return sum(amounts, Decimal(0)) if len(amounts) == len(lines) else None


def unpriced_in(lines: Iterable[OrderLine]) -> tuple[str, ...]:
    """Return the materials of lines without a price, each once."""
    return tuple(dict.fromkeys(line.material for line in lines if line.amount is None))
