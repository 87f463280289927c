"""Hatching and dimension chains: what stays inside, and what stays apart."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from service.drawing.drafting import SIZE, Stretch, chain, cross_hatched, hatched
from service.drawing.lettering import width_of
from service.drawing.shapes import Strokes, Text, rectangle

SQUARE = rectangle(0, 0, 10, 10)
sizes = st.floats(min_value=0.5, max_value=60, allow_nan=False)


@given(sizes, sizes, st.floats(min_value=0.5, max_value=4))
def test_hatching_stays_inside_its_outline(width: float, height: float, spacing: float) -> None:
    """Every line begins and ends on the edge of the rectangle and runs at 45 degrees."""
    for (ax, ay), (bx, by) in hatched(rectangle(0, 0, width, height), spacing).segments:
        assert all(-1e-6 <= x <= width + 1e-6 for x in (ax, bx))
        assert all(-1e-6 <= y <= height + 1e-6 for y in (ay, by))
        assert abs((ax + ay) - (bx + by)) < 1e-6


def test_hatching_is_as_dense_as_asked() -> None:
    """A square of 10 cut by x + y = 2, 4, ... 18 has nine lines 2 apart; crossed, twice as many."""
    assert len(hatched(SQUARE, 2.0).segments) == 9
    assert len(cross_hatched(SQUARE, 2.0).segments) == 18


def test_hatching_leaves_room_for_a_word() -> None:
    """No line enters the box that is kept free, and the lines around it are those of the whole."""
    around = hatched(SQUARE, 2.0, (3, 4, 7, 6)).segments
    for (ax, ay), (bx, by) in around:
        x, y = (ax + bx) / 2, (ay + by) / 2
        assert not (3 < x < 7 and 4 < y < 6)
    assert {round(ax + ay, 6) for (ax, ay), _ in around} <= {2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0}


def test_a_slope_is_hatched_to_its_edge() -> None:
    """A triangle takes the lines that its area takes: half of the square's length."""
    lines = hatched(((0, 0), (10, 0), (0, 10)), 1.0).segments
    length = sum(((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5 for (ax, ay), (bx, by) in lines)
    assert abs(length - sum(2**0.5 * n for n in range(1, 11))) < 1e-6


def test_a_measure_stands_over_its_stretch() -> None:
    """Where there is room the figure is centred over the line, and a slash marks each end."""
    drawn = chain([Stretch(0, 50, "4'-2\"")], 10)
    figure = next(shape for shape in drawn.shapes if isinstance(shape, Text))
    assert (figure.x, figure.text) == (25, "4'-2\"")
    assert figure.y < 10
    slashes = next(shape for shape in drawn.shapes if isinstance(shape, Strokes)).segments[1:]
    assert [round((a + b) / 2, 3) for (a, _), (b, _) in slashes] == [0, 50]


def test_equal_parts_share_a_figure_and_keep_their_slashes() -> None:
    """Three parts dimensioned as one have four slashes."""
    drawn = chain([Stretch(0, 90, "3 @ 30", (30, 60))], 10)
    slashes = next(shape for shape in drawn.shapes if isinstance(shape, Strokes)).segments[1:]
    assert [round((a + b) / 2, 3) for (a, _), (b, _) in slashes] == [0, 30, 60, 90]


@given(st.lists(st.floats(min_value=0.4, max_value=40), min_size=1, max_size=30))
def test_measures_never_cover_each_other(lengths: list[float]) -> None:
    """However narrow the stretches are, no two figures overlap, and none lies below what the chain says it takes."""
    ends = [0.0]
    for length in lengths:
        ends.append(ends[-1] + length)
    stretches = [Stretch(a, b, '34 1/2"') for a, b in pairwise(ends)]
    drawn = chain(stretches, 10)
    figures = [shape for shape in drawn.shapes if isinstance(shape, Text)]
    assert len(figures) == len(lengths)
    half = width_of(figures[0].text, SIZE) / 2
    for n, one in enumerate(figures):
        assert one.y <= drawn.bottom
        for other in figures[n + 1 :]:
            assert abs(one.y - other.y) > 1 or abs(one.x - other.x) >= 2 * half - 1e-6
