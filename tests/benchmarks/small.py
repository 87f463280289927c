"""Small jobs with runs: ``python -m tests.benchmarks.small --jobs 180 --seconds 5``, none of more than twelve sticks.

One to six runs of one wall, plain and lapped pieces beside them, one or two stock lengths, an offcut or none, every
kind of lap ends, and rules of placement that are none, a siding's own, or hard to keep: run lengths just above what
whole sticks cover, so that laps have hardly a choice. With ``--carton`` each length has buying rules besides.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random

import click

from solver.categories import DEFAULTS, Category, LapEnds, Settings
from solver.job import Job, Wall
from solver.lengths import TICKS_PER_INCH, Unit
from solver.materials import FactoryEnd, Material, Offcut, PriceBreak, StockLength
from solver.planning import plan_job
from solver.proof import Basis
from solver.required import End, Meets, Required
from tests.benchmarks.table import table

MOST_STICKS = 12
RULES = ("none", "siding", "tight")


@dataclass(frozen=True, slots=True)
class Outcome:
    """One job: its sort, processor seconds to the end, whether it was proven and certified, cost and bound in steps."""

    ends: LapEnds
    rules: str
    lengths: int
    seconds: float
    proven: bool
    certified: bool
    cost: int
    bound: int

    @property
    def gap(self) -> float:
        """How far the cost is above its bound, in percent."""
        return 100 * (self.cost - self.bound) / self.cost if self.cost else 0.0


def small_job(seed: int) -> Job:
    """Return small job number ``seed``: sorts come in turn, so that each has its share."""
    dice = Random(seed)
    ends = list(LapEnds)[seed % 3]
    rules = RULES[seed // 3 % 3]
    while True:
        job = _drawn(dice, seed, ends, rules, 1 + seed // 9 % 2)
        if _sticks(job) <= MOST_STICKS:
            return job


def _drawn(dice: Random, seed: int, ends: LapEnds, rules: str, lengths: int) -> Job:
    inch = TICKS_PER_INCH
    sizes = sorted(dice.sample(range(60, 151), lengths))
    rates = [Decimal(dice.choice((8, 9, 10, 11))) / 100 for _ in sizes]
    stock = tuple(
        StockLength(f"s{size}", size * inch, price=rate * size) for size, rate in zip(sizes, rates, strict=True)
    )
    material = Material("p", Category.SIDING, stock, _settings(dice, ends, rules))
    runs, longest = dice.randint(1, 6), sizes[-1]
    tight = rules == "tight"
    base = dice.choice((2, 3)) * (longest - 1) - dice.randint(0, 6) if tight else dice.randint(longest + 5, 3 * longest)
    meets = dice.choice((Meets.CHANNEL, Meets.CHANNEL, Meets.PLAIN))
    courses = [
        Required("", "p", max(longest + 5, base - (2 * n if dice.random() < 0.5 else 0)) * inch, left_end=End(meets),
                 right_end=End(meets), wall="w", start=2 * n * inch, first_course=n + 1)
        for n in range(runs)
    ]  # fmt: skip
    pieces = [
        Required("", "p", dice.randint(12, longest - 4) * inch, dice.randint(1, 3),
                 left_end=End(Meets.LAP if dice.random() < 0.2 else Meets.PLAIN))
        for _ in range(dice.randint(0, 3))
    ]  # fmt: skip
    offcut = Offcut("o", "p", dice.randint(20, longest - 5) * inch, 1, dice.choice(list(FactoryEnd)))
    required = tuple(replace(item, mark=str(n)) for n, item in enumerate([*courses, *pieces], 1))
    on_hand = (offcut,) if dice.random() < 0.3 else ()
    return Job(f"Small {seed}", Unit.IN, (material,), required, walls=(Wall("w", None),), offcuts=on_hand)


def by_the_carton(job: Job, seed: int) -> Job:
    """Return a job whose lengths are sold by the carton, some beside singles, with a break or a fixed cost."""
    dice = Random(f"carton {seed}")
    (material,) = job.materials
    return replace(job, materials=(replace(material, stock=tuple(_ruled(dice, row) for row in material.stock)),))


def _ruled(dice: Random, row: StockLength) -> StockLength:
    size, share = dice.choice((2, 3, 4, 6)), Decimal(dice.randint(88, 100)) / 100
    price = row.price or Decimal(0)

    def carton(each: Decimal) -> Decimal:
        return (each * size * share).quantize(Decimal("0.01"))

    breaks = []
    for at in dice.sample((3, 5, 8), dice.choice((0, 0, 1))):
        lower = (price * dice.randint(80, 96) / 100).quantize(Decimal("0.01"))
        breaks.append(PriceBreak(at, lower, carton(lower)))
    return replace(
        row,
        carton=size,
        singles=dice.random() < 0.5,
        carton_price=carton(price),
        breaks=tuple(breaks),
        fixed_cost=Decimal(dice.choice((0, 0, 3, 8))),
    )


def _settings(dice: Random, ends: LapEnds, rules: str) -> Settings:
    inch = TICKS_PER_INCH
    shortest, spacing, in_line = {"none": (0, 0, 0), "siding": (24, 24, 2), "tight": (12, 36, 6)}[rules]
    return replace(
        DEFAULTS[Category.SIDING],
        lap=dice.choice((0, inch, inch, inch * 5 // 4)),
        end_gap=dice.choice((0, inch // 4, inch // 2)),
        kerf=dice.choice((0, 0, inch // 8)),
        lap_ends=ends,
        shortest_piece=shortest * inch,
        lap_spacing=spacing * inch,
        lap_repeat=3 if in_line else 0,
        in_line_within=in_line * inch,
        extra_laps=dice.choice((0, 1)),
    )


def _sticks(job: Job) -> int:
    """Return about how many of the shortest sticks the job takes."""
    together = sum(item.length * item.pieces for item in job.required)
    return together // min(row.length for row in job.materials[0].stock) + 1


def outcome(job: Job, seconds: float) -> Outcome:
    """Plan one job within so many processor seconds."""
    begun = time.process_time()
    plan = plan_job(replace(job, seconds=seconds), time.process_time).materials[0]
    took = time.process_time() - begun
    settings = job.materials[0].settings
    sort = RULES[0] if not settings.lap_spacing else RULES[1 + (settings.lap_spacing > 24 * TICKS_PER_INCH)]
    certified = plan.proven and plan.proof.basis is Basis.CERTIFIED
    lengths = len(job.materials[0].stock)
    return Outcome(settings.lap_ends, sort, lengths, took, plan.proven, certified, plan.cost, plan.bound)


def report(outcomes: Sequence[Outcome]) -> str:
    """Return the table, a row for each sort and one for all."""
    sorts: dict[tuple[str, ...], list[Outcome]] = defaultdict(list)
    for each in outcomes:
        sorts[each.ends, each.rules, str(each.lengths)].append(each)
    rows = [(*sort, *_sums(found)) for sort, found in sorted(sorts.items())]
    head = ("ends", "rules", "lengths", "n", "proven", "within 1 s", "certified", "gap > 2 %", "mean s", "most s")
    return table(head, [*rows, ("all", "", "", *_sums(outcomes))])


def _sums(outcomes: Sequence[Outcome]) -> Iterator[str]:
    def count(holds: Iterable[bool]) -> str:
        return str(sum(holds))

    yield str(len(outcomes))
    yield count(each.proven for each in outcomes)
    yield count(each.proven and each.seconds <= 1 for each in outcomes)
    yield count(each.certified for each in outcomes)
    yield count(each.gap > 2 for each in outcomes)
    yield f"{sum(each.seconds for each in outcomes) / len(outcomes):.2f}"
    yield f"{max(each.seconds for each in outcomes):.2f}"


@click.command()
@click.option("--jobs", default=180, help="How many jobs.")
@click.option("--first", default=0, help="The first one's number.")
@click.option("--seconds", default=5.0, help="Limit for one job.")
@click.option("--carton", is_flag=True, help="With buying rules for each length.")
@click.option("--each", is_flag=True, help="Print each job's bill and bound, too.")
def main(jobs: int, first: int, seconds: float, *, carton: bool, each: bool) -> None:
    """Plan generated small jobs and print how many are proven, how fast, and how far off the rest may be."""
    found = []
    for seed in range(first, first + jobs):
        job = small_job(seed)
        found.append(outcome(by_the_carton(job, seed) if carton else job, seconds))
        if each:
            click.echo(f"{seed}: {found[-1].cost} against {found[-1].bound}, {found[-1].seconds:.2f} s")
    click.echo(report(found))


if __name__ == "__main__":
    main()
