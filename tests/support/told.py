"""Pages of the documentation, run as their readers run them: files saved, commands and code run, answers held."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import chdir, contextmanager, redirect_stdout
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from service.client import Client
from tests.support.found import found_in

LISTENS = "http://127.0.0.1:8080"
SERVES = "lapstock serve\n"
_BLOCK = re.compile(r"(?P<before>(?:[^\n]+\n)+)\n```(?P<kind>\w+)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)
_FENCE = re.compile(r"^```\w", re.MULTILINE)
_SAVED = re.compile(r"\b[Ss]ave \w+ as\s+`([\w.-]+)`")
_END = "--- that was all"


@dataclass(frozen=True)
class Block:
    """A block of code: its kind, its text, and the name under which it is to be saved, if it is a file."""

    kind: str
    text: str
    saved_as: str | None


def blocks(page: str) -> list[Block]:
    """Return every block of a page, in order; each stands below a paragraph that says what it is."""
    found = []
    for block in _BLOCK.finditer(page):
        saved = _SAVED.search(block["before"])
        found.append(Block(block["kind"], block["text"], saved[1] if saved else None))
    assert len(found) == len(_FENCE.findall(page)), "a block of code without words before it"
    return found


@dataclass
class Reader:
    """Somebody who follows a page, in a folder of their own, with a shell and a Python that stay open."""

    folder: Path
    shell: subprocess.Popen[str]
    names: dict[str, Any] = field(default_factory=dict)
    said: str = ""
    """What the last command or code printed."""

    def follow(self, page: str) -> None:
        """Do what a page says. Raises AssertionError where what comes is not what it shows."""
        for block in blocks(page):
            if block.saved_as:
                (self.folder / block.saved_as).write_text(block.text, encoding="utf-8")
            else:
                getattr(self, f"_{block.kind}")(block.text)

    def leave(self) -> None:
        """Close what the page left open."""
        for name in self.names.values():
            if isinstance(name, Client):
                name.__exit__()
        if self.shell.stdin:
            self.shell.stdin.close()

    def _sh(self, text: str) -> None:
        if text == SERVES:  # that is done already
            return
        assert self.shell.stdin
        assert self.shell.stdout
        self.shell.stdin.write(f"{text}\necho; echo '{_END}'\n")
        self.shell.stdin.flush()
        self.said = ""
        while (line := self.shell.stdout.readline()) != f"{_END}\n":
            assert line, ("the shell ended, for a command failed", text, self.said)
            self.said += line

    def _python(self, text: str) -> None:
        printed = io.StringIO()
        with chdir(self.folder), redirect_stdout(printed):
            exec(compile(text, "a page", "exec"), self.names)
        self.said = printed.getvalue()

    def _text(self, shown: str) -> None:
        if shown.endswith("…\n"):
            assert self.said.startswith(shown.removesuffix("…\n")), (self.said, shown)
        else:
            assert self.said.strip() == shown.strip(), (self.said, shown)

    def _json(self, shown: str) -> None:
        assert found_in(json.loads(self.said), json.loads(shown)), (self.said, shown)


@contextmanager
def reader(folder: Path, address: str, **environment: str) -> Iterator[Reader]:
    """Yield somebody with the installed programs at hand, and a server at an address."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    known = {**os.environ, "PATH": path, "HOME": str(folder), "LAPSTOCK_SERVER": address, **environment}
    with subprocess.Popen(
        [shutil.which("sh") or "/bin/sh", "-e"], cwd=folder, env=known, text=True, encoding="utf-8",
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    ) as shell:  # fmt: skip
        somebody = Reader(folder, shell)
        try:
            yield somebody
        finally:
            somebody.leave()
