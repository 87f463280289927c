"""Materials of the catalogue on the wire: what a plan may copy, with the dates from which prices hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from enum import StrEnum
from typing import Any

from marshmallow import ValidationError, validates_schema

from service.http.problems import FieldError, refused
from service.wire import limits
from service.wire.base import AnsweredSchema, WireSchema, field_errors, put, refuse, told
from service.wire.fields import Choice, DateField, Fault, FileField, Flag, Id, Json, Many, Text, Words, date_of
from service.wire.job import UNITS_ABOUT, units_of
from service.wire.materials.breaks import pricing_faults, sale_faults
from service.wire.materials.material import MaterialSchema, NamedSchema, SettingsSchema, StockSchema, worth_fault
from service.wire.numbers import Count, in_units, plain, ticks
from solver.lengths import Unit
from workers.orders.catalogue import Entry

NAMED_BY_STORE = ("id", "version")
"""What the address and the store say of a material: where a body says them too, it was got from there."""


PRICES = ("price", "carton_price", "breaks")
"""What a row that names a price says all of."""


class MayBeNone(StrEnum):
    """What a stock length may have none of."""

    CODE = "code"
    PRICE = "price"
    AVAILABLE = "available"
    CARTON = "carton"
    CARTON_PRICE = "carton_price"
    BREAKS = "breaks"
    LAP = "lap"
    END_GAP = "end_gap"


class DatedStockSchema(StockSchema):
    """One length in which a material is sold, as it is from a date on."""

    as_given = True

    since = DateField(
        "The day from which this row holds; null is from the beginning. What it does not name stays as it was under "
        "the same `id`; a row with a `price` says all prices anew, `carton_price` and `breaks` too, and null is none.",
        data_key="from", allow_none=True, default=None, sparse=True,
    )  # fmt: skip
    none = Many(
        "What is none from then on, though it was something before; in a request null says the same of each.",
        Choice("A field of a stock length.", MayBeNone), 0, len(MayBeNone), default=[], sparse=True,
    )  # fmt: skip

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _sold(self, data: Mapping[str, Any], original: object, **settings: Any) -> None:  # noqa: ANN401
        # a dated row is looked at together with what it changes
        if data.get("since") is None:
            super()._sold(data, original, **settings)

    def dump(self, obj: Any, *, many: bool | None = None) -> Any:  # noqa: ANN401
        """Return a row, or ``many``, as it is kept; one with a date has null for what is none from then on."""
        answer = super().dump(obj, many=many)
        if isinstance(answer, dict) and obj.get("since") is not None:
            answer |= {name: obj[name] for name in self.fields if name in obj and obj[name] in (None, [])}
        return answer


class CatalogueMaterialSchema(SettingsSchema, NamedSchema):
    """A material of the catalogue; settings left out take the defaults of its category."""

    as_given = True

    id = Id("Its name in the address; in a request it may be left out.", label="Material")
    version = Count("Grows with every change; no two states of a material have the same. In a request it is not "
                    "looked at.", 1)  # fmt: skip
    units = Choice(UNITS_ABOUT, Unit, required=True)
    also = Many("Other names by which lists and people call it.", Text(least=1), 0, limits.OTHER_NAMES, default=[],
                label="Also called")  # fmt: skip
    example = Flag(
        "Whether its figures are examples without a source, to be replaced by one's own, as in the starter set.",
        default=False,
    )  # fmt: skip
    source = Text("Where its figures come from.", most=limits.NOTE, default="")
    stock = Many(
        "The lengths in which it is sold, each once for every date from which something of it changes.",
        DatedStockSchema, 1, limits.PRICE_ROWS, what="stock lengths", required=True,
    )  # fmt: skip

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _in_time(self, data: Mapping[str, Any], original: Mapping[str, Any], **_: object) -> None:
        errors: dict[Any, Any] = {}
        given = original.get("stock")
        rows = given[: limits.PRICE_ROWS] if isinstance(given, list) else []
        loaded = data.get("stock", ())
        lengths = _other_lengths(loaded) if len(loaded) == len(rows) else ()
        for index, name, fault in (*_twice(rows), *_unpriced(rows), *lengths):
            put(errors, ("stock", index, name), fault)
        refuse(errors)

    @validates_schema(pass_original=True)
    def _each_day(self, data: Mapping[str, Any], original: Mapping[str, Any], **_: object) -> None:
        """Look at what each date makes of the rows before it."""
        errors: dict[Any, Any] = {}
        rows = [
            {name: value for name, value in _named(row, given).items() if name != "since"} | {"from": row.get("since")}
            for row, given in zip(data["stock"], original["stock"], strict=True)
        ]
        keys = [(index, row["id"], row["from"] or date.min) for index, row in enumerate(rows)]
        for day in sorted({since for _, _, since in keys}):
            holding = _holding(keys, rows, day)
            for index, row in holding:
                for path, fault in sale_faults(row, row) if day == rows[index]["from"] else ():
                    put(errors, ("stock", index, *path), fault)
            stock = [row for _, row in holding]
            if not errors and (dear := worth_fault(data, stock)):
                put(errors, ("offcut_value",), dear)
        refuse(errors)


def _keys(rows: Sequence[Any]) -> Iterator[tuple[int, str, date]]:
    """Yield place, id and first day of each row that has them; its schema refuses the others."""
    for index, row in enumerate(rows):
        if isinstance(row, Mapping) and isinstance(row.get("id"), str):
            since = date.min if row.get("from") is None else date_of(row["from"])
            if since:
                yield index, row["id"], since


def _twice(rows: Sequence[Any]) -> Iterator[tuple[int, str, Fault]]:
    seen: dict[tuple[str, date], int] = {}
    for index, id_, since in _keys(rows):
        before = seen.setdefault((id_, since), index)
        if before != index:
            yield index, "id", Fault("comes twice for the same date", "id_twice")


def _unpriced(rows: Sequence[Any]) -> Iterator[tuple[int, str, Fault]]:
    """Yield each row without a price that holds on some day together with rows that have one."""
    keys, told_of = [*_keys(rows)], set()
    for day in sorted({since for _, _, since in keys}):
        holding = _holding(keys, rows, day)
        for place, words in pricing_faults([row for _, row in holding]):
            index = holding[place][0]
            if index not in told_of:
                told_of.add(index)
                yield index, "price", Fault(words, "needs_another")


def _other_lengths(rows: Sequence[Mapping[str, Any]]) -> Iterator[tuple[int, str, Fault]]:
    first: dict[str, int] = {}
    for index, row in enumerate(rows):
        if not {"id", "length"} <= row.keys():
            continue
        before = first.setdefault(row["id"], index)
        if ticks(row["length"]) != ticks(rows[before]["length"]):
            yield index, "length", Fault("is another length than the same id has elsewhere", "other_length")


def _holding(
    keys: Iterable[tuple[int, str, date]], rows: Sequence[Mapping[str, Any]], day: date
) -> list[tuple[int, Json]]:
    """Return what holds on a day, in the order in which ids come, each with the place of the row that was last."""
    latest: dict[str, tuple[int, Json]] = {id_: (0, {}) for _, id_, _ in keys}
    for index, id_, _ in sorted((key for key in keys if key[2] <= day), key=lambda key: (key[2], key[0])):
        row = rows[index]
        anew = PRICES if "price" in row else ()
        # without prices nothing is charged once either
        anew = (*anew, "fixed_cost") if row.get("price", 0) is None else anew
        latest[id_] = (index, {**{name: value for name, value in latest[id_][1].items() if name not in anew}, **row})
    return [found for found in latest.values() if found[1]]


def in_force(rows: Sequence[Json], day: date) -> list[Json]:
    """Return of the stock of a material what holds on a day, each with what its last row changed."""
    return [row for _, row in _holding([*_keys(rows)], rows, day)]


class PriceListSchema(WireSchema):
    """A price list as a file."""

    file = FileField(
        "CSV, TSV, XLSX or ODS, told apart by what is in it, in the form in which `/v1/price-list.csv` gives it: a row "
        "for each stock length of a material and each date `from` which it holds, under headings, of which those of "
        "material and length must be there.",
        required=True,
    )  # fmt: skip


class TakenInSchema(AnsweredSchema):
    """What a price list did, by ids."""

    new = Many("Materials that are new in the catalogue.", Id())
    changed = Many("Materials that are others than before.", Id())
    unchanged = Many("Materials that are as they were.", Id())


class CataloguePageSchema(WireSchema):
    """A page of the catalogue, by the order of ids."""

    materials = Many("The materials of this page.", CatalogueMaterialSchema)
    next = Words("What to send as `cursor` for the next page; null on the last.", allow_none=True)


_SCHEMA, _STOCK = CatalogueMaterialSchema(), DatedStockSchema()
_OF_A_REQUEST = MaterialSchema().fields


def read_material(id_: str, body: Mapping[str, Any]) -> Json:
    """Return what a body says of a material, as it is kept. Raises ``Problem`` naming every fault at once."""
    other = [FieldError("#/id", "is not the one of the address", "wrong_form")] if body.get("id", id_) != id_ else []
    try:
        loaded = _loaded(body)
    except ValidationError as error:
        raise refused([*other, *field_errors(error.messages)]) from None
    if other:
        raise refused(other)
    return told(_SCHEMA, loaded, loaded["units"])


def _loaded(body: Mapping[str, Any]) -> Json:
    if isinstance(body.get("stock"), list):
        body = {**body, "stock": [_without_none(row) for row in body["stock"][: limits.PRICE_ROWS + 1]]}
    with in_units(units_of(body)):
        data = _SCHEMA.load(body)
    said = {name: value for name, value in _said(_SCHEMA, data).items() if name not in NAMED_BY_STORE}
    rows = zip(data["stock"], body["stock"], strict=True)
    stock = [_named(row, given) if row.get("since") else _said(_STOCK, row) for row, given in rows]
    return {**said, "stock": stock}


def _named(row: Mapping[str, Any], given: Mapping[str, Any]) -> Json:
    """Return of a row that was loaded what was given, be it what it would be anyway: a later row then changes that."""
    return {name: value for name, value in plain(row).items() if (_STOCK.fields[name].data_key or name) in given}


def _said(schema: WireSchema, data: Mapping[str, Any]) -> Json:
    """Return what was loaded but for what it would be anyway."""
    usual = {name: field.metadata["default"] for name, field in schema.fields.items() if "default" in field.metadata}
    return {name: value for name, value in plain(data).items() if name not in usual or value != usual[name]}


def same(one: Json, other: Json) -> bool:
    """Whether two bodies, as they are kept, say the same, however they write lengths and prices."""
    return _loaded(one) == _loaded(other)


def longest_stock(entry: Entry) -> int:
    """Return the longest length, in ticks, in which a material is sold or ever was as far as it is known."""
    return max((row["length"] for row in _loaded(entry.body)["stock"]), default=0)


def render_entry(entry: Entry) -> Json:
    """Return the resource of a material."""
    stock = [_with_none(row) if row.get("from") else row for row in entry.body["stock"]]
    return {"id": entry.id, "version": entry.version, **entry.body, "stock": stock}


def _with_none(row: Json) -> Json:
    """Return a row as it is answered: what is none by name, for answers have no null where a field may be left out."""
    none = [name for name, value in row.items() if value in (None, [])]
    said = {name: value for name, value in row.items() if name not in none}
    return {**said, "none": none} if none else said


def _without_none(row: Any) -> Any:  # noqa: ANN401 - JSON is anything
    """Return a row as it is read, null for what it names as none; what is no such list is left to its schema."""
    none = row.get("none") if isinstance(row, Mapping) else None
    if not isinstance(none, list) or not all(isinstance(name, str) and name in [*MayBeNone] for name in none):
        return row
    said = {name: value for name, value in row.items() if name != "none"}
    return {**said, **{name: [] if name == "breaks" else None for name in none}}


def for_request(entry: Entry, day: date, units: Unit) -> Json:
    """Return a material as a request says it, with the stock that holds on a day and lengths in ``units``.

    Where nothing is sold on that day, ``stock`` is empty.
    """
    body = entry.body
    if body["units"] != units:
        body = told(_SCHEMA, _loaded(body), units)
    stock = [{name: value for name, value in row.items() if name != "from"} for row in in_force(body["stock"], day)]
    said = {name: value for name, value in body.items() if name in _OF_A_REQUEST}
    return {"id": entry.id, **said, "stock": stock, "catalogue": {"id": entry.id, "version": entry.version}}


def read_price_file(body: Mapping[str, Any]) -> bytes:
    """Return the file that a body holds. Raises ``Problem``."""
    try:
        file: bytes = PriceListSchema().load(body)["file"]
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    return file


def render_taken_in(taken: object) -> Json:
    """Return what a price list did."""
    answer: Json = TakenInSchema().dump(taken)
    return answer
