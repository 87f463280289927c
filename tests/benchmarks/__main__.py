"""Run the benchmark: ``python -m tests.benchmarks FOLDER --sets scholl1,siding --seconds 60``."""

from __future__ import annotations

import json
import resource
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from tests.benchmarks.instances import Instance
from tests.benchmarks.measure import Outcome, measure
from tests.benchmarks.sets import ROWS
from tests.benchmarks.table import open_table, sets_table, tidy_table


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--sets", default=",".join(row.group for row in ROWS), help="Which sets, by name, separated by commas.")
@click.option("--seconds", default=60.0, help="Limit for one instance.")
@click.option("--every", default=1, help="Take only every so many-th instance of a set.")
@click.option(
    "--json",
    "lines",
    type=click.Path(path_type=Path),
    help="Append every outcome to this file, one JSON object a line.",
)
def main(folder: Path, sets: str, seconds: float, every: int, lines: Path | None) -> None:
    """Solve the instances in FOLDER and the generated ones, and print what was proven, how fast, beside the record.

    A set whose file is not in FOLDER is left out.
    """
    chosen = set(sets.split(","))
    instances = [i for row in ROWS if row.group in chosen for i in row.instances(folder)[::every]]
    outcomes = list(_measured(instances, seconds, lines))
    if outcomes:
        click.echo(sets_table(outcomes))
        click.echo("\nStayed open:\n" + open_table(outcomes))
        click.echo("\nTidying:\n" + tidy_table(outcomes))
        click.echo(
            f"\nPeak memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB"
        )
    else:
        click.echo(f"Nothing to run in {folder}.")


def _measured(instances: Sequence[Instance], seconds: float, lines: Path | None) -> Iterator[Outcome]:
    with click.progressbar(
        instances, item_show_func=lambda i: f"{i.group} {i.name}" if i else "", show_pos=True
    ) as bar:
        for instance in bar:
            outcome = measure(instance, seconds)
            if lines is not None:
                with lines.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(outcome.as_json()) + "\n")
            yield outcome


if __name__ == "__main__":
    main()
