"""Gaps and laps by temperature and stock length: one table, with its sources and their conflicts.

Sticks of 16 ft and more take their own row; where a stock row or material sets its own value, that stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from solver.job import Notice
from solver.lengths import TICKS_PER_INCH, TICKS_PER_MM, Unit, in_unit, told
from solver.materials import Material, StockLength
from solver.takeoff import rules
from solver.takeoff.rules import Rule, Settings, UsedRule

COLD_BELOW = 40
"""Degrees Fahrenheit. The association says below 40, one maker 40 or below: at exactly 40 they conflict."""


@dataclass(frozen=True, slots=True)
class Row:
    """Gap and lap of sticks from ``longer`` ticks up, in ticks."""

    longer: int
    warm_gap: int
    cold_gap: int
    lap: int
    source: str
    conflicts: str


_IN = TICKS_PER_INCH
ROWS = (
    Row(
        16 * 12 * _IN,
        3 * _IN // 8,
        _IN // 2,
        5 * _IN // 4,
        "a maker's installation guide, second-hand: verify against the guide",
        "the Polymeric Exteriors Association keeps {1/4 in} up to {20 ft} and refers longer panels to their maker",
    ),
    Row(
        0,
        _IN // 4,
        3 * _IN // 8,
        _IN,
        rules.MANUAL,
        "Fine Homebuilding: {1/4 in} above 90 degrees F (32 C), {3/8 in} from 30 F (-1 C), {1/2 in} below it; "
        "laps of {1} to {1 1/4 in} by temperature (a maker, second-hand)",
    ),
)
"""From the longest sticks to the shortest."""


def gap_rules(unit: Unit) -> Iterator[UsedRule]:
    """Yield the gaps and laps of the table as rules, with the values that a job in ``unit`` uses."""
    for row in ROWS:
        sticks = f"sticks from {told('{16 ft}', unit)}" if row.longer else "shorter sticks"
        gaps = (("gap at each end", row.warm_gap), ("gap at each end in the cold", row.cold_gap), ("lap", row.lap))
        for what, value in gaps:
            used = in_unit(value, unit)
            source = row.source if used == value else f"{row.source}; {rules.WHOLE}"
            yield Rule(f"{what}, {sticks}", value, row.source, row.conflicts).used(used, unit, source)


HANDBOOK = "Metal and Vinyl Sidings, text of Canada's housing agency handbook: laps more than 600 mm apart"
_PLACED = (
    ("laps of courses beside one another, apart at least", "lap_spacing", HANDBOOK),
    ("laps nearer than this are in line", "in_line_within", rules.NO_SOURCE),
    ("shortest piece of a lapped run", "shortest_piece", rules.NO_SOURCE),
    ("offcuts are kept from", "keep_offcuts_from", rules.NO_SOURCE),
)
"""Where the laps of panels may lie: what it is, the setting, who prints it."""


def lap_rules(panel: Material, unit: Unit) -> Iterator[UsedRule]:
    """Yield where the laps of a panel may lie, and what is kept of it, as a job in ``unit`` uses them."""
    for what, name, source in _PLACED:
        used, default = getattr(panel.settings, name), getattr(panel.category.kind.defaults, name)
        if used is not None:
            usual = default if default is None or not unit.metric else _metric(default, unit)
            yield Rule(what, used, source).used(used, unit, source if used == usual else "as asked for")


def is_cold(settings: Settings) -> bool:
    """Return whether the cold gaps apply: as said, else below 40 degrees Fahrenheit."""
    if settings.cold is not None:
        return settings.cold
    return settings.temperature is not None and settings.temperature < Fraction(COLD_BELOW)


def row_for(length: int) -> Row:
    """Return the row of the table for a stick of ``length`` ticks."""
    return next(row for row in ROWS if length >= row.longer)


def for_temperature(materials: Iterable[Material], settings: Settings, unit: Unit) -> tuple[Material, ...]:
    """Return the materials with the table's gaps and laps where they follow it and keep their category's defaults.

    In a metric job these, and the defaults of all others, are whole millimetres: 6, 10 and 25 mm for 1/4 (6.4 mm, as
    the association prints it), 3/8 (10 mm: Canada's housing handbook) and 1 in; 600 mm for 2 ft.
    """
    cold = is_cold(settings)
    set_by = (_set(m, cold=cold) if m.category.kind.by_temperature else m for m in materials)
    return tuple(_whole(m, unit) if unit.metric else m for m in set_by)


LAP_SPACING = 600 * TICKS_PER_MM
"""Metal and Vinyl Sidings (text of Canada's housing agency handbook): laps of courses beside more than 600 mm apart."""


def _whole(material: Material, unit: Unit) -> Material:
    """Return a material whose allowances, where they are those of the tables, are whole millimetres."""
    usual = material.category.kind.defaults
    kept = {name: getattr(material.settings, name) for name in _LENGTHS}
    printed = {usual.end_gap, *(gap for row in ROWS for gap in (row.warm_gap, row.cold_gap))}
    defaults = {name: v for name, v in kept.items() if v is not None and v == getattr(usual, name)}
    whole: dict[str, Any] = {name: _metric(v, unit) for name, v in defaults.items()}
    whole |= {"end_gap": in_unit(kept["end_gap"], unit)} if kept["end_gap"] in printed else {}
    stock = tuple(_whole_row(row, printed, unit) for row in material.stock)
    return replace(material, stock=stock, settings=replace(material.settings, **whole))


_LENGTHS = ("lap", "end_gap", "shortest_piece", "lap_spacing", "in_line_within", "keep_offcuts_from")


def _metric(value: int, unit: Unit) -> int:
    return LAP_SPACING if value == 24 * _IN else in_unit(value, unit)


def _whole_row(stock: StockLength, printed: set[int], unit: Unit) -> StockLength:
    gap, lap, laps = stock.end_gap, stock.lap, {row.lap for row in ROWS}
    gap = in_unit(gap, unit) if gap is not None and gap in printed else gap
    return replace(stock, end_gap=gap, lap=in_unit(lap, unit) if lap is not None and lap in laps else lap)


def _set(material: Material, *, cold: bool) -> Material:
    usual = material.category.kind.defaults
    gap = ROWS[-1].cold_gap if cold and material.settings.end_gap == usual.end_gap else material.settings.end_gap
    keeps_gap = material.settings.end_gap != usual.end_gap
    keeps_lap = material.settings.lap != usual.lap or usual.lap is None
    stock = tuple(_set_row(row, cold=cold, gap=not keeps_gap, lap=not keeps_lap) for row in material.stock)
    return replace(material, stock=stock, settings=replace(material.settings, end_gap=gap))


def _set_row(stock: StockLength, *, cold: bool, gap: bool, lap: bool) -> StockLength:
    row = row_for(stock.length)
    if row is ROWS[-1]:
        return stock
    end_gap = (row.cold_gap if cold else row.warm_gap) if gap and stock.end_gap is None else stock.end_gap
    return replace(stock, end_gap=end_gap, lap=row.lap if lap and stock.lap is None else stock.lap)


def temperature_notices(settings: Settings, unit: Unit) -> Iterator[Notice]:
    """Yield which gaps a temperature stands for, and where the sources conflict: at exactly 40 degrees Fahrenheit."""
    if settings.cold is not None or settings.temperature is None:
        return
    gaps = f"the gaps for {'cold' if is_cold(settings) else 'normal'} weather are used"
    yield Notice("temperature", f"put up at {_degrees(settings.temperature, unit)}: {gaps}")
    if settings.temperature == COLD_BELOW:
        words = "at exactly 40 degrees F the normal gap is used, as its source has it; one maker asks for the cold gap"
        yield Notice("temperature_conflict", words)


def _degrees(fahrenheit: Fraction, unit: Unit) -> str:
    if unit.metric:
        return f"{float(round((fahrenheit - 32) * 5 / 9, 1)):g} degrees Celsius"
    return f"{float(fahrenheit):g} degrees Fahrenheit"
