"""The command ``lapstock``: serve everything on one machine, one part of it on many, or plan a file right here."""

from __future__ import annotations

import gc
import logging
import os
import signal
import sys
import threading
from dataclasses import replace
from pathlib import Path
from typing import IO

import click
from click.core import ParameterSource

DATA = Path(os.environ.get("XDG_DATA_HOME") or "~/.local/share").expanduser() / "lapstock"
"""Where a local Redis keeps its data unless told otherwise."""
PORT = click.IntRange(0, 65535)


class _Categories(click.Choice[str]):
    """The categories of materials; they are asked for where they are needed, for the solver is heavy."""

    def __init__(self) -> None:
        self.case_sensitive = True

    @property
    def choices(self) -> tuple[str, ...]:  # type: ignore[override]
        """Every category's name."""
        from solver.categories import Category  # noqa: PLC0415

        return tuple(map(str, Category))


def _tell_version(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    from workers.plans.record import this_version  # noqa: PLC0415

    if wanted and not context.resilient_parsing:
        click.echo(f"lapstock {this_version()}")
        context.exit()


_MORE = """\b
Exit codes:
  0  what was asked for is there
  1  it is not: no plan came of it, or a server or file could not be had
  2  bad input, a refused request, or wrong options
  3  status, fetch: the plan is not over yet

\b
Examples:
  lapstock serve
  lapstock plan shed.json
  lapstock plan list.txt --stock "12' 6\\"=9.80"
  lapstock submit shed.json --server https://plans.example --wait

What is asked for goes to standard output, what is wrong to standard error. A FILE that is - is standard input.
Everything else is at /docs of a server; lapstock COMMAND --help tells of one command.
"""


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}, epilog=_MORE)
@click.option("--version", is_flag=True, is_eager=True, expose_value=False, callback=_tell_version,
              help="Show the version, and the commit it was built of, and exit.")  # fmt: skip
def main() -> None:
    """Plan how to cut siding, soffit and trim, and what to order for it."""


@main.command(short_help="Serve everything on this machine.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=PORT, help="Port to listen on; 0 takes a free one.")
@click.option("--data", type=click.Path(path_type=Path, file_okay=False), default=DATA, show_default=True,
              help="Folder for everything that is kept.")  # fmt: skip
@click.option("--workers", type=click.IntRange(1, 256), default=None,
              help="Worker processes, one per core by default, plus one for interactive requests and one "
              "for clients of whom no plan is being made.")  # fmt: skip
def serve(host: str, port: int, data: Path, workers: int | None) -> None:
    """Serve the API and the counter page, with workers and a Redis server.

    If LAPSTOCK_REDIS_URL is set, that server is used instead, and the data folder is not.
    """
    from service.cli.serve import serve_all  # noqa: PLC0415 - the solver is heavy, and --help should not wait for it

    _log()
    serve_all(host, port, data.expanduser(), workers or _cores(), _stop_signal())


@main.command(short_help="Serve the API alone.")
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=PORT, help="Port to listen on; 0 takes a free one.")
def api(host: str, port: int) -> None:
    """Serve the API alone, on the Redis server at LAPSTOCK_REDIS_URL."""
    from service.cli.serve import serve_api  # noqa: PLC0415

    _log()
    serve_api(host, port, _stop_signal())


@main.command(short_help="Run one worker.")
@click.option("--interactive", is_flag=True, help="Take only interactive requests.")
@click.option("--newcomers", is_flag=True, help="Take only requests of clients of whom no plan is being made.")
def worker(*, interactive: bool, newcomers: bool) -> None:
    """Run one worker, on the Redis server at LAPSTOCK_REDIS_URL."""
    from workers.connection import NoAddress, NoAnswer, redis_url, require_answer  # noqa: PLC0415
    from workers.worker import run  # noqa: PLC0415

    _log()
    try:
        require_answer(redis_url())
    except (NoAddress, NoAnswer) as error:
        raise click.ClickException(str(error)) from None
    run(interactive=interactive, newcomers=newcomers)


@main.group(short_help="Make, list and revoke API keys.")
def key() -> None:
    """Make, list and revoke API keys, of the Redis at LAPSTOCK_REDIS_URL or else of the data folder."""


_FOLDER = click.option("--data", type=click.Path(path_type=Path, file_okay=False), default=DATA, show_default=True,
                       help="Folder that lapstock serve keeps everything in.")  # fmt: skip
_SCOPES = ("plan", "read", "catalogue", "weeks")


@key.command()
@click.argument("name")
@click.option("--client", default="", help="Whose plans it leads to; NAME by default.")
@click.option("--scope", "scopes", multiple=True, type=click.Choice(_SCOPES),
              help="What it is good for; all by default.")  # fmt: skip
@_FOLDER
def add(name: str, client: str, scopes: tuple[str, ...], data: Path) -> None:
    """Make a key called NAME and print it, this once."""
    from service.cli import upkeep  # noqa: PLC0415

    upkeep.add(data.expanduser(), name, client, scopes)


_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")


@key.command("list")
@_JSON
@_FOLDER
def show(data: Path, *, as_json: bool) -> None:
    """Print every key there has been, with its scopes and its last use."""
    from service.cli import upkeep  # noqa: PLC0415

    upkeep.show(data.expanduser(), as_json=as_json)


@key.command()
@click.argument("name")
@_FOLDER
def revoke(name: str, data: Path) -> None:
    """Have the key called NAME be good for nothing from now on; a server that runs knows at once."""
    from service.cli import upkeep  # noqa: PLC0415

    upkeep.revoke(data.expanduser(), name)


@key.command()
@click.argument("client")
def secret(client: str) -> None:
    """Print the secret that callbacks of CLIENT are signed with, for whoever receives them."""
    from service.cli import upkeep  # noqa: PLC0415

    upkeep.secret(client)


_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False))


@main.command(short_help="Write everything that is kept into a file.")
@_FILE
@_FOLDER
def backup(file: Path, data: Path) -> None:
    """Write everything that is kept into FILE, of the Redis at LAPSTOCK_REDIS_URL or else of the data folder.

    It may be in use meanwhile.
    """
    from service.cli.upkeep import write  # noqa: PLC0415

    write(data.expanduser(), file)


@main.command(short_help="Put back what a backup holds.")
@_FILE
@click.option("--replace", is_flag=True, help="Lose what is there.")
@_FOLDER
def restore(file: Path, data: Path, *, replace: bool) -> None:
    """Put back what FILE, a backup, holds, where nothing is kept yet and no worker is at work."""
    from service.cli.upkeep import put_back  # noqa: PLC0415

    put_back(data.expanduser(), file, replace=replace)


@main.command(short_help="Plan a file without a server.")
@click.argument("file", type=click.File("rb"))
@click.option("--json", "as_json", is_flag=True, help="Print the API's JSON.")
@click.option("--seconds", type=click.FloatRange(0.1, 600), default=None, help="Time limit for planning.")
@click.option("--stock", multiple=True, metavar="LENGTH[=PRICE]", help="For a pasted list: a stock length to cut from.")
@click.option("--units", default="in", show_default=True, type=click.Choice(["in", "ft", "mm", "cm", "m"]),
              help="For a pasted list: the unit of plain numbers.")  # fmt: skip
@click.option("--category", default="siding", show_default=True, type=_Categories(),
              help="For a pasted list: the type of material.")  # fmt: skip
@click.option(
    "--assume",
    multiple=True,
    metavar="NOTATION=MEANING",
    help="For a pasted list: how to read an ambiguous notation, e.g. n-n=feet-inches.",
)
def plan(
    *,
    file: IO[bytes],
    seconds: float | None,
    stock: tuple[str, ...],
    units: str,
    category: str,
    assume: tuple[str, ...],
    as_json: bool,
) -> None:
    """Plan FILE (- is standard input) without a server: a JSON request, measurements as JSON, or a cut list.

    A list is text, CSV, TSV, XLSX or ODS.

    Prints the order and the cut sheet. Exits 0 for a plan, 2 for bad input, 1 for a failure.
    """
    # what is imported stays, and the collector would go through all of it again and again
    gc.disable()
    from service.cli.plan import is_json, plan_here, read_request  # noqa: PLC0415
    from service.cli.shared import Beside  # noqa: PLC0415
    from solver.categories import Category  # noqa: PLC0415
    from solver.lengths import Unit  # noqa: PLC0415

    gc.freeze()
    gc.enable()
    data = file.read()
    if is_json(data):
        _refuse_useless()
    job = read_request(data, Beside(Unit(units), stock, Category(category), assume), str(getattr(file, "name", "")))
    sys.exit(plan_here(job if seconds is None else replace(job, seconds=seconds), as_json=as_json))


_SERVER = click.option("--server", envvar="LAPSTOCK_SERVER", default="http://127.0.0.1:8080", show_default=True,
                       show_envvar=True, help="The server's address.")  # fmt: skip
_KEY = click.option("--key", envvar="LAPSTOCK_API_KEY", show_envvar=True, help="An API key, if the server wants one.")


@main.command(short_help="Submit a request to a server.")
@click.argument("file", type=click.File("rb"))
@click.option("--wait", is_flag=True, help="Wait until the plan is over and print it.")
@click.option("--once", metavar="WORD", help="A word of yours: submitted again with it, FILE leads to the same plan.")
@_SERVER
@_KEY
def submit(file: IO[bytes], once: str | None, server: str, key: str | None, *, wait: bool) -> None:
    """Submit FILE (- is standard input), a JSON request or measurements, to a server, and print the plan's id.

    Exits 0 for a plan that is accepted, or with --wait has a result; 2 for bad input, 1 for a failure.
    """
    from service.cli.remote import answered, submit  # noqa: PLC0415
    from service.client import Client  # noqa: PLC0415

    data = file.read()
    sys.exit(answered(lambda: submit(Client(server, key), data, once, wait=wait)))


@main.command(short_help="Say how a plan stands.")
@click.argument("plan_id", metavar="ID")
@_JSON
@_SERVER
@_KEY
def status(plan_id: str, server: str, key: str | None, *, as_json: bool) -> None:
    """Print how plan ID stands on a server: its number, state, cost and bound.

    Exits 0 once it has a result, 3 before, 1 where it ended without one.
    """
    from service.cli.remote import answered, status  # noqa: PLC0415
    from service.client import Client  # noqa: PLC0415

    sys.exit(answered(lambda: status(Client(server, key), plan_id, as_json=as_json)))


@main.command(short_help="Write a plan or one of its documents.")
@click.argument("plan_id", metavar="ID")
@click.argument("document", default="result")
@_SERVER
@_KEY
def fetch(plan_id: str, document: str, server: str, key: str | None) -> None:
    """Write plan ID of a server to standard output: its JSON, or DOCUMENT, such as cut-sheet.pdf or order.csv.

    Exits as status does.
    """
    from service.cli.remote import answered, fetch  # noqa: PLC0415
    from service.client import Client  # noqa: PLC0415

    sys.exit(answered(lambda: fetch(Client(server, key), plan_id, document)))


@main.command(short_help="Say which lengths to stock.")
@click.argument("files", type=click.File("rb"), nargs=-1, required=True, metavar="FILE...")
@click.option("--material", required=True, metavar="ID", help="The material, by its id in the requests.")
@click.option("--most", default=3, show_default=True, type=click.IntRange(1, 6), help="Lengths at most.")
@_JSON
def assortment(files: tuple[IO[bytes], ...], material: str, most: int, *, as_json: bool) -> None:
    """Say which lengths of a material to stock: the few with which past requests would have cost least.

    Each FILE is a JSON request. The lengths to choose from are those that any of them has, at the last one's prices.
    """
    from service.cli.assortment import tell  # noqa: PLC0415
    from service.cli.plan import is_json, read_request  # noqa: PLC0415

    requests = [file.read() for file in files]
    if not all(map(is_json, requests)):
        raise click.UsageError("every FILE must be a JSON request")
    sys.exit(tell([read_request(data) for data in requests], material, most, as_json=as_json))


def _refuse_useless() -> None:
    """Refuse options that say what a JSON request says itself. Raises ``UsageError``."""
    context = click.get_current_context()
    names = ("stock", "units", "category", "assume")
    given = [name for name in names if context.get_parameter_source(name) is not ParameterSource.DEFAULT]
    if given:
        named = ", ".join(f"--{name}" for name in given)
        raise click.UsageError(f"{named}: only for a pasted list; a JSON request has its own")


def _log() -> None:
    from workers.logs import set_up  # noqa: PLC0415

    set_up(logging.INFO)
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    logging.getLogger("fontTools").setLevel(logging.WARNING)  # else some hundred lines for each sheet


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _stop_signal() -> threading.Event:
    """Return an event that Ctrl-C and SIGTERM set."""
    stopped = threading.Event()
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, lambda *_: stopped.set())
    return stopped
