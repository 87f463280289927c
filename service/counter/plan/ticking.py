"""``/plans/{id}/list``: the sheets as a list to tick on a phone, offline too; ``…/pieces/{piece}``: one piece."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter.pages import blueprint, page_of
from service.drawing.lettering import clean, taped
from service.http.problems import not_found
from service.state import store
from service.views.facts import called, material_of
from service.views.pieces import Piece, offcuts_of, pieces_of
from solver.job import Job
from solver.plan import CutPlan
from workers.orders.plan_number import serial_of
from workers.orders.ticks import UNTOUCHED, Change, PieceState, Tick, Ticks
from workers.plans.record import Record

_WORDS = {
    PieceState.TO_CUT: "to cut", PieceState.CUT: "cut", PieceState.HUNG: "hung", PieceState.MISCUT: "miscut",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """A piece to tick."""

    id: str
    name: str
    length: str
    stick: str
    beside: str
    state: PieceState


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces under one heading: of one material and length at the saw, of one course or place on the wall."""

    heading: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One of the lists: the saw's, or a wall's. A tick there says ``done``."""

    id: str
    title: str
    done: PieceState
    groups: tuple[Group, ...]


@blueprint.get("/plans/<plan_id>/list")
def ticking(plan_id: str) -> AnyResponse:
    """Show every piece, in the order of the saw and in that of the walls."""
    if serial_of(plan_id):
        return redirect(url_for("counter.ticking", plan_id=plans.numbered(plan_id).id))
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    pieces, ticks = pieces_of(job, plan), Ticks(store().redis).of(plan_id)
    parts = [_saw(job, plan, pieces, ticks), *_walls(job, pieces, ticks)]
    cautions = plan.cautions
    return page_of("ticking", record=record, job=job, parts=parts, cautions=cautions)


@blueprint.get("/plans/ticking-worker.js")
def ticking_worker() -> Response:
    """Serve what keeps the list for when there is no connection; its address is its reach."""
    return blueprint.send_static_file("ticking-worker.js")


@blueprint.get("/plans/<plan_id>/pieces/<piece_id>")
def piece(plan_id: str, piece_id: str) -> AnyResponse:
    """Say what a piece is and where it goes."""
    if serial_of(plan_id):
        return redirect(url_for("counter.piece", plan_id=plans.numbered(plan_id).id, piece_id=piece_id))
    if piece_id.endswith("-keep"):
        return _offcut(plan_id, piece_id)
    record, job, found = _piece(plan_id, piece_id)
    tick = Ticks(store().redis).of(plan_id).get(piece_id, UNTOUCHED)
    material = called(material_of(job, found.material))
    length, from_stick = taped(found.length, job.units), taped(found.stick_length, job.units)
    return page_of(
        "piece", record=record, piece=found, tick=tick, material=material, words=_WORDS, length=length,
        stick_length=from_stick,
    )  # fmt: skip


def _offcut(plan_id: str, offcut_id: str) -> Response:
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    found = next((one for one in offcuts_of(job, plan) if one.id == offcut_id), None)
    if found is None:
        raise not_found("This plan keeps no such offcut.")
    material, length = called(material_of(job, found.material)), taped(found.length, job.units)
    return page_of("offcut", record=record, offcut=found, material=material, length=length)


@blueprint.post("/plans/<plan_id>/pieces/<piece_id>")
def tick_piece(plan_id: str, piece_id: str) -> AnyResponse:
    """Keep what has become of a piece, unless somebody else was first."""
    _piece(plan_id, piece_id)
    job, plan = plans.planned(plan_id)
    given = request.form.get("before", ""), request.form.get("state", "")
    if not set(given) <= set(PieceState):
        raise not_found("There is no such button.")
    change = Change(piece_id, PieceState(given[0]), PieceState(given[1]))
    plans.tick(plan_id, job, plan, [change])
    return redirect(url_for("counter.piece", plan_id=plan_id, piece_id=piece_id), 303)


def _piece(plan_id: str, piece_id: str) -> tuple[Record, Job, Piece]:
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    found = next((one for one in pieces_of(job, plan) if one.id == piece_id), None)
    if found is None:
        raise not_found("This plan has no such piece.")
    return record, job, found


def _saw(job: Job, plan: CutPlan, pieces: Sequence[Piece], ticks: Mapping[str, Tick]) -> Part:
    """Return the pieces material by material, from the longest to the shortest, those of a stick in its order."""
    order = {part.material: place for place, part in enumerate(plan.materials)}
    longest: dict[str, int] = {}
    for one in pieces:
        longest[one.stick] = max(longest.get(one.stick, 0), one.length)
    ordered = sorted(pieces, key=lambda p: (order[p.material], -longest[p.stick], _number(p.stick), p.cut))
    kept = {left.stick: f"keep {taped(left.length, job.units)}" for left in offcuts_of(job, plan)}
    last = {one.stick: one.id for one in ordered}

    def beside(one: Piece) -> str:
        where = "" if one.is_named_by_place else one.where
        right = "from the right end" if one.from_right else ""
        return ", ".join(filter(None, [where, right, kept.get(one.stick, "") if last[one.stick] == one.id else ""]))

    groups = []
    for (material, _, length), sticks in groupby(ordered, key=lambda p: (p.material, longest[p.stick], p.stick_length)):
        own = list(sticks)
        stick, stop = taped(length, job.units), taped(longest[own[0].stick], job.units)
        head = f"{clean(material)}, {stick}: longest stop {stop}"
        groups.append(Group(head, tuple(_row(job, one, ticks, beside(one)) for one in own)))
    return Part("saw", "Saw", PieceState.CUT, tuple(groups))


def _number(stick: str) -> tuple[int, str]:
    return (int(stick[1:]) if stick[1:].isdigit() else 0, stick)


def _walls(job: Job, pieces: Sequence[Piece], ticks: Mapping[str, Tick]) -> Iterator[Part]:
    """Yield what is put up off the walls, then wall by wall, course by course, in the order of hanging."""
    ordered = sorted(pieces, key=lambda piece: piece.turn)
    walls = [None, *dict.fromkeys(piece.wall for piece in ordered if piece.wall is not None)]
    for number, wall in enumerate(walls):
        own = [piece for piece in ordered if piece.wall == wall]
        groups = tuple(
            Group(where, tuple(_row(job, one, ticks, "") for one in group))
            for where, group in groupby(own, key=lambda piece: piece.where)
        )
        if groups:
            yield Part(f"wall-{number}", "Trim and loose" if wall is None else clean(wall), PieceState.HUNG, groups)


def _row(job: Job, piece: Piece, ticks: Mapping[str, Tick], beside: str) -> Row:
    words = ", ".join(filter(None, [beside, *piece.shape]))
    state = ticks.get(piece.id, UNTOUCHED).state
    return Row(piece.id, piece.name, taped(piece.length, job.units), piece.stick, words, state)
