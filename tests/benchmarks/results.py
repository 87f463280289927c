"""What a large plan costs to read: CPU of the API for its resource, sticks, order and sheet, first and asked again.

``python -m tests.benchmarks.results [FOLDER ...]`` has one plan of 50,000 sticks made by a service started from each
checkout; without a folder it is this checkout alone.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from tests.benchmarks.overhead import Service
from tests.benchmarks.table import table
from tests.support.command import ROOT

ASKED = ("", "/sticks?limit=500", "/sticks?limit=500&after=44000", "/order.csv", "/cut-sheet.html", "/cut-sheet.pdf")
"""Addresses below that of the plan."""


def large(quantity: int) -> dict[str, Any]:
    """Return a request for ten lengths, each over half a stick and wanted so often: as many sticks as pieces."""
    materials = [{"id": "panel", "category": "siding", "stock": [{"id": "150", "length": 150}]}]
    required = [{"material": "panel", "length": 80 + each, "quantity": quantity} for each in range(10)]
    return {"name": "large", "units": "in", "materials": materials, "required": required}


@click.command()
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--quantity", default=5_000, help="Pieces of each of ten lengths.")
@click.option("--times", default=20, help="How often each is asked for again.")
def main(folders: tuple[Path, ...], quantity: int, times: int) -> None:
    """Print bytes, and milliseconds of CPU that the API spends on each address."""
    rows = []
    for folder in folders or (ROOT,):
        with ExitStack() as stack:
            service = Service(folder.resolve(), stack)
            plan = service.plan(large(quantity))
            for address in ASKED:
                size, first = service.got(f"{plan}{address}", 1)
                _, again = service.got(f"{plan}{address}", times)
                what = (folder.resolve().name, address or "the plan")
                rows.append([*what, f"{size:,}", f"{first:.0f}", f"{again:.1f}"])
    click.echo(table(("checkout", "what", "bytes", "CPU first, ms", "CPU again, ms"), rows))


if __name__ == "__main__":
    main()
