"""What each required item asks of a plan, worked out afresh from the request, and whether a stick could hold it.

Stock rows may set a lap and an end gap of their own. Which row a single piece comes from is open until it is
planned, so the largest among the rows that can be had holds for every piece; a run goes by its own sticks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from solver.categories import LapEnds
from solver.job import Job
from solver.materials import FactoryEnd, Material, StockLength
from solver.required import End, Meets, Required


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One item: its place in the request, the length it is cut at in one piece, and the ends that piece must carry.

    ``lap`` is the largest its material asks for (None: it may not be lapped).
    """

    item: int
    required: Required
    lap: int | None
    cut: int
    is_run: bool
    needs_left: bool
    needs_right: bool

    @property
    def in_stick(self) -> int:
        """Length one piece takes up in a stick, its room included, in ticks."""
        return self.cut + self.required.room

    @property
    def courses(self) -> tuple[int | None, ...]:
        """The courses the item lies in; (None,) where the request names none."""
        first = self.required.first_course
        if first is None and self.required.courses == 1:
            return (None,)
        return tuple(range(first or 1, (first or 1) + self.required.courses))

    @property
    def courses_in_words(self) -> str:
        """The courses in words."""
        return "no course" if self.courses[0] is None else f"a course from {self.courses[0]} to {self.courses[-1]}"


def wanted_of(job: Job, material: Material) -> dict[int, Wanted]:
    """Return what the job wants of ``material``, by the item's place in the request."""
    return {
        index: _wanted(index, item, material) for index, item in enumerate(job.required) if item.material == material.id
    }


def allowance(end: End, lap: int, end_gap: int) -> int:
    """Return what an end adds to the measured length: a lap adds itself, a channel takes its gap, in ticks."""
    if end.meets is Meets.LAP:
        return lap
    return -end_gap if end.meets is Meets.CHANNEL else 0


def _wanted(index: int, item: Required, material: Material) -> Wanted:
    lap, gap = _widest(material)
    cut = item.length + allowance(item.left_end, lap or 0, gap) + allowance(item.right_end, lap or 0, gap)
    factory = material.settings.lap_ends is LapEnds.FACTORY
    return Wanted(
        item=index,
        required=item,
        lap=lap,
        cut=cut,
        is_run=lap is not None and _longer_than_stock(cut, material),
        needs_left=factory and item.left_end.meets is Meets.LAP,
        needs_right=factory and item.right_end.meets is Meets.LAP,
    )


def there_in_time(job: Job) -> Job:
    """Return the job with no stick to be had of what takes longer to come than ``within_days``."""
    most = job.within_days
    if most is None:
        return job
    materials = []
    for material in job.materials:
        limits = [row.available if row.wait_days <= most else 0 for row in material.stock]
        stock = tuple(replace(row, available=limit) for row, limit in zip(material.stock, limits, strict=True))
        materials.append(replace(material, stock=stock))
    return replace(job, materials=tuple(materials))


def own_lap(row: StockLength | None, material: Material) -> int | None:
    """Return the lap a stick of this row asks for (None: an offcut), in ticks; None where it may not be lapped."""
    return material.settings.lap if row is None or row.lap is None else row.lap


def own_gap(row: StockLength | None, material: Material) -> int:
    """Return the end gap a stick of this row asks for (None: an offcut), in ticks."""
    return material.settings.end_gap if row is None or row.end_gap is None else row.end_gap


def _widest(material: Material) -> tuple[int | None, int]:
    rows: list[StockLength | None] = [row for row in material.stock if row.available != 0]
    rows = rows or [None]
    laps = [lap for row in rows if (lap := own_lap(row, material)) is not None]
    return max(laps, default=None), max(own_gap(row, material) for row in rows)


def _longer_than_stock(cut: int, material: Material) -> bool:
    on_sale = [row.length for row in material.stock if row.available != 0]
    return bool(on_sale) and cut > max(on_sale)


@dataclass(frozen=True, slots=True)
class Supply:
    """A kind of stick: ``limit`` None is as many as wanted."""

    length: int
    ends: FactoryEnd
    price: Fraction
    limit: int | None


@dataclass(frozen=True, slots=True)
class Load:
    """What a stick holds: its length, its factory ends, the length taken, pieces, and pieces needing each end."""

    length: int
    ends: FactoryEnd
    taken: int = 0
    pieces: int = 0
    lefts: int = 0
    rights: int = 0


def fits(load: Load, wanted: Wanted, kerf: int) -> bool:
    """Return whether the stick could hold one more piece of ``wanted`` beside what it holds."""
    if load.taken + wanted.in_stick + kerf * load.pieces > load.length:
        return False
    if wanted.needs_left and wanted.needs_right:
        # Room is cut off on the day, and with it one of the two factory ends.
        whole = wanted.required.room == 0 and wanted.cut == load.length
        return whole and load.pieces == 0 and load.ends is FactoryEnd.BOTH
    if wanted.needs_left and (load.lefts or not load.ends.has_left):
        return False
    return not (wanted.needs_right and (load.rights or not load.ends.has_right))
