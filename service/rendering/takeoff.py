"""A take-off as the contract has it: a request for a cut plan, and beside it what the take-off says in words."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from service.drawing.elevation import draw_elevation
from service.drawing.story_pole import draw_story_pole
from service.drawing.svg import svg
from service.rendering.request import render_material, render_required, render_wall
from service.rendering.result import render_notice
from solver.lengths import Unit, say, to_number
from solver.required import KeepClear
from solver.takeoff import TakeOff
from solver.takeoff.answer import (
    Course,
    Figure,
    FloorFinish,
    NotedCutOut,
    Rip,
    RunEnd,
    RunOnWall,
    SoffitRow,
    StarterHeight,
    Strip,
    Trim,
    WallTakeOff,
    square_feet,
)
from solver.takeoff.rules import Rule, rules_used

Json = dict[str, Any]
ENDS_HERE = "Horizontal panels only: vertical, shake and foam-backed panels are not taken off yet."


def render_take_off(found: TakeOff) -> Json:
    """Return the answer; everything but ``takeoff`` is a request for a cut plan, which may keep ``takeoff`` too."""
    unit = found.house.unit
    return {
        "name": found.house.name,
        "units": unit,
        "materials": [render_material(material, unit) for material in found.house.materials],
        "walls": [render_wall(wall, unit) for wall in found.planned_walls],
        "required": [render_required(required, unit) for required in found.required],
        "takeoff": _beside(found),
    }


def _beside(found: TakeOff) -> Json:
    unit = found.house.unit
    return {
        "walls": [_wall(wall, unit) for wall in found.walls],
        "soffits": [_soffit(row, unit) for row in found.soffits],
        "trim": [_trim(piece, unit) for piece in found.trim],
        "starter_heights": [_starter_height(height, unit) for height in found.starter_heights],
        "figures": _figures(found.figures, unit),
        "warnings": [render_notice(notice, unit) for notice in found.notices],
        "rules": [_rule(rule, unit) for rule in rules_used(found.house.settings)],
        "ends_here": ENDS_HERE,
    }


def _rule(rule: Rule, unit: Unit) -> Json:
    value = say(rule.value, unit) if rule.length else str(rule.value)
    return {"rule": rule.name, "value": value, "source": rule.source, "conflicts": rule.conflicts or None}


def _length(ticks: int | Fraction, unit: Unit) -> Json:
    return {"length": to_number(round(ticks), unit), "text": say(round(ticks), unit)}


def _figures(figures: Iterable[Figure], unit: Unit) -> list[Json]:
    return [_figure(figure, unit) for figure in figures]


def _figure(figure: Figure, unit: Unit) -> Json:
    value = to_number(round(figure.value), unit) if figure.length else round(float(figure.value), 6)
    return {"name": figure.name, "value": value, "arithmetic": figure.text, "source": figure.source or None}


def _wall(taken: WallTakeOff, unit: Unit) -> Json:
    return {
        "id": taken.wall.id,
        "courses": [_course(course, unit) for course in taken.courses],
        "figures": _figures(taken.figures, unit),
        "finishes": [_finish(way, unit) for way in taken.finishes],
        "elevation": svg(draw_elevation(taken, unit)),
        "story_pole": svg(draw_story_pole(taken, unit)),
        "net_square_feet": round(float(square_feet(taken.net_area)), 2),
    }


def _course(course: Course, unit: Unit) -> Json:
    return {
        "course": course.band.number,
        "bottom": to_number(course.band.bottom, unit),
        "top": to_number(course.band.top, unit),
        "text": say(course.band.bottom, unit),
        "runs": [_run(run, unit) for run in course.runs],
        "keep_clear": [_clear(clear, unit) for clear in course.keep_clear],
    }


def _clear(clear: KeepClear, unit: Unit) -> Json:
    return {"from": to_number(clear.start, unit), "to": to_number(clear.end, unit)}


def _run(run: RunOnWall, unit: Unit) -> Json:
    return {
        "start": to_number(run.start, unit),
        **_length(run.length, unit),
        "cut": _length(run.cut, unit),
        "arithmetic": run.text,
        "left": _end(run.left, unit),
        "right": _end(run.right, unit),
        "pattern": run.pattern,
        "cut_outs": [_cut_out(run, cut_out, unit) for cut_out in run.cut_outs],
        "rips": [_rip(rip, unit) for rip in run.rips],
    }


def _end(end: RunEnd, unit: Unit) -> Json:
    """One end: where it was measured, what its pocket takes up, and the gap in all that is left along the panel."""
    return {
        "meets": end.what,
        "measured": to_number(round(end.measured), unit),
        "takes_up": to_number(end.takes_up, unit),
        "gap": to_number(round(end.extra) + end.gap, unit),
    }


def _cut_out(run: RunOnWall, noted: NotedCutOut, unit: Unit) -> Json:
    """One cut-out, along the wall, and from both ends of the run as if it were cut in one piece."""
    cut = noted.cut_out
    return {
        "opening": noted.opening,
        "from": to_number(cut.start, unit),
        "to": to_number(cut.end, unit),
        "from_left": say(cut.start - run.start - run.left.gap, unit),
        "from_right": say(run.end - run.right.gap - cut.end, unit),
        "edge": noted.cut_out.edge,
        "height_left": say(noted.height_left, unit),
        "height_right": say(noted.height_right, unit),
        "upper_edge": None if noted.top is None else say(noted.top, unit),
        "notes": list(noted.notes),
    }


def _rip(rip: Rip, unit: Unit) -> Json:
    keeps = "lip" if rip.keeps_lip else "hem"
    return {"left": say(rip.left, unit), "right": say(rip.right, unit), "keeps": keeps, "arithmetic": rip.text}


def _finish(way: FloorFinish, unit: Unit) -> Json:
    return {
        "finish": way.finish,
        "left": say(way.left, unit),
        "right": say(way.right, unit),
        "consequence": way.consequence,
        "source": way.source,
    }


def _soffit(row: SoffitRow, unit: Unit) -> Json:
    figures = _figures(row.figures, unit)
    return {
        "place": row.place,
        "quantity": row.quantity,
        **_length(row.span, unit),
        "parts": row.parts,
        "figures": figures,
    }


def _trim(piece: Trim, unit: Unit) -> Json:
    return {
        "use": piece.role,
        "place": piece.place,
        "quantity": piece.quantity,
        **_length(piece.length, unit),
        "arithmetic": piece.figure.text,
        "source": piece.figure.source or None,
    }


def _starter_height(height: StarterHeight, unit: Unit) -> Json:
    strips = [_strip(strip, unit) for strip in height.strips]
    return {"shift": say(height.shift, unit), "strips": strips, "slivers": [_strip(s, unit) for s in height.slivers]}


def _strip(strip: Strip, unit: Unit) -> Json:
    return {"wall": strip.wall, "place": strip.place, "height": say(strip.height, unit)}
