"""A linear program in rational numbers: the primal simplex method with Bland's rule, nothing rounded."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction


def most_worth(gains: Sequence[int], rows: Sequence[Sequence[int]], limits: Sequence[int]) -> Fraction:
    """Return the greatest ``gains . v`` with ``rows v <= limits`` and ``v >= 0``; limits are not below 0."""
    size = len(gains)
    table = [
        [*map(Fraction, row), *(Fraction(i == j) for j in range(len(rows))), Fraction(limit)]
        for i, (row, limit) in enumerate(zip(rows, limits, strict=True))
    ]
    last = [*(Fraction(-gain) for gain in gains), *(Fraction(0) for _ in rows), Fraction(0)]
    basis = list(range(size, size + len(rows)))
    while (enters := next((j for j, price in enumerate(last[:-1]) if price < 0), None)) is not None:
        steps = [(row[-1] / row[enters], basis[i], i) for i, row in enumerate(table) if row[enters] > 0]
        leaves = min(steps)[2]
        basis[leaves] = enters
        table[leaves] = [entry / table[leaves][enters] for entry in table[leaves]]
        for i, row in enumerate(table):
            if i != leaves and row[enters]:
                table[i] = _minus(row, row[enters], table[leaves])
        last = _minus(last, last[enters], table[leaves])
    return last[-1]


def _minus(row: list[Fraction], times: Fraction, other: list[Fraction]) -> list[Fraction]:
    return [a - times * b for a, b in zip(row, other, strict=True)]
