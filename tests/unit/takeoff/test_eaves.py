"""Corners of eaves: mitres once a corner, inside corners and L-shaped eaves, unequal overhangs; by hand (geometry)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from solver.errors import Unplannable
from solver.lengths import Unit
from solver.takeoff import TakeOff, take_off
from solver.takeoff.measured import Eave, EaveCorner, Role
from tests.scenario import MILLIMETRE, inches
from tests.support.measured_shed import house_of

MITRED, SQUARE, NONE = EaveCorner.MITRED, EaveCorner.SQUARE, EaveCorner.NONE
INSIDE, RUNS_ON, BUTTS = EaveCorner.INSIDE_MITRED, EaveCorner.INSIDE_SQUARE, EaveCorner.INSIDE_BUTT


def taken(*eaves: Eave, **changes: object) -> TakeOff:
    """Return the take-off of these eaves."""
    return take_off(house_of(eaves=eaves, **changes))


def mitres(found: TakeOff) -> list[tuple[int, int]]:
    """Return how many channels along mitres there are, and how long."""
    return [(piece.quantity, piece.length) for piece in found.trim if "mitre" in piece.place]


def fascia(found: TakeOff) -> list[int]:
    """Return the lengths of fascia."""
    return [piece.length for piece in found.trim if piece.role is Role.FASCIA]


def corners(left: str, right: str) -> dict[str, str]:
    """Return the names of an eave's corners."""
    return {"left_corner": left, "right_corner": right}


def test_the_four_corners_of_a_hip_roof_have_eight_channels() -> None:
    """Two back to back at each of four corners, not at each of eight ends (an installer's page): 8, named or not.

    400 mm x root of 2 = 565.69, 566 mm rounded up.
    """
    sizes = (13410, 7920, 13410, 7920)
    plain = [Eave(f"e{n}", MILLIMETRE * size, 400 * MILLIMETRE, MITRED, MITRED) for n, size in enumerate(sizes)]
    named = [
        Eave(f"e{n}", MILLIMETRE * size, 400 * MILLIMETRE, MITRED, MITRED, **corners(f"c{n}", f"c{(n + 1) % 4}"))  # type: ignore[arg-type]
        for n, size in enumerate(sizes)
    ]
    for eaves in (plain, named):
        found = taken(*eaves, unit=Unit.MM, coverage=300 * MILLIMETRE)
        assert sum(count for count, _ in mitres(found)) == 8
        assert {length for _, length in mitres(found)} == {566 * MILLIMETRE}


def test_eaves_of_two_overhangs_share_the_mitre_between_them() -> None:
    """12 and 16 in: 144 + 256 = 400, root 20 in, two channels; each fascia is longer by the other's overhang."""
    rear = Eave("rear", inches(240), inches(12), right=MITRED, right_corner="c")
    side = Eave("side", inches(120), inches(16), left=MITRED, left_corner="c")
    found = taken(rear, side)
    assert mitres(found) == [(2, inches(20))]
    assert fascia(found) == [inches(256), inches(132)]
    slopes = [row.ends[0].slope for row in found.soffits if "mitred" in row.place]
    assert {slope.pitch for slope in slopes if slope} == {Fraction(4, 3), Fraction(3, 4)}


def test_an_inside_corner_is_shorter_at_the_fascia() -> None:
    """An L of 20 ft and 10 ft, 16 in over: whole panels along 224 and 104 in, two more at each side of the mitre.

    224 / 12 = 18.67, 19 panels; 104 / 12 = 8.67, 9. Fascia 240 - 16 and 120 - 16. The mitre is 16 in x root of 2.
    """
    rear = Eave("rear", inches(240), inches(16), right=INSIDE, right_corner="c")
    wing = Eave("wing", inches(120), inches(16), left=INSIDE, left_corner="c")
    found = taken(rear, wing)
    assert [row.quantity for row in found.soffits if "mitred" not in row.place] == [19, 9]
    assert sum(row.quantity for row in found.soffits if "mitred" in row.place) == 4
    assert fascia(found) == [inches(224), inches(104)]
    assert mitres(found) == [(2, inches("22.6875"))]


def test_a_square_inside_corner_is_covered_once() -> None:
    """The first runs on to the other wall, 240 in; the second ends at its fascia, 120 - 16 = 104 in. No mitre."""
    rear = Eave("rear", inches(240), inches(16), right=RUNS_ON, right_corner="c")
    wing = Eave("wing", inches(120), inches(16), left=BUTTS, left_corner="c")
    found = taken(rear, wing)
    assert [row.quantity for row in found.soffits] == [20, 9]
    assert fascia(found) == [inches(224), inches(104)]
    assert mitres(found) == []


def test_the_fascia_of_an_eave_that_stops_goes_round_the_square_corner() -> None:
    """The first carries on over the corner by 16 in; the second's fascia covers that end: 136 in."""
    rear = Eave("rear", inches(240), inches(16), right=SQUARE, right_corner="c")
    side = Eave("side", inches(120), inches(16), left=NONE, left_corner="c")
    assert fascia(taken(rear, side)) == [inches(256), inches(136)]


def test_an_eave_that_ends_at_a_gable_has_no_more_fascia() -> None:
    """A corner that no other eave names adds nothing: 240 in."""
    assert fascia(taken(Eave("rear", inches(240), inches(16), left_corner="c"))) == [inches(240)]


@pytest.mark.parametrize(
    ("ends", "code"),
    [
        ((MITRED, MITRED, MITRED), "corner_met_thrice"),
        ((MITRED, SQUARE), "corner_disagrees"),
        ((INSIDE, MITRED), "corner_disagrees"),
    ],
)
def test_corners_that_do_not_fit_are_refused(ends: tuple[EaveCorner, ...], code: str) -> None:
    """Three eaves at a corner, or two that turn it differently: named with the eave's place."""
    eaves = (Eave(f"e{n}", inches(240), inches(16), how, left_corner="c") for n, how in enumerate(ends))
    with pytest.raises(Unplannable) as refused:
        taken(*eaves)
    assert [(p.code, p.pointer) for p in refused.value.problems] == [(code, f"#/eaves/{len(ends) - 1}")]


def test_an_eave_that_its_corners_eat_up_is_refused() -> None:
    """24 in between two inside corners of 16 in leaves nothing."""
    with pytest.raises(Unplannable) as refused:
        taken(Eave("niche", inches(24), inches(16), INSIDE, INSIDE))
    assert [problem.code for problem in refused.value.problems] == ["eave_too_short"]
