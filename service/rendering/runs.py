"""Runs: which pieces cover a course, where they lap, and where the cut-outs fall."""

from __future__ import annotations

from typing import Any

from solver.job import Job
from solver.lengths import to_number
from solver.plan import PieceCutOut, Run
from solver.required import Side

Json = dict[str, Any]


def render_run(job: Job, run: Run) -> Json:
    """Return one course of one item, piece by piece, with the lap and end gap that it was cut by.

    ``on_top`` is the side whose panel lies on top at every lap, or a list with one side for each lap where
    they differ (the wall is seen from between); ``first`` is the side laid first, null where both are.
    """
    unit = job.units
    return {
        "item": run.item,
        "mark": run.mark,
        "wall": run.wall,
        "course": run.course,
        "pieces": [
            {"length": to_number(piece.length, unit), "stick": piece.stick, "cut": piece.cut} for piece in run.pieces
        ],
        "lap": to_number(run.lap, unit),
        "end_gap": to_number(run.end_gap, unit),
        "starts_at": to_number(run.starts_at, unit),
        "laps_at": [to_number(place, unit) for place in run.laps_at],
        "first": _other(run.on_top[0]) if len(set(run.on_top)) == 1 else None,
        "on_top": run.on_top[0] if len(set(run.on_top)) == 1 else list(run.on_top),
        "cut_outs": [_cut_out(job, run, cut_out) for cut_out in run.cut_outs],
    }


def _other(side: Side) -> Side:
    return Side.RIGHT if side is Side.LEFT else Side.LEFT


def _cut_out(job: Job, run: Run, cut_out: PieceCutOut) -> Json:
    """Return a cut-out measured from the piece's own ends; ``cut_out`` is its place in the item's list, from 0."""
    return {
        "cut_out": job.required[run.item].cut_outs.index(cut_out.cut_out),
        "piece": cut_out.piece,
        "from_left": to_number(cut_out.from_left, job.units),
        "from_right": to_number(cut_out.from_right, job.units),
        "edge": cut_out.cut_out.edge,
        "height": to_number(cut_out.cut_out.height, job.units),
    }
