"""``/plans/{id}/continue``: say what broke or did not come, and have the rest planned from what is left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from flask import Response, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from service import plans
from service.continuing import Standing, go_on
from service.counter.pages import PATIENCE, blueprint, page_of
from service.counter.request import Json
from service.finished import apart
from service.http.problems import FieldError, Problem
from service.views.facts import called, material_of
from service.wire.plans.ticks import read_continuation
from solver.continuing.at_hand import bought
from solver.lengths import say
from workers import queues
from workers.orders.plan_number import serial_of
from workers.orders.ticks import PieceState

_MOST_LINES = 1_000
_FIELDS = {"broken": "Sticks that broke", "miscut": "Miscut pieces that can be used"}


@dataclass(frozen=True, slots=True)
class Ordered:
    """A line of the order: the field for how many of it did not come, and what it is, in words."""

    field: str
    material: str
    stock: str
    words: str


@blueprint.get("/plans/<plan_id>/continue")
def continuation(plan_id: str) -> AnyResponse:
    """Ask what has become of a plan."""
    if serial_of(plan_id):
        return redirect(url_for("counter.continuation", plan_id=plans.numbered(plan_id).id))

    def page() -> Response:
        standing = Standing.of(plan_id)
        return _page(standing, {"rack": "1"} if standing.job.rack else {}, {})

    # every piece is counted, and they may be many where little is kept of a plan
    return apart(page)


@blueprint.post("/plans/<plan_id>/continue")
def continue_plan(plan_id: str) -> AnyResponse:
    """Have the rest of a plan planned."""
    standing, typed = Standing.of(plan_id), request.form
    lines = list(_ordered(standing))
    try:
        told = read_continuation(_body(standing, typed, lines), standing.job.units)
        begun = plans.wait_for(go_on(standing, told, queues.INTERACTIVE), PATIENCE)
    except Problem as problem:
        faults: dict[str, str] = {}
        for error in problem.errors or [FieldError("#", problem.detail)]:
            field = _field(error.pointer, typed, lines)
            faults[field] = f"{faults[field]}; {error.detail}" if field in faults else error.detail
        return _page(standing, typed, faults, 422)
    return redirect(url_for("counter.plan", plan_id=begun.id), 303)


def _ordered(standing: Standing) -> Iterator[Ordered]:
    for place, line in enumerate(standing.plan.order):
        material = material_of(standing.job, line.material)
        row = next(row for row in material.stock if row.id == line.stock)
        count = bought(standing.plan, material, row)
        words = f"{count} × {say(line.length, standing.job.units)} {called(material)}"
        yield Ordered(f"missing-{place}", line.material, line.stock, words)


def _body(standing: Standing, typed: Mapping[str, str], lines: list[Ordered]) -> Json:
    """Return the request that says what was typed."""
    missing = [
        {"material": line.material, "stock": line.stock, "count": _whole(typed[line.field].strip())}
        for line in lines
        if typed.get(line.field, "").strip() not in ("", "0")
    ]
    broken = [{"stick": name, "usable": usable} for name, usable in _named(typed.get("broken", ""))]
    miscut = [{"piece": name, "usable": usable} for name, usable in _named(typed.get("miscut", ""))]
    asked = standing.job.rack is not None
    body: Json = {"not_delivered": missing, "broken": broken, "miscut": miscut}
    return body if ("rack" in typed) == asked else body | {"rack": "rack" in typed}


def _whole(text: str) -> int | str:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 12 else text


def _named(text: str) -> Iterator[tuple[str, list[str]]]:
    """Yield the names that lines of a text begin with, and the lengths behind each, with semicolons between."""
    for line in text.splitlines()[:_MOST_LINES]:
        name, _, rest = line.strip().partition(" ")
        if name:
            yield name.rstrip(":").upper(), [length.strip() for length in rest.split(";") if length.strip()]


def _field(pointer: str, typed: Mapping[str, str], lines: list[Ordered]) -> str:
    """Return the field of the page that a fault is about."""
    parts = pointer.split("/")
    if parts[1:2] == ["not_delivered"] and len(parts) > 2:
        named = [line.field for line in lines if typed.get(line.field, "").strip() not in ("", "0")]
        return named[int(parts[2])]
    return parts[1] if len(parts) > 1 and parts[1] in ("broken", "miscut", "rack") else "main"


def _page(standing: Standing, typed: Mapping[str, str], faults: Mapping[str, str], status: int = 200) -> Response:
    states = Counter(standing.state(piece) for piece in standing.pieces)
    done = states[PieceState.CUT] + states[PieceState.HUNG]
    shown = {name: f"{_FIELDS[name]}: {text}" if name in _FIELDS else text for name, text in faults.items()}
    return page_of(
        "continue", status, record=standing.record, job=standing.job, ordered=list(_ordered(standing)), typed=typed,
        faults=shown, done=done, miscut=states[PieceState.MISCUT], pieces=len(standing.pieces), titles=_FIELDS,
    )  # fmt: skip
