"""The README is executed: its request, its commands and its answers are what the program does."""

from __future__ import annotations

import json
import re
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import requests

from solver.materials import cautions_for
from tests.scenario import shed
from tests.support.found import found_in
from tests.support.measured import EXAMPLES, MEASURED
from tests.support.stack import Stack

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BIN = Path(sys.executable).parent
PATIENCE = 60
LISTENS = "http://127.0.0.1:8080"


def blocks(kind: str) -> list[str]:
    """Return the README's fenced blocks of one kind, in order."""
    return re.findall(rf"^```{kind}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def commands() -> list[str]:
    """Return every command line the README shows."""
    return [line for block in blocks("sh") for line in block.splitlines()]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with the README's request and files as it says, and the installed programs at ``.venv/bin``."""
    (tmp_path / "shed.json").write_text(blocks("json")[0], encoding="utf-8")
    (tmp_path / "tests").symlink_to(ROOT / "tests")
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "bin").symlink_to(BIN)
    return tmp_path


def run(command: str, folder: Path) -> str:
    """Run a command as a shell would, and return what it prints."""
    shell = shutil.which("sh") or "/bin/sh"
    return subprocess.run(
        [shell, "-c", command], cwd=folder, check=True, capture_output=True, text=True, timeout=PATIENCE
    ).stdout


@contextmanager
def served(command: str, folder: Path) -> Iterator[str]:
    """Serve as the README says, on a free port and with data in ``folder``; yield the address once it is ready."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [*command.split(), "--port", str(port), "--data", str(folder / "data"), "--workers", "1"]
    server = subprocess.Popen(words, cwd=folder)
    address = f"http://127.0.0.1:{port}"
    try:
        wait_until_ready(address)
        yield address
    finally:
        server.send_signal(signal.SIGINT)
        assert server.wait(PATIENCE) == 0


def wait_until_ready(address: str) -> None:
    """Return once the service says it is ready."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            if requests.get(f"{address}/health/ready", timeout=5).ok:
                return
        except requests.ConnectionError:
            pass
        assert time.monotonic() < until, "it never became ready"
        time.sleep(0.1)


def test_the_readme_opens_with_the_job() -> None:
    """The first thing below the title is one paragraph, and it speaks of the work before the program."""
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# lapstock"
    assert paragraph.startswith("You have measured")


def test_the_two_commands_come_first() -> None:
    """One command installs and serves, one passes the tests; `.ci/run` takes both from here."""
    serve, test = commands()[:2]
    assert serve.endswith("pip install . && .venv/bin/lapstock serve")
    assert test.endswith("pip install '.[test]' && .venv/bin/python -m pytest")


def test_the_shed_is_printed_as_shown(folder: Path) -> None:
    """`lapstock plan` prints what the README prints, and then the six lines on safety that it leaves out."""
    printed, shown = run(commands()[2], folder), blocks("text")[0]
    assert printed.startswith(shown)
    left_out = printed.removeprefix(shown).strip().splitlines()
    assert (len(left_out), "Six lines on safety follow" in README) == (6, True)
    assert left_out == list(cautions_for(shed().materials))


def test_the_shed_is_answered_as_shown(folder: Path) -> None:
    """The README's curl against the README's serve returns the README's answer; its Python prints the order's total."""
    serve, curl = commands()[0].rpartition("&& ")[2], commands()[3]
    with served(serve, folder) as address:
        answer = json.loads(run(curl.replace(LISTENS, address), folder))
        asked = [sys.executable, "-c", blocks("python")[0].replace(LISTENS, address)]
        printed = subprocess.run(asked, cwd=folder, check=True, capture_output=True, text=True, timeout=PATIENCE)
    assert found_in(answer, json.loads(blocks("json")[1]))
    assert printed.stdout == "58.80\n"


def test_the_wall_is_fourteen_panels_and_drawn_as_shown(folder: Path, serving: Stack) -> None:
    """The README's wall takes the panels it says, and the lap map it shows is what the service draws."""
    assert "14 panels" in run(commands()[4], folder)
    plan_id = serving.posted(json.loads((EXAMPLES / "wall.json").read_text(encoding="utf-8")), Prefer="wait=30")
    drawn = serving.client.get(f"/v1/cut-plans/{plan_id}/drawing.svg?wall=north").text
    assert drawn == (EXAMPLES / "lap-map.svg").read_text(encoding="utf-8")


def test_the_measured_shed_is_planned_as_shown(serving: Stack) -> None:
    """The README's take-off request is answered with a plan, its arithmetic, and the elevation it shows."""
    address, _, query = commands()[5].rpartition("/v1/takeoffs")[2].rstrip("'").rpartition("?")
    answer = serving.client.post(f"/v1/takeoffs{address}?{query}", json=MEASURED, headers={"Prefer": "wait=30"})
    assert (answer.status_code, answer.json["state"]) == (200, "succeeded")
    side = answer.json["takeoff"]["walls"][1]
    assert side["elevation"] == (EXAMPLES / "elevation.svg").read_text(encoding="utf-8")
    assert quoted_arithmetic() in json.dumps(answer.json["takeoff"])


def quoted_arithmetic() -> str:
    """Return the arithmetic the README quotes, as JSON writes it."""
    words = re.search(r"such as `(.+?)`", README, re.DOTALL)
    assert words
    return json.dumps(" ".join(words[1].split()))


def test_the_crews_week_is_planned_as_said(serving: Stack) -> None:
    """The README's week and two jobs, put into a week far off, take three panels; alone they take four."""
    week, address = blocks("json")[2], "/v1/crews/reading/weeks/2100-W10"
    for ours, far in (("2026-11-23", "2100-03-08"), ("2026-11-26", "2100-03-11")):
        week = week.replace(ours, far)
    for path, body in zip(("", "/jobs/north", "/jobs/shed"), json.loads(week), strict=True):
        assert serving.client.put(address + path, json=body).status_code in (200, 201)
    answer = serving.client.post(f"{address}/plan", headers={"Prefer": "wait=30"}).json
    (compared,) = answer["plan"]["compared"]
    assert [compared[way]["sticks"] for way in ("alone", "pooled", "bound")] == [4, 3, 3]
    assert [len(day["bring"]) for day in answer["plan"]["days"]] == [0, 3]


def test_the_readme_shows_no_other_commands() -> None:
    """A command added to the README is run by a test here, or this test fails."""
    assert len(commands()) == 6
