"""A child that stands ready: it runs order after order, and is replaced before it could hand anything on."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.support.stack import alive, eventually
from workers import prefork
from workers.prefork import Child


@pytest.fixture
def witness(tmp_path: Path) -> Path:
    """Return a file in which a child writes down what it was told."""
    return tmp_path / "told"


@pytest.fixture(autouse=True)
def roomy(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no child be replaced for its memory: it begins with what these tests' own process holds."""
    monkeypatch.setattr(prefork, "MOST_MEMORY_MB", 2**20)


@pytest.fixture
def child(witness: Path) -> Iterator[Child]:
    """Yield a child that does as it is told."""
    one = Child(lambda order: obey(order.decode().strip(), witness))
    yield one
    if one.stands():
        os.kill(one.pid, signal.SIGKILL)
        eventually(lambda: not alive(one.pid))
        assert not one.stands()


def obey(word: str, witness: Path) -> bool:
    """Write down the word and do what it says; it is harmless where it says ``go on``."""
    with witness.open("a") as told:
        told.write(f"{word}\n")
    if word == "abort":
        # without what pytest prints for it
        signal.signal(signal.SIGABRT, signal.SIG_DFL)
        os.abort()
    if word == "hang":
        signal.pause()
    if word == "raise":
        raise RuntimeError(word)
    if word == "hog":
        bytearray(2**50)
    return word == "go on"


def done(child: Child, word: str) -> bool:
    """Give an order, wait, and return whether it was carried out."""
    child.hand(word.encode())
    _, status, _ = child.wait()
    return status == os.EX_OK


def test_it_runs_one_order_after_another(child: Child, witness: Path) -> None:
    """In the same process, each once."""
    for _ in range(3):
        assert child.stands()
        assert done(child, "go on")
    assert witness.read_text() == "go on\n" * 3


def test_who_waits_may_ask_again(child: Child) -> None:
    """An alarm may interrupt whoever waits just as the answer comes."""
    child.hand(b"go on")
    assert [child.wait()[1], child.wait()[1]] == [0, 0]


@pytest.mark.parametrize("word", ["enough", "hog"])
def test_it_ends_after_what_is_not_harmless(child: Child, word: str) -> None:
    """The order is carried out, or fails by itself; the next finds another child."""
    assert done(child, word) == (word == "enough")
    assert not child.stands()
    assert not alive(child.pid)


@pytest.mark.parametrize(("word", "signalled"), [("abort", signal.SIGABRT), ("raise", 0)])
def test_its_death_is_told(child: Child, word: str, signalled: int) -> None:
    """By a signal or by a fault: it is not taken for an order carried out."""
    child.hand(word.encode())
    pid, status, _ = child.wait()
    assert (pid, status is not None and os.WIFSIGNALED(status) * os.WTERMSIG(status)) == (child.pid, signalled)
    assert status != os.EX_OK
    assert not child.stands()


def test_killed_while_it_stands_it_stands_no_more(child: Child) -> None:
    """So that no job is handed to it, and none blamed."""
    os.kill(child.pid, signal.SIGKILL)
    eventually(lambda: not alive(child.pid))
    assert not child.stands()
    assert not child.stands()


def test_killed_with_an_order_unread_it_is_gone(child: Child) -> None:
    """It was stopped before it looked; whoever handed the order over learns that it is gone."""
    os.kill(child.pid, signal.SIGSTOP)
    child.hand(b"go on")
    os.kill(child.pid, signal.SIGKILL)
    assert child.wait()[1] == signal.SIGKILL


def test_told_to_stop_it_goes_on(child: Child, witness: Path) -> None:
    """SIGTERM and SIGINT are for its parent, which lets it finish or kills it."""
    assert done(child, "go on")
    for told in (signal.SIGTERM, signal.SIGINT):
        os.kill(child.pid, told)
    assert done(child, "go on")
    child.hand(b"hang")
    eventually(lambda: witness.read_text().endswith("hang\n"))
    os.killpg(child.pid, signal.SIGKILL)
    assert child.wait()[1] == signal.SIGKILL


@pytest.mark.parametrize(("limit", "most"), [("MOST_JOBS", 2), ("MOST_MEMORY_MB", 0)])
def test_it_is_replaced_in_time(monkeypatch: pytest.MonkeyPatch, witness: Path, limit: str, most: int) -> None:
    """After so many jobs, or having held so much memory; what it was given last is carried out."""
    monkeypatch.setattr(prefork, limit, most)
    child = Child(lambda order: obey(order.decode().strip(), witness))
    carried_out = 0
    while child.stands():
        carried_out += done(child, "go on")
        # its end may be a moment behind its answer
        if carried_out == max(1, most):
            eventually(lambda: not alive(child.pid))
    assert carried_out == max(1, most)
