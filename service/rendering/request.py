"""A job as the request it could have come from: what a take-off answers can be posted as it is."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from solver.job import Wall
from solver.lengths import TICKS_PER_MM, Length, Unit, to_number, to_ticks
from solver.materials import Material, StockLength
from solver.required import CutOut, End, KeepClear, Required, Side

Json = dict[str, Any]


def written(ticks: int, unit: Unit) -> int | float | str:
    """Return a length as a number of ``unit`` if that is exact, else as millimetres, which always are."""
    number = to_number(ticks, unit)
    if to_ticks(Fraction(repr(number)), unit) == Length(ticks, exact=True):
        return number
    return f"{Decimal(ticks) / TICKS_PER_MM:f} mm"


def render_material(material: Material, unit: Unit) -> Json:
    """Return a material with every setting said."""
    settings = material.settings
    return {
        "id": material.id,
        "description": material.description,
        "category": material.category,
        "stock": [_stock(row, unit) for row in material.stock],
        "lap": _maybe(settings.lap, unit),
        "end_gap": written(settings.end_gap, unit),
        "kerf": written(settings.kerf, unit),
        "lap_ends": settings.lap_ends,
        "shortest_piece": _maybe(settings.shortest_piece, unit),
        "lap_spacing": _maybe(settings.lap_spacing, unit),
        "lap_repeat": settings.lap_repeat,
        "in_line_within": _maybe(settings.in_line_within, unit),
        "extra_laps": settings.extra_laps,
        "keep_offcuts_from": written(settings.keep_offcuts_from, unit),
        "spare_percent": str(settings.spare_percent),
    }


def _stock(row: StockLength, unit: Unit) -> Json:
    told = {
        "id": row.id,
        "length": written(row.length, unit),
        "code": row.code,
        "price": _money(row.price),
        "available": row.available,
        "carton": row.carton,
        "singles": row.singles,
        "carton_price": _money(row.carton_price),
        "lap": _maybe(row.lap, unit),
        "end_gap": _maybe(row.end_gap, unit),
    }
    return {name: value for name, value in told.items() if value is not None}


def _maybe(ticks: int | None, unit: Unit) -> int | float | str | None:
    return None if ticks is None else written(ticks, unit)


def _money(amount: Decimal | None) -> str | None:
    return None if amount is None else f"{amount:f}"


def render_wall(wall: Wall, unit: Unit) -> Json:
    """Return a wall as a plan is asked for it."""
    seen = wall.viewed_from
    return {"id": wall.id, "viewed_from": seen if seen is None or isinstance(seen, Side) else written(seen, unit)}


def render_required(required: Required, unit: Unit) -> Json:
    """Return an item as a plan is asked for it; what is as by default is left out."""
    told: Json = {
        "mark": required.mark,
        "ref": required.ref,
        "material": required.material,
        "length": written(required.length, unit),
        "quantity": required.quantity,
        "left_end": render_end(required.left_end),
        "right_end": render_end(required.right_end),
        "room": written(required.room, unit) if required.room else None,
    }
    placed = required.wall is not None
    told |= {
        "wall": required.wall,
        "start": written(required.start, unit) if placed or required.start else None,
        "first_course": required.first_course,
        "courses": required.courses if placed or required.courses > 1 else None,
        "keep_clear": [_keep_clear(clear, unit) for clear in required.keep_clear],
        "cut_outs": [_cut_out(cut, unit) for cut in required.cut_outs],
    }
    return {name: value for name, value in told.items() if value not in (None, [])}


def render_end(end: End) -> str | Json:
    """Return an end as a plan is asked for it."""
    if end.slope is None:
        return end.meets
    slope = end.slope
    return {"meets": end.meets, "pitch": pitch(slope.pitch), "leans": slope.leans, "long_edge": slope.long_edge}


def pitch(rise_over_run: Fraction) -> str:
    """Return a pitch as rise over run, ``6/12``; what is no thousandth of such as its two numbers, if they are short.

    All else is told to a thousandth, steep ones as a rise of 12 over less.
    """
    rise, run = rise_over_run.as_integer_ratio()
    if rise * 12_000 % run and max(rise, run) < 1_000:
        return f"{rise}/{run}"
    if rise_over_run <= 80:
        return f"{_short(rise_over_run * 12)}/12"
    return f"12/{_short(12 / rise_over_run)}"


def _short(number: Fraction) -> str:
    return f"{max(0.001, float(round(number, 3))):.3f}".rstrip("0").rstrip(".")


def _keep_clear(clear: KeepClear, unit: Unit) -> Json:
    ends = {"from": written(clear.start, unit), "to": written(clear.end, unit)}
    return {**ends, "first": clear.first, "last": clear.last}


def _cut_out(cut: CutOut, unit: Unit) -> Json:
    ends = {"from": written(cut.start, unit), "to": written(cut.end, unit)}
    return {**ends, "edge": cut.edge, "height": written(cut.height, unit), "course": cut.course}
