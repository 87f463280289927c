"""Schemas of what is bought: materials, their stock lengths, and offcuts on hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields as fields_of
from dataclasses import replace
from typing import Any

from marshmallow import fields, validate, validates_schema

from service.wire import limits
from service.wire.base import RequestSchema, put, refuse
from service.wire.fields import FOOT, Amount, Choice, Count, Flag, LengthField, Text
from solver.lengths import Length, Rounding
from solver.materials import DEFAULTS, Category, FactoryEnd, LapEnds, Material, Offcut, Settings, StockLength

_STICK = limits.STICK_FEET * FOOT
_ALLOWANCE = 10 * FOOT


def ticks(value: Any) -> Any:  # noqa: ANN401 - passes on whatever is no length
    """Return a length's ticks, anything else as it is."""
    return value.ticks if isinstance(value, Length) else value


class StockSchema(RequestSchema):
    """One length in which a material is sold; ``available`` and ``price`` are per stick."""

    id = Text(1, limits.ID, required=True)
    length = LengthField(least=1, most=_STICK, rounding=Rounding.DOWN, required=True)
    code = Text(allow_none=True)
    price = Amount(limits.PRICE, limits.PRICE_DECIMALS, allow_none=True)
    available = Count(0, limits.STICKS_AT_HAND, allow_none=True)
    carton = Count(1, limits.CARTON, allow_none=True)
    singles = Flag()
    carton_price = Amount(limits.PRICE * 100, limits.PRICE_DECIMALS, allow_none=True)
    lap = LengthField(least=-_ALLOWANCE, most=_ALLOWANCE, allow_none=True)
    end_gap = LengthField(most=_ALLOWANCE, allow_none=True)

    @validates_schema(skip_on_field_errors=False)
    def _cartons(self, data: Mapping[str, Any], **_: object) -> None:
        errors: dict[Any, Any] = {}
        if data.get("carton") is None and data.get("singles") is False:
            put(errors, ("singles",), "can't be false without carton: how many sticks are in one?")
        if data.get("carton") is None and data.get("carton_price") is not None:
            put(errors, ("carton_price",), "needs carton: how many sticks are in one?")
        refuse(errors)


class MaterialSchema(RequestSchema):
    """A material with its stock; allowances left out take the defaults of its category."""

    id = Text(1, limits.ID, required=True)
    description = Text()
    category = Choice(Category, required=True)
    stock = fields.List(
        fields.Nested(StockSchema),
        required=True,
        validate=validate.Length(1, limits.STOCK_ROWS, error="must have from {min} to {max} stock lengths"),
    )
    lap = LengthField(least=-_ALLOWANCE, most=_ALLOWANCE, allow_none=True)
    end_gap = LengthField(most=_ALLOWANCE)
    kerf = LengthField(most=FOOT, rounding=Rounding.UP)
    lap_ends = Choice(LapEnds)
    shortest_piece = LengthField(most=_STICK, allow_none=True)
    lap_spacing = LengthField(most=_STICK, allow_none=True)
    lap_repeat = Count(0, limits.REPEAT, allow_none=True)
    in_line_within = LengthField(most=_STICK, allow_none=True)
    extra_laps = Count(0, 10)
    keep_offcuts_from = LengthField(most=_STICK)
    spare_percent = Amount(100, limits.PRICE_DECIMALS)

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _stock(self, data: object, original: Mapping[str, Any], **_: object) -> None:
        del data
        errors: dict[Any, Any] = {}
        rows = original.get("stock") if isinstance(original, Mapping) else None
        for index, message in _pricing_faults(rows if isinstance(rows, list) else []):
            put(errors, ("stock", index, "price"), message)
        refuse(errors)


def _pricing_faults(rows: list[Any]) -> list[tuple[int, str]]:
    priced = [isinstance(row, dict) and row.get("price") is not None for row in rows]
    if all(priced) or not any(priced):
        return []
    message = "is missing: either all stock of a material is priced or none"
    return [(index, message) for index, has in enumerate(priced) if not has]


class OffcutSchema(RequestSchema):
    """Left-over lengths on hand, each used at most once and at no cost."""

    id = Text(1, limits.ID, required=True)
    material = Text(1, limits.ID, required=True)
    length = LengthField(least=1, most=_STICK, rounding=Rounding.DOWN, required=True)
    quantity = Count(1, limits.QUANTITY)
    factory_end = Choice(FactoryEnd)


def material_of(data: Mapping[str, Any]) -> Material:
    """Return the material that ``MaterialSchema`` loaded."""
    stock = tuple(StockLength(**{name: ticks(value) for name, value in row.items()}) for row in data["stock"])
    return Material(data["id"], data["category"], stock, _settings(data), data.get("description", ""))


def offcut_of(data: Mapping[str, Any]) -> Offcut:
    """Return the offcut that ``OffcutSchema`` loaded."""
    return Offcut(**{name: ticks(value) for name, value in data.items()})


def _settings(data: Mapping[str, Any]) -> Settings:
    given = {field.name: ticks(data[field.name]) for field in fields_of(Settings) if field.name in data}
    return replace(DEFAULTS[data["category"]], **given)
