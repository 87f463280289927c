"""The schema of a whole request, the way from it to the solver's ``Job``, and faults that show only across fields.

Names used twice or not known and totals too large are looked for in the body as it was sent, so that they are told
together with faults of single fields.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.http.problems import MOST_ERRORS, FieldError, refused
from service.wire import limits
from service.wire.base import Misnamed, WireSchema, field_errors, put, refuse, told
from service.wire.fields import Choice, Companion, Described, Fault, Id, Json, Many, One, Side, Text, wrong
from service.wire.materials.material import MaterialSchema, OffcutSchema, material_of, offcut_of
from service.wire.numbers import Amount, Count, Seconds, in_units
from service.wire.particulars import ParticularsSchema
from service.wire.required import RequiredSchema, WallSchema, required_of, wall_of
from service.wire.suppliers import MinimumOrderSchema, SupplierSchema, minimum_of, named_twice, supplier_of
from solver.job import FromRack, Good, Job
from solver.lengths import Unit
from solver.validation import find_problems
from workers.callbacks import LONGEST_ADDRESS

Path = tuple[str | int, ...]
_MOST = {
    "materials": limits.MATERIALS, "walls": limits.WALLS, "required": limits.LINES, "offcuts": limits.OFFCUTS,
    "stock": limits.STOCK_ROWS,
}  # fmt: skip
"""Entries of a list; of one that is longer no more is said than that."""


def cross_faults(body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
    """Yield every fault across fields with its path; parts of the wrong type are passed over.

    Of a part of a request, such as a job of a week, those that show without the other parts.
    """
    materials, walls = list(_entries(body, "materials")), list(_entries(body, "walls"))
    for name, entries in (("materials", materials), ("walls", walls), ("offcuts", list(_entries(body, "offcuts")))):
        yield from _twice((name,), entries)
    for index, material in materials:
        yield from _twice(("materials", index, "stock"), list(_entries(material, "stock")))
    if not _is_long(body, "walls"):
        yield from _unknown(body, "required", "wall", _ids(walls))
    yield from _too_many(body)


def _whole_faults(body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
    """Yield the faults that show only in a whole request: suppliers named twice, materials it has not."""
    yield from ((("suppliers", place, "name"), fault) for place, fault in named_twice(body))
    if not _is_long(body, "materials"):
        known = _ids(list(_entries(body, "materials")))
        yield from _unknown(body, "required", "material", known)
        yield from _unknown(body, "offcuts", "material", known)


def _entries(body: Mapping[str, Any], name: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    rows = body.get(name)
    for index, row in enumerate(rows if isinstance(rows, list) and not _is_long(body, name) else []):
        if isinstance(row, Mapping):
            yield index, row


def _is_long(body: Mapping[str, Any], name: str) -> bool:
    rows = body.get(name)
    return isinstance(rows, list) and len(rows) > _MOST[name]


def _ids(entries: list[tuple[int, Mapping[str, Any]]]) -> set[str]:
    """Return the ids of entries; one that is to come from the catalogue and was not found there is called so too."""
    named = (row.get("id", row.get("catalogue")) for _, row in entries)
    return {name for name in named if isinstance(name, str)}


def ids_in(body: Mapping[str, Any], name: str) -> set[str]:
    """Return the ids of a body's ``materials`` or ``walls``, whatever else is wrong with them."""
    return _ids(list(_entries(body, name)))


def _twice(path: Path, entries: list[tuple[int, Mapping[str, Any]]]) -> Iterator[tuple[Path, Fault]]:
    seen: dict[str, int] = {}
    for index, row in entries:
        name = row.get("id")
        if not isinstance(name, str):
            continue
        if name in seen:
            yield (*path, index, "id"), Fault(f"is the id of entry {seen[name]} too", "id_twice")
        seen.setdefault(name, index)


def _unknown(body: Mapping[str, Any], rows: str, field: str, known: set[str]) -> Iterator[tuple[Path, Fault]]:
    for index, row in _entries(body, rows):
        name = row.get(field)
        if isinstance(name, str) and name not in known:
            yield (rows, index, field), Misnamed.of(f"is no {field} of this request", "id_unknown", name, known)


def _too_many(body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
    pieces = sum(_whole(row, "quantity") * _whole(row, "courses") for _, row in _entries(body, "required"))
    if pieces > limits.PIECES:
        words = f"asks for {pieces} pieces; one request may ask for {limits.PIECES}"
        yield ("required",), Fault(words, "too_many_pieces")
    at_hand = sum(_whole(row, "quantity") for _, row in _entries(body, "offcuts"))
    if at_hand > limits.PIECES:
        words = f"lists {at_hand} offcuts; one request may list {limits.PIECES}"
        yield ("offcuts",), Fault(words, "too_many_pieces")


def _whole(row: Mapping[str, Any], name: str) -> int:
    value = row.get(name, 1)
    counts = isinstance(value, int) and not isinstance(value, bool)
    return max(0, min(value, 10**12)) if counts else 1


UNITS_ABOUT = (
    "What a number means that stands for a length: `in`, `ft`, `mm`, `cm` or `m`. Text may say its own. Answers are in "
    "the same units."
)


class LimitsSchema(WireSchema):
    """How long the planning may take."""

    seconds = Seconds("Seconds of planning for the whole request; the best plan by then is answered.", default=10)


class RackField(Described):
    """What a plan may use of the rack: true for whatever fits, or labels; false or no label is nothing."""

    _labels = Many("Labels.", Id(), 0, limits.OFFCUTS, what="labels")

    def _deserialize(self, value: object, *_: object, **settings: Any) -> FromRack | None:  # noqa: ANN401
        if isinstance(value, bool):
            return FromRack() if value else None
        if not isinstance(value, list):
            raise wrong("wrong_type", "must be true, false or a list of labels")
        labels: list[str] = self._labels.deserialize(value, **settings)
        twice = {place: [_label_twice(label)] for place, label in enumerate(labels) if label in labels[:place]}
        if twice:
            raise ValidationError(twice)
        return FromRack(tuple(labels)) if labels else None

    def _serialize(self, value: FromRack | None, *_: object, **__: object) -> bool | list[str]:
        return rack_told(value)

    def shape(self, side: Side) -> Json:
        """True or false, or labels."""
        listed = {"type": "array", "items": Id().shape(side), "maxItems": limits.OFFCUTS, "uniqueItems": True}
        return {"anyOf": [{"type": "boolean"}, listed]}


def _label_twice(label: str) -> Fault:
    return Fault(f"{label} is named before", "id_twice")


class GoodSchema(WireSchema):
    """What a job needs besides what is cut: it stands on the order, and nothing of it is planned."""

    what = Text("What it is.", least=1, required=True)
    quantity = Amount("How much of it, with up to 2 decimals.", 1_000_000, 2, required=True)
    unit = Text("What it is counted in.", least=1, required=True)
    product = Id("What it is bought as; null where it is not ordered.", allow_none=True, default=None)


CALLBACK_ABOUT = (
    "Address of the caller's that is posted to once the plan is over, signed; `webhooks` of the contract has what. "
    "Only origins that whoever runs the server has allowed are called."
)


class CrossedSchema(WireSchema):
    """What is looked at across its fields too, in the body as it was sent."""

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _across(self, data: object, original: object, **_: object) -> None:
        del data
        errors: dict[Any, Any] = {}
        for path, message in self.crossed(original) if isinstance(original, Mapping) else ():
            put(errors, path, message)
        refuse(errors)

    def crossed(self, body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
        """Yield every fault across fields with its path."""
        return cross_faults(body)


class JobSchema(CrossedSchema):
    """A request for a cut plan: what is wanted, and what it may be cut from."""

    name = Text("What the job is called on sheets.", default="")
    units = Choice(UNITS_ABOUT, Unit, required=True)
    materials = Many("What is bought and cut.", MaterialSchema, 1, limits.MATERIALS, required=True)
    walls = Many("The walls that items are on.", WallSchema, 0, limits.WALLS, default=[])
    required = Many(
        f"What is wanted; at most {limits.PIECES} pieces in all. Answers refer to an item by its place here, from 0. "
        "A long list may meet the limit of the body before that of its lines.",
        RequiredSchema, 1, limits.LINES, what="items", required=True,
    )  # fmt: skip
    takeoff: Described = Companion("What a take-off said beside its items; it is not looked at.", load_only=True)
    offcuts = Many(
        f"Left-over lengths on hand, used before new sticks where that costs less; at most {limits.PIECES} in all.",
        OffcutSchema, 0, limits.OFFCUTS, default=[],
    )  # fmt: skip
    rack = RackField(
        "What may be used of what lies on the rack (`/v1/rack`): true for whatever fits, or a list of labels. It is "
        "looked up when the job is planned, and what the plan uses is held for it; what others took meanwhile is said "
        "in `warnings`. An entry of `offcuts` with the same id takes its place.",
        default=False,
    )  # fmt: skip
    goods = Many("What the job needs besides what is cut.", GoodSchema, 0, limits.MATERIALS, default=[])
    minimum_order = One(
        "The minimum order of materials that name no supplier; null where there is none. Weeks do not heed it.",
        MinimumOrderSchema, allow_none=True, default=None,
    )  # fmt: skip
    suppliers = Many(
        "What orders of the suppliers that materials name come to beside their goods; who is not here charges for "
        "goods alone. Weeks do not heed it.",
        SupplierSchema, 0, limits.SUPPLIERS, default=[],
    )  # fmt: skip
    within_days = Count(
        "Days from today that you can wait for what is ordered; stock lengths whose `wait_days` are more are as if "
        "none were available. null: as long as it takes. Weeks do not heed it.",
        0, limits.WAIT_DAYS, allow_none=True, default=None, label="Can wait, days",
    )  # fmt: skip
    limits = One("What the planning may take.", LimitsSchema, of=lambda job: job)
    particulars = One("For whom and until when it is.", ParticularsSchema, load_only=True)
    callback = Text(CALLBACK_ABOUT, 1, LONGEST_ADDRESS, load_only=True)

    def crossed(self, body: Mapping[str, Any]) -> Iterator[tuple[Path, Fault]]:
        """Yield every fault across fields with its path."""
        yield from super().crossed(body)
        yield from _whole_faults(body)


_SCHEMA = JobSchema()


def read_job(
    body: Mapping[str, Any],
    with_rack: Callable[[Job], Job] = lambda job: job,
    beside: Callable[[Mapping[str, Any]], Iterable[FieldError]] = lambda _: (),
) -> Job:
    """Return the job a request asks for. Raises ``Problem`` naming every fault at once.

    ``with_rack`` returns a job with what there is on the rack for it: what comes out of that alone is no fault.
    ``beside`` returns what else is wrong with a body, told with its other faults; where it has none, whoever accepts
    the job asks.
    """
    try:
        with in_units(units_of(body)):
            job = _job(_SCHEMA.load(body))
    except ValidationError as error:
        raise refused([*islice(field_errors(error.messages), MOST_ERRORS + 1), *beside(body)]) from None
    problems = find_problems(with_rack(job))
    if problems:
        faults = (FieldError(problem.pointer, problem.detail, problem.code) for problem in problems)
        raise refused([*faults, *beside(body)])
    return job


def render_request(job: Job) -> Json:
    """Return the request that a job was read from, with everything it left out."""
    return told(_SCHEMA, job, job.units)


def units_of(body: Mapping[str, Any]) -> Unit:
    """Return the units for reading lengths; where they are wrong, lengths are still looked at, as inches."""
    given = body.get("units")
    return Unit(given) if isinstance(given, str) and given in list(Unit) else Unit.IN


def _job(data: Mapping[str, Any]) -> Job:
    settings = {"seconds": data["limits"]["seconds"]} if data.get("limits") else {}
    return Job(
        name=data.get("name", ""),
        units=data["units"],
        materials=tuple(map(material_of, data["materials"])),
        required=tuple(required_of(item, place) for place, item in enumerate(data["required"], start=1)),
        offcuts=tuple(map(offcut_of, data.get("offcuts", ()))),
        walls=tuple(map(wall_of, data.get("walls", ()))),
        goods=tuple(map(_good_of, data.get("goods", ()))),
        minimum_order=minimum_of(data),
        suppliers=tuple(map(supplier_of, data.get("suppliers", ()))),
        rack=data.get("rack"),
        within_days=data.get("within_days"),
        **settings,
    )


def _good_of(data: Mapping[str, Any]) -> Good:
    return Good(data["what"], data["quantity"], data["unit"], data.get("product"))


def rack_told(rack: FromRack | None) -> bool | list[str]:
    """Return what a job may use of the rack as a request says it."""
    return (list(rack.labels) or True) if rack else False


def render_good(good: Good) -> Json:
    """Return a good as a request says it."""
    answer: Json = GoodSchema().dump(good)
    return answer
