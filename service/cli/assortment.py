"""Which lengths of a material to stock, told on the terminal from requests of the past."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence

import click

from service.cli.plan import columns
from service.cli.shared import BAD_INPUT
from service.wire.numbers import money
from solver import plan_job
from solver.buying.assortment import Assortment, best_assortments, costs_of, stock_of
from solver.job import Job
from solver.lengths import say


def tell(jobs: Sequence[Job], material: str, most: int, *, as_json: bool = False) -> int:
    """Print the best assortments of up to ``most`` lengths for the jobs with the material; return the exit code."""
    wanting = [job for job in jobs if any(item.material == material for item in job.required)]
    stock = {row.id: row for row in stock_of(wanting, material)}
    if not stock or any(row.price is None for row in stock.values()):
        told = f"no request wants {material}" if not stock else f"{material} needs prices for all of its stock lengths"
        click.echo(told, err=True)
        return BAD_INPUT
    cost = costs_of(wanting, material, lambda job: plan_job(job, time.monotonic))
    found = list(best_assortments([*stock], len(wanting), most, cost))
    if not found:
        click.echo(f"no {most} of these lengths cut every list", err=True)
        return BAD_INPUT
    if as_json:
        click.echo(json.dumps([_told(one) for one in found], indent=2))
        return 0
    said = {name: say(row.length, wanting[0].units) for name, row in stock.items()}
    click.echo("\n".join((f"{len(wanting)} lists that want {material}", *columns(_rows(found, said)))))
    return 0


def _told(one: Assortment) -> dict[str, object]:
    """Return an assortment by the ids of its lengths, and what all lists cost with it and without each of them."""
    without = {name: None if cost is None else money(cost) for name, cost in one.without.items()}
    return {"stock": [*one.lengths], "cost": money(one.cost), "without": without}


def _rows(found: Sequence[Assortment], said: dict[str, str]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = [("lengths", "all lists cost", "without it")]
    for one in found:
        others = one.without.items() if len(one.lengths) > 1 else ()
        rest = [f"{said[name]} {'not cut' if cost is None else money(cost)}" for name, cost in others]
        rows.append((", ".join(said[name] for name in one.lengths), money(one.cost) or "", ", ".join(rest)))
    return rows
