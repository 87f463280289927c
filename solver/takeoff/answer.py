"""What a take-off answers: items to plan, trim, figures with their arithmetic, notices, and an elevation to draw.

Figures carry their arithmetic in words, so that each can be done again by hand. All lengths are ticks; positions on a
wall are from the wall's zero, as measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from solver.categories import Hangs
from solver.job import Good, Notice
from solver.job import Wall as PlannedWall
from solver.lengths import TICKS_PER_INCH, Unit, say
from solver.required import CutOut, End, KeepClear, Keeps, Required, Ripped
from solver.takeoff.geometry import Exact
from solver.takeoff.goods import Need
from solver.takeoff.measured import Finish, House, Role, Wall
from solver.takeoff.pole import HousePole
from solver.takeoff.rules import SQUARE_METRES, UsedRule
from solver.takeoff.survey import Band

SQUARE_FOOT = (12 * TICKS_PER_INCH) ** 2
"""Square ticks in a square foot."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of the take-off: its name, its value (ticks if ``length``), the arithmetic as a sentence, the source."""

    name: str
    value: int | Fraction
    text: str
    source: str = ""
    length: bool = True


@dataclass(frozen=True, slots=True)
class Term:
    """One term of a sum, in ticks (negative: taken off), and what it is."""

    ticks: int
    what: str


def add_up(name: str, terms: Sequence[Term], unit: Unit, source: str = "") -> Figure:
    """Return the sum of the terms; terms of 0 after the first are left out of the words."""
    first, *rest = terms
    total = sum(term.ticks for term in terms)
    words = [f"{say(first.ticks, unit)} {first.what}"]
    words += [f"{_sign(term)} {say(abs(term.ticks), unit)} {term.what}" for term in rest if term.ticks]
    return Figure(name, total, f"{' '.join(words)} = {say(total, unit)}", source)


def _sign(term: Term) -> str:
    return "less" if term.ticks < 0 else "plus"


def count_of(name: str, value: int, text: str, source: str = "") -> Figure:
    """Return a figure that is a number of things."""
    return Figure(name, value, text, source, length=False)


def decimal(value: Fraction, places: int = 2) -> str:
    """Return a number as a person would write it, with up to ``places`` decimals."""
    return f"{float(round(value, places)):.{places}f}".rstrip("0").rstrip(".")


def square_feet(area: int | Fraction) -> Fraction:
    """Return square ticks as square feet."""
    return Fraction(area) / SQUARE_FOOT


def say_area(area: Fraction, unit: Unit) -> str:
    """Return square feet as a person would say them, in a metric job as square metres."""
    return f"{decimal(area * SQUARE_METRES)} m2" if unit.metric else f"{decimal(area)} sq ft"


Corner = tuple[Exact, Exact]
"""x and y of a corner of what shows."""


@dataclass(frozen=True, slots=True)
class RunEnd:
    """One end of a run, from the measured line inward along the panel.

    ``takes_up`` goes to the back of the pocket; ``extra`` is what a slope takes beyond the ``gap`` (with its rounding);
    ``gap`` is the expansion gap, which the plan takes off. ``what`` says what it meets. ``odd`` is an end that turns
    more often than from upright to one slope, so that only a pattern can say its shape.
    """

    what: str
    measured: Exact
    takes_up: int
    extra: Exact
    gap: int
    end: End
    odd: bool = False


@dataclass(frozen=True, slots=True)
class NotedCutOut:
    """A cut-out of a course, and what it is for.

    Its heights at both sides are to be checked against each other; ``top`` is the upper edge of a hole, ``depth``
    how far a notch reaches in.
    """

    opening: str
    cut_out: CutOut
    height_left: int
    height_right: int
    top: int | None
    depth: int
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rip:
    """A panel ripped lengthwise: the height left of it at its left and right end, with its lip or with its hem."""

    left: int
    right: int
    text: str
    keeps: Keeps

    def on(self, course: int | None) -> Ripped:
        """Return it as an item is told it."""
        return Ripped(max(1, self.left), max(1, self.right), self.keeps, course)


@dataclass(frozen=True, slots=True)
class RunOnWall:
    """One run of one course, pocket back to pocket back; ``face`` is what shows, as trapezoids."""

    start: int
    length: int
    left: RunEnd
    right: RunEnd
    cut_outs: tuple[NotedCutOut, ...]
    rips: tuple[Rip, ...]
    pattern: bool
    area: Fraction
    face: tuple[tuple[Corner, ...], ...]
    text: str

    @property
    def bottom(self) -> Exact:
        """The lowest height of what shows."""
        return min(y for part in self.face for _, y in part)

    @property
    def end(self) -> int:
        """The back of its right pocket."""
        return self.start + self.length

    @property
    def cut(self) -> int:
        """The length cut if it were one piece."""
        return self.length - self.left.gap - self.right.gap


@dataclass(frozen=True, slots=True)
class Course:
    """One course of a wall with its runs from the left; ``left_out`` counts corners too short for a panel."""

    band: Band
    runs: tuple[RunOnWall, ...]
    keep_clear: tuple[KeepClear, ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class FloorFinish:
    """One way to close the strip over a floor: its height at both ends, the consequence, the source."""

    finish: Finish
    left: int
    right: int
    consequence: str
    source: str


@dataclass(frozen=True, slots=True)
class Trim:
    """So many pieces of trim of one length; ``figure`` says how the length came about.

    ``material`` is set where it is not the one that serves for its role.
    """

    role: Role
    place: str
    length: int
    quantity: int
    figure: Figure
    material: str | None = None

    @classmethod
    def of(cls, role: Role, place: str, figure: Figure, quantity: int = 1, material: str | None = None) -> Trim:
        """Return pieces as long as the figure says."""
        return cls(role, place, int(figure.value), quantity, figure, material)


@dataclass(frozen=True, slots=True)
class Strip:
    """What is left of a panel at one place: its height in ticks (0 where a course line falls there)."""

    wall: str
    place: str
    height: int


@dataclass(frozen=True, slots=True)
class StarterHeight:
    """The strips that a course line ``shift`` ticks higher (negative: lower) would leave."""

    shift: int
    strips: tuple[Strip, ...]
    slivers: tuple[Strip, ...]


@dataclass(frozen=True, slots=True)
class SoffitRow:
    """A row of soffit panels of one clear length, pocket back to pocket back.

    ``lies`` says how they lie. ``parts`` counts the lengths into which the span is divided. ``ripped`` of the panels
    are ripped lengthwise, to ``ripped_to`` ticks.
    """

    place: str
    span: int
    quantity: int
    ends: tuple[End, End]
    parts: int
    figures: tuple[Figure, ...]
    ripped: int = 0
    ripped_to: int = 0
    lies: str = ""

    @property
    def ref(self) -> str:
        """Where its panels go, and how they lie there."""
        return ": ".join(filter(None, (self.place, self.lies)))


@dataclass(frozen=True, slots=True)
class WallTakeOff:
    """One wall taken off: what to draw of it, its figures, the ways to finish over its floors, its net area.

    ``line`` is the height of one course's lower edge above the wall's zero; the area is in square ticks.
    Where panels hang upright, ``courses`` are columns from the left, heights are places along the wall, and starts are
    measured down from the wall's highest point.
    """

    wall: Wall
    line: int
    courses: tuple[Course, ...]
    figures: tuple[Figure, ...]
    finishes: tuple[FloorFinish, ...]
    net_area: Fraction
    hangs: Hangs = Hangs.COURSES

    @property
    def high(self) -> int:
        """The height of its highest point, from which places along upright panels are measured down."""
        return max(point.y for point in self.wall.outline)


@dataclass(frozen=True, slots=True)
class Needed:
    """So much of a need, in its unit, with the sum behind it; ``product`` and ``packs`` where something is named."""

    need: Need
    quantity: Fraction
    unit: str
    text: str
    source: str
    product: str | None = None
    packs: int | None = None


@dataclass(frozen=True, slots=True)
class TakeOff:
    """The whole take-off: ``required`` on ``planned_walls`` to plan from the house's materials, and what to tell."""

    house: House
    required: tuple[Required, ...]
    planned_walls: tuple[PlannedWall, ...]
    walls: tuple[WallTakeOff, ...]
    soffits: tuple[SoffitRow, ...]
    trim: tuple[Trim, ...]
    starter_heights: tuple[StarterHeight, ...]
    figures: tuple[Figure, ...]
    notices: tuple[Notice, ...]
    rules: tuple[UsedRule, ...]
    cautions: tuple[str, ...]
    pole: HousePole | None
    needs: tuple[Needed, ...]
    goods: tuple[Good, ...]
