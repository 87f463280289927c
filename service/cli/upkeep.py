"""What whoever runs a server does beside it: ``lapstock key``, ``backup`` and ``restore``."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import click

from workers import backup
from workers.callbacks import Rules
from workers.connection import URL_VARIABLE, NoAnswer, impatient, patient, require_answer
from workers.keys import Key, Keys, NameTaken, Scope
from workers.local_redis import NoFolder, NoRedis, reached


def add(folder: Path, name: str, client: str, scopes: tuple[str, ...]) -> None:
    """Make a key and print it. Raises ``ClickException``."""
    good_for = tuple(Scope(scope) for scope in scopes) or tuple(Scope)
    with _keys(folder) as keys:
        try:
            made = keys.add(name, client or name, good_for)
        except NameTaken:
            raise click.ClickException(f"there is a key {name}; revoke it first, or take another name") from None
    click.echo(f"key {name}, shown this once:  {made}")


def show(folder: Path, *, as_json: bool = False) -> None:
    """Print every key there has been. Raises ``ClickException``."""
    with _keys(folder) as keys:
        if as_json:
            click.echo(json.dumps([_told(key, used) for key, used in keys.listed()], indent=2))
            return
        for key, used in keys.listed():
            end = f"revoked {_day(key.revoked_at)}" if key.revoked_at else f"last used {_day(used)}"
            click.echo(f"{key.name}  {key.client}  {' '.join(key.scopes)}  made {_day(key.made_at)}  {end}")


def revoke(folder: Path, name: str) -> None:
    """Have a key be good for nothing from now on. Raises ``ClickException`` where there is none."""
    with _keys(folder) as keys:
        if not keys.revoke(name):
            raise click.ClickException(f"there is no key {name} that is good")
    click.echo(f"key {name} is revoked")


def secret(client: str) -> None:
    """Print what callbacks of a client are signed with. Raises ``ClickException`` where none are made."""
    rules = Rules.from_environment()
    if not rules.origins:
        raise click.ClickException("no callbacks are made; set LAPSTOCK_CALLBACK_ORIGINS and LAPSTOCK_CALLBACK_SECRET")
    click.echo(rules.secret_of(client))


@contextmanager
def _keys(folder: Path) -> Iterator[Keys]:
    with kept_at(folder) as url:
        yield Keys(impatient(url))


@contextmanager
def kept_at(folder: Path) -> Iterator[str]:
    """Yield the address of the Redis of the environment, or else of the data folder. Raises ``ClickException``."""
    try:
        if url := os.environ.get(URL_VARIABLE):
            require_answer(url)
            yield url
        else:
            with reached(folder) as own:
                yield own
    except (NoAnswer, NoRedis, NoFolder) as error:
        raise click.ClickException(str(error)) from None


def _told(key: Key, used: datetime | None) -> dict[str, object]:
    moments = {"made_at": key.made_at, "revoked_at": key.revoked_at, "last_used_at": used}
    at = {name: moment and f"{moment:%Y-%m-%dT%H:%M:%SZ}" for name, moment in moments.items()}
    return {"name": key.name, "client": key.client, "scopes": [*key.scopes], **at}


def _day(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC" if moment else "never"


def write(folder: Path, file: Path) -> None:
    """Write a backup of everything into a file, whose place it takes once it is whole. Raises ``ClickException``."""
    part = file.with_name(f"{file.name}.part")
    with kept_at(folder) as url:
        try:
            with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
                out.writelines(backup.lines_of(patient(url)))
                out.flush()
                os.fsync(out.fileno())
                size = out.tell()
            part.replace(file)
        except OSError as error:
            part.unlink(missing_ok=True)
            raise click.ClickException(f"can't write {file}: {error.strerror}") from None
    click.echo(f"everything is in {file}, {size:,} bytes; keep it where others can't read it")


def put_back(folder: Path, file: Path, *, replace: bool) -> None:
    """Put back what a backup holds. Raises ``ClickException``."""
    try:
        with file.open("rb") as lines:
            head = backup.whole(lines)
        with kept_at(folder) as url, file.open("rb") as lines:
            count = backup.restore(patient(url), lines, replace=replace)
    except OSError as error:
        raise click.ClickException(f"can't read {file}: {error.strerror}") from None
    except backup.NoBackup as error:
        raise click.ClickException(f"{file} can't be restored: {error}") from None
    except backup.InUse:
        raise click.ClickException("workers are at work there; stop lapstock serve, or all workers, first") from None
    except backup.NotEmpty:
        raise click.ClickException("something is kept there; --replace loses it for what the file holds") from None
    click.echo(f"restored {count:,} things as they were at {head['at']}")
