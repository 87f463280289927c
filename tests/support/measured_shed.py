"""Tern Cottage, boat shed, as measured: an eaves wall, a gable wall, a door, a window, three fixtures, a ceiling.

The shed is 22'-6" long and 18 ft deep with an 8/12 gable at its south end; a lean-to of 21 ft by 7'-10" stands at its
far side. All of it is invented.
"""

from __future__ import annotations

from dataclasses import replace

from solver.categories import DEFAULTS, Category
from solver.lengths import Unit
from solver.materials import Material, StockLength
from solver.takeoff.measured import Border, Ceiling, House, Meeting, Opening, OpeningKind, Role, Wall, gable, rectangle
from tests.scenario import inches

CHANNEL = Border(Meeting.CHANNEL)
DOOR = Opening("D", OpeningKind.DOOR, inches(54), 0, inches(64), inches(83))
WINDOW = Opening("W", OpeningKind.WINDOW, inches(156), inches(35), inches(34), inches(45))
LAMP = Opening("lamp", OpeningKind.FIXTURE, inches(206), inches(67), inches(7), inches(9), own_channel=True)
TAP = Opening("tap", OpeningKind.FIXTURE, inches(222), inches(18), inches(5), inches(5), own_channel=True)
VENT = Opening("vent", OpeningKind.FIXTURE, inches(101), inches(131), inches(14), inches(14), own_channel=True)
LEAN_TO = Ceiling("lean-to", inches(252), inches(94))


def material(name: str, category: Category, *lengths: float) -> Material:
    """Return a material sold in the given lengths, in inches, with its category's settings."""
    stock = tuple(StockLength(f"{length:g}", inches(length)) for length in lengths)
    return Material(name, category, stock, DEFAULTS[category])


MATERIALS = {
    Role.PANEL: material("panel-sand", Category.SIDING, 150),
    Role.STARTER: material("starter", Category.STARTER, 120),
    Role.CHANNEL: material("channel", Category.CHANNEL, 150),
    Role.UTILITY: material("utility", Category.CHANNEL, 150),
    Role.OUTSIDE_POST: material("post", Category.POST, 120, 240),
    Role.SOFFIT: material("soffit", Category.SOFFIT, 192),
    Role.SOFFIT_CHANNEL: material("soffit-channel", Category.CHANNEL, 150),
    Role.DRIP_CAP: material("drip-cap", Category.OTHER, 120),
    Role.CLOSURE: material("skirt", Category.OTHER, 192),
}


def post(corner: str) -> Border:
    """Return an outside post whose pocket is 1/2 in deep and whose flange reaches 1 1/4 in."""
    return Border(Meeting.OUTSIDE_POST, inches("0.5"), corner, inches("1.25"))


def plain_wall(width: float = 240, height: float = 96, *openings: Opening, **changes: object) -> Wall:
    """Return a wall between two channels, on a starter at its zero, under a soffit."""
    wall = Wall("north", rectangle(inches(width), inches(height)), CHANNEL, CHANNEL, openings=openings)
    return replace(wall, **changes)  # type: ignore[arg-type]


def house_of(*walls: Wall, **changes: object) -> House:
    """Return a house with these walls, 8 in exposure, and a material for every role used on the shed."""
    house = House(
        "Tern Cottage",
        Unit.IN,
        inches(8),
        walls,
        face=inches("0.75"),
        coverage=inches(12),
        materials=tuple(MATERIALS.values()),
        uses={role: made.id for role, made in MATERIALS.items()},
    )
    return replace(house, **changes)  # type: ignore[arg-type]


def shed() -> House:
    """Return the shed: its west wall under the eaves, the gable wall beside it, and the ceiling of its lean-to."""
    west = Wall(
        "west",
        rectangle(inches(270), inches(93)),
        post("north-west"),
        post("south-west"),
        openings=(DOOR, WINDOW, LAMP, TAP),
    )
    south = Wall(
        "south",
        gable(inches(216), inches(93), inches(165)),
        post("south-west"),
        CHANNEL,
        openings=(VENT,),
    )
    return house_of(west, south, name="Tern Cottage, boat shed", ceilings=(LEAN_TO,))
