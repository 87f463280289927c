"""What a large plan costs to read: CPU of API and desk for all that is asked of it, first and asked again.

``python -m tests.benchmarks.results [FOLDER ...]`` has one plan of 50,000 sticks made by a service started from each
checkout; without a folder it is this checkout alone. With ``--kinds 1000 --quantity 100`` it is one of 100,000 pieces
in a thousand lengths.
"""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from tests.benchmarks.overhead import Service
from tests.benchmarks.table import table
from tests.support.command import ROOT

ASKED = (
    "", "/sticks?limit=500", "/sticks?limit=500&after=44000", "/pieces?limit=2000&after=40000", "/order.csv",
    "/cut-sheet.html", "/cut-sheet.pdf", "/drawing.svg", "/labels.pdf?limit=100", "{page}", "{page}/list",
    "{page}/list?part=wall-0&after=40000", "{page}/continue",
)  # fmt: skip
"""Addresses below that of the plan, and those of its page."""


def large(kinds: int, quantity: int) -> dict[str, Any]:
    """Return a request for so many lengths, each wanted so often; up to ten are each over half a stick."""
    materials = [{"id": "panel", "category": "siding", "stock": [{"id": "150", "length": 150}]}]
    lengths = [80 + each if kinds <= 10 else 20 + each / 16 for each in range(kinds)]
    required = [{"material": "panel", "length": length, "quantity": quantity} for length in lengths]
    return {"name": "large", "units": "in", "materials": materials, "required": required}


@click.command()
@click.argument("folders", nargs=-1, type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option("--kinds", default=10, help="So many lengths.")
@click.option("--quantity", default=5_000, help="Pieces of each of them.")
@click.option("--times", default=20, help="How often each is asked for again.")
def main(folders: tuple[Path, ...], kinds: int, quantity: int, times: int) -> None:
    """Print bytes, and milliseconds of CPU that API and desk spend on each address."""
    rows = []
    for folder in folders or (ROOT,):
        with ExitStack() as stack:
            service = Service(folder.resolve(), stack)
            plan = service.plan(large(kinds, quantity))
            page = plan.replace("/v1/cut-plans/", "/plans/")
            for address in ASKED:
                whole = address.format(page=page) if address.startswith("{") else f"{plan}{address}"
                size, api, desk = service.got(whole, 1)
                _, again, anew = service.got(whole, times)
                what = folder.resolve().name, address.replace("{page}", "page") or "the plan"
                figures = f"{api:.0f}", f"{desk:.0f}", f"{again:.1f}", f"{anew:.1f}"
                rows.append([*what, f"{size:,}", *figures])
    click.echo(table(("checkout", "what", "bytes", "API first, ms", "desk", "API again, ms", "desk"), rows))


if __name__ == "__main__":
    main()
