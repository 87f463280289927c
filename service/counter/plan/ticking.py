"""``/plans/{id}/list``: the sheets as a list to tick on a phone, offline too; ``…/pieces/{piece}``: one piece."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, groupby, islice
from operator import itemgetter

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.counter.pages import blueprint, page_of
from service.drawing.layout import Covered, hanging_order, layouts_of, off_walls
from service.drawing.lettering import clean, taped
from service.finished import apart_if_large
from service.http.preferences import whole_parameter
from service.http.problems import not_found
from service.state import store
from service.views.facts import called, material_of
from service.views.pieces import Piece, Pieces, offcuts_of, piece_id, pieces_of, stick_number
from solver.job import Job
from solver.plan import CutPlan
from workers.orders.plan_number import serial_of
from workers.orders.ticks import UNTOUCHED, Change, PieceState, Tick, Ticks
from workers.plans.record import Record

MOST = 2_000
"""Pieces of a list on a page; a plan of no more has all its lists on one."""
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
    """One of the lists: the saw's, or a wall's. A tick there says ``done``.

    ``count`` pieces are on it in all; where they are not all on this page, ``groups`` are those after ``after``, and
    there are none of a list that has a page of its own.
    """

    id: str
    title: str
    done: PieceState
    count: int
    after: int
    groups: tuple[Group, ...]

    @property
    def shown(self) -> int:
        """How many of its pieces are on this page."""
        return sum(len(group.rows) for group in self.groups)


@dataclass(frozen=True, slots=True)
class _List:
    """A list before any of its pieces is looked at: ``places`` are those of its pieces among all, in its order."""

    id: str
    title: str
    count: int
    places: Iterable[int]


@blueprint.get("/plans/<plan_id>/list")
@apart_if_large
def ticking(plan_id: str) -> AnyResponse:
    """Show every piece, in the order of the saw and in that of the walls."""
    if serial_of(plan_id):
        return redirect(url_for("counter.ticking", plan_id=plans.numbered(plan_id).id))
    record, (job, plan) = plans.own(plan_id), plans.planned(plan_id)
    pieces = pieces_of(job, plan)
    lists = [_saw(plan, pieces), *_walls(job, plan, pieces)]
    wanted, after = request.args.get("part", lists[0].id), whole_parameter("after", 0, 0, 10**9)
    if wanted not in [each.id for each in lists]:
        raise not_found("This plan has no such list.")
    # a large plan's lists have pages of their own, and what is on this one is looked up in a few of the API's
    whole = len(pieces) <= MOST
    after = 0 if whole else after
    shown = {each.id: list(islice(each.places, after, after + MOST)) if whole or each.id == wanted else []
             for each in lists}  # fmt: skip
    on_page = {place: pieces[place] for places in shown.values() for place in places}
    ticks = Ticks(store().redis).of(plan_id, [piece.id for piece in on_page.values()])
    parts = [_part(job, each, [on_page[place] for place in shown[each.id]], after, ticks) for each in lists]
    looks = sorted({place // MOST * MOST for place in on_page})
    return page_of("ticking", record=record, job=job, parts=parts, cautions=plan.cautions, wanted=wanted, whole=whole,
                   looks=looks, most=MOST)  # fmt: skip


@blueprint.get("/plans/ticking-worker.js")
def ticking_worker() -> Response:
    """Serve what keeps the list for when there is no connection; its address is its reach."""
    return blueprint.send_static_file("ticking-worker.js")


@blueprint.get("/plans/<plan_id>/pieces/<piece_id>")
@apart_if_large
def piece(plan_id: str, piece_id: str) -> AnyResponse:
    """Say what a piece is and where it goes."""
    if serial_of(plan_id):
        return redirect(url_for("counter.piece", plan_id=plans.numbered(plan_id).id, piece_id=piece_id))
    if piece_id.endswith("-keep"):
        return _offcut(plan_id, piece_id)
    record, job, found = _piece(plan_id, piece_id)
    tick = Ticks(store().redis).of(plan_id, [piece_id]).get(piece_id, UNTOUCHED)
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
    pieces = pieces_of(job, plan)
    place = pieces.place(piece_id)
    if place is None:
        raise not_found("This plan has no such piece.")
    return record, job, pieces[place]


def _saw(plan: CutPlan, pieces: Pieces) -> _List:
    """Return the pieces material by material, from the longest to the shortest, those of a stick in its order."""
    order = {part.material: place for place, part in enumerate(plan.materials)}

    def at_the_saw(place: int) -> tuple[int, int, int]:
        lot = pieces.lots[place]
        return order[lot.part.material], -max(cut.length for cut in lot.use.cuts), stick_number(lot.run.stick)

    lots = sorted(range(len(pieces.lots)), key=at_the_saw)
    places = chain.from_iterable(range(*pieces.firsts[lot : lot + 2]) for lot in lots)
    return _List("saw", "Saw", len(pieces), places)


def _walls(job: Job, plan: CutPlan, pieces: Pieces) -> Iterator[_List]:
    """Yield what is put up off the walls, then wall by wall, course by course, in the order of hanging."""
    loose = [required.wall is None for required in job.required]
    if count := sum(lot.run.count for lot in pieces.lots for piece in lot.run.pieces if loose[piece.item]):
        yield _List("wall-0", "Trim and loose", count, _loose(job, plan, pieces))
    walls = (wall for wall in layouts_of(job, plan) if wall.id is not None)
    for number, wall in enumerate(walls, 1):
        places = [place for stretch in wall.stretches for place in _hung(stretch, pieces)]
        yield _List(f"wall-{number}", clean(wall.id or ""), len(places), places)


def _loose(job: Job, plan: CutPlan, pieces: Pieces) -> Iterator[int]:
    """Yield what names no wall, item by item: runs as they are hung, what is in none stick by stick."""
    in_runs = {run.item for part in plan.materials for run in part.runs}
    laid = [(id(stretch.required), _hung(stretch, pieces)) for stretch in off_walls(job, plan, in_runs)]
    single = defaultdict[int, list[tuple[range, int]]](list)
    for lot, first, last in zip(pieces.lots, pieces.firsts, pieces.firsts[1:], strict=False):
        for cut, piece in enumerate(lot.run.pieces):
            single[piece.item].append((range(first, last, len(lot.run.pieces)), cut))
    for item, required in enumerate(job.required):
        if required.wall is None and item in in_runs:
            yield from (place for of, places in laid if of == id(required) for place in places)
        elif required.wall is None:
            for sticks, cuts in groupby(single[item], key=itemgetter(0)):
                own = [cut for _, cut in cuts]
                yield from (stick + cut for stick in sticks for cut in own)


def _hung(stretch: Covered, pieces: Pieces) -> list[int]:
    found = (pieces.place(piece_id(piece.stick, piece.place)) for piece in hanging_order(stretch))
    return [place for place in found if place is not None]


def _part(job: Job, one: _List, own: Sequence[Piece], after: int, ticks: Mapping[str, Tick]) -> Part:
    """Return what of a list is on the page."""
    if one.id != "saw":
        groups = tuple(
            Group(where, tuple(_row(job, piece, ticks, _words(piece)) for piece in group))
            for where, group in groupby(own, key=lambda piece: piece.where)
        )
        return Part(one.id, one.title, PieceState.HUNG, one.count, after, groups)
    sticks = groupby(own, key=lambda piece: (piece.material, piece.longest, piece.stick_length))
    groups = tuple(
        Group(
            f"{clean(material)}, {taped(length, job.units)}: longest stop {taped(longest, job.units)}",
            tuple(_row(job, piece, ticks, _beside(job, piece)) for piece in group),
        )
        for (material, longest, length), group in sticks
    )
    return Part(one.id, one.title, PieceState.CUT, one.count, after, groups)


def _beside(job: Job, piece: Piece) -> str:
    where = "" if piece.is_named_by_place else piece.where
    right = "from the right end" if piece.from_right else ""
    kept = f"keep {taped(piece.kept, job.units)}" if piece.kept else ""
    return ", ".join(filter(None, [where, right, kept, _words(piece)]))


def _words(piece: Piece) -> str:
    return "" if piece.is_named_by_place else piece.words


def _row(job: Job, piece: Piece, ticks: Mapping[str, Tick], beside: str) -> Row:
    words = ", ".join(filter(None, [beside, *piece.shape]))
    state = ticks.get(piece.id, UNTOUCHED).state
    return Row(piece.id, piece.name, taped(piece.length, job.units), piece.stick, words, state)
