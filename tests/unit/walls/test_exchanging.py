"""Pieces exchanged between sticks, by hand: 100 in and about 50 in on each of two walls, out of panels of 150 in.

Each panel is first given a piece for either wall, so that both pieces for the south lie about while the north is hung.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.demand import Demand, demand_of
from solver.job import Wall
from solver.required import End, Meets, Required
from solver.sticks import PlacedPiece
from solver.walls.appearance import exchanged
from tests.scenario import PANEL, inches, shed

PLAIN, LAP = End(Meets.PLAIN), End(Meets.LAP)


def two_walls(*lengths: float, lapped: bool = False, kept: float = 36, wall: bool = True) -> Demand:
    """Return pieces of these lengths, in turn for the north and for the south; two may be lapped at either end."""
    ends = [(PLAIN, LAP), (LAP, PLAIN), (LAP, PLAIN), (PLAIN, LAP)] if lapped else [(PLAIN, PLAIN)] * 4
    walls = [wall_of if wall else None for wall_of in ("north", "south", "north", "south")]
    items = [
        Required(f"{n}", PANEL.id, inches(str(length)), left_end=left, right_end=right, wall=on, first_course=1)
        for n, (length, on, (left, right)) in enumerate(zip(lengths, walls, ends, strict=True))
    ]
    panel = replace(PANEL, settings=replace(PANEL.settings, keep_offcuts_from=inches(str(kept))))
    job = replace(shed(), materials=(panel,), required=tuple(items), walls=(Wall("north"), Wall("south")), offcuts=())
    return demand_of(job, panel, range(len(items)))


def together(demand: Demand, *sticks: tuple[int, int]) -> list[list[int]]:
    """Return which items come out of each stick after the exchange."""
    kinds = zip(demand.kinds, demand.claims, strict=True)
    of = {claim.item: (kind, claim) for kind, claims in kinds for claim in claims}
    cuts = exchanged(demand, [demand.sources[0]] * len(sticks), [[of[item] for item in items] for items in sticks])
    return sorted(sorted(whose.item for _, whose in stick) for stick in cuts)


@pytest.mark.parametrize(
    ("lengths", "changed"),
    [
        pytest.param((100, 50, 50, 100), True, id="alike"),
        pytest.param((100, 49, 50, 99), True, id="unlike, with room for both"),
        pytest.param((100, 50, 50.5, 99.5), False, id="unlike, and one stick has no room"),
    ],
)
def test_pieces_change_places_where_both_sticks_hold_them(lengths: tuple[float, ...], *, changed: bool) -> None:
    """One stick then serves the north, one the south."""
    found = together(two_walls(*lengths), (0, 1), (2, 3))
    assert found == ([[0, 2], [1, 3]] if changed else [[0, 1], [2, 3]])


def test_no_less_is_kept_of_what_is_left() -> None:
    """60 + 60 leaves 30 and 55 + 55 leaves 40; with 60 + 55 each leaves 35, which is scrap where 36 is kept."""
    assert together(two_walls(60, 60, 55, 55), (0, 1), (2, 3)) == [[0, 1], [2, 3]]
    assert together(two_walls(60, 60, 55, 55, kept=35), (0, 1), (2, 3)) == [[0, 2], [1, 3]]


def test_what_needs_a_factory_end_stays_where_it_is() -> None:
    """Each panel gives a piece lapped at its left end and one lapped at its right end."""
    found = together(two_walls(99, 49, 49, 99, lapped=True), (0, 1), (2, 3))
    assert found == [[0, 1], [2, 3]]


def test_off_the_walls_nothing_changes() -> None:
    """Nobody counts what lies about; hung item by item, 0 and 1 would come out of one stick."""
    assert together(two_walls(100, 50, 50, 100, wall=False), (0, 3), (1, 2)) == [[0, 3], [1, 2]]


def test_every_piece_is_still_cut_once() -> None:
    """Six alike on each wall, dealt crosswise."""
    demand = two_walls(75, 75, 75, 75)
    cuts = [[(demand.kinds[0], claim) for claim in demand.claims[0]][n::2] for n in (0, 1)]
    found = exchanged(demand, [demand.sources[0]] * 2, cuts)
    pieces: list[PlacedPiece] = [whose for stick in found for _, whose in stick]
    assert sorted(pieces, key=lambda piece: piece.item) == list(demand.claims[0])
