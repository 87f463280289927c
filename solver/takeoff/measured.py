"""What a person measures: walls with their edges and openings, ceilings, eaves, and the house they belong to.

All lengths are ticks. On a wall x runs from its left as seen from outside, y up from its own zero, which lies
``elevation`` above the house's level line; the one course line that all walls share is measured from that line.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from solver.categories import Hangs
from solver.lengths import Unit
from solver.materials import Material
from solver.required import Side
from solver.takeoff.goods import Need, Panel, Product, SoldAs
from solver.takeoff.rules import Settings


class Meeting(StrEnum):
    """What the siding meets at an edge of the wall."""

    OUTSIDE_POST = "outside_post"
    INSIDE_POST = "inside_post"
    CHANNEL = "channel"
    STARTER = "starter"
    DECK = "deck"
    ROOF = "roof"
    MASONRY = "masonry"
    SOFFIT = "soffit"
    """A soffit already up: the top course is ripped and held in utility trim under it."""
    SOFFIT_LATER = "soffit_later"
    """The soffit comes after: the top course is nailed above its level, whole."""

    @property
    def is_post(self) -> bool:
        """Whether it is a corner post, inside or outside."""
        return self in (Meeting.OUTSIDE_POST, Meeting.INSIDE_POST)


class Finish(StrEnum):
    """How the strip between a floor and the first course line over it is closed."""

    TRIM = "trim"
    """Starter on the course line, the strip below it closed by trim."""
    CHANNEL = "channel"
    """A channel over the floor with the starter behind it: this wall leaves the house's course line."""
    RIP = "rip"
    """A course ripped to fit and held in a channel on the floor."""


class OpeningKind(StrEnum):
    """What an opening is; a fixture is a block, light, vent or pipe."""

    WINDOW = "window"
    DOOR = "door"
    FIXTURE = "fixture"


class Role(StrEnum):
    """What a material is used for."""

    PANEL = "panel"
    STARTER = "starter"
    CHANNEL = "channel"
    UTILITY = "utility"
    OUTSIDE_POST = "outside_post"
    INSIDE_POST = "inside_post"
    DRIP_CAP = "drip_cap"
    CLOSURE = "closure"
    """The trim that closes the strip between a floor and the starter."""
    SOFFIT = "soffit"
    SOFFIT_VENTED = "soffit_vented"
    SOFFIT_CHANNEL = "soffit_channel"
    FASCIA = "fascia"

    @property
    def words(self) -> str:
        """What the trade calls it."""
        return _ROLES[self]


_ROLES = {
    Role.PANEL: "siding panel",
    Role.STARTER: "starter strip",
    Role.CHANNEL: "J-channel",
    Role.UTILITY: "utility trim",
    Role.OUTSIDE_POST: "outside corner post",
    Role.INSIDE_POST: "inside corner post",
    Role.DRIP_CAP: "drip cap",
    Role.CLOSURE: "closure trim above deck or roof",
    Role.SOFFIT: "soffit panel",
    Role.SOFFIT_VENTED: "vented soffit panel",
    Role.SOFFIT_CHANNEL: "soffit channel",
    Role.FASCIA: "fascia cover",
}


@dataclass(frozen=True, slots=True)
class Point:
    """A corner of a wall's outline: x along the wall, y above the wall's zero."""

    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Border:
    """What an edge meets.

    ``takes_up`` is the distance, square to the edge, from the measured line to the back of the pocket; None asks for
    it where no source gives one. ``corner`` names a corner that two walls share; ``flange`` is how far a post's
    nailing flange reaches in from the measured line. ``material`` is a post's own, where posts have several faces.
    """

    meets: Meeting
    takes_up: int | None = None
    corner: str | None = None
    flange: int | None = None
    material: str | None = None


@dataclass(frozen=True, slots=True)
class Pockets:
    """How much the trim of an opening takes up at each edge, outward from the measured line to the back of its pocket.

    0 stands for a channel whose back lies on the measured casing or frame.
    """

    left: int = 0
    right: int = 0
    sill: int = 0
    head: int = 0


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening measured outside of its casing or frame; ``rises`` is how much its right side stands above its left.

    ``own_channel`` says that the frame brings its pocket with it, so that no channel is bought for it; ``sold_as`` is
    what is bought for a fixture, ``wrapped`` that coil is bent round the casing of a window or door.
    """

    id: str
    kind: OpeningKind
    left: int
    bottom: int
    width: int
    height: int
    takes_up: Pockets = Pockets()
    rises: int = 0
    own_channel: bool = False
    sold_as: SoldAs = SoldAs.BLOCK
    wrapped: bool = True

    @property
    def right(self) -> int:
        """Its right edge, from the wall's zero."""
        return self.left + self.width

    @property
    def top(self) -> int:
        """Its head, above the wall's zero, at the left side."""
        return self.bottom + self.height


@dataclass(frozen=True, slots=True)
class Wall:
    """One wall: its outline as a ring of points in either direction, and what its edges meet.

    Edge ``i`` runs from point ``i`` to the next; ``edges`` overrides what the sides say for single edges.
    ``rake`` is for sloping edges at the top, ``step`` for upright edges between the wall's ends. ``grade`` is the
    height of the ground, if it is to be watched; ``panel`` is the material that covers it, where not the
    one in use.
    """

    id: str
    outline: tuple[Point, ...]
    left: Border
    right: Border
    bottom: Border = Border(Meeting.STARTER)
    top: Border = Border(Meeting.SOFFIT)
    rake: Border = Border(Meeting.CHANNEL)
    step: Border = Border(Meeting.CHANNEL)
    edges: Mapping[int, Border] = field(default_factory=dict)
    openings: tuple[Opening, ...] = ()
    elevation: int = 0
    finish: Finish = Finish.TRIM
    viewed_from: Side | int | None = None
    grade: int | None = None
    panel: str | None = None


def rectangle(width: int, height: int) -> tuple[Point, ...]:
    """Return the outline of a wall of even height; edge 0 is its bottom."""
    return (Point(0, 0), Point(width, 0), Point(width, height), Point(0, height))


def gable(width: int, eaves: int, peak: int) -> tuple[Point, ...]:
    """Return the outline of a gable wall, its peak in the middle, ``eaves`` high at both ends (0 for a triangle)."""
    top = (Point(width // 2, peak),)
    if eaves == 0:
        return (Point(0, 0), Point(width, 0), *top)
    return (Point(0, 0), Point(width, 0), Point(width, eaves), *top, Point(0, eaves))


class Along(StrEnum):
    """Which side of a ceiling its panels run along."""

    LENGTH = "length"
    WIDTH = "width"


class LastPanel(StrEnum):
    """Where the panel that is too wide is ripped."""

    ONE = "one"
    BOTH = "both"
    """Equal rips at both sides."""


class EaveCorner(StrEnum):
    """How an eave's soffit turns the corner to the next eave."""

    NONE = "none"
    """It ends at the wall's corner: at a gable, or where the next eave's square corner carries on over it."""
    MITRED = "mitred"
    """Both eaves are cut at 45 degrees along back-to-back channel."""
    SQUARE = "square"
    """This eave carries on over the corner; the next one ends there."""
    INSIDE_MITRED = "inside_mitred"
    """At an inside corner: both eaves are cut to the mitre from the walls' corner to the fascia's."""
    INSIDE_SQUARE = "inside_square"
    """At an inside corner: this eave runs on to the other wall."""
    INSIDE_BUTT = "inside_butt"
    """At an inside corner: this eave ends where the other's fascia would be."""

    @property
    def mitred(self) -> bool:
        """Whether both eaves are cut to a mitre."""
        return self in (EaveCorner.MITRED, EaveCorner.INSIDE_MITRED)

    @property
    def inside(self) -> bool:
        """Whether the corner is an inside one."""
        return self in (EaveCorner.INSIDE_MITRED, EaveCorner.INSIDE_SQUARE, EaveCorner.INSIDE_BUTT)


@dataclass(frozen=True, slots=True)
class Ceiling:
    """A soffit ceiling, measured between the walls and beams its channels are nailed to.

    ``takes_up`` is what one channel takes from there to the back of its pocket; ``nailers`` are lines already
    there across the panels. ``divider`` is the distance between the pockets of a back-to-back channel.
    """

    id: str
    length: int
    width: int
    panels: Along = Along.WIDTH
    last: LastPanel = LastPanel.ONE
    takes_up: int = 0
    divider: int = 0
    nailers: int = 0

    @property
    def span(self) -> int:
        """The side its panels run along."""
        return self.length if self.panels is Along.LENGTH else self.width

    @property
    def row(self) -> int:
        """The side its panels lie beside one another along."""
        return self.width if self.panels is Along.LENGTH else self.length


@dataclass(frozen=True, slots=True)
class Eave:
    """An eave: its length along the wall, and its overhang from the wall to the subfascia.

    Two eaves that name the same corner meet there.
    """

    id: str
    length: int
    overhang: int
    left: EaveCorner = EaveCorner.NONE
    right: EaveCorner = EaveCorner.NONE
    fascia: bool = True
    left_corner: str | None = None
    right_corner: str | None = None


@dataclass(frozen=True, slots=True)
class House:
    """Everything measured of one house, the materials at hand, and which of them serves for what.

    ``course_line`` is the lower edge of a course above the house's level line; every wall's courses stand on it.
    ``exposure`` is the panel's exposed height, ``hem`` how far the panel reaches above that, ``face`` the face width
    of the channel (0 asks for none), ``coverage`` the width one soffit panel covers. ``goods`` are products for needs,
    ``without`` what is switched off, ``panels`` what else walls are covered with.
    """

    name: str
    unit: Unit
    exposure: int
    walls: tuple[Wall, ...] = ()
    ceilings: tuple[Ceiling, ...] = ()
    eaves: tuple[Eave, ...] = ()
    course_line: int = 0
    hem: int = 0
    face: int | None = None
    coverage: int | None = None
    materials: tuple[Material, ...] = ()
    uses: Mapping[Role, str] = field(default_factory=dict)
    settings: Settings = field(default_factory=Settings)
    goods: tuple[Product, ...] = ()
    without: frozenset[Need | Role] = frozenset()
    panels: tuple[Panel, ...] = ()

    def for_wall(self, wall: Wall) -> House:
        """Return the house as one wall sees it: with its own panel in use."""
        panel = self.panel(wall)
        if panel is None:
            return self
        uses = {**self.uses, Role.PANEL: panel.material}
        return replace(self, exposure=panel.exposure, hem=panel.hem, uses=uses)

    def panel(self, wall: Wall) -> Panel | None:
        """Return what else than the panel in use a wall is covered with, or None."""
        return next((panel for panel in self.panels if panel.material == wall.panel), None)

    def hangs(self, wall: Wall) -> Hangs:
        """Return how the panels of a wall hang."""
        material = self.for_wall(wall).material_for(Role.PANEL)
        return material.category.kind.hangs if material else Hangs.COURSES

    def material_for(self, role: Role) -> Material | None:
        """Return the material used for a role, or None where none is named."""
        return self.material(self.uses.get(role))

    def material(self, name: str | None) -> Material | None:
        """Return the material of that id, or None."""
        return next((material for material in self.materials if material.id == name), None)
