"""A plan made from another: the same list with something else changed, asked for once however often."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service import plans
from service.http import access
from service.http.strict_json import fingerprint
from service.wire.materials.material import render_material, render_offcut
from solver.job import Job
from workers.plans.record import Record
from workers.plans.store import Ask


def mark_of(record: Record, button: str, pressed: Mapping[str, str]) -> str:
    """Return what tells one change of a plan from another: the button, and what was typed beside it."""
    return fingerprint({"from": record.id, "button": button, **{name: told for name, told in pressed.items() if told}})


def key_of(mark: str) -> str:
    """Return the key under which the plan of a change is asked for."""
    return f"again-{mark}"


def remade(record: Record, before: Job, other: Job, mark: str, queue: str, replaces: str = "") -> Ask:
    """Return the request for a plan of ``other``, made from the plan of ``before``; ``replaces`` as in ``Ask``."""
    measured = restocked(plans.measured(record.id), before.as_asked, other) if record.is_measured else None
    return Ask(
        client=access.client(), queue=queue, job=other, key=key_of(mark), fingerprint=mark, measured=measured,
        written=plans.written(record), particulars=replace(record.particulars, called_off=False), by=access.person(),
        made_from=record.number, replaces=replaces,
    )  # fmt: skip


def restocked(body: dict[str, Any], before: Job, now: Job) -> dict[str, Any] | None:
    """Return a stored request for a plan that was made from its own: with the materials, offcuts and patience of now.

    None where other pieces are planned than were measured.
    """
    if (before.required, before.walls) != (now.required, now.walls):
        return None
    pairs = zip(before.materials, now.materials, strict=True)
    changed = {
        new.id: _changed(render_material(old, now.units), render_material(new, now.units)) for old, new in pairs
    }
    materials = [told | changed.get(told["id"], {}) for told in body["materials"]]
    offcuts = (
        {"offcuts": [render_offcut(cut, now.units) for cut in now.offcuts]} if before.offcuts != now.offcuts else {}
    )
    wait = {"within_days": now.within_days} if before.within_days != now.within_days else {}
    return body | {"materials": materials} | offcuts | wait


def _changed(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in now.items() if before.get(name) != value}
