"""Written lengths read exactly; ambiguous forms are questions; what is said reads back.

The forms marked "in print" were seen in courses of the US Army engineer school (armyengineer.tpub.com), the
installation manual of the Polymeric Exteriors Association, Vinyl Siding Done Right (Fine Homebuilding), a handbook of
Habitat for Humanity International and on contractors' pages; the others are common practice, no source.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from solver.lengths import (
    LONGEST,
    TICKS_PER_INCH,
    TICKS_PER_MM,
    AmbiguousLength,
    LengthError,
    Rounding,
    Unit,
    from_number,
    read_length,
    say,
    to_number,
    to_ticks,
)

IMPERIAL_FORMS = {
    "9' 7\"": "115", "9'-7\"": "115", "9'7": "115", "9 ft 7 in": "115", "9ft7in": "115", "9 FT 7 IN": "115",
    "142 3/8": "142 3/8", "142-3/8\"": "142 3/8", "142.375": "142 3/8", "142⅜": "142 3/8", "142 ⅜\"": "142 3/8",
    "11' 10 3/8\"": "142 3/8", "11'-10⅜\"": "142 3/8", "11'10-3/8": "142 3/8", "11'-10-3/8\"": "142 3/8",
    "11′ 10⅜″": "142 3/8",
    "12.5 ft": "150", "12 1/2 ft": "150", "12½'": "150", "12'6''": "150", "12-ft": "144", "12 feet 6 inches": "150",
    "10'-1/2\"": "120 1/2", "10'-0 1/2\"": "120 1/2", "10' ½": "120 1/2", "0'-6\"": "6", "6''": "6",
    ".5": "1/2", "-1/4": "-1/4",
    "− 1/4 in": "-1/4", "+1": "1", "10.5": "10 1/2", "10.6\"": "10 3/5", "10.6 in": "10 3/5",
    "10.12": "10 3/25", "1/2'": "6",
}  # fmt: skip
IN_PRINT = {
    "4' - 6\"": "54", "10' - 0\"": "120", "8'10\"": "106", "8' 10\"": "106", "106\"": "106", "1-1/4\"": "1 1/4",
    "1 1/4” (32mm)": "1 1/4", "1⁄4-in.": "1/4", "½": "1/2", "5/8-inch": "5/8", "234 1/4": "234 1/4",
    "12 ft. 6 in.": "150",
    "12'6\"": "150", "12’6”": "150", "16.25 ft": "195", "6'8\"": "80",
}  # fmt: skip
METRIC_FORMS = {
    "3510 mm": "3510", "3510mm": "3510", "3.51 m": "3510", "3,51 m": "3510", "351 cm": "3510",
    "3510,5 mm": "3510.5",
    "3 metres": "3000", "1.997m": "1997", "20.5cm": "205", "0,08 m": "80", "10 mm (3⁄8 in.)": "10", "-6 mm": "-6",
}  # fmt: skip


def inches(text: str) -> Fraction:
    """Return ``142 3/8`` as a fraction."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


@pytest.mark.parametrize(("text", "expected"), (IMPERIAL_FORMS | IN_PRINT).items())
def test_feet_and_inches_in_every_written_form(text: str, expected: str) -> None:
    """Straight, curly and prime quotes, fractions in every dress, decimal feet, words: the same length."""
    assert read_length(text, Unit.IN) == to_ticks(inches(expected), Unit.IN)


@pytest.mark.parametrize(("text", "expected"), METRIC_FORMS.items())
@pytest.mark.parametrize("unit", [Unit.IN, Unit.MM])
def test_metric_forms_whatever_the_unit_of_the_list(text: str, expected: str, unit: Unit) -> None:
    """A length with its unit needs no other; a comma is decimal where the unit is metric."""
    assert read_length(text, unit).ticks == Fraction(expected) * TICKS_PER_MM


@pytest.mark.parametrize(
    ("unit", "ticks"), [("in", 97_536), ("ft", 1_170_432), ("mm", 3840), ("cm", 38_400), ("m", 3_840_000)]
)
def test_a_bare_number_is_of_the_list_s_unit(unit: str, ticks: int) -> None:
    """12 is twelve of whatever the list is in; a tick is 1/8128 in = 3.125 micrometres."""
    assert read_length("12", Unit(unit)).ticks == ticks


@pytest.mark.parametrize(
    ("text", "notation", "readings"),
    [
        ("9-7", "n-n", ["9'-7\"", "9 of 7\""]), ("12-6", "n-n", ["12'-6\"", "12 of 6\""]),
        ("2-3", "n-n", ["2'-3\"", "2 of 3\""]), ("9-7 1/2", "n-n", ["9'-7 1/2\"", "9 of 7 1/2\""]),
        ("9 7", "n n", ["9'-7\"", "9 of 7\""]), ("10.6", "n.n", ["10'-6\"", "10.6 in"]),
        ("10.11", "n.n", ["10'-11\"", "10.11 in"]), ("9.06", "n.n", ["9'-6\"", "9.06 in"]),
        ("3,510 mm", "n,nnn", ["3.51 mm", "3510 mm"]), ("3 m (10')", "n (n)", ["3 m", "10'"]),
    ],
)  # fmt: skip
def test_a_form_with_two_meanings_is_a_question(text: str, notation: str, readings: list[str]) -> None:
    """Both readings are named, as a person would say them."""
    with pytest.raises(AmbiguousLength) as caught:
        read_length(text, Unit.IN)
    assert (caught.value.notation, [reading.text for reading in caught.value.readings]) == (notation, readings)
    assert caught.value.code == "ambiguous_length"


@pytest.mark.parametrize("text", ["10.5", "142-3/8", "10.12", "10.60", '10.6"', "10.0"])
def test_forms_that_look_ambiguous_and_are_not(text: str) -> None:
    """A whole 64th, a fraction after the dash, decimals that are no number of inches under 12, or a unit."""
    assert read_length(text, Unit.IN).ticks > 0


@pytest.mark.parametrize(
    "text",
    ["", " ", "'", "\"", "-", "ten", "10'-", "10' 14\"", "10' 6'", "2-9'7\"", "12/6", "4/4", "2/10'", "1/0",
    "5.", "1e5", "NaN", "12-13",
     "10,5", "1,200", "2m40", "0x10", "4 @ 10'", "1" * 81, "9" * 5000, "9' 7\" x", "3 in 4", "½½", "\x00", "٣"],
)  # fmt: skip
def test_what_is_no_length_is_refused_in_words(text: str) -> None:
    """Anything else is an error with a code and words, however long the text."""
    with pytest.raises(LengthError) as caught:
        read_length(text, Unit.IN)
    assert caught.value.code
    assert caught.value.detail


@pytest.mark.parametrize("text", ["9' 12\"", "9' 14\"", "9' 14", "9 ft 14 in", "9'-14 1/2\""])
def test_inches_after_feet_stay_under_a_foot(text: str) -> None:
    """9' 14" is a slip for 9' 1/4" or 9' 1 4/16": read as 10'-2" it would cut a panel wrong by a foot."""
    with pytest.raises(LengthError, match="after feet inches stay under 12"):
        read_length(text, Unit.IN)
    assert read_length("9' 11 63/64\"", Unit.IN).ticks == inches("119 63/64") * TICKS_PER_INCH


@pytest.mark.parametrize("text", ['10" (10 1/32")', "10 mm (3/8 in.)", '1 1/4" (32 mm)'])
def test_a_length_in_two_units_is_one_if_they_agree_within_a_thirty_second(text: str) -> None:
    """Printed pairs are rounded: 10 mm and 3/8 in are 0.019 in apart; a tape shows no more than 1/32 in."""
    assert read_length(text, Unit.IN).ticks > 0


@pytest.mark.parametrize("text", ['10" (10 3/64")', '10" (255.2 mm)', '1 1/4" (33 mm)'])
def test_a_length_in_two_units_that_differ_by_more_is_a_question(text: str) -> None:
    """3/64 in apart (255.2 mm are 10.047 in; 33 mm are 1.299): one of the two is a slip, and nobody knows which."""
    with pytest.raises(AmbiguousLength) as caught:
        read_length(text, Unit.IN)
    assert len(caught.value.readings) == 2


def test_a_fraction_without_a_unit_is_refused_in_a_metric_list() -> None:
    """142 3/8 is inches to whoever wrote it, but a metric list says millimetres."""
    with pytest.raises(LengthError, match="fractions are of inches"):
        read_length("142 3/8", Unit.MM)


@pytest.mark.parametrize(("rounding", "ticks"), [(Rounding.NEAREST, 2709), (Rounding.DOWN, 2709), (Rounding.UP, 2710)])
def test_a_third_of_an_inch_is_rounded_as_told(rounding: Rounding, ticks: int) -> None:
    """8128/3 = 2709 1/3 ticks, and the length says that it is not exact."""
    length = to_ticks(Fraction(1, 3), Unit.IN, rounding)
    assert (length.ticks, length.exact) == (ticks, False)


def test_halves_round_up_and_negative_lengths_round_the_same_way() -> None:
    """2.5 ticks are 3 and -2.5 are -2; down and up mean shorter and longer along the line, not toward zero."""
    half = Fraction(5, 2 * TICKS_PER_INCH)
    assert (to_ticks(half, Unit.IN).ticks, to_ticks(-half, Unit.IN).ticks) == (3, -2)
    assert (to_ticks(-half, Unit.IN, Rounding.DOWN).ticks, to_ticks(-half, Unit.IN, Rounding.UP).ticks) == (-3, -2)


@pytest.mark.parametrize(
    ("value", "unit", "ticks"),
    [
        (10.6, Unit.IN, 86_157), (0.1, Unit.MM, 32), (Decimal("3.51"), Unit.M, 1_123_200), (12, Unit.FT, 1_170_432),
        (-0.25, Unit.IN, -2032), (0.0, Unit.IN, 0), (Decimal("0E+5"), Unit.IN, 0), (1e-7, Unit.IN, 0),
    ],
)  # fmt: skip
def test_a_json_number_is_never_ambiguous(value: float | Decimal, unit: Unit, ticks: int) -> None:
    """A number counts as the shortest decimal that prints it."""
    assert from_number(value, unit).ticks == ticks


@pytest.mark.parametrize(
    "value", [True, float("nan"), float("inf"), 1e308, -1e308, 1e-300, 10**400, Decimal("1e999999999"),
    Decimal("1e-999999999"),
              Decimal("NaN"), Decimal("1." + "1" * 5000)]
)  # fmt: skip
def test_a_number_that_is_no_length_is_refused(value: float | Decimal) -> None:
    """Truth values, infinities, astronomic and microscopic numbers are refused without computing them out."""
    with pytest.raises(LengthError):
        from_number(value, Unit.IN)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("115", Unit.IN, "9'-7\""), ("34 1/2", Unit.IN, "34 1/2\""), ("150", Unit.FT, "12'-6\""),
        ("1/2", Unit.IN, "1/2\""),
        ("50", Unit.IN, "4'-2\""), ("126", Unit.IN, "10'-6\""), ("36", Unit.IN, "3'-0\""),
        ("35 63/64", Unit.IN, "35 63/64\""),
        ("120 1/2", Unit.IN, "10'-0 1/2\""), ("0", Unit.IN, "0\""), ("-1/4", Unit.IN, "-1/4\""),
        ("10 3/5", Unit.IN, "10.6 in"),
        ("1", Unit.MM, "25.4 mm"), ("1", Unit.CM, "2.54 cm"), ("1", Unit.M, "0.0254 m"),
        ("1/64", Unit.MM, "0.397 mm"),
    ],
)  # fmt: skip
def test_lengths_are_said_as_the_trade_says_them(text: str, unit: Unit, expected: str) -> None:
    """Feet from 36 in up, reduced fractions, decimals only where no inch rule has the length; metric in the unit."""
    assert say(to_ticks(inches(text), Unit.IN).ticks, unit) == expected


def test_numbers_in_answers_have_up_to_six_decimals() -> None:
    """Whole numbers are whole, 1/64 in has its six decimals, and 0.1 mm is exactly that."""
    assert to_number(115 * TICKS_PER_INCH, Unit.IN) == 115
    assert isinstance(to_number(115 * TICKS_PER_INCH, Unit.IN), int)
    assert to_number(TICKS_PER_INCH // 64, Unit.IN) == 0.015625
    assert to_number(32, Unit.MM) == 0.1


def test_no_length_is_longer_than_the_longest() -> None:
    """A million inches is a length; one more is not."""
    assert from_number(1_000_000, Unit.IN).ticks == LONGEST
    with pytest.raises(LengthError, match="no length is longer"):
        from_number(1_000_001, Unit.IN)
