"""Random small lists with rules of buying, some with a saw and suppliers that charge (tests only)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from random import Random

from solver.categories import DEFAULTS, Category
from solver.job import BelowMinimum, Job, MinimumOrder, Supplier
from solver.lengths import Unit
from solver.materials import BreaksCount, Material, Offcut, PriceBreak, StockLength
from solver.required import Required
from tests.scenario import inches

CENT = Decimal("0.01")


def small_job(seed: int) -> Job:
    """Return a random list of up to five kinds of pieces and two to four lengths with rules."""
    dice = Random(seed)
    names = ["panel", "trim"][: 1 + (dice.random() < 0.3)]
    materials = tuple(_random_material(dice, name) for name in names)
    items: list[Required] = []
    for material in materials:
        longest = max(row.length for row in material.stock) // inches(1)
        for length in dice.sample(range(20, longest), dice.randint(1, 5)):
            items.append(Required(f"P{len(items)}", material.id, inches(length), dice.randint(1, 9)))
    offcuts = tuple(
        Offcut("R-1", material.id, inches(dice.randint(30, 110)), dice.randint(1, 2))
        for material in materials
        if dice.random() < 0.2
    )
    below = dice.choice(list(BelowMinimum))
    fee = Decimal(dice.randint(2, 15)) if below is BelowMinimum.FEE else Decimal(0)
    minimum = MinimumOrder(Decimal(dice.randint(40, 260)), below, fee) if dice.random() < 0.4 else None
    return Job(f"list {seed}", Unit.IN, materials, tuple(items), offcuts, seconds=60.0, minimum_order=minimum)


def _random_material(dice: Random, name: str) -> Material:
    lengths = dice.sample([96, 100, 120, 144, 150, 192, 240], dice.randint(1, 4))
    rows = tuple(_random_row(dice, length) for length in sorted(lengths))
    together = BreaksCount.MATERIAL if dice.random() < 0.25 else BreaksCount.LENGTH
    kerf = dice.choice([0, 0, inches("0.125")])
    settings = replace(DEFAULTS[Category.OTHER], kerf=kerf)
    return Material(name, Category.OTHER, tuple(replace(row, breaks_count=together) for row in rows), settings)


def sawn_job(seed: int) -> Job:
    """Return a random list as ``small_job`` does, where cuts, patterns or offcuts may count, and suppliers charge."""
    job, dice = small_job(seed), Random(f"sawn {seed}")
    materials = [_with_saw(dice, material) for material in job.materials]
    if dice.random() < 0.5:
        return replace(job, materials=tuple(materials))
    named = [replace(material, supplier=f"Yard {dice.randint(1, 2)}") for material in materials]
    suppliers = tuple(_random_supplier(dice, name) for name in ("Yard 1", "Yard 2"))
    return replace(job, materials=tuple(named), suppliers=suppliers)


def _random_supplier(dice: Random, name: str) -> Supplier:
    below = dice.choice(list(BelowMinimum))
    fee = Decimal(dice.randint(2, 15)) if below is BelowMinimum.FEE else Decimal(0)
    minimum = MinimumOrder(Decimal(dice.randint(40, 200)), below, fee) if dice.random() < 0.4 else None
    free = Decimal(dice.randint(60, 250)) if dice.random() < 0.7 else None
    order_cost, delivery = Decimal(dice.choice([0, 0, 5])), Decimal(dice.choice([0, 12, 25]))
    return Supplier(name, minimum, order_cost, delivery, free)


def _with_saw(dice: Random, material: Material) -> Material:
    cheapest = min(price / row.length for row in material.stock for price in _each(row))
    settings = replace(
        material.settings,
        cut_price=Decimal(dice.choice([0, 25, 50, 90])) * CENT,
        pattern_price=Decimal(dice.choice([0, 0, 100, 350])) * CENT,
        offcut_value=Decimal(int(cheapest * inches(12) * dice.choice([0, 30, 60, 95]))) * CENT,
        keep_offcuts_from=inches(dice.choice([24, 36, 48])),
    )
    return replace(material, settings=settings)


def _each(row: StockLength) -> Iterator[Decimal]:
    """Yield what a stick costs, singly and by the carton, at every number of them."""
    for price, carton in [(row.price, row.carton_price), *((b.price, b.carton_price) for b in row.breaks)]:
        yield price or Decimal(0)
        if row.carton and carton is not None:
            yield carton / row.carton


def _random_row(dice: Random, length: int) -> StockLength:
    price = length * dice.randint(55, 80) // 12
    carton = dice.choice([None, 2, 4, 6, 12])
    singles = carton is None or dice.random() < 0.5
    own = carton is not None and dice.random() < 0.6
    prices, breaks = [price], []
    for at in sorted(dice.sample([3, 5, 8, 10, 12, 20], dice.choice([0, 0, 1, 2]))):
        prices.append(prices[-1] * dice.randint(80, 97) // 100)
        breaks.append((at, prices[-1]))
    share = Decimal(dice.randint(80, 100)) / 100

    def whole(each: int) -> Decimal | None:
        return (each * (carton or 0) * share).to_integral_value() * CENT if own else None

    return StockLength(
        id=f"{length} in",
        length=inches(length),
        price=price * CENT,
        carton=carton,
        singles=singles,
        carton_price=whole(price),
        breaks=tuple(PriceBreak(at, each * CENT, whole(each)) for at, each in breaks),
        fixed_cost=Decimal(dice.choice([0, 0, 0, 4, 9])),
        available=dice.choice([None, None, None, 30, 60]),
    )
