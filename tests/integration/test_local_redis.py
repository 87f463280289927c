"""Which server is started on one machine, and that what one has kept another can read."""

from __future__ import annotations

import os
import shutil
import signal
from pathlib import Path
from unittest.mock import Mock

import pytest

from service.cli.serve import Supervisor
from tests.support.stack import eventually
from workers.connection import patient
from workers.local_redis import LocalRedis, NoFolder, NoRedis, find_server

PLANS = 500


def test_an_installed_server_is_preferred(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A redis-server or a valkey-server on the PATH goes before the one that a package brings."""
    for name, said in (
        ("valkey-server", "Valkey server v=8.0.1 sha=0"),
        ("redis-server", "Redis server v=7.0.15 sha=0"),
    ):
        expected = _program(tmp_path / name, name, said)
        monkeypatch.setenv("PATH", str(tmp_path / name))
        assert find_server() == expected


@pytest.mark.parametrize("said", ["Redis server v=6.2.14 sha=00000000:0 malloc=libc", "", "no such thing"])
def test_a_server_that_cannot_read_a_later_one_s_file_is_passed_over(
    said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Redis 6 doesn't see the append-only file of a later server and would begin with nothing, so it is not taken."""
    _program(tmp_path, "redis-server", said)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert find_server().endswith("valkey-server")


def test_a_server_too_old_is_named_where_nothing_else_is_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the package, the error names the old server that was found, so that nobody wonders why it is not used."""
    old = _program(tmp_path, "redis-server", "Redis server v=6.0.16 sha=0")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("workers.local_redis._PACKAGE", "no_such_package")
    with pytest.raises(NoRedis, match=rf"before version 7: {old}"):
        find_server()


@pytest.mark.parametrize("first", ["packaged", "installed"])
def test_what_one_server_has_kept_another_reads(first: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The packaged Valkey and an installed Redis take turns on one folder, killed each time; nothing is lost."""
    if not shutil.which("redis-server"):
        pytest.skip("no redis-server is installed here")
    paths = {"packaged": "", "installed": os.environ["PATH"]}
    order = [first, *(name for name in paths if name != first), first]
    for turn, name in enumerate(order):
        monkeypatch.setenv("PATH", paths[name])
        assert ("_binaries" in find_server()) == (name == "packaged")
        _keep_some_more(tmp_path, turn)


def test_a_folder_is_taken_as_long_as_a_server_writes_to_it(tmp_path: Path) -> None:
    """Where a lapstock was killed and its server lives on, as macOS lets it, no second server may write there."""
    server = LocalRedis(tmp_path)
    server.start()
    server._lock.close()
    with pytest.raises(NoFolder):
        LocalRedis(tmp_path)
    server.stop()
    LocalRedis(tmp_path).stop()


def test_a_damaged_file_is_told_of_and_not_served(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    """Cut off in the midst of its last command, all before that is there and the log says so; else nothing starts."""
    _keep_some_more(tmp_path, 0)
    (file,) = (tmp_path / "appendonlydir").glob("*.incr.aof")
    whole = b"*3\r\n$3\r\nSET\r\n$4\r\nlast\r\n$5\r\nwords\r\n" * 2
    file.write_bytes(whole[:-9])
    redis = LocalRedis(tmp_path)
    redis.start()
    assert patient(redis.url).get("last") == b"words"
    redis.stop()
    assert f"what was written after byte {len(whole) // 2} is lost" in caplog.text
    file.write_bytes(whole[:-20] + b"\0" * 8 + whole[-12:])
    broken = LocalRedis(tmp_path)
    with pytest.raises(NoRedis, match="damaged, and nothing is served from it: restore a backup"):
        broken.start()
    broken.stop()


def test_a_server_that_dies_while_it_starts_is_started_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Killed, and twice ended at once by whatever it was: each time another is started, and nothing else stops."""
    monkeypatch.setattr("service.cli.serve._BREATH", 0)
    supervisor = Supervisor(tmp_path / "kept", 0)
    supervisor._wanted.clear()
    supervisor.start()
    redis = supervisor._redis
    assert redis
    patient(redis.url).set("kept", 1)
    os.kill(redis.pid, signal.SIGKILL)
    eventually(lambda: not redis.alive())
    with monkeypatch.context() as context:
        context.setenv("PATH", str(Path(_program(tmp_path, "redis-server", "Redis server v=7.0.15")).parent))
        for _ in range(2):
            supervisor.tend()
            eventually(lambda: not redis.alive())
    supervisor.tend()
    eventually(redis.serves)
    assert patient(redis.url).get("kept") == b"1"
    assert caplog.text.count("starting it again") == 3
    supervisor.stop()


def test_a_server_that_loads_what_it_keeps_is_asked_now_and_then(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever asks waits for its answer, and is the one who serves everybody meanwhile: not each time around."""
    supervisor, serves = Supervisor(tmp_path, 0), Mock(return_value=False)
    supervisor._wanted.clear()
    monkeypatch.setattr("service.cli.serve._BREATH", 3_600)
    monkeypatch.setattr(LocalRedis, "alive", lambda _: True)
    monkeypatch.setattr(LocalRedis, "serves", serves)
    for _ in range(100):
        supervisor.tend()
    serves.assert_called_once()
    supervisor.stop()


def _keep_some_more(folder: Path, turn: int) -> None:
    """Start the server that is found, see what earlier turns kept, keep more, have the file rewritten, and kill it."""
    server = LocalRedis(folder)
    server.start()
    redis = patient(server.url)
    assert redis.dbsize() == turn * PLANS
    for plan in range(PLANS):
        redis.hset(f"plan:{turn}:{plan}", mapping={"state": "queued", "body": "x" * 100})
    redis.bgrewriteaof()
    eventually(lambda: not redis.info("persistence")["aof_rewrite_in_progress"])
    redis.close()
    os.kill(server.pid, signal.SIGKILL)
    eventually(lambda: not server.alive())
    server.stop()


def _program(folder: Path, name: str, said: str) -> str:
    folder.mkdir(exist_ok=True)
    program = folder / name
    program.write_text(f"#!/bin/sh\necho '{said}'\n")
    program.chmod(0o755)
    return str(program)
