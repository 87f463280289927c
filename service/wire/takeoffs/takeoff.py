"""The schema of a take-off, and the way from it to the solver's ``House``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from itertools import islice
from typing import Any

from marshmallow import ValidationError

from service.http.problems import MOST_ERRORS, FieldError, Problem
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.fields import Choice, Flag, Id, Many, One, Text
from service.wire.job import UNITS_ABOUT, LimitsSchema, RackField, units_of
from service.wire.materials.material import MaterialSchema, OffcutSchema, material_of
from service.wire.numbers import ALLOWANCE, FOOT, PLACE, Amount, Count, LengthField, in_units, plain, ticks
from service.wire.particulars import ParticularsSchema
from service.wire.suppliers import MinimumOrderSchema, SupplierSchema
from service.wire.takeoffs.measured import (
    CeilingSchema,
    EaveSchema,
    MeasuredWallSchema,
    PanelSchema,
    ceiling_of,
    eave_of,
    measured_wall_of,
    panel_of,
)
from solver.errors import Problem as UnplannableProblem
from solver.errors import Unplannable
from solver.lengths import Unit, in_unit, say
from solver.takeoff import House, TakeOff, take_off
from solver.takeoff.goods import Need, Product
from solver.takeoff.measured import Role
from solver.takeoff.refusals import house_problems
from solver.takeoff.rules import (
    LARGE_METRIC,
    LARGE_OPENING,
    NAILS_TO_THE_KILOGRAM,
    NAILS_TO_THE_POUND,
    Corners,
    Deduct,
    GableRule,
    Settings,
    Waste,
    settings_for,
)
from workers.callbacks import LONGEST_ADDRESS

_DEFAULTS = Settings()


class UsesSchema(WireSchema):
    """Which material, by id, serves for what; what has none is listed and not planned."""

    panel = Id("Siding panels; walls need one.")
    starter = Id("Starter strip.")
    channel = Id("Channel around openings and at edges.")
    utility = Id("Utility trim that holds ripped edges.")
    outside_post = Id("Outside corner posts.")
    inside_post = Id("Inside corner posts.")
    drip_cap = Id("Drip cap over openings.")
    closure = Id("Trim that closes the strip between a floor and the starter.")
    soffit = Id("Soffit panels.")
    soffit_vented = Id("Vented soffit panels.")
    soffit_channel = Id("Channel that holds soffit.")
    fascia = Id("Fascia.")


NEEDS = {
    Need.HOUSE_WRAP: ("the water barrier behind the siding", "sq ft or m2"),
    Need.WRAP_TAPE: ("tape over its seams", "ft or m"),
    Need.FLASHING: ("self-adhered strips at sills, sides and heads of openings", "ft or m"),
    Need.CORNER_FLASHING: ("strips behind corner posts", "ft or m"),
    Need.NAILS: ("nails for panels, trim and soffit", "lb or kg"),
    Need.MOUNTING_BLOCKS: ("blocks for lights, sockets and pipes", "pieces"),
    Need.VENTS: ("vents", "pieces"),
    Need.FASCIA_COIL: ("coil that covers fascia, where no fascia is bought", "ft or m"),
    Need.CASING_COIL: ("coil wrapped round casings", "ft or m"),
    Need.FURRING: ("strips behind utility trim", "ft or m"),
    Need.STRAPPING: ("furring strips behind all of the siding, where `strapping` asks for them", "ft or m"),
}
"""What each need is, and what it is counted in: an imperial and a metric job differ."""
NEED_ABOUT = "; ".join(f"`{need}`: {what}, in {unit}" for need, (what, unit) in NEEDS.items())


class ProductSchema(WireSchema):
    """What a need besides panels and trim is bought as."""

    need = Choice(f"Which need. {NEED_ABOUT}.", Need, required=True)
    id = Id("What it is called on the order.", required=True)
    holds = Count("So much of it in one pack, in what the need is counted in.", 1, 1_000_000, required=True)


_OPTIONAL = tuple(role for role in Role if role not in (Role.PANEL, Role.SOFFIT, Role.SOFFIT_VENTED))
_WITHOUT = StrEnum("_WITHOUT", {entry.name: entry.value for entry in (*Need, *_OPTIONAL)})  # type: ignore[misc]


def _default(name: str) -> str:
    value = getattr(_DEFAULTS, name)
    return f"Default {say(value, Unit.IN)}, in a metric job {say(in_unit(value, Unit.MM), Unit.MM)}."


class TakeOffSettingsSchema(WireSchema):
    """Clearances, spacings and policies; what is left out takes the rule of the trade that the answer names."""

    cut_out_clearance = LengthField(
        f"A cut-out is so much wider than its opening at each side. {_default('cut_out_clearance')}", most=ALLOWANCE
    )
    height_clearance = LengthField(
        "A ripped or notched upper edge stays so far short of the back of its pocket. "
        f"{_default('height_clearance')}", most=ALLOWANCE,
    )  # fmt: skip
    sliver = LengthField(f"A strip lower than this is warned of. {_default('sliver')}", most=ALLOWANCE)
    keep_clear = Count(
        "So many courses under and over an opening have no lap over its width.",
        0, limits.COURSES, default=_DEFAULTS.keep_clear,
    )  # fmt: skip
    corners = Choice(
        "How channel turns the corner of an opening: `mitred` or `square`.", Corners, default=_DEFAULTS.corners
    )
    above_floor = LengthField(
        f"Siding stays so far above a roof, deck or slab. {_default('above_floor')}", most=ALLOWANCE
    )
    above_grade = LengthField(f"Siding stays so far above the ground. {_default('above_grade')}", most=ALLOWANCE)
    nail_spacing = LengthField(
        f"Nails along a course are so far apart. {_default('nail_spacing')}", least=FOOT // 12, most=ALLOWANCE
    )
    trim_nail_spacing = LengthField(
        f"Nails along posts and trim are so far apart. {_default('trim_nail_spacing')}",
        least=FOOT // 12, most=ALLOWANCE,
    )  # fmt: skip
    soffit_span = LengthField(
        f"Soffit reaches so far without a nailer between its ends. {_default('soffit_span')}",
        least=FOOT // 12, most=PLACE,
    )  # fmt: skip
    eave_gap = LengthField(
        "A soffit panel under an eave is so much shorter, in all, than from wall to subfascia. "
        f"{_default('eave_gap')}", most=ALLOWANCE,
    )  # fmt: skip
    warmer_by = Amount(
        "Degrees Celsius that it may still become warmer, with up to 4 decimals: takes the place of `eave_gap` under "
        "eaves over 1 m. Null is not reckoned with.",
        200, 4, allow_none=True, default=None,
    )  # fmt: skip
    expansion = Count(
        "Growth of vinyl in thousandths of a millimetre per metre and degree Celsius, for `warmer_by`.",
        1, 1_000, default=_DEFAULTS.expansion,
    )  # fmt: skip
    vented = Amount("Share of soffit panels that are vented, 0 to 1, with up to 6 decimals.", 1, 6, default=0)
    deduct = Choice(
        "Which openings the estimate by area takes off: `all`, `large` ones, `half` of each, or `none`.",
        Deduct, default=_DEFAULTS.deduct,
    )  # fmt: skip
    large = Amount(
        "An opening of so many square feet is a large one; in a metric job, of so many square metres, with up to 2 "
        f"decimals. Default {LARGE_OPENING.value}, in a metric job {LARGE_METRIC}.",
        10_000, 2,
    )  # fmt: skip
    gable = Choice(
        "How the estimate by area counts a gable: `exact`, `foot` (a foot more each way), `three_quarters`, `third` or "
        "`fifth` of width times height as estimators do.",
        GableRule, default=_DEFAULTS.gable,
    )  # fmt: skip
    waste = Choice(
        "How the estimate by area adds for waste: `multiply` by 1 plus the percentage, or `divide` by 1 less it. The "
        "plan by pieces does not use it.",
        Waste, default=_DEFAULTS.waste,
    )  # fmt: skip
    waste_percent = Amount(
        "Waste of the estimate by area, in percent, with up to 4 decimals.",
        90, 4, default=int(_DEFAULTS.waste_percent),
    )  # fmt: skip
    temperature = Count(
        "Degrees at which the siding is put up, Fahrenheit where `units` are `in` or `ft`, else Celsius: below 40 "
        "degrees Fahrenheit (4.4 Celsius) the larger gaps apply. Null is not said.",
        -100, 150, allow_none=True, default=None,
    )  # fmt: skip
    wrap_percent = Amount(
        "House wrap is bought so much larger than the walls, in percent, with up to 2 decimals.",
        100, 2, default=int(_DEFAULTS.wrap_percent),
    )  # fmt: skip
    wrap_width = LengthField(f"Width of a roll of house wrap. {_default('wrap_width')}", least=FOOT, most=PLACE)
    nails_to_weight = Count(
        f"Nails to the pound, in a metric job to the kilogram. Default {NAILS_TO_THE_POUND.value}, in a metric job "
        f"{NAILS_TO_THE_KILOGRAM}.",
        1, 10_000,
    )  # fmt: skip
    coil_width = LengthField(f"Width of trim coil. {_default('coil_width')}", least=FOOT // 12, most=PLACE)
    fascia_girth = LengthField(
        f"Width of the strip of coil that covers fascia, laid flat. {_default('fascia_girth')}",
        least=FOOT // 12, most=PLACE,
    )  # fmt: skip
    casing_girth = LengthField(
        f"Width of the strip of coil round a casing, laid flat. {_default('casing_girth')}",
        least=FOOT // 12, most=PLACE,
    )  # fmt: skip
    strapping = LengthField(
        "Spacing of furring strips behind all of the siding; null where there are none.",
        least=FOOT // 12, most=PLACE, allow_none=True, default=None,
    )  # fmt: skip
    cold = Flag(
        "Whether the larger gaps for siding put up below 40 degrees Fahrenheit (4.4 Celsius) apply; null is by "
        "`temperature`.",
        allow_none=True, default=None,
    )  # fmt: skip


class TakeOffSchema(WireSchema):
    """What was measured of a house, the materials for it, and which serves for what."""

    name = Text("What the job is called on sheets.", default="")
    units = Choice(UNITS_ABOUT, Unit, required=True)
    materials = Many("What is bought and cut.", MaterialSchema, 1, limits.MATERIALS, required=True)
    uses = One("Which material serves for what.", UsesSchema, required=True)
    exposure = LengthField("What shows of a course, from lip to lip; walls need it.", most=ALLOWANCE)
    hem = LengthField("How far a panel reaches above its exposure: its nailing hem.", most=ALLOWANCE, default=0)
    face = LengthField(
        "Width of the channel's face, which mitred corners take; null asks for it where it is needed.",
        most=ALLOWANCE, allow_none=True, default=None,
    )  # fmt: skip
    coverage = LengthField(
        "Width that one soffit panel covers; null asks for it where it is needed.",
        most=ALLOWANCE, allow_none=True, default=None,
    )  # fmt: skip
    course_line = LengthField(
        "Lower edge of a course, above the house's level line: the courses of every wall stand on it.",
        least=-PLACE, default=0,
    )  # fmt: skip
    panels = Many("What else walls are covered with.", PanelSchema, 0, limits.MATERIALS, default=[])
    walls = Many("The walls.", MeasuredWallSchema, 0, limits.MEASURED_WALLS, default=[])
    ceilings = Many("The ceilings.", CeilingSchema, 0, limits.MEASURED_WALLS, default=[])
    eaves = Many("The eaves.", EaveSchema, 0, limits.MEASURED_WALLS, default=[])
    goods = Many("Products for what the house needs besides panels and trim.", ProductSchema, 0, len(Need), default=[])
    without = Many(
        "What is switched off: needs, or uses of trim; nothing of it is listed, planned or ordered.",
        Choice("", _WITHOUT), 0, len(_WITHOUT), default=[],
    )  # fmt: skip
    offcuts = Many("Left-over lengths on hand, handed on to the plan.", OffcutSchema, 0, limits.OFFCUTS, default=[])
    rack = RackField("What the plan may use of the rack, handed on to it.", default=False)
    minimum_order = One(
        "The minimum order of materials that name no supplier, handed on to the plan; null where there is none.",
        MinimumOrderSchema, allow_none=True, default=None,
    )  # fmt: skip
    suppliers = Many(
        "What orders of suppliers come to beside their goods, handed on to the plan.",
        SupplierSchema, 0, limits.SUPPLIERS, default=[],
    )  # fmt: skip
    within_days = Count(
        "Days from today that you can wait for what is ordered, handed on to the plan; null: as long as it takes.",
        0, limits.WAIT_DAYS, allow_none=True, default=None,
    )  # fmt: skip
    limits = One("What the planning may take, handed on to the plan.", LimitsSchema)
    particulars = One("For whom and until when it is, handed on to the plan.", ParticularsSchema)
    callback = Text("Where to tell that the plan is over, handed on to it.", 1, LONGEST_ADDRESS)
    settings = One("Clearances, spacings and policies of the take-off.", TakeOffSettingsSchema)


_SCHEMA = TakeOffSchema()
_WALL = MeasuredWallSchema()


def read_take_off(body: Mapping[str, Any]) -> TakeOff:
    """Return the take-off of what a request measured. Raises ``Problem`` naming every fault at once."""
    try:
        with in_units(units_of(body)):
            data = _SCHEMA.load(body)
        return take_off(_house(data))
    except ValidationError as error:
        faults = (*islice(field_errors(error.messages), MOST_ERRORS + 1), *_of_sound_parts(body, error.messages))
        raise _problem(faults) from None
    except Unplannable as error:
        raise _problem(map(_field_error, error.problems)) from None


def _of_sound_parts(body: Mapping[str, Any], faults: Mapping[str, Any] | list[Any]) -> Iterator[FieldError]:
    """Yield what is wrong with a house of those fields and those walls alone that are sound, where others are not.

    What it lacks only for want of a field that is not sound is no fault of its own.
    """
    if not isinstance(faults, dict) or {"units", "settings"} & {*faults}:
        return
    wrong = faults.get("walls", {})
    with in_units(units_of(body)):
        sound = {name: told for name, told in body.items() if name not in faults and name != "walls"}
        data = _SCHEMA.load(sound, partial=True)
        walls = {place: _WALL.load(wall) for place, wall in _walls(body, faults) if place not in wrong}
    house = _house(data | {"walls": list(walls.values())})
    for problem in house_problems(house, [*walls]):
        field = problem.pointer.split("/")[1] if "/" in problem.pointer else ""
        unknowable = problem.code == "unknown_material" and "materials" in faults
        if field and not unknowable and (field == "walls" or field not in faults):
            yield _field_error(problem)


def _walls(body: Mapping[str, Any], faults: Mapping[str, Any]) -> Iterator[tuple[int, Any]]:
    """Yield walls with their places; where panels are not sound, those that the panel in use covers."""
    walls = body.get("walls", ()) if isinstance(faults.get("walls", {}), dict) else ()
    for place, wall in enumerate(walls):
        if "panels" not in faults or not (isinstance(wall, dict) and wall.get("panel")):
            yield place, wall


def _field_error(problem: UnplannableProblem) -> FieldError:
    return FieldError(problem.pointer, problem.detail, problem.code)


def _problem(errors: Iterable[FieldError]) -> Problem:
    return Problem("unplannable", "What was measured can't be taken off.", errors)


def _house(data: Mapping[str, Any]) -> House:
    sizes = {name: ticks(data[name]) for name in ("hem", "face", "coverage", "course_line") if name in data}
    return House(
        data.get("name", ""),
        data["units"],
        ticks(data.get("exposure", 0)),
        tuple(map(measured_wall_of, data.get("walls", ()))),
        tuple(map(ceiling_of, data.get("ceilings", ()))),
        tuple(map(eave_of, data.get("eaves", ()))),
        materials=tuple(map(material_of, data.get("materials", ()))),
        uses={Role(role): name for role, name in data.get("uses", {}).items()},
        settings=_settings(data.get("settings", {}), data["units"]),
        panels=tuple(map(panel_of, data.get("panels", ()))),
        goods=tuple(Product(good["need"], good["id"], Fraction(good["holds"])) for good in data.get("goods", ())),
        without=frozenset(Need(name) if name in list(Need) else Role(name) for name in data.get("without", ())),
        **sizes,
    )


_FRACTIONS = ("warmer_by", "vented", "waste_percent", "temperature", "large", "wrap_percent")


def _settings(data: Mapping[str, Any], unit: Unit) -> Settings:
    given = plain(data)
    exact = {name: Fraction(given[name]) for name in _FRACTIONS if given.get(name) is not None}
    if unit.metric and "temperature" in exact:
        exact["temperature"] = exact["temperature"] * 9 / 5 + 32
    return replace(settings_for(unit), **given | exact)
