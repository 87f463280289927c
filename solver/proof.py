"""What a bound rests on: kinds of certificate, and the values of pieces and sticks that anybody can add up again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from solver.required import Side


class Basis(StrEnum):
    """What a bound rests on, as the checker finds it: nobody else may say ``certified``.

    ``certified``: worked out again from what the answer carries. ``searched``: it rests on a search that was not
    repeated.
    """

    CERTIFIED = "certified"
    SEARCHED = "searched"


@dataclass(frozen=True, slots=True)
class PieceValue:
    """What the certificate says one piece is worth, in ``Proof.scale`` parts of a cost step.

    ``length`` is what it takes of the stick: the cut length and its room.
    """

    length: int
    needs_left: bool
    needs_right: bool
    value: int


@dataclass(frozen=True, slots=True)
class EndValues:
    """What a piece of a run is worth at the left or right end of some sticks (None: anywhere in them), by its cells.

    ``worth`` are cells, ascending, and what so many are worth: between two of them the straight line says, rounded
    down, below the first nothing. Sticks are named by ``stock`` and ``offcuts``.
    """

    side: Side | None
    stock: tuple[str, ...]
    offcuts: tuple[str, ...]
    worth: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class StickValue:
    """What an uncut stick counts for in a run: of a stock row, or an offcut."""

    stock: str | None
    offcut: str | None
    value: int


@dataclass(frozen=True, slots=True)
class RunValues:
    """One set of values of what runs are made of; the values of pieces beside it have the same place in the proof."""

    ends: tuple[EndValues, ...]
    sticks: tuple[StickValue, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """Why no plan costs less: ``duals`` (re-derivable from ``values``) or ``search`` (``text`` says of what).

    ``further`` are more sets of values, in the order of ``values``: all of them together prove the bound.
    ``runs`` are the values of what runs are made of, one for each set, and ``grid`` the ticks of one cell of them.
    ``basis`` is ``searched`` until the checker has worked the bound out again.
    """

    kind: str
    scale: int = 1
    values: tuple[PieceValue, ...] = ()
    text: str = ""
    basis: Basis = Basis.SEARCHED
    further: tuple[tuple[int, ...], ...] = ()
    grid: int | None = None
    runs: tuple[RunValues, ...] = ()


SEARCHED = Proof("search")
"""That of a bound of which nothing is told."""


@dataclass(frozen=True, slots=True)
class DatedValue:
    """What one piece of a material that is cut on a day of a week is worth; the rest as in ``PieceValue``."""

    material: str
    date: date
    length: int
    needs_left: bool
    needs_right: bool
    value: int


@dataclass(frozen=True, slots=True)
class DatedValues:
    """What a week's pieces are worth, and a place in the van in the night after each day from Monday.

    What they prove is in ``solver.checking.week_bound``. They were reckoned in ``scale`` parts of money, but prove as
    much on any scale: no check uses it.
    """

    scale: int
    values: tuple[DatedValue, ...]
    nights: tuple[int, ...]
