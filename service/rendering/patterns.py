"""Patterns and the sticks cut by them."""

from __future__ import annotations

from typing import Any

from solver.job import Job
from solver.lengths import Unit, say, to_number
from solver.plan import Cut, LeftOver, PatternUse, PlacedPiece, StickUse

Json = dict[str, Any]


def render_pattern(job: Job, use: PatternUse, *, sticks: bool) -> Json:
    """Return one pattern: how many sticks, of what, cut how, and what is left of each."""
    told: Json = {
        "count": use.count,
        "from": {
            "stock": use.stock,
            "length": to_number(use.stock_length, job.units),
            "text": say(use.stock_length, job.units),
            "factory_end": use.factory_end,
        },
        "cuts": [_cut(cut, job.units) for cut in use.cuts],
        "offcut": _left_over(use.left_over, job.units),
    }
    return told | {"sticks": [_stick(job, stick) for stick in use.sticks]} if sticks else told


def render_stick(job: Job, material: str, use: PatternUse, stick: StickUse) -> Json:
    """Return one stick by itself, with its cuts and whom each piece is for."""
    pattern = render_pattern(job, use, sticks=False)
    del pattern["count"]
    return {"material": material, **_stick(job, stick), **pattern}


def _stick(job: Job, stick: StickUse) -> Json:
    return {
        "stick": stick.stick,
        "offcut_id": stick.offcut_id,
        "pieces": [_piece(job, piece) for piece in stick.pieces],
    }


def _piece(job: Job, piece: PlacedPiece) -> Json:
    told: Json = {"item": piece.item, "mark": piece.mark, "course": piece.course, "piece": piece.piece}
    ref = job.required[piece.item].ref
    return told if ref is None else {**told, "ref": ref}


def _cut(cut: Cut, unit: Unit) -> Json:
    told: Json = {
        "length": to_number(cut.length, unit),
        "text": say(cut.length, unit),
        "left": cut.left,
        "right": cut.right,
    }
    return told | {"room": to_number(cut.room, unit)} if cut.room else told


def _left_over(left_over: LeftOver, unit: Unit) -> Json:
    return {
        "length": to_number(left_over.length, unit),
        "text": say(left_over.length, unit),
        "keep": left_over.keep,
        "factory_end": left_over.factory_end,
        "after": left_over.after,
    }
