"""Run the benchmark: ``python -m tests.benchmarks FOLDER --sets scholl1,siding --seconds 60``."""

from __future__ import annotations

import json
import resource
from collections.abc import Iterator, Sequence
from itertools import chain
from pathlib import Path

import click

from tests.benchmarks.anytime import answers, anytime_table, worst
from tests.benchmarks.beside import beside_table, side_by_side
from tests.benchmarks.counter import counter_report
from tests.benchmarks.growth import growth, growth_table
from tests.benchmarks.instances import Instance
from tests.benchmarks.measure import Outcome, measure
from tests.benchmarks.sets import ROWS
from tests.benchmarks.table import open_table, sets_table, tidy_table


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--sets", default=",".join(row.group for row in ROWS), help="Which sets, by name, with commas between.")
@click.option("--names", default="", help="Take only instances whose names begin so.")
@click.option("--seconds", default=60.0, help="Limit for one instance, in seconds of this process's CPU.")
@click.option("--every", default=1, help="Take only every so many-th instance of a set.")
@click.option("--json", "lines", type=click.Path(path_type=Path), help="Append outcomes here, one JSON object a line.")
@click.option("--beside", is_flag=True, help="Run general-purpose models side by side instead, with the same limit.")
@click.option("--anytime", is_flag=True, help="Then put the worst instance of each set under short limits.")
@click.option(
    "--growth", "grow", is_flag=True, help="Then measure how time grows with lengths, width and kinds of stick."
)
@click.option("--counter", default=0, help="Then post so many short lists to a service of its own.")
def main(
    folder: Path,
    sets: str,
    names: str,
    seconds: float,
    every: int,
    lines: Path | None,
    *,
    counter: int,
    beside: bool,
    anytime: bool,
    grow: bool,
) -> None:
    """Solve the instances in FOLDER and the generated ones, and print what was proven, how fast, beside the record.

    A set whose file is not in FOLDER is left out.
    """
    chosen = set(sets.split(","))
    named = ([i for i in row.instances(folder) if i.name.startswith(names)] for row in ROWS if row.group in chosen)
    instances = [i for row in named for i in row[::every]]
    if not instances:
        click.echo(f"None of these sets is in {folder}.")
    elif beside:
        click.echo(beside_table(list(chain.from_iterable(side_by_side(_shown(instances), seconds)))))
    else:
        outcomes = list(_measured(instances, seconds, lines))
        click.echo(_report(outcomes))
        if anytime:
            click.echo("\nShort limits:\n" + anytime_table(answers(worst(instances, outcomes))))
    if grow:
        click.echo("\nGrowth:\n" + growth_table(list(growth(seconds))))
    if counter:
        click.echo("\nAt the counter:\n" + counter_report(counter))
    click.echo(f"\nPeak memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


def _shown(instances: Sequence[Instance]) -> Iterator[Instance]:
    """Pass the instances on behind a progress bar."""
    with click.progressbar(
        instances, item_show_func=lambda i: f"{i.group} {i.name}" if i else "", show_pos=True
    ) as bar:
        yield from bar


def _measured(instances: Sequence[Instance], seconds: float, lines: Path | None) -> Iterator[Outcome]:
    for instance in _shown(instances):
        outcome = measure(instance, seconds)
        if lines is not None:
            with lines.open("a", encoding="utf-8") as file:
                file.write(json.dumps(outcome.as_json()) + "\n")
        yield outcome


def _report(outcomes: Sequence[Outcome]) -> str:
    parts = [sets_table(outcomes), "Stayed open:\n" + open_table(outcomes), "Tidying:\n" + tidy_table(outcomes)]
    return "\n\n".join(parts)


if __name__ == "__main__":
    main()
