"""What the plan says it costs is what its new sticks cost."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from solver.checking.bench import Bench
from solver.checking.fault import Fault, told
from solver.materials import Material, StockLength


def check_costs(bench: Bench) -> Iterator[Fault]:
    """Check the settings printed, then the cost against the sticks bought."""
    plan, material = bench.plan, bench.material
    if plan.settings != material.settings:
        yield Fault("settings", bench.place, told(material.settings, plan.settings))
    if plan.priced != material.priced:
        yield Fault("cost", bench.place, told(f"priced {material.priced}", plan.priced))
    prices = {row.id: price_of(row, material) for row in material.stock}
    bought = sum((prices.get(use.stock, Fraction(0)) for _, use, _ in bench.sticks() if use.stock), Fraction(0))
    if not plan.cost_step > 0:
        yield Fault("cost", bench.place, told("a step above 0", plan.cost_step))
    elif plan.cost * Fraction(plan.cost_step) != bought:
        yield Fault("cost", bench.place, told(bench.cost(bought), bench.steps(plan.cost)))


def price_of(row: StockLength, material: Material) -> Fraction:
    """Return what one stick of the row costs: its price, or its length in ticks where stock has no prices."""
    return Fraction(row.price) if material.priced and row.price is not None else Fraction(row.length)
