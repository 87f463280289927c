"""``docker-compose.yml``, as far as a machine without an engine can tell."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import yaml

from service.cli import main

ROOT = Path(__file__).parent.parent.parent
FILE = ROOT / "docker-compose.yml"


@pytest.fixture(scope="module")
def services() -> Any:  # noqa: ANN401
    """Return the services of the file."""
    return yaml.safe_load(FILE.read_text())["services"]


def test_redis_keeps_every_write(services: Any) -> None:  # noqa: ANN401
    """Append-only file, flushed every second, nothing evicted, on a volume, with a health check."""
    redis = services["redis"]
    for setting in ("--appendonly yes", "--appendfsync everysec", "--maxmemory-policy noeviction"):
        assert setting in redis["command"]
    assert redis["volumes"]
    assert redis["healthcheck"]
    assert "ports" not in redis


@pytest.mark.parametrize("name", ["api", "worker", "interactive-worker", "newcomers-worker"])
def test_a_service_runs_a_command_there_is(services: Any, name: str) -> None:  # noqa: ANN401
    """Its command is one of lapstock's, with options that it has, and it waits for a healthy Redis."""
    program, command, *options = services[name]["command"].split()
    assert program == "lapstock"
    known = {option for parameter in main.commands[command].params for option in parameter.opts}
    assert {option for option in options if option.startswith("--")} <= known
    assert services[name]["depends_on"]["redis"]["condition"] == "service_healthy"
    assert services[name]["init"] is True


def test_a_worker_may_finish_its_plan(services: Any) -> None:  # noqa: ANN401
    """A stopped worker has longer than the usual solving time, and its memory is limited."""
    grace = re.fullmatch(r"(\d+)s", services["worker"]["stop_grace_period"])
    assert grace
    assert int(grace[1]) > 10
    assert services["worker"]["deploy"]["resources"]["limits"]["memory"]


def test_the_image_can_be_built_from_what_is_here(services: Any) -> None:  # noqa: ANN401
    """The Dockerfile that is named exists and installs this distribution."""
    dockerfile = ROOT / services["api"]["build"]["dockerfile"]
    assert "pip install" in dockerfile.read_text()


def test_compose_itself_reads_it() -> None:
    """Where a compose program is installed, it finds nothing wrong with the file."""
    found = shutil.which("docker-compose")
    if found:
        checked = subprocess.run([found, "-f", FILE, "config", "-q"], capture_output=True, text=True, check=False)
        assert checked.returncode == 0, checked.stderr
