"""``/v1/plan-checks``: a request together with somebody's plan, checked as every plan here is.

Every figure, count and text that the posted plan states is held against what the plan gives.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

from flask import Blueprint, Response, jsonify
from marshmallow import ValidationError

from service.catalogue import filled
from service.http.documented import Answer, documented
from service.http.problems import FieldError, Problem, refused
from service.http.strict_json import read_body
from service.views.waste import waste_percent
from service.wire import read_job
from service.wire.base import field_errors
from service.wire.fields import Json
from service.wire.numbers import in_units
from service.wire.plans.cut_plan import progress_of
from service.wire.plans.plan import ResultSchema, render_result
from service.wire.plans.plan_check import CheckedSchema, Distance, PlanCheckSchema, plan_of, render_distances
from solver.checking import Checked, bounds_of, examine
from solver.job import Job
from solver.lengths import LengthError, Unit, read_length, to_number
from solver.plan import CutPlan
from solver.proof import Basis

blueprint = Blueprint("plan_checks", __name__, url_prefix="/v1/plan-checks")

_PLAN = {"pointer": "#/plan", "detail": "every piece, end, stick, run, rule and offcut, and what they cost and come to"}
_CERTIFIED = "worked out again from its proof, or from length alone"
_SEARCHED = "it rests on a search that is not repeated here"
_PASSED_OVER = ("detail", "cautions", "enough", "fewest_laps")
"""Words for people, which may be other ones; and what another plan would take, which this one does not give."""
_MONEY = (
    "amount", "carton_price", "lap_cost", "unit_price", "order_total",
    "cut_cost", "pattern_cost", "kept_value", "total", "own",
)  # fmt: skip
_PLACES = {"waste_percent": 2, "cost": 6, "bound": 6}
"""Decimals to which these are given; any other number may be half a tick off."""
_MOST_SHOWN = 60


@blueprint.post("")
@documented(
    "Check a plan",
    body=PlanCheckSchema,
    answers=[Answer(200, "What is wrong with the plan, if anything", CheckedSchema)],
    problems=["not-json", "length-required", "too-large", "not-accepted", "unplannable"],
)
def check_plan() -> Response:
    """Say what is wrong with the plan as an answer to the request, what was verified and what could not be.

    ``right`` is false where anything is wrong, true where everything was verified, and null where nothing was
    found wrong but not everything could be verified.
    """
    return jsonify(answer_to(read_body()))


def answer_to(body: Mapping[str, Any]) -> Json:
    """Return what there is to say of the plan that a body holds. Raises ``Problem`` where the body is wrong."""
    job, plan = _read(body)
    checked = examine(job, plan)
    faults = list(_faults(job, checked, body["plan"]))
    bounds = [
        ({"pointer": f"#/plan/materials/{place}/bound"}, part.proof.basis)
        for place, part in enumerate(checked.plan.materials)
        if "bound" in body["plan"]["materials"][place]
    ]
    verified = [{**at, "detail": _CERTIFIED} for at, basis in bounds if basis is Basis.CERTIFIED]
    unverified = [{**at, "detail": _SEARCHED} for at, basis in bounds if basis is Basis.SEARCHED]
    if plan.bill and plan.bill.bound:
        unverified.append({"pointer": "#/plan/bill/bound", "detail": _SEARCHED})
    answer = {
        "right": None if unverified and not faults else not faults,
        "faults": faults,
        "verified": verified if faults else [_PLAN, *verified],
        "unverified": unverified,
        "distances": render_distances(_distances(job, checked.plan), job.units),
    }
    return {**answer, "waste_percent": waste_percent(plan.materials)}


def _distances(job: Job, plan: CutPlan) -> list[Distance]:
    bounds = bounds_of(job, plan)
    return [Distance(part, bounds.get(part.material)) for part in plan.materials]


def _faults(job: Job, checked: Checked, posted: Mapping[str, Any]) -> Iterator[Mapping[str, str]]:
    """Yield what the checker finds, then what is stated but not so."""
    plan = checked.plan
    for fault in checked.faults:
        yield {"code": fault.code, "pointer": _pointer(fault.place), "detail": fault.detail}
    given = render_result(job, plan, all_sticks=True) | {"progress": progress_of(job, plan)}
    stated = {name: value for name, value in posted.items() if name != "order" or value is not None}
    for wrong in misstatements(stated, given, job.units, "#/plan"):
        yield {"code": "misstated", "pointer": wrong.pointer, "detail": wrong.detail}


def _read(body: Mapping[str, Any]) -> tuple[Job, CutPlan]:
    names = ("request", "plan")
    strangers = [FieldError(f"#/{name}", "unknown field", "unknown_field") for name in body if name not in names]
    parts = {name: body[name] for name in names if isinstance(body.get(name), Mapping)}
    missing = [FieldError(f"#/{name}", "must be an object", "wrong_type") for name in names if name not in parts]
    if strangers or missing:
        raise refused([*strangers, *missing])
    job = _read_request(parts["request"])
    return job, _read_plan(job, parts["plan"])


def _read_request(request: Mapping[str, Any]) -> Job:
    try:
        return read_job(filled(request))
    except Problem as problem:
        raise Problem(problem.kind, problem.detail, [_below(error, "request") for error in problem.errors]) from None


def _read_plan(job: Job, plan: Mapping[str, Any]) -> CutPlan:
    try:
        with in_units(job.units):
            return plan_of(job, ResultSchema().load(plan))
    except ValidationError as error:
        raise Problem("unplannable", "The plan can't be read.", field_errors(error.messages, "#/plan")) from None
    except LookupError:
        words = "speaks of an item, a material or a stock length that the request has not"
        stranger = FieldError("#/plan", words, "id_unknown")
        raise Problem("unplannable", "The plan is not for this request.", [stranger]) from None


def _below(error: FieldError, name: str) -> FieldError:
    return FieldError(error.pointer.replace("#", f"#/{name}", 1), error.detail, error.code, error.readings)


def _pointer(place: str) -> str:
    """Return where a fault is in the body; the checker's places are in the request's items or in the plan."""
    part = "request" if place.startswith("#/required") else "plan"
    return place.replace("#", f"#/{part}", 1)


@dataclass(frozen=True, slots=True)
class Misstatement:
    """One thing stated that the plan does not give: where, as a JSON pointer, and both."""

    pointer: str
    detail: str


def misstatements(stated: object, given: object, unit: Unit, pointer: str) -> Iterator[Misstatement]:
    """Yield whatever of ``stated`` is not as ``given``; what is not stated, or no part of a result, is passed over."""
    if isinstance(stated, Mapping) and isinstance(given, Mapping):
        for name in stated:
            if name in given and name not in _PASSED_OVER:
                yield from misstatements(stated[name], given[name], unit, f"{pointer}/{name}")
    elif isinstance(stated, list) and isinstance(given, list) and len(stated) == len(given):
        for place, (one, other) in enumerate(zip(stated, given, strict=True)):
            yield from misstatements(one, other, unit, f"{pointer}/{place}")
    elif not _same(stated, given, unit, pointer.rpartition("/")[2]):
        yield Misstatement(pointer, f"needed {_shown(given)}, found {_shown(stated)}")


def _same(stated: Any, given: Any, unit: Unit, name: str) -> bool:  # noqa: ANN401 - JSON is anything
    if isinstance(stated, list):
        return bool(stated) and isinstance(given, str) and all(entry == given for entry in stated)
    if isinstance(given, bool) or isinstance(stated, bool) or given is None or stated is None:
        return stated is given
    if name in _MONEY:
        return _decimal(stated) == Decimal(given)
    if isinstance(given, str):
        return stated == given or (name == "text" and _ticks(stated, unit) == _ticks(given, unit) is not None)
    return _same_number(stated, given, unit, name)


def _same_number(stated: Any, given: Any, unit: Unit, name: str) -> bool:  # noqa: ANN401
    if isinstance(stated, str):
        ticks = _ticks(stated, unit)
        return ticks is not None and to_number(ticks, unit) == given
    if not isinstance(stated, int | float | Decimal) or not isinstance(given, int | float):
        return False
    if name in _PLACES:
        return round(float(stated), _PLACES[name]) == given
    return abs(float(stated) - given) <= 0.5 / unit.ticks


def _ticks(text: object, unit: Unit) -> int | None:
    try:
        return read_length(str(text), unit).ticks
    except LengthError:
        return None


def _decimal(amount: object) -> Decimal | None:
    try:
        return Decimal(str(amount))
    except InvalidOperation:
        return None


def _shown(value: object) -> str:
    if isinstance(value, str):
        return value[:_MOST_SHOWN]
    if isinstance(value, Decimal):
        return f"{value:.10g}"
    if isinstance(value, list):
        return f"{len(value)} entries"
    return json.dumps(value, default=str)[:_MOST_SHOWN]
