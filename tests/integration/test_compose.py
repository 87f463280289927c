"""``docker-compose.yml``, as far as a machine without an engine can tell."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

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


def releases(name: str) -> dict[str, set[str]]:
    """Return the releases that a lock file names, by package: some differ between versions of Python."""
    found: dict[str, set[str]] = {}
    for block in (ROOT / name).read_text().replace("\\\n", " ").splitlines():
        package, _, rest = block.partition("==")
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", rest), f"{package} has no hash"
        found.setdefault(package, set()).add(rest.split()[0])
    return found


def test_what_is_installed_is_held_to_its_hash() -> None:
    """Every dependency, and what that depends on, at a release that the project takes; the tests run with the same."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    image, checks = releases(".docker/requirements.txt"), releases(".ci/requirements.txt")
    for requirements, locked in (
        (project["dependencies"], image),
        ([*project["dependencies"], *project["optional-dependencies"]["test"]], checks),
    ):
        for asked in map(Requirement, requirements):
            assert all(asked.specifier.contains(one) for one in locked[canonicalize_name(asked.name)]), str(asked)
    assert {name: checks[name] for name in image} == image


def test_every_package_of_the_image_has_its_licence_listed() -> None:
    """One a line, and of no other package."""
    lines = (ROOT / ".docker/licences.txt").read_text().splitlines()
    listed = {line.split()[0]: line.split(maxsplit=1)[1] for line in lines if not line.startswith("#")}
    assert list(listed) == sorted(releases(".docker/requirements.txt"))
    assert all(listed.values())


def test_the_image_runs_as_nobody_in_particular() -> None:
    """It installs by the lock file, ends as a user who is not root, and runs a command there is."""
    lines = (ROOT / ".docker/Dockerfile").read_text().splitlines()
    assert any("--require-hashes -r /src/.docker/requirements.txt" in line for line in lines)
    assert [line for line in lines if line.startswith("USER ")][-1] != "USER root"
    (told,) = [json.loads(line.removeprefix("CMD ")) for line in lines if line.startswith("CMD ")]
    assert told[0] == "lapstock"
    assert told[1] in main.commands
