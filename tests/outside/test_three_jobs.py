"""Three jobs measured, reckoned with a pencil, and taken off: two walls of a lean-to, a gable, a house in millimetres.

Each expected figure stands with its line of arithmetic, made without the program. Rules and their sources are those of
``test_default_sources``: gaps of 1/4 in (6 mm), heads, sills and tops 1/4 in (6 mm) clear, channel and posts 1/2 in
(13 mm) above a deck.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

import pytest

from solver.lengths import Unit, read_length
from solver.required import Edge
from solver.takeoff import TakeOff, take_off
from solver.takeoff.answer import square_feet
from solver.takeoff.measured import (
    Border,
    Ceiling,
    Eave,
    EaveCorner,
    House,
    Meeting,
    Opening,
    OpeningKind,
    Role,
    Wall,
    gable,
    rectangle,
)
from solver.takeoff.rules import SQUARE_METRES, settings_for
from tests.scenario import MILLIMETRE, inches
from tests.support.measured_shed import MATERIALS


def post(meets: Meeting, takes_up: int, corner: str, flange: int) -> Border:
    """Return what a wall meets at a post."""
    return Border(meets, takes_up, corner, flange)


def opening(name: str, kind: OpeningKind, sizes: tuple[int, int, int, int], unit: int) -> Opening:
    """Return an opening by its left edge, its bottom, its width and its height."""
    left, bottom, width, height = (size * unit for size in sizes)
    return Opening(name, kind, left, bottom, width, height, own_channel=kind is OpeningKind.FIXTURE)


@dataclass(frozen=True)
class Found:
    """What a take-off says, in lengths that a person would write."""

    taken: TakeOff

    def runs(self, wall: str) -> dict[int, list[int]]:
        """Return by course what is cut, from the left, each run as if in one piece, in ticks."""
        of = next(taken for taken in self.taken.walls if taken.wall.id == wall)
        return {course.band.number: [run.cut for run in course.runs] for course in of.courses}

    def notches(self, wall: str) -> dict[tuple[int, str], tuple[Edge, int]]:
        """Return by course and opening the edge that is notched and the height from the lip."""
        of = next(taken for taken in self.taken.walls if taken.wall.id == wall)
        return {
            (course.band.number, noted.opening): (noted.cut_out.edge, noted.cut_out.height)
            for course in of.courses
            for run in course.runs
            for noted in run.cut_outs
        }

    def rips(self, wall: str) -> dict[int, int]:
        """Return by course what is left of its height."""
        of = next(taken for taken in self.taken.walls if taken.wall.id == wall)
        return {course.band.number: rip.left for course in of.courses for run in course.runs for rip in run.rips}

    def trim(self, role: Role) -> Counter[int]:
        """Return how many pieces there are of each length."""
        found: Counter[int] = Counter()
        for piece in self.taken.trim:
            found[piece.length] += piece.quantity * (piece.role is role)
        return +found

    def figure(self, name: str) -> float:
        """Return a figure of the house."""
        return float(next(figure.value for figure in self.taken.figures if figure.name == name))


def at(text: str) -> int:
    """Return inches written down, in ticks."""
    return read_length(text, Unit.IN).ticks


@cache
def lean_to() -> Found:
    """Two walls whose decks lie 13 and 6 in above one level line, tops of both at 108 in; a ceiling between."""
    street = post(Meeting.OUTSIDE_POST, at("1/2"), "street", at("1 1/4"))
    nook = post(Meeting.INSIDE_POST, at("5/8"), "nook", at("1 1/4"))
    door = opening("D", OpeningKind.DOOR, (60, 0, 36, 80), inches(1))
    window = opening("W", OpeningKind.WINDOW, (122, 30, 36, 40), inches(1))
    deck = Border(Meeting.DECK)
    long = Wall("long", rectangle(inches(190), inches(95)), street, nook, deck, openings=(door, window))
    short = Wall("short", rectangle(inches(110), inches(102)), nook, Border(Meeting.CHANNEL), deck)
    return Found(
        take_off(
            House(
                "Tern Cottage", Unit.IN, inches(8),
                (replace(long, elevation=inches(13)), replace(short, elevation=inches(6))),
                (Ceiling("lean-to", inches(190), inches(110), takes_up=at("1/4")),),
                face=0, coverage=inches(12), materials=tuple(MATERIALS.values()),
                uses={role: made.id for role, made in MATERIALS.items()},
            )
        )
    )  # fmt: skip


def test_the_lean_tos_courses() -> None:
    """Long: 13 + 1/2 = 13 1/2 -> 16, 3 above its deck; (108 - 16) / 8 = 11.5 -> 12. Short: 6 1/2 -> 8; 12.5 -> 13."""
    assert [len(lean_to().runs(wall)) for wall in ("long", "short")] == [12, 13]
    starts = lean_to().taken.pole
    assert starts is not None
    assert [(start.height, start.left) for start in starts.starts] == [(at("16"), at("3")), (at("8"), at("2"))]


def test_the_lean_tos_runs() -> None:
    """Door 60 to 96, head 80 + 1/4; window 122 to 158, sill 30 - 1/4, head 70 + 1/4; course n stands on 8 n - 5.

    Left of the door 60 - 1/2 - 1/2 = 59; right of it 190 - 5/8 - 96 - 1/2 = 92 7/8; between 122 - 96 - 1/2 = 25 1/2;
    right of the window 190 - 5/8 - 158 - 1/2 = 30 7/8; over both 190 - 1/2 - 5/8 - 1/2 = 188 3/8. The door's head lies
    in course 10 (75 to 83), the window in 4 (27 to 35) to 9 (67 to 75).
    """
    left, right, between, beyond = at("59"), at("92 7/8"), at("25 1/2"), at("30 7/8")
    whole = at("188 3/8")
    by_hand = {course: [left, right] for course in (1, 2, 3, 4, 9)}
    by_hand |= {course: [left, between, beyond] for course in (5, 6, 7, 8)}
    by_hand |= {course: [whole] for course in (10, 11, 12)}
    assert lean_to().runs("long") == dict(sorted(by_hand.items()))
    # 110 - 5/8 - 1/2
    assert lean_to().runs("short") == {course: [at("108 7/8")] for course in range(1, 14)}


def test_the_lean_tos_notches_and_rips() -> None:
    """Sill 29 3/4 - 27 = 2 3/4; heads 70 1/4 - 67 = 3 1/4 and 80 1/4 - 75 = 5 1/4; tops 108 - 104 - 1/4 = 3 3/4."""
    assert lean_to().notches("long") == {
        (4, "W"): (Edge.TOP, at("2 3/4")), (9, "W"): (Edge.BOTTOM, at("3 1/4")), (10, "D"): (Edge.BOTTOM, at("5 1/4")),
    }  # fmt: skip
    assert (lean_to().rips("long"), lean_to().rips("short")) == ({12: at("3 3/4")}, {13: at("3 3/4")})


LEAN_TO_TRIM = [
    # 60 - 1 1/4; 190 - 96 - 1 1/4; 110 - 1 1/4: the plan takes 1/4 off each end
    (Role.STARTER, {"58 3/4": 1, "92 3/4": 1, "108 3/4": 1}),
    (Role.CLOSURE, {"58 3/4": 1, "92 3/4": 1, "108 3/4": 1}),
    # door: head 36, sides 80 - 1/2; window: head and sill 36, sides 40; the short wall's end 102 - 1/2
    (Role.CHANNEL, {"36": 3, "79 1/2": 2, "40": 2, "101 1/2": 1}),
    # tops 190 - 1/2 - 5/8 - 2 x 1/4 and 110 - 5/8 - 2 x 1/4; sill 36 + 2 x 1/4
    (Role.UTILITY, {"188 3/8": 1, "108 7/8": 1, "36 1/2": 1}),
    # from the starter to the soffit 108 - 16, down to 1/2 off the deck 2 1/2, short of the soffit 1/4; 108 - 8, 1 1/2
    (Role.OUTSIDE_POST, {"94 1/4": 1}),
    (Role.INSIDE_POST, {"101 1/4": 1}),
    (Role.DRIP_CAP, {"36": 2}),
    (Role.SOFFIT_CHANNEL, {"190": 2, "110": 2}),
]


@pytest.mark.parametrize(("role", "by_hand"), LEAN_TO_TRIM, ids=[role for role, _ in LEAN_TO_TRIM])
def test_the_lean_tos_trim(role: Role, by_hand: dict[str, int]) -> None:
    """The sums stand beside each line."""
    assert lean_to().trim(role) == {at(length): count for length, count in by_hand.items()}


def test_the_lean_tos_ceiling() -> None:
    """190 - 1/2 = 189 1/2 / 12 = 15.8 -> 16, the last 189 1/2 - 180 - 1/4 = 9 1/4; 110 - 1/2 = 109 1/2 clear."""
    (row,) = lean_to().taken.soffits
    assert (row.quantity, row.span, row.ripped, row.ripped_to) == (16, at("109 1/2"), 1, at("9 1/4"))


def test_the_lean_tos_nails() -> None:
    """Every 16 in and one more: 59 1/2 in 5 x 9, 93 3/8 in 7 x 5, 26 in 3 x 4, 31 3/8 in 3 x 4, 188 7/8 in 13 x 2.

    109 3/8 in 8 x 12; the ripped courses have lost their hem. Soffit 109 1/2 in: 6 between and 2 ends, 8 x 16.
    """
    assert lean_to().figure("nails for panels") == 45 + 35 + 12 + 12 + 26 + 96
    assert lean_to().figure("nails for soffit") == 128


@cache
def loft() -> Found:
    """A gable of 28 ft, eaves 100 in, peak 212 in (8/12), posts of 3/4 in, a window and a vent in its loft."""
    left, right = (post(Meeting.OUTSIDE_POST, at("3/4"), name, at("1 1/2")) for name in ("a", "b"))
    window = opening("W", OpeningKind.WINDOW, (150, 120, 36, 40), inches(1))
    vent = opening("V", OpeningKind.FIXTURE, (160, 178, 16, 16), inches(1))
    wall = Wall("loft", gable(inches(336), inches(100), inches(212)), left, right, openings=(window, vent))
    uses = {role: made.id for role, made in MATERIALS.items()}
    return Found(
        take_off(
            House("Tern Cottage", Unit.IN, inches(8), (wall,), face=0, materials=tuple(MATERIALS.values()), uses=uses)
        )
    )


def test_the_lofts_runs() -> None:
    """212 / 8 = 26.5 -> 27. Straight: 336 - 2 x 3/4 - 2 x 1/4 = 334. Course n of the slopes stands on y = 8 n - 8.

    At y it is 336 - 3 (y - 100) wide; the gap square to the rake is 1/4 x root of (1 + (12/8)^2) = 0.45 -> 1/2 in
    each side: 324 - 1, 300 - 1. Beside the window 150 - 1.5 (y - 100) - 1/2 - 1/4, from y = 120 five times 12 less.
    Over it 156 - 1, 132 - 1, 108 - 1; beside the vent 160 - 126 - 3/4; over it 60 - 1, 36 - 1, 12 - 1.
    """
    by_hand = {course: ["334"] for course in range(1, 14)} | {14: ["323"], 15: ["299"]}
    by_hand |= {16: ["119 1/4"] * 2, 17: ["107 1/4"] * 2, 18: ["95 1/4"] * 2, 19: ["83 1/4"] * 2, 20: ["71 1/4"] * 2}
    by_hand |= {21: ["155"], 22: ["131"], 23: ["107"], 24: ["33 1/4"] * 2, 25: ["59"], 26: ["35"], 27: ["11"]}
    assert loft().runs("loft") == {course: [at(text) for text in texts] for course, texts in by_hand.items()}


def test_the_lofts_bend_at_the_eaves() -> None:
    """Course 13 (96 to 104): its cut edge stands 3/4 + 1/4 = 1 in from the corner, the sloping one 0.45 from the rake.

    They meet where the rake is 1 - 0.45 = 0.55 in along, 100 + 0.55 x 8/12 = 100.37 in up: 4.37 in over the lip, in
    16ths down 4 5/16 in.
    """
    course = loft().taken.walls[0].courses[12]
    slopes = [end.end.slope for run in course.runs for end in (run.left, run.right)]
    assert [slope.upright if slope else None for slope in slopes] == [at("4 5/16")] * 2


def test_the_lofts_notches() -> None:
    """Sill 120 - 1/4 - 112 = 7 3/4; head 160 + 1/4 - 160; vent 178 - 1/4 - 176 = 1 3/4 and 194 + 1/4 - 192 = 2 1/4."""
    assert loft().notches("loft") == {
        (15, "W"): (Edge.TOP, at("7 3/4")), (21, "W"): (Edge.BOTTOM, at("1/4")),
        (23, "V"): (Edge.TOP, at("1 3/4")), (25, "V"): (Edge.BOTTOM, at("2 1/4")),
    }  # fmt: skip


def test_the_lofts_trim() -> None:
    """Rakes root of (168^2 + 112^2) = 201.91 -> 201 15/16; starter 336 - 3; posts 100 + 3/4 - 1/4; no ripped top."""
    assert loft().trim(Role.CHANNEL) == {at("36"): 2, at("40"): 2, at("201 15/16"): 2}
    assert loft().trim(Role.STARTER) == {at("333"): 1}
    assert loft().trim(Role.OUTSIDE_POST) == {at("100 1/2"): 2}
    assert loft().trim(Role.UTILITY) == {at("36 1/2"): 1}


def test_the_lofts_area() -> None:
    """336 x 100 / 144 + 336 x 112 / 288 = 233.33 + 130.67 = 364 sq ft; off 36 x 40 / 144 + 16 x 16 / 144 = 11.78."""
    assert loft().figure("walls") == 364
    assert round(loft().figure("openings off"), 2) == 11.78


MM = MILLIMETRE


@cache
def house() -> Found:
    """8,730 x 6,120 x 2,530 mm, a door and a window in front, posts of 12 mm, eaves of 400 mm round it, mitred."""
    walls, eaves = [], []
    for number, (name, width) in enumerate((("front", 8730), ("right", 6120), ("back", 8730), ("left", 6120))):
        left, right = (post(Meeting.OUTSIDE_POST, 12 * MM, f"c{n % 4}", 30 * MM) for n in (number, number + 1))
        walls.append(Wall(name, rectangle(width * MM, 2530 * MM), left, right))
        turn = EaveCorner.MITRED
        corners = f"e{number}", f"e{(number + 1) % 4}"
        eaves.append(Eave(name, width * MM, 400 * MM, turn, turn, left_corner=corners[0], right_corner=corners[1]))
    door = opening("D", OpeningKind.DOOR, (3000, 0, 900, 2080), MM)
    window = opening("W", OpeningKind.WINDOW, (5200, 870, 1500, 1200), MM)
    walls[0] = replace(walls[0], openings=(door, window))
    return Found(
        take_off(
            House(
                "Tern Cottage", Unit.MM, 200 * MM, tuple(walls), eaves=tuple(eaves), face=0, coverage=305 * MM,
                materials=tuple(MATERIALS.values()), uses={role: made.id for role, made in MATERIALS.items()},
                settings=settings_for(Unit.MM),
            )
        )
    )  # fmt: skip


def in_mm(found: dict[int, list[int]]) -> dict[int, list[float]]:
    """Return runs in millimetres."""
    return {course: [length / MM for length in cut] for course, cut in found.items()}


def test_the_houses_runs() -> None:
    """2530 / 200 = 12.65 -> 13. Left of the door 3000 - 12 - 12 = 2976, right of it 8730 - 12 - 3900 - 12 = 4806.

    Between 5200 - 3900 - 12 = 1288, beyond 8730 - 12 - 6700 - 12 = 2006, whole 8730 - 24 - 12 = 8694, at the sides
    6120 - 24 - 12 = 6084. Window from 864 (course 5) to 2076, door to 2086 (both course 11).
    """
    by_hand = {course: [2976, 4806] for course in range(1, 6)}
    by_hand |= {course: [2976, 1288, 2006] for course in range(6, 11)} | {course: [8694] for course in (11, 12, 13)}
    assert in_mm(house().runs("front")) == by_hand
    assert in_mm(house().runs("back")) == {course: [8694] for course in range(1, 14)}
    assert in_mm(house().runs("right")) == in_mm(house().runs("left")) == {course: [6084] for course in range(1, 14)}


def test_the_houses_notches_and_rips() -> None:
    """Sill 864 - 800 = 64; heads 2076 - 2000 = 76 and 2086 - 2000 = 86; tops 2530 - 6 - 2400 = 124."""
    assert house().notches("front") == {
        (5, "W"): (Edge.TOP, 64 * MM), (11, "W"): (Edge.BOTTOM, 76 * MM), (11, "D"): (Edge.BOTTOM, 86 * MM),
    }  # fmt: skip
    assert {wall: house().rips(wall) for wall in ("front", "left")} == {"front": {13: 124 * MM}, "left": {13: 124 * MM}}


HOUSE_TRIM = [
    # 3000 - 30, 8730 - 3900 - 30; 6120 - 60 twice, 8730 - 60
    (Role.STARTER, {2970: 1, 4800: 1, 6060: 2, 8670: 1}),
    # 2530 + 19 - 6, one to a corner
    (Role.OUTSIDE_POST, {2543: 4}),
    # tops 8730 - 24 - 12 and 6120 - 24 - 12, twice each; sill 1500 + 12
    (Role.UTILITY, {8694: 2, 6084: 2, 1512: 1}),
    (Role.CHANNEL, {900: 1, 2080: 2, 1500: 2, 1200: 2}),
    # along the walls; two in each mitre, root of 2 x 400 = 565.7 -> 566
    (Role.SOFFIT_CHANNEL, {8730: 2, 6120: 2, 566: 8}),
    # 8730 + 800 and 6120 + 800
    (Role.FASCIA, {9530: 2, 6920: 2}),
    (Role.DRIP_CAP, {900: 1, 1500: 1}),
]


@pytest.mark.parametrize(("role", "by_hand"), HOUSE_TRIM, ids=[role for role, _ in HOUSE_TRIM])
def test_the_houses_trim(role: Role, by_hand: dict[int, int]) -> None:
    """The sums stand beside each line."""
    assert house().trim(role) == {length * MM: count for length, count in by_hand.items()}


def test_the_houses_soffit() -> None:
    """8730 / 305 = 28.6 -> 29 and 6120 / 305 = 20.1 -> 21 panels of 400 - 6 = 394.

    Into each mitre two more, 394 and 394 - 305 = 89 at their longer edge, so each eave has two of each.
    """
    rows = [(row.quantity, row.span // MM) for row in house().taken.soffits]
    assert rows == [(29, 394), (2, 394), (2, 89), (21, 394), (2, 394), (2, 89)] * 2


def test_the_houses_area() -> None:
    """2 x (8.73 + 6.12) x 2.53 = 75.141 m2; off 0.9 x 2.08 + 1.5 x 1.2 = 3.672 m2."""
    assert round(house().figure("walls"), 4) == 75.141
    assert round(house().figure("openings off"), 4) == 3.672
    net = sum((taken.net_area for taken in house().taken.walls), Fraction(0))
    # nothing lies in tops' clearance and in pockets: 6 mm along the tops, 12 mm at each end
    assert float(square_feet(net) * SQUARE_METRES) < 75.141 - 3.672
