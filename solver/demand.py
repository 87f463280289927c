"""From a material's items to the integer problem: what is cut, from what, and whom each piece is for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from solver.allowances import has_laps, of_pieces
from solver.buying.terms import Terms, prices_of
from solver.categories import LapEnds
from solver.cutting.problem import CuttingProblem, Piece, Stick
from solver.job import Job
from solver.materials import FactoryEnd, Material, Offcut, StockLength
from solver.required import End, Meets, Required
from solver.sticks import PlacedPiece


@dataclass(frozen=True, slots=True)
class Source:
    """Where sticks of one kind come from: a stock row, or an offcut on hand."""

    row: StockLength | Offcut
    stick: Stick

    @property
    def stock(self) -> str | None:
        """The stock row's id, None for an offcut."""
        return self.row.id if isinstance(self.row, StockLength) else None

    @property
    def ends(self) -> FactoryEnd:
        """Which ends are factory ends."""
        return FactoryEnd.of(left=self.stick.left, right=self.stick.right)


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces cut alike: the cut length, the room kept beside it, and which factory ends they must carry."""

    length: int
    room: int
    needs_left: bool
    needs_right: bool

    @property
    def takes(self) -> int:
        """Length taken of the stick, in ticks."""
        return self.length + self.room


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """One material's demand: kinds of pieces, whom each is for (``claims[k]`` for ``kinds[k]``), and the sources.

    ``runs`` are the items too long for any stick, by their place in the job; the kinds leave them out. ``terms`` are
    those that runs are laid to; without, sticks cost what they say.
    """

    job: Job
    material: Material
    kinds: tuple[Kind, ...]
    claims: tuple[tuple[PlacedPiece, ...], ...]
    sources: tuple[Source, ...]
    cost_step: Decimal
    runs: tuple[int, ...] = ()
    terms: Terms | None = None

    def problem(self) -> CuttingProblem:
        """Return the integer problem: piece ``k`` is ``kinds[k]``, stick ``s`` is ``sources[s]``."""
        pieces = tuple(
            Piece(kind.takes, len(claims), kind.needs_left, kind.needs_right)
            for kind, claims in zip(self.kinds, self.claims, strict=True)
        )
        settings = self.material.settings
        sticks = tuple(source.stick for source in self.sources)
        return CuttingProblem(sticks, pieces, settings.kerf, settings.keep_offcuts_from)


def demand_of(job: Job, material: Material, items: Sequence[int]) -> Demand:
    """Gather the demand of one material from the job's items with these indices."""
    claims: dict[Kind, list[PlacedPiece]] = defaultdict(list)
    runs = tuple(item for item in items if is_run(job.required[item], material))
    for item in sorted(set(items) - set(runs)):
        claims[kind_of(job.required[item], material)].extend(_claims(item, job.required[item]))
    step = cost_step(material)
    sources = sources_of(job, material, step)
    return Demand(
        job=job,
        material=material,
        kinds=tuple(claims),
        claims=tuple(map(tuple, claims.values())),
        sources=sources,
        cost_step=step,
        runs=runs,
    )


def longest_stick(material: Material) -> int:
    """Return the longest stock length that can be had, in ticks; 0 where there is none."""
    return max((row.length for row in material.stock if row.available != 0), default=0)


def is_run(required: Required, material: Material) -> bool:
    """Whether the item is longer than the longest stick, so that it must be covered by several, lapped."""
    return has_laps(material) and kind_of(required, material).length > longest_stick(material) > 0


def kind_of(required: Required, material: Material) -> Kind:
    """Return how a piece of this item is cut; which stick it comes from is not known yet."""
    length = of_pieces(material).cut_length(required)
    return Kind(length, required.room, _needs(required.left_end, material), _needs(required.right_end, material))


def sources_of(job: Job, material: Material, step: Decimal) -> tuple[Source, ...]:
    """Return the material's stock rows, then its offcuts on hand (which cost nothing)."""
    stock = (Source(row, Stick(row.length, _cost(row, step), row.available)) for row in material.stock)
    offcuts = (
        Source(cut, Stick(cut.length, 0, cut.quantity, cut.factory_end.has_left, cut.factory_end.has_right))
        for cut in job.offcuts
        if cut.material == material.id
    )
    return (*stock, *offcuts)


def cost_step(material: Material) -> Decimal:
    """Return the largest power of ten of which every price, a lap's too, is a whole multiple; 1 (a tick) without."""
    given = [*prices_of(material), *[material.settings.lap_price] * material.priced]
    return step_of(given)


def step_of(amounts: Iterable[Decimal]) -> Decimal:
    """Return the largest power of ten of which every amount is a whole multiple; 1 where there is none."""
    prices = [amount.normalize() for amount in amounts if amount]
    return min((Decimal(1).scaleb(_exponent(price)) for price in prices), default=Decimal(1))


def _exponent(price: Decimal) -> int:
    exponent = price.as_tuple().exponent
    if not isinstance(exponent, int):
        raise TypeError(f"a price must be a finite number, not {price}")
    return exponent


def _cost(row: StockLength, step: Decimal) -> int:
    return row.length if row.price is None else int(row.price / step)


def _needs(end: End, material: Material) -> bool:
    return end.meets is Meets.LAP and material.settings.lap_ends is LapEnds.FACTORY


def _claims(item: int, required: Required) -> Iterator[PlacedPiece]:
    for course in required.course_numbers:
        for piece in range(1, required.quantity + 1):
            yield PlacedPiece(item, required.mark, course, piece)
