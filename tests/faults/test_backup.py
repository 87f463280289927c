"""Backup and restore by one command each: on an empty machine every address answers with the same bytes as before."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from service.cli import main
from tests.support.everything import FINISHED, WAITING, fill
from tests.support.stack import Stack, stack
from workers import backup
from workers.connection import URL_VARIABLE
from workers.queues import queued
from workers.reaper import Reaper

KNOWN = {"plan_id": FINISHED, "crew": "tern", "week": "2100-W10", "day": "2100-03-08", "customer": "tern",
         "material": "panel-sand", "label": "R-9"}  # fmt: skip
"""What stands in the addresses of what is kept."""


def answers(running: Stack) -> dict[str, bytes]:
    """Return what every address of the API answers."""
    rules = [str(rule) for rule in running.app.url_map.iter_rules() if "GET" in (rule.methods or ())]
    asked = [re.sub("<(.*?)>", lambda part: KNOWN[part[1]], rule) for rule in rules if rule.startswith("/v1/")]
    asked += [f"/v1/cut-plans/{WAITING}", "/v1/cut-plans?q=tern"]
    found = {address: running.client.get(address) for address in asked}
    assert [address for address, answer in found.items() if answer.status_code != 200] == []
    return {address: answer.data for address, answer in found.items()}


def run(running: Stack, *arguments: object, **told: str) -> Result:
    """Run the command on the Redis of an installation."""
    return CliRunner().invoke(main, [str(word) for word in arguments], env={URL_VARIABLE: running.redis.url, **told})


@pytest.fixture(scope="module")
def backed_up(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[dict[str, bytes], str, Path]]:
    """Yield what an installation with one of everything answers, the key of its client, and its backup."""
    folder = tmp_path_factory.mktemp("backup")
    with stack(folder / "data") as running:
        fill(running)
        told = run(running, "backup", folder / "file")
        assert told.exit_code == 0, told.output
        yield answers(running), running.key, folder / "file"


@pytest.fixture
def elsewhere(alone: Stack, backed_up: Any) -> Stack:  # noqa: ANN401
    """Return an empty installation whose client has the same key."""
    alone.key = backed_up[1]
    return alone


def things(backup: Path) -> dict[str, Any]:
    """Return what a backup holds by name, in whatever order a server gives its parts."""
    told = [json.loads(line) for line in backup.read_bytes().splitlines()[1:-1]]
    return {each["name"]: each | {"parts": sorted(each["parts"])} for each in told}


def test_on_an_empty_machine_everything_is_as_it_was(
    backed_up: Any,  # noqa: ANN401
    elsewhere: Stack,
    tmp_path: Path,
) -> None:
    """What waited is too, and the next round has it made; a backup of it holds the same; nobody else may read that."""
    before, _, file = backed_up
    assert file.stat().st_mode & 0o077 == 0
    told = run(elsewhere, "restore", file)
    assert told.exit_code == 0, told.output
    assert run(elsewhere, "backup", tmp_path / "again").exit_code == 0
    assert things(tmp_path / "again") == things(file)
    assert len(before) >= 34
    assert {address: data for address, data in answers(elsewhere).items() if data != before[address]} == {}
    elsewhere.store.redis.zadd("lapstock:waiting", {WAITING: 1})
    reaper = Reaper(elsewhere.store.redis, "here")
    for _ in range(2):
        elsewhere.store.redis.delete("lapstock:watch")
        reaper.sweep()
    assert (WAITING, 1) in queued(elsewhere.store.redis)


def test_a_restore_that_is_carried_out_twice_is_one(alone: Stack) -> None:
    """As where the connection breaks before it is confirmed, and it is tried again: no list has its parts twice."""
    told = {"name": "lapstock:list", "kind": "list", "parts": ["YQ==", "Yg=="]}
    for _ in range(2):
        with alone.store.redis.pipeline() as pipe:
            backup._put(pipe, told)
            pipe.execute()
    assert alone.store.redis.lrange("lapstock:list", 0, -1) == [b"a", b"b"]


def test_nothing_is_lost_by_a_restore_unless_one_says_so(backed_up: Any, elsewhere: Stack) -> None:  # noqa: ANN401
    """Where something is kept or somebody works it is refused; with ``--replace`` there is nothing else afterwards."""
    before, _, file = backed_up
    elsewhere.store.redis.hset("lapstock:plan:" + "e" * 32, "client", "anybody")
    refused = run(elsewhere, "restore", file)
    assert (refused.exit_code, "--replace" in refused.output) == (1, True)
    Reaper(elsewhere.store.redis, "here").sweep()
    at_work = run(elsewhere, "restore", "--replace", file)
    assert (at_work.exit_code, "workers are at work there" in at_work.output) == (1, True)
    elsewhere.store.redis.delete("lapstock:workers")
    assert run(elsewhere, "restore", "--replace", file).exit_code == 0
    assert not elsewhere.store.redis.exists("lapstock:plan:" + "e" * 32)
    assert elsewhere.client.get("/v1/materials").data == before["/v1/materials"]


@pytest.mark.parametrize("how", ["cut short", "changed", "of a later version", "no backup", "a number"])
def test_what_is_not_whole_is_not_restored(backed_up: Any, elsewhere: Stack, tmp_path: Path, how: str) -> None:  # noqa: ANN401
    """It is found out before anything is written."""
    lines = backed_up[2].read_bytes().splitlines(keepends=True)
    head = json.loads(lines[0])
    damaged = {
        "cut short": lines[:-1],
        "changed": [lines[0], lines[2], *lines[2:]],
        "of a later version": [json.dumps(head | {"format": 2}).encode() + b"\n", *lines[1:]],
        "no backup": [b"{}\n"],
        "a number": [b"98\n"],
    }[how]
    (tmp_path / "file").write_bytes(b"".join(damaged))
    refused = run(elsewhere, "restore", tmp_path / "file")
    assert (refused.exit_code, "can't be restored" in refused.output) == (1, True)
    assert elsewhere.store.redis.keys("lapstock:*") == []
