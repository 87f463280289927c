"""Siding lists on buying terms: ``python -m tests.benchmarks.buying --lists 200 --seconds 20``.

The lists of ``siding.several`` out of four lengths, each sold by the carton, in some beside singles, with up to two
price breaks and for some a fixed cost; every fourth list counts its breaks over all lengths, every fifth has limits.
With ``--counting cuts`` each cut counts, and a kept offcut for six tenths of what its length costs at the least; with
``--counting patterns`` setting the saw up counts.
"""

from __future__ import annotations

import time
from dataclasses import replace
from random import Random
from statistics import mean, quantiles

import click

from solver.buying.purchase import Material, buy
from solver.buying.saw import Saw
from solver.buying.terms import Sold, Terms, Tier
from solver.watch import Watch
from tests.benchmarks.siding import several_of


def listed(seed: int) -> Material:
    """Return list number ``seed``."""
    dice = Random(f"buying {seed}")
    problem = several_of(seed, 3)
    wanted = sum(piece.length * piece.demand for piece in problem.pieces)
    sold = []
    for stick in problem.sticks[:4]:
        size = dice.choice((2, 4, 6, 10, 12, 16, 20))
        singles = dice.random() < 0.5
        prices = [stick.cost]
        starts = [0, *sorted(dice.sample((5, 10, 20, 24, 50, 100), dice.choice((0, 1, 1, 2))))]
        for _ in starts[1:]:
            prices.append(prices[-1] * dice.randint(85, 97) // 100)
        share = dice.randint(88, 100)
        tiers = tuple(
            Tier(at, price if singles else None, price * size * share // 100)
            for at, price in zip(starts, prices, strict=True)
        )
        fixed = dice.choice((0, 0, 0, 1500, 4000))
        limit = max(size, wanted // stick.length * dice.randint(30, 90) // 100) if seed % 5 == 4 else None
        sold.append(Sold(tiers, size, fixed, limit, together=seed % 4 == 3))
    sold[0] = replace(sold[0], limit=None)
    sticks = tuple(replace(stick, limit=one.most) for stick, one in zip(problem.sticks, sold, strict=False))
    return Material(replace(problem, sticks=(*sticks, *problem.sticks[4:])), Terms(tuple(sold)))


def counting(material: Material, what: str) -> Material:
    """Return a list where cutting counts too."""
    sticks, lengths = material.problem.sticks, material.terms.lengths
    cheapest = min(sold.each / stick.length for sold, stick in zip(lengths, sticks, strict=False))
    keep = min(stick.length for stick in sticks[: len(lengths)]) // 4
    cuts = what == "cuts"
    saw = Saw(40 * cuts, 300 * (not cuts), cheapest * 6 / 10 * cuts, 1, keep)

    def net(sold: Sold, worth: int) -> Sold:
        tiers = (
            Tier(tier.at, None if tier.single is None else tier.single - worth, tier.carton - worth * sold.size)
            for tier in sold.tiers
        )
        return replace(sold, tiers=tuple(tiers), worth=worth)

    pairs = zip(lengths, sticks, strict=False)
    terms = replace(material.terms, lengths=tuple(net(sold, saw.value(stick.length)) for sold, stick in pairs))
    return replace(material, terms=terms, saw=saw)


@click.command()
@click.option("--lists", default=100, help="How many lists.")
@click.option("--first", default=0, help="The number of the first.")
@click.option("--seconds", default=20.0, help="Limit for one list.")
@click.option("--counting", "what", type=click.Choice(["cuts", "patterns"]), help="What counts beside the bill.")
def main(lists: int, first: int, seconds: float, what: str | None) -> None:
    """Plan the lists, and print how many were proven, how far the others are from their bound, and the time taken."""
    times, gaps, proven = [], [], 0
    for seed in range(first, first + lists):
        material = counting(listed(seed), what) if what else listed(seed)
        begun = time.process_time()
        found = buy(material, Watch(time.monotonic, time.monotonic() + seconds))
        times.append(time.process_time() - begun)
        proven += found.proven
        if not found.proven:
            gaps.append((found.cost - found.bound) / found.cost * 100)
            click.echo(f"list {seed}: {found.cost} against {found.bound}, {gaps[-1]:.3f} %, {times[-1]:.1f} s")
    cut = quantiles(times, n=100) if len(times) > 1 else times * 99
    click.echo(f"{lists} lists: {proven} proven; gap of the others {mean(gaps) if gaps else 0:.3f} % in the mean")
    click.echo(f"CPU seconds: mean {mean(times):.3f}, median {cut[49]:.3f}, p95 {cut[94]:.3f}, p99 {cut[98]:.3f}, "
               f"worst {max(times):.3f}")


if __name__ == "__main__":
    main()
