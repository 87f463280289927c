"""Properties of lengths: what is said reads back, numbers survive the response, no text does harm."""

from __future__ import annotations

from contextlib import suppress
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from solver.lengths import LONGEST, LengthError, Rounding, Unit, from_number, read_length, say, to_number, to_ticks

UNITS = st.sampled_from(Unit)
TICKS = st.integers(-LONGEST, LONGEST) | st.integers(-200_000, 2_000_000)
VALUES = st.fractions(-100_000, 100_000, max_denominator=10_000)
shaped = st.text("0123456789'\"/-. ,½¾ftinmcx()", max_size=30) | st.text(max_size=40)


@given(TICKS, UNITS)
def test_what_is_said_reads_back_to_the_tick(ticks: int, unit: Unit) -> None:
    """Any length, a whole 64th or not, is read back from what a person is told, in any unit."""
    assert read_length(say(ticks, unit), unit).ticks == ticks


@given(TICKS, UNITS)
def test_a_number_in_a_response_comes_back_to_the_tick(ticks: int, unit: Unit) -> None:
    """Six decimals tell every tick from its neighbours."""
    assert from_number(to_number(ticks, unit), unit).ticks == ticks


@given(VALUES, UNITS)
def test_rounding_brackets_the_value(value: Fraction, unit: Unit) -> None:
    """Down, nearest and up are within one tick, in that order, and equal exactly where the length is exact."""
    try:
        down, nearest, up = (to_ticks(value, unit, way) for way in (Rounding.DOWN, Rounding.NEAREST, Rounding.UP))
    except LengthError:
        assert abs(value) * unit.ticks > LONGEST
        return
    assert down.ticks <= value * unit.ticks <= up.ticks
    assert down.ticks <= nearest.ticks <= up.ticks
    assert abs(nearest.ticks - value * unit.ticks) <= Fraction(1, 2)
    assert (up.ticks - down.ticks == 0) == down.exact == nearest.exact == up.exact


@given(shaped, UNITS)
def test_any_text_is_a_length_or_an_error(text: str, unit: Unit) -> None:
    """Nothing but a length within bounds or a length error comes of any text."""
    with suppress(LengthError):
        assert abs(read_length(text, unit).ticks) <= LONGEST


@given(st.integers(0, 99), st.integers(0, 11), st.integers(0, 63), UNITS)
def test_every_spelling_of_a_length_is_one_length(feet: int, inches: int, sixty_fourths: int, unit: Unit) -> None:
    """Quotes, words, dashes and blanks make no difference."""
    part = f" {sixty_fourths}/64" if sixty_fourths else ""
    marks = (("' ", '"'), ("'-", '"'), ("’ ", "”"), ("′", "″"), (" ft ", " in"), ("' - ", "''"))
    spellings = [f"{feet}{foot}{inches}{part}{inch}" for foot, inch in marks]
    ticks = 8128 * (12 * feet + inches) + 127 * sixty_fourths
    assert {read_length(text, unit).ticks for text in spellings} == {ticks}
