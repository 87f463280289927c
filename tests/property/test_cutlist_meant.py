"""A line means what its writer meant, or is asked about; it never reads as something else.

Lines are put together from what was meant: a number of pieces and a length, each written in one of the
trade's ways (common practice, no source), with the marks, sizes, dates and prices that stand around them.
"""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from solver.cutlist import read_cut_list
from solver.lengths import TICKS_PER_64TH, TICKS_PER_INCH, Unit

MATERIALS = ("panel-sand", "j-channel")
LENGTHS = (
    "{f}' {i}{ n}\"", "{f}'-{i}{ n}\"", "{f}'{i}{ n}", "{f} ft {i}{ n} in", "{f}-{i}{ n}", "{f}' {i}{ n}",
    "{f}' - {i}{ n}\"",
    "{t}{ n}", "{t}{-n}\"", "{t}{ n} in", "{f}'-{i}{-n}\"", "{f}’ {i}{ n}”", "{f}ft{i}{ n}in", "{f} {i}{ n}",
    "{d}", "{d}\"",
)  # fmt: skip
BEFORE = (
    "{q} @ {l}", "({q}) {l}", "{q} pcs {l}", "{q}x {l}", "{q} ea {l}", "{q} - {l}", "{q}/{l}", "{q} of {l}",
    "{q} {l}", "{q}-{l}",
    "{q}@{l}", "{q}x{l}", "{q} x {l}", "{q}\t{l}", "{q},{l}", "{q} no. {l}", "{q}pcs {l}", "qty {q} {l}",
)  # fmt: skip
AFTER = (
    "{l} x {q}", "{l} ({q})", "{l} - {q} pcs", "{l}x{q}", "{l} x{q}", "{l} {q} pcs", "{l} = {q}", "{l}: {q}",
    "{l} {q}", "{l}\t{q}",
    "{l},{q}", "{l} - {q}", "{l} {q}x", "{l} * {q}", "{l}, {q} pcs", "{l} qty {q}",
)  # fmt: skip
AROUND = (
    "{}", "A: {}", "- {}", "Mark A {}", "North wall: {}", "A {}", "{} panel sand", "{} A", "{} (shed)",
    "{} by Nov 24",
    "{} $9.80", "{} call 555-0142", "panel sand {}", "A\t{}", "{}\tA", "{}, A", "5/8 J {}", "wall: {}",
    "{} - panel", "D4 {}",
    "{} D4", "W2 {}", "{} W2", "[7] {}", "{} [7]", "{} #7", "> {}", "{} !",
)  # fmt: skip

meant = st.tuples(st.integers(1, 60), st.integers(2, 40), st.integers(0, 11), st.integers(0, 15))


def written(template: str, feet: int, inches: int, sixteenths: int) -> str:
    """Return a length in one of the ways of writing it."""
    part = str(Fraction(sixteenths, 16)) if sixteenths else ""
    decimal = float(12 * feet + inches + Fraction(sixteenths, 16))
    values = {
        "{f}": str(feet),
        "{i}": str(inches),
        "{t}": str(12 * feet + inches),
        "{d}": f"{decimal:.4f}".rstrip("0").rstrip("."),
        "{ n}": f" {part}" if part else "",
        "{-n}": f"-{part}" if part else "",
    }
    return re.sub(r"\{.*?\}", lambda match: values[match.group()], template)


@given(meant, st.sampled_from(LENGTHS), st.sampled_from(BEFORE + AFTER), st.sampled_from(AROUND))
@settings(max_examples=1500, deadline=None)
def test_a_line_reads_as_it_was_meant_or_is_asked_about(
    pieces: tuple[int, int, int, int], length: str, order: str, around: str
) -> None:
    """One item of that quantity and length comes back, or a problem; nothing else, and nothing is passed over."""
    quantity, feet, inches, sixteenths = pieces
    text = around.format(order.format(q=quantity, l=written(length, feet, inches, sixteenths)))
    (line,) = read_cut_list(text, Unit.IN, MATERIALS).lines
    ticks = (12 * feet + inches) * TICKS_PER_INCH + sixteenths * 4 * TICKS_PER_64TH
    assert line.problem or [(item.quantity, item.length) for item in line.read] == [(quantity, ticks)]
