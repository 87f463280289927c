"""What is bought, on the wire: materials, their stock lengths, and offcuts on hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields as fields_of
from dataclasses import replace
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError, pre_load, validates_schema

from service.http.problems import refused
from service.wire import limits
from service.wire.base import WireSchema, by_category, field_errors, put, refuse, told
from service.wire.fields import Choice, Fault, Flag, Id, Json, Many, Text, wrong
from service.wire.materials.breaks import PriceBreakSchema, priced_rows, pricing_faults, sale_faults
from service.wire.materials.copied_from import CatalogueField
from service.wire.numbers import ALLOWANCE, FOOT, STICK, Amount, Count, LengthField, in_units, plain, ticks
from solver.buying.terms import worth_its_price
from solver.categories import Category, LapEnds, PanelsServe, Settings
from solver.lengths import Rounding, Unit
from solver.materials import BreaksCount, FactoryEnd, Material, Offcut, PriceBreak, StockLength

FACTORY_END = (
    "Which ends are as manufactured, notched for lapping, seen with the face towards you: `left`, `right`, `both` or "
    "`none`."
)


class StockSchema(WireSchema):
    """One length in which a material is sold.

    Where cartons, breaks or fixed costs make the bill more than sticks times a price, the bill is what is kept least.
    """

    id = Id("Name of this stock length, given once in the material.", required=True, label="Stock id")
    length = LengthField(
        "How long one stick is, as measured: names such as 12 ft are often nominal. What is no whole tick is rounded "
        "down.",
        least=1, most=STICK, rounding=Rounding.DOWN, required=True, label="Length",
    )  # fmt: skip
    code = Text("The supplier's code, repeated in the order.", allow_none=True, sparse=True,
                label="Supplier’s code")  # fmt: skip
    price = Amount(
        f"Price of one stick, in whatever currency, with up to {limits.PRICE_DECIMALS} decimals. Either all stock of a "
        "material has prices or none; without prices the length bought is kept least.",
        limits.PRICE, limits.PRICE_DECIMALS, allow_none=True, sparse=True, label="Price each",
    )  # fmt: skip
    available = Count(
        "How many sticks there are to be had; null is as many as wanted.",
        0, limits.STICKS_AT_HAND, allow_none=True, default=None, sparse=True, label="Number available",
    )  # fmt: skip
    carton = Count(
        "How many sticks are in a carton; null where there are no cartons.",
        1, limits.CARTON, allow_none=True, default=None, sparse=True, label="Per carton",
    )  # fmt: skip
    singles = Flag("Whether single sticks are sold; false only with `carton`.", default=True,
                   label="Single sticks sold")  # fmt: skip
    carton_price = Amount(
        "Price of a carton, where it is not that of its sticks; needs `carton`. Cartons are whole, and singles beside "
        "them cost `price` each; nobody has to take a carton.",
        limits.PRICE * 100, limits.PRICE_DECIMALS, allow_none=True, sparse=True, label="Price of a carton",
    )  # fmt: skip
    breaks = Many(
        "Lower prices from so many sticks on, by rising `sticks`. More than are cut may be bought to reach one.",
        PriceBreakSchema, 0, limits.BREAKS, what="price breaks", default=[], label="Price breaks",
    )  # fmt: skip
    breaks_count = Choice(
        "Which sticks bought count towards a break: those of this `length`, or of all of the `material`.",
        BreaksCount, default=BreaksCount.LENGTH,
    )  # fmt: skip
    fixed_cost = Amount(
        "What is charged once if any stick of this length is bought, such as for its handling; needs `price`.",
        limits.PRICE, limits.PRICE_DECIMALS, default=Decimal(0), label="Charged once for the length",
    )  # fmt: skip
    wait_days = Count(
        "A special order: so many days until it comes. 0 is what is there at once. Plans heed `within_days` of the "
        "request; weeks do not heed it.",
        0, limits.WAIT_DAYS, default=0, label="Special order, days to wait",
    )  # fmt: skip
    lap = LengthField(
        "Lap of this stock length, where it is not the material's; null is the material's.",
        least=-ALLOWANCE, most=ALLOWANCE, allow_none=True, default=None, sparse=True, label="Lap of this length",
    )  # fmt: skip
    end_gap = LengthField(
        "Expansion gap of this stock length, where it is not the material's; null is the material's.",
        most=ALLOWANCE, allow_none=True, default=None, sparse=True, label="Expansion gap of this length",
    )  # fmt: skip

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _sold(self, data: Mapping[str, Any], original: object, **_: object) -> None:
        errors: dict[Any, Any] = {}
        for path, fault in sale_faults(data, original if isinstance(original, Mapping) else {}):
            put(errors, path, fault)
        refuse(errors)


class SettingsSchema(WireSchema):
    """The allowances and rules of a material."""

    lap = LengthField(
        "How far one panel lies over the next. 0 is a butt joint, a negative lap a gap; null: it may not be lapped, "
        f"and nothing longer than a stick can be asked. {by_category('lap')}",
        least=-ALLOWANCE, most=ALLOWANCE, allow_none=True, label="Lap",
    )  # fmt: skip
    end_gap = LengthField(
        f"Expansion gap taken off at each end that meets a channel. {by_category('end_gap')}", most=ALLOWANCE,
        label="Expansion gap at channels",
    )  # fmt: skip
    kerf = LengthField(
        f"What each cut takes. What is no whole tick is rounded up. {by_category('kerf')}",
        most=FOOT, rounding=Rounding.UP, label="Saw kerf",
    )  # fmt: skip
    lap_ends = Choice(
        "Which ends may be lapped: `factory`, only an end as manufactured; `renotched`, a field end too, once hem and "
        f"lock are trimmed there; `any`, ends do not matter. {by_category('lap_ends')}",
        LapEnds, label="Lapped ends",
    )  # fmt: skip
    shortest_piece = LengthField(
        f"No piece of a lapped run is shorter; null is no such rule. {by_category('shortest_piece')}",
        most=STICK, allow_none=True, label="Shortest piece in a run",
    )  # fmt: skip
    lap_spacing = LengthField(
        f"Laps of adjacent courses are at least so far apart; null is no such rule. {by_category('lap_spacing')}",
        most=STICK, allow_none=True, label="Least distance between laps of adjacent courses",
    )  # fmt: skip
    lap_repeat = Count(
        "Courses that are so many apart or fewer have no laps in line; null is no such rule. "
        f"{by_category('lap_repeat')}",
        0, limits.REPEAT, allow_none=True, label="Courses before laps line up again",
    )  # fmt: skip
    in_line_within = LengthField(
        f"Laps nearer to one another along the wall are in line; null is no such rule. {by_category('in_line_within')}",
        most=STICK, allow_none=True, label="Laps count as lined up within",
    )  # fmt: skip
    extra_laps = Count(
        "A run has at most so many laps more than the fewest; 0 is the fewest, null as many as rules and cost want, at "
        "most one more. The fewest are those of the longest stock length without limit (`available` null); where "
        f"each is limited, those of the shortest. {by_category('extra_laps')}",
        0, 10, allow_none=True, label="Extra laps allowed in a run",
    )  # fmt: skip
    lap_price = Amount(
        "What each lap counts beside the price of sticks, in the same money: your own reckoning of the time it takes "
        "and of how it looks. A stick is then saved only by laps that come to less; rules of placement still come "
        "first. It is in no cost, bound, order or bill, and needs prices. Weeks heed it day by day. 0: a stick saved "
        f"is worth any laps, and of plans that cost as little the one with fewest is taken. {by_category('lap_price')}",
        limits.PRICE, limits.PRICE_DECIMALS, label="What a lap counts, in money",
    )  # fmt: skip
    cut_price = Amount(
        "What each cut at the saw counts, in the money of the prices. It is in the plan's `cost` and `bound` and in no "
        "order: your own reckoning, as are the next two; all three need prices, and weeks do not heed them. A stick "
        f"takes a cut for each piece, one less where its pieces use it up. {by_category('cut_price')}",
        limits.PRICE, limits.PRICE_DECIMALS, label="What a cut counts, in money",
    )  # fmt: skip
    pattern_price = Amount(
        "What setting the saw up for a pattern counts, once however many sticks are cut so. Patterns are the same "
        "where sticks are as long and pieces take the same lengths; a stick used whole needs none. "
        f"{by_category('pattern_price')}",
        limits.PRICE, limits.PRICE_DECIMALS, label="What a pattern counts, in money",
    )  # fmt: skip
    offcut_value = Amount(
        "What a foot (304.8 mm) of an offcut counts that is kept, each offcut rounded down to a hundredth. A stick "
        "bought and not cut counts as an offcut of its length; one on hand that is used up counts as much less. A "
        f"whole stick has to be worth less than it ever costs. {by_category('offcut_value')}",
        limits.PRICE, limits.PRICE_DECIMALS, label="Value of a kept offcut, a foot",
    )  # fmt: skip
    panels_serve = Choice(
        "For what the pieces of one stick are: `job`, for any walls; `wall`, for one wall alone (or for what is on "
        f"none), which may cost sticks; how many is said. Weeks do not heed it. {by_category('panels_serve')}",
        PanelsServe, label="One stick serves",
    )  # fmt: skip
    most_put_aside = Count(
        "At most so many pieces lie cut and not yet hung at any time, if need be by keeping each wall to itself; what "
        f"that costs, or what could not be kept, is said. null: no limit. {by_category('most_put_aside')}",
        0, limits.QUANTITY, allow_none=True, label="Most pieces put aside at once",
    )  # fmt: skip
    keep_offcuts_from = LengthField(
        f"What is left of a stick is kept if it is so long, else it is scrap. {by_category('keep_offcuts_from')}",
        most=STICK, label="Shortest offcut to keep",
    )  # fmt: skip
    spare_percent = Amount(
        "Spare sticks to order, in percent of the sticks bought, rounded up to whole sticks of the length used most, "
        f"with up to {limits.PRICE_DECIMALS} decimals. {by_category('spare_percent')}",
        100, limits.PRICE_DECIMALS, label="Spares, %",
    )  # fmt: skip
    spare_sticks = Count(
        "Spare sticks to order on top of that, of the same length, with every order in which sticks of the material "
        f"are cut. {by_category('spare_sticks')}",
        0, limits.CARTON, label="Spares, sticks",
    )  # fmt: skip
    one_lot = Flag(
        "Whether all of it is to come of one lot, for colours of two may differ: then it is said where more is wanted "
        "than is available, and in a week where it comes with more than one delivery. Default false.",
        label="All of one lot",
    )  # fmt: skip


class NamedSchema(WireSchema):
    """What every material is called, what it is for, and how it is sold."""

    id = Id("Name of the material, given once in the request.", required=True)
    description = Text("What it is called on sheets and in the order.", default="")
    category = Choice(
        "What it is for; chooses the defaults of everything left out. `siding`: horizontal panels; `vertical`: upright "
        "panels, board and batten among them; `shake`: rows of short panels; `insulated`: foam-backed horizontal "
        "panels; `soffit`; `starter`: starter strip; `post`: corner posts; `channel`: channel and other trim with a "
        "pocket; `other`.",
        Category, required=True, label="Type",
    )  # fmt: skip
    supplier = Text(
        "Who sells it, as its order is headed; nothing where nobody says. What is bought of one supplier is one order.",
        most=limits.ID, default="", sparse=True, label="Supplier",
    )  # fmt: skip
    stock = Many(
        "The lengths in which it is sold.", StockSchema, 1, limits.STOCK_ROWS, what="stock lengths", required=True
    )


class MaterialSchema(SettingsSchema, NamedSchema):
    """A material with the lengths it is sold in; settings left out take the defaults of its category."""

    either = (("catalogue",), ("id", "category", "stock"))

    catalogue = CatalogueField(
        "The material of the catalogue, by id, that it is; what else is said here holds in place of what the catalogue "
        "says, and `stock` in place of all stock lengths there. The plan keeps a copy, which says by id and version "
        "what it is of.",
        of=lambda material: material.origin, allow_none=True, sparse=True,
    )  # fmt: skip

    @pre_load
    def _known(self, data: object, **_: object) -> object:
        """Refuse a material of the catalogue that was not found there; what else is missing then is not at fault."""
        if isinstance(data, Mapping) and isinstance(data.get("catalogue"), str):
            raise wrong("not_in_catalogue", "the catalogue has no such material", "catalogue")
        return data

    def get_attribute(self, obj: Any, attr: str, default: Any) -> Any:  # noqa: ANN401
        """Look for settings where a material keeps them."""
        return super().get_attribute(obj.settings if hasattr(obj.settings, attr) else obj, attr, default)

    @validates_schema(skip_on_field_errors=False, pass_original=True)
    def _stock(self, data: object, original: Mapping[str, Any], **_: object) -> None:
        errors: dict[Any, Any] = {}
        rows = original.get("stock") if isinstance(original, Mapping) else None
        for index, message in pricing_faults(rows):
            put(errors, ("stock", index, "price"), Fault(message, "needs_another"))
        for name in () if any(priced_rows(rows)) else COUNTED:
            if isinstance(data, Mapping) and data.get(name):
                put(errors, (name,), Fault("needs prices of stock: what does a stick cost?", "needs_another"))
        refuse(errors)

    @validates_schema
    def _worth(self, data: Mapping[str, Any], **_: object) -> None:
        errors: dict[Any, Any] = {}
        if data.get("stock") and (fault := worth_fault(data, data["stock"])):
            put(errors, ("offcut_value",), fault)
        refuse(errors)


COUNTED = ("lap_price", "cut_price", "pattern_price", "offcut_value")
"""Settings in money beside the prices of stock."""


def worth_fault(settings: Mapping[str, Any], rows: Sequence[Mapping[str, Any]]) -> Fault | None:
    """Return what is wrong with the value of offcuts where a stick of some row that was loaded costs no more than it.

    Else buying sticks would earn money. Rows may say ``from`` which day they hold.
    """
    category: Category = settings["category"]
    stock = tuple(_stock_of({name: value for name, value in row.items() if name != "from"}) for row in rows)
    row = worth_its_price(Material("", category, stock, _settings({**settings})))
    words = "makes a whole {} worth as much as it costs at the least, so that buying would earn money"
    return Fault(words.format(row.id), "worth_its_price") if row else None


class OffcutSchema(WireSchema):
    """Left-over lengths on hand; each is used once at most and costs nothing."""

    id = Id("What is written on it; given once in the request.", required=True)
    material = Id("Which material it is of, by id.", required=True)
    length = LengthField(
        "How long it is. What is no whole tick is rounded down.",
        least=1, most=STICK, rounding=Rounding.DOWN, required=True,
    )  # fmt: skip
    quantity = Count("How many there are alike.", 1, limits.QUANTITY, default=1)
    factory_end = Choice(FACTORY_END, FactoryEnd, default=FactoryEnd.NONE)


_MATERIAL, _OFFCUT, _STOCK = MaterialSchema(), OffcutSchema(), StockSchema()


def render_material(material: Material, unit: Unit) -> Json:
    """Return a material as a plan is asked for it, with every setting said."""
    return told(_MATERIAL, material, unit)


def render_offcut(offcut: Offcut, unit: Unit) -> Json:
    """Return an offcut as a plan is asked for it."""
    return told(_OFFCUT, offcut, unit)


def material_of(data: Mapping[str, Any]) -> Material:
    """Return the material that ``MaterialSchema`` loaded."""
    stock = tuple(map(_stock_of, data["stock"]))
    described, origin = data.get("description", ""), data.get("catalogue")
    return Material(data["id"], data["category"], stock, _settings(data), described, origin, data.get("supplier", ""))


def read_stock(body: Mapping[str, Any], unit: Unit) -> StockLength:
    """Return the stock length that a body says. Raises ``Problem`` naming every fault at once."""
    try:
        with in_units(unit):
            return _stock_of(_STOCK.load(body))
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None


def _stock_of(row: Mapping[str, Any]) -> StockLength:
    breaks = tuple(PriceBreak(**entry) for entry in row.get("breaks", ()))
    return StockLength(**{**plain(row), "breaks": breaks})


def offcut_of(data: Mapping[str, Any]) -> Offcut:
    """Return the offcut that ``OffcutSchema`` loaded."""
    return Offcut(**plain(data))


def _settings(data: Mapping[str, Any]) -> Settings:
    given = {field.name: ticks(data[field.name]) for field in fields_of(Settings) if field.name in data}
    category: Category = data["category"]
    return replace(category.kind.defaults, **given)
