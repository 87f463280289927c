"""``lapstock backup`` and ``restore``: everything that is kept, into a file and back."""

from __future__ import annotations

import os
from pathlib import Path

import click

from service.cli.keys import kept_at
from workers import backup
from workers.connection import patient


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
