"""The one table of categories: what each material is called, how it behaves, and the settings that it begins with.

All lengths are ticks (see ``solver.ticks``). Every number of a category is a setting that a request may override;
``tests/outside/test_default_sources.py`` holds each, and names its source or says that none was found.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Self

from solver.lengths import TICKS_PER_INCH


class LapEnds(StrEnum):
    """Which ends may be lapped."""

    FACTORY = "factory"
    """Only an end as manufactured, notched for lapping."""
    RENOTCHED = "renotched"
    """A field end too, once hem and lock are trimmed there."""
    ANY = "any"
    """Ends do not matter."""


class PanelsServe(StrEnum):
    """For what the pieces of one stick may be."""

    JOB = "job"
    WALL = "wall"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The allowances of a material, in ticks; ``lap`` None means it may not be lapped end to end.

    ``extra_laps`` None: as many as rules and cost want, within ``most_extra_laps``. ``lap_price`` is what a lap counts
    beside the price of sticks, in their money; ``cut_price`` is that of a cut, ``pattern_price`` of setting the saw up
    for a pattern, ``offcut_value`` what a foot of a kept offcut is worth.
    ``most_put_aside`` is how many pieces may lie cut and not yet hung at
    any time, None as many as it takes. ``one_lot``: sticks of another lot may look otherwise, so it is said where an
    order can't come as one.
    """

    lap: int | None
    end_gap: int
    kerf: int
    lap_ends: LapEnds
    shortest_piece: int | None
    lap_spacing: int | None
    lap_repeat: int | None
    in_line_within: int | None
    keep_offcuts_from: int
    extra_laps: int | None = None
    lap_price: Decimal = Decimal(0)
    cut_price: Decimal = Decimal(0)
    pattern_price: Decimal = Decimal(0)
    offcut_value: Decimal = Decimal(0)
    panels_serve: PanelsServe = PanelsServe.JOB
    most_put_aside: int | None = None
    spare_percent: Decimal = Decimal(0)
    spare_sticks: int = 0
    one_lot: bool = False

    @property
    def reckons(self) -> bool:
        """Whether more than the supplier's prices counts: cuts, patterns, or what is kept."""
        return bool(self.cut_price or self.pattern_price or self.offcut_value)

    @property
    def unreckoned(self) -> Settings:
        """The same where nothing but the supplier's prices counts."""
        return replace(self, cut_price=Decimal(0), pattern_price=Decimal(0), offcut_value=Decimal(0))

    @property
    def most_extra_laps(self) -> int:
        """How many laps more than the fewest a run may have: one where nothing is said."""
        return 1 if self.extra_laps is None else self.extra_laps


class Hangs(StrEnum):
    """How panels lie on a wall."""

    COURSES = "courses"
    """Level, from a starter up; rows of short panels too."""
    COLUMNS = "columns"
    """Upright, side by side from a corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What is known of a category: what it is called, how it behaves, and the settings that a request may override.

    ``words`` names it, ``spoken`` are the words of the trade that speak for it in a material's name. ``hangs`` is how
    a take-off lays it on a wall, ``note`` what to know of it at the saw. ``is_backed``: foam keeps its slope, so that
    nothing is furred behind it. ``is_panel``: it has a face, a nail hem and a lock, and its sticks are called panels.
    ``is_vinyl``: the cautions for vinyl work hold. ``by_temperature``: gap and lap follow the take-off's table of
    temperatures and stock lengths.
    """

    words: str
    spoken: str = ""
    hangs: Hangs = Hangs.COURSES
    note: str = ""
    is_backed: bool = False
    is_panel: bool = False
    is_vinyl: bool = True
    by_temperature: bool = False
    defaults: Settings

    def noun(self, count: int = 1) -> str:
        """Return what so many sticks of it are called."""
        return ("panel" if self.is_panel else "stick") + ("" if count == 1 else "s")

    @property
    def product(self) -> str:
        """What a material is called until it is given a name."""
        return f"{self.words} panel" if self.is_panel else self.words


_IN = TICKS_PER_INCH
_UPRIGHT = (
    "An upright panel lies here with its nail hem up too, so that its left end is its head and its right end its foot. "
    "Hang it from its top slot, with a third of both gaps above it and two thirds below."
)
_ROWS = (
    "Begin each row with the piece listed for it, so that its joints stand clear of those below; at a rake a row ends "
    "by the pattern."
)
_FOAM = (
    "Faces lap, foam butts with no gap: where a cut end is lapped, cut its foam back by the lap. Nails are longer by "
    "the foam's thickness."
)


_COURSES = Settings(
    lap=_IN,
    end_gap=_IN // 4,
    kerf=0,
    lap_ends=LapEnds.FACTORY,
    shortest_piece=24 * _IN,
    lap_spacing=24 * _IN,
    lap_repeat=3,
    in_line_within=2 * _IN,
    keep_offcuts_from=36 * _IN,
)
"""Of long panels hung in courses, with foam behind them or without."""
_NEVER_LAPPED = Settings(
    lap=None,
    end_gap=_IN // 4,
    kerf=0,
    lap_ends=LapEnds.ANY,
    shortest_piece=None,
    lap_spacing=None,
    lap_repeat=None,
    in_line_within=None,
    keep_offcuts_from=36 * _IN,
)
"""Of what is no longer than a stick."""
_TRIM = Settings(
    lap=3 * _IN // 4,
    end_gap=0,
    kerf=0,
    lap_ends=LapEnds.ANY,
    shortest_piece=12 * _IN,
    lap_spacing=0,
    lap_repeat=0,
    in_line_within=0,
    keep_offcuts_from=36 * _IN,
)
"""Of single lines, in which nothing is staggered."""


class Category(StrEnum):
    """What a material is for. Each is one row: all that depends on the category is said here and nowhere else."""

    kind: Kind

    SIDING = (
        "siding",
        Kind(
            words="siding",
            spoken="siding clapboard dutch dutchlap double triple",
            is_panel=True,
            by_temperature=True,
            defaults=_COURSES,
        ),
    )
    VERTICAL = (
        "vertical",
        Kind(
            words="vertical siding",
            spoken="vertical batten board-and-batten",
            hangs=Hangs.COLUMNS,
            note=_UPRIGHT,
            is_panel=True,
            by_temperature=True,
            defaults=_NEVER_LAPPED,
        ),
    )
    SHAKE = (
        "shake",
        Kind(
            words="shake siding",
            spoken="shake shakes shingle shingles scallop scallops",
            note=_ROWS,
            is_panel=True,
            by_temperature=True,
            defaults=Settings(
                lap=_IN,
                end_gap=_IN // 4,
                kerf=0,
                lap_ends=LapEnds.FACTORY,
                shortest_piece=6 * _IN,
                lap_spacing=10 * _IN,
                lap_repeat=1,
                in_line_within=2 * _IN,
                keep_offcuts_from=12 * _IN,
            ),
        ),
    )
    INSULATED = (
        "insulated",
        Kind(
            words="foam-backed siding",
            spoken="insulated foam foam-backed",
            note=_FOAM,
            is_backed=True,
            is_panel=True,
            by_temperature=True,
            defaults=_COURSES,
        ),
    )
    SOFFIT = (
        "soffit",
        Kind(
            words="soffit",
            spoken="soffit beadboard vented",
            is_panel=True,
            defaults=_NEVER_LAPPED,
        ),
    )
    STARTER = (
        "starter",
        Kind(
            words="starter strip",
            spoken="starter",
            defaults=replace(_TRIM, lap=-_IN // 4, end_gap=_IN // 4),
        ),
    )
    POST = (
        "post",
        Kind(
            words="corner post",
            spoken="post posts corner corners osc isc",
            defaults=replace(_TRIM, shortest_piece=36 * _IN),
        ),
    )
    CHANNEL = (
        "channel",
        Kind(
            words="channel",
            spoken=(
                "channel channels jchannel j-channel fchannel f-channel h-channel j f trim utility undersill finish"
            ),
            defaults=replace(_TRIM, keep_offcuts_from=24 * _IN),
        ),
    )
    OTHER = (
        "other",
        Kind(
            words="other trim",
            spoken="fascia drip cap frieze",
            is_vinyl=False,
            defaults=replace(_NEVER_LAPPED, end_gap=0, keep_offcuts_from=24 * _IN),
        ),
    )

    def __new__(cls, value: str, kind: Kind | None = None) -> Self:
        """Make a row; ``Category("siding")`` looks one up and needs no ``kind``."""
        assert kind is not None
        member = str.__new__(cls, value)
        member._value_, member.kind = value, kind
        return member


DEFAULTS: Mapping[Category, Settings] = {category: category.kind.defaults for category in Category}
"""Settings by category; None stands where the trade has no rule for it."""
