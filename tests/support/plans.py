"""Right plans made by hand for the shed and its variants, small enough to check with a pencil."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from solver.checking import check
from solver.job import Job
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, CutPlan, LeftOver, MaterialPlan, NotCut, OrderLine, PatternUse, StoppedBy
from solver.proof import PieceValue, Proof
from solver.required import End, Meets, Required
from solver.sticks import PlacedPiece, StickUse
from tests import scenario
from tests.scenario import inches

ITEM = {"A": 0, "B": 1, "C": 2}
LENGTH = {"A": inches(115), "B": inches(50), "C": inches("34.5")}


@dataclass
class Saw:
    """Deals piece and stick numbers in order while patterns are written down."""

    lengths: dict[str, int] = field(default_factory=lambda: dict(LENGTH))
    kerf: int = 0
    numbers: dict[str, int] = field(default_factory=lambda: dict.fromkeys(ITEM, 0))
    stick: int = 0

    def cut(
        self,
        count: int,
        marks: str,
        *,
        stock: str | None = "12-6",
        length: int = inches(150),
        offcut: str | None = None,
    ) -> PatternUse:
        """Cut ``marks`` from the left of ``count`` sticks; what is left lies at the right."""
        used = sum(self.lengths[mark] for mark in marks)
        left = max(0, length - used - self.kerf * len(marks))
        exact = length == used + self.kerf * (len(marks) - 1)
        ends = FactoryEnd.BOTH if stock else FactoryEnd.LEFT
        cuts = tuple(
            Cut(
                self.lengths[mark],
                CutEnd.FACTORY if index == 0 else CutEnd.FIELD,
                CutEnd.FACTORY if exact and index == len(marks) - 1 else CutEnd.FIELD,
            )
            for index, mark in enumerate(marks)
        )
        end = FactoryEnd.RIGHT if left and ends.has_right else FactoryEnd.NONE
        left_over = LeftOver(left, left >= inches(36), end, len(marks))
        sticks = tuple(StickUse(self._name(), offcut, tuple(map(self._piece, marks))) for _ in range(count))
        return PatternUse(stock, length, ends, cuts, left_over, sticks)

    def _name(self) -> str:
        self.stick += 1
        return f"S{self.stick}"

    def _piece(self, mark: str) -> PlacedPiece:
        self.numbers[mark] += 1
        return PlacedPiece(ITEM[mark], mark, None, self.numbers[mark])


def worth(**values: int) -> tuple[PieceValue, ...]:
    """Return a certificate: what one A, B and C is worth."""
    return tuple(value_of(LENGTH[mark], value, left=mark == "A") for mark, value in values.items())


def value_of(length: int, value: int, *, left: bool = False, right: bool = False) -> PieceValue:
    """Return what one piece of this length and these ends is worth."""
    return PieceValue(length, left, right, value)


def line(stock: str, length: int, sticks: int, price: str, amount: str, **other: int) -> OrderLine:
    """Return an order line of loose sticks unless ``cartons`` and ``loose`` say otherwise."""
    counts = {"spares": 0, "cartons": 0, "loose": sticks} | other
    money = {"unit_price": Decimal(price), "amount": Decimal(amount)}
    return OrderLine("panel-sand", stock, length, None, sticks, **counts, **money)  # type: ignore[arg-type]


def answer(
    job: Job,
    patterns: Sequence[PatternUse],
    order: Sequence[OrderLine],
    cost: int,
    proof: Proof,
    *,
    step: str = "0.20",
    not_cut: tuple[NotCut, ...] = (),
) -> CutPlan:
    """Return a proven plan of ``cost`` steps of 0.20 (what 9.80 and 12.00 are whole multiples of)."""
    material = job.materials[0]
    part = MaterialPlan(
        material=material.id,
        settings=material.settings,
        priced=material.priced,
        cost_step=Decimal(step),
        cost=cost,
        bound=cost,
        least_uncut=True,
        proof=proof,
        stopped_by=StoppedBy.PROOF,
        patterns=tuple(patterns),
    )
    return CutPlan((part,), not_cut, tuple(order), (), ())


SIX_PANELS = Proof("duals", 1, worth(A=49, B=17, C=0))
"""In steps of 0.20 a panel costs 49. An A is worth a whole panel (49, nothing but a C goes with it), a B 17: V = 298.
A panel is worth at most 51 (three B), so five are worth 255 and six are needed."""


def shed() -> CutPlan:
    """Four panels of A + C, two of three B: 6 x 9.80 = 58.80."""
    saw = Saw()
    patterns = saw.cut(4, "AC"), saw.cut(2, "BBB")
    return answer(scenario.shed(), patterns, [line("12-6", inches(150), 6, "9.80", "58.80")], 294, SIX_PANELS)


def with_kerf() -> CutPlan:
    """Four panels of A + C, three of two B: 7 x 9.80 = 68.60. A B is worth half a panel (V = 4 x 2 + 6 = 14)."""
    saw = Saw(kerf=inches("0.125"))
    patterns = saw.cut(4, "AC"), saw.cut(3, "BB")
    order = [line("12-6", inches(150), 7, "9.80", "68.60")]
    return answer(scenario.with_kerf(), patterns, order, 343, Proof("duals", 1, worth(A=2, B=1)))


def with_offcuts() -> CutPlan:
    """Three B from the offcuts, four panels of A + C, one of three B: 5 x 9.80.

    With A worth 3 and B 1, V = 18; the offcuts give 3, so the panels (3 each) must give 15.
    """
    saw = Saw()
    offcuts = saw.cut(3, "B", stock=None, length=inches("61.5"), offcut="R-17")
    patterns = saw.cut(4, "AC"), saw.cut(1, "BBB"), offcuts
    order = [line("12-6", inches(150), 5, "9.80", "49.00")]
    return answer(scenario.with_offcuts(), patterns, order, 245, Proof("duals", 1, worth(A=3, B=1)))


def with_two_lengths() -> CutPlan:
    """Three long panels of A + B + C, a short one of A + C and one of three B: 3 x 12.00 + 2 x 9.80 = 55.60.

    By length (half inches) V = 1796, and nothing cheaper than 55.60 is that long.
    """
    saw = Saw()
    long = saw.cut(3, "ABC", stock="16-8", length=inches(200))
    patterns = long, saw.cut(1, "AC"), saw.cut(1, "BBB")
    order = [
        line("12-6", inches(150), 2, "9.80", "19.60"),
        line("16-8", inches(200), 3, "12.00", "36.00"),
    ]
    return answer(scenario.with_two_lengths(), patterns, order, 278, Proof("duals", 1, worth(A=242, B=100, C=57)))


def with_limited_stock() -> CutPlan:
    """Five panels: three of A + C, two of three B; an A and a C stay uncut."""
    saw = Saw()
    patterns = saw.cut(3, "AC"), saw.cut(2, "BBB")
    not_cut = tuple(NotCut(ITEM[mark], mark, 1, "stock_exhausted", "five panels are all there is") for mark in "AC")
    order = [line("12-6", inches(150), 5, "9.80", "49.00")]
    proof = Proof("search", text="every choice of what to leave uncut")
    return answer(scenario.with_limited_stock(), patterns, order, 245, proof, not_cut=not_cut)


def with_spares() -> CutPlan:
    """The six panels of the shed and one spare: 68.60."""
    order = line("12-6", inches(150), 6, "9.80", "68.60", spares=1, loose=7)
    return _reordered(shed(), scenario.with_spares(), order)


def with_cartons() -> CutPlan:
    """The six panels of the shed in two cartons of four: 78.40."""
    order = line("12-6", inches(150), 6, "9.80", "78.40", spares=2, cartons=2, loose=0)
    return with_part(_reordered(shed(), scenario.with_cartons(), order), cost=392, bound=392)


def with_metric() -> CutPlan:
    """The shed with C of 724 mm: the same six panels."""
    saw = Saw(LENGTH | {"C": 724 * scenario.MILLIMETRE})
    patterns = saw.cut(4, "AC"), saw.cut(2, "BBB")
    return answer(scenario.with_metric(), patterns, [line("12-6", inches(150), 6, "9.80", "58.80")], 294, SIX_PANELS)


def without_prices() -> CutPlan:
    """The shed where cost is length: six panels of 150 in."""
    unpriced = replace(shed().order[0], unit_price=None, amount=None)
    return answer(scenario.without_prices(), shed().materials[0].patterns, [unpriced], 6, SIX_PANELS, step="1219200")


def _reordered(plan: CutPlan, job: Job, order: OrderLine) -> CutPlan:
    part = replace(plan.materials[0], settings=job.materials[0].settings)
    return replace(plan, materials=(part,), order=(order,))


def one_by_one(job: Job, first: int) -> CutPlan:
    """A job of four, six and four: each A on its own panel cut at ``first``, three panels of two B, one of four C."""
    saw = Saw(LENGTH | {"A": first})
    patterns = saw.cut(4, "A"), saw.cut(2, "BBB"), saw.cut(1, "CCCC")
    order = [line("12-6", inches(150), 7, "9.80", "68.60")]
    plan = answer(job, patterns, order, 343, Proof("search", text="not at all"))
    return replace(plan, materials=(replace(plan.materials[0], bound=0),))


def with_room_for_one_more() -> CutPlan:
    """Five panels of which one holds two B where three fit, and a B declared uncut for want of stock."""
    saw = Saw()
    patterns = saw.cut(3, "AC"), saw.cut(1, "BBB"), saw.cut(1, "BB")
    marks = {"A": 1, "B": 1, "C": 1}
    not_cut = tuple(NotCut(ITEM[mark], mark, count, "stock_exhausted", "") for mark, count in marks.items())
    order = [line("12-6", inches(150), 5, "9.80", "49.00")]
    return answer(scenario.with_limited_stock(), patterns, order, 245, Proof("search"), not_cut=not_cut)


def whole_panel(length: int) -> tuple[Job, CutPlan]:
    """One stretch lapped at both ends, cut from one panel as if its ends did not matter."""
    lap = End(Meets.LAP)
    job = replace(scenario.shed(), required=(Required("A", "panel-sand", length, 1, lap, lap),))
    patterns = (Saw(LENGTH | {"A": length + inches(2)}).cut(1, "A"),)
    order = [line("12-6", inches(150), 1, "9.80", "9.80")]
    proof = Proof("duals", 1, (value_of(length + inches(2), 1, left=True, right=True),))
    return job, answer(job, patterns, order, 49, proof)


def with_room(plan: CutPlan, room: int) -> CutPlan:
    """The plan of one piece that fills its panel with ``room`` beside it, both ends called factory ends."""
    use = plan.materials[0].patterns[0]
    cut = replace(use.cuts[0], room=room, left=CutEnd.FACTORY, right=CutEnd.FACTORY)
    left = replace(use.left_over, length=0, factory_end=FactoryEnd.NONE)
    part = replace(plan.materials[0], patterns=(replace(use, cuts=(cut,), left_over=left),))
    return replace(plan, materials=(part,))


def nothing_cut(job: Job, code: str) -> CutPlan:
    """All of the first item declared uncut."""
    item = job.required[0]
    return answer(job, (), (), 0, Proof("search"), not_cut=(NotCut(0, item.mark, item.quantity, code, ""),))


def six_lapped_left() -> tuple[Job, CutPlan]:
    """Six stretches of 59 in lapped at the left, one a panel."""
    item = replace(scenario.A, length=inches(59), quantity=6)
    job = replace(scenario.shed(), required=(item,))
    patterns = (Saw(LENGTH | {"A": inches(60)}).cut(6, "A"),)
    order = [line("12-6", inches(150), 6, "9.80", "58.80")]
    return job, answer(job, patterns, order, 294, Proof("duals", 1, (value_of(inches(60), 1, left=True),)))


def two_materials() -> tuple[Job, CutPlan]:
    """The shed, and one B of another material from a panel of its own, the seventh stick."""
    clay = replace(scenario.PANEL, id="panel-clay")
    item = replace(scenario.B, material="panel-clay", quantity=1)
    job = scenario.shed()
    job = replace(job, materials=(*job.materials, clay), required=(*job.required, item))
    saw = Saw(stick=6)
    cut = saw.cut(1, "B")
    piece = PlacedPiece(3, "B", None, 1)
    pattern = replace(cut, sticks=(replace(cut.sticks[0], pieces=(piece,)),))
    proof = Proof("duals", 1, (value_of(LENGTH["B"], 1),))
    second = replace(shed().materials[0], material="panel-clay", cost=49, bound=49, proof=proof, patterns=(pattern,))
    order = replace(line("12-6", inches(150), 1, "9.80", "9.80"), material="panel-clay")
    return job, replace(shed(), materials=(*shed().materials, second), order=(*shed().order, order))


def two_lengths_with_a_spare() -> tuple[Job, CutPlan, CutPlan]:
    """Two lengths and five percent spare: with the spare on the long panels (right), and on the short ones (wrong)."""
    settings = replace(scenario.PANEL.settings, spare_percent=Decimal(5))
    job = scenario.with_panel(settings=settings, stock=(scenario.PANEL_12_6, scenario.PANEL_16_8))
    plan = with_two_lengths()
    plan = replace(plan, materials=(replace(plan.materials[0], settings=settings),))
    short, long = plan.order
    more_long = replace(long, spares=1, loose=4, amount=Decimal("48.00"))
    more_short = replace(short, spares=1, loose=3, amount=Decimal("29.40"))
    return job, replace(plan, order=(short, more_long)), replace(plan, order=(more_short, long))


def carton_and_loose() -> tuple[Job, CutPlan]:
    """Six panels where a carton of four is 36.00: one carton and two loose, 55.60."""
    stock = replace(scenario.PANEL_12_6, carton=4, carton_price=Decimal("36.00"))
    order = line("12-6", inches(150), 6, "9.80", "55.60", cartons=1, loose=2)
    return scenario.with_panel(stock=(stock,)), with_part(replace(shed(), order=(order,)), cost=278, bound=278)


def codes(job: Job, plan: CutPlan) -> set[str]:
    """Return the codes of what the checker finds."""
    return {fault.code for fault in check(job, plan)}


def with_part(plan: CutPlan, **changes: object) -> CutPlan:
    """Return the plan with its one material's plan changed."""
    return replace(plan, materials=(replace(plan.materials[0], **changes),))  # type: ignore[arg-type]
