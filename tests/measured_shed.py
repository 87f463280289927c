"""Tern Cottage, boat shed, as measured: two walls of different elevation, a door, a window, three fixtures, a ceiling.

The house is 20 ft deep with a 6/12 gable at its side; the shed deck lies 18 in above the course line of the house.
All of it is invented.
"""

from __future__ import annotations

from dataclasses import replace

from solver.lengths import Unit
from solver.materials import DEFAULTS, Category, Material, StockLength
from solver.takeoff.measured import (
    Border,
    Ceiling,
    House,
    Meeting,
    Opening,
    OpeningKind,
    Role,
    Wall,
    gable,
    rectangle,
)
from tests.scenario import inches

CHANNEL = Border(Meeting.CHANNEL)
DOOR = Opening("D", OpeningKind.DOOR, inches(60), 0, inches(38), inches(82))
WINDOW = Opening("W", OpeningKind.WINDOW, inches(150), inches(36), inches(40), inches(44))
LIGHT = Opening("light", OpeningKind.FIXTURE, inches(110), inches(66), inches(6), inches(8), own_channel=True)
SOCKET = Opening("socket", OpeningKind.FIXTURE, inches(220), inches(16), inches(5), inches(4), own_channel=True)
VENT = Opening("vent", OpeningKind.FIXTURE, inches(116), inches(150), inches(8), inches(8), own_channel=True)


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
    Role.SOFFIT: material("soffit", Category.SOFFIT, 144),
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
    """Return the shed: its back wall over the deck, the gable wall beside it, and the ceiling."""
    back = Wall(
        "back",
        rectangle(inches(288), inches(100)),
        post("south-west"),
        CHANNEL,
        bottom=Border(Meeting.DECK),
        elevation=inches(18),
        openings=(DOOR, WINDOW, LIGHT, SOCKET),
    )
    side = Wall(
        "side",
        gable(inches(240), inches(118), inches(178)),
        post("south-east"),
        post("south-west"),
        openings=(VENT,),
    )
    ceiling = Ceiling("shed", inches(288), inches(144))
    return house_of(back, side, name="Tern Cottage, boat shed", ceilings=(ceiling,))
