"""Tern Cottage, boat shed: one small job that a reader can check by hand, and its one-feature variants.

Four stretches of 9'-6" lapped at the left (cut 115 in, left end a factory end), six of 50 in and four of
34 1/2 in come out of 150 in panels at 9.80. Each variant changes one thing and says what the answer becomes.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from solver.categories import DEFAULTS, Category
from solver.job import Job, Wall
from solver.lengths import TICKS_PER_INCH, Unit
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.required import CutOut, Edge, End, KeepClear, Meets, Required, Side

MILLIMETRE = 320
"""Ticks in one millimetre: 25.4 mm are an inch of 8128 ticks."""


def inches(value: str | float) -> int:
    """Return ``value`` inches in ticks; raises ValueError if that is no whole number of ticks."""
    ticks = Decimal(str(value)) * TICKS_PER_INCH
    if ticks != int(ticks):
        raise ValueError(f"{value} in is no whole number of ticks")
    return int(ticks)


PANEL_12_6 = StockLength("12-6", inches(150), price=Decimal("9.80"))
PANEL_16_8 = StockLength("16-8", inches(200), price=Decimal("12.00"))
PANEL = Material("panel-sand", Category.SIDING, (PANEL_12_6,), DEFAULTS[Category.SIDING], "double 4 in panel, sand")
A = Required("A", "panel-sand", inches(114), 4, left_end=End(Meets.LAP))
B = Required("B", "panel-sand", inches(50), 6)
C = Required("C", "panel-sand", inches("34.5"), 4)


def shed() -> Job:
    """Four panels give 115 + 34 1/2, two give 3 x 50: six panels, 58.80; 898 in can't come out of five."""
    return Job("Tern Cottage, boat shed", Unit("in"), (PANEL,), (A, B, C))


def with_kerf() -> Job:
    """1/8 in lost in every cut: a panel yields only two of 50, so seven panels, 68.60."""
    return with_panel(settings=replace(PANEL.settings, kerf=inches("0.125")))


def with_offcuts() -> Job:
    """Three offcuts of 61 1/2 on hand give a 50 each: five panels, 49.00."""
    return replace(shed(), offcuts=(Offcut("R-17", "panel-sand", inches("61.5"), 3, FactoryEnd.LEFT),))


def with_two_lengths() -> Job:
    """200 in panels at 12.00 too: three give 115 + 50 + 34 1/2, so three long and two short, 55.60."""
    return with_panel(stock=(PANEL_12_6, PANEL_16_8))


def with_limited_stock() -> Job:
    """Five panels in the yard: one A and one C (149 1/2) stay uncut, less than three B (150)."""
    return with_panel(stock=(replace(PANEL_12_6, available=5),))


def with_spares() -> Job:
    """Five percent spare of six panels, rounded up: one more on the order, which is 68.60."""
    return with_panel(settings=replace(PANEL.settings, spare_percent=Decimal(5)))


def with_cartons() -> Job:
    """Sold only in cartons of four: six panels are two cartons, 78.40."""
    return with_panel(stock=(replace(PANEL_12_6, carton=4, singles=False),))


def with_metric() -> Job:
    """B given as 1270 mm (50 in) and C as 724 mm (28.504 in): still six panels, nothing rounded."""
    metric = replace(B, length=1270 * MILLIMETRE), replace(C, length=724 * MILLIMETRE)
    return replace(shed(), required=(A, *metric))


def without_prices() -> Job:
    """No price on the stock: the cost is the length bought, 900 in."""
    return with_panel(stock=(replace(PANEL_12_6, price=None),))


N = Required(
    "N",
    "panel-sand",
    inches(328),
    left_end=End(Meets.CHANNEL),
    right_end=End(Meets.CHANNEL),
    wall="north",
    first_course=1,
    courses=3,
    keep_clear=(KeepClear(inches(98), inches(134), 3, 3),),
    cut_outs=(
        CutOut(inches(40), inches("46.5"), Edge.HOLE, inches("5.125"), 2),
        CutOut(inches(170), inches(180), Edge.BOTTOM, inches(2), 1),
    ),
)
"""Three courses of 27'-4" between channels: 327 1/2 in to cover, 329 1/2 in of three pieces with two laps of 1 in."""


def north_wall() -> Job:
    """Three courses of a wall seen from its left end, over a window from 98 to 134 in in the third.

    3 x 329 1/2 in are 988 1/2: six panels are 900, so seven are needed, 68.60.
    """
    return replace(shed(), required=(N,), walls=(Wall("north", Side.LEFT),))


def with_panel(**changes: object) -> Job:
    """Return the shed with its one material changed."""
    return replace(shed(), materials=(replace(PANEL, **changes),))  # type: ignore[arg-type]
