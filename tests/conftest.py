"""Fixtures for every test folder."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

# lost plans are found sooner here than in an installation; read when ``workers.process`` is imported
os.environ["LAPSTOCK_LEASE_SECONDS"] = "3"

from tests.support.contract import held_session
from tests.support.stack import Stack, stack


@pytest.fixture(scope="session", autouse=True)
def held_to_the_contract() -> Iterator[None]:
    """Hold whatever a served installation answers to the contract."""
    yield from held_session()


@pytest.fixture
def alone(tmp_path: Path) -> Iterator[Stack]:
    """Yield an installation without workers."""
    with stack(tmp_path / "data") as running:
        yield running


@pytest.fixture
def stubbed(alone: Stack) -> Stack:
    """Return an installation with one worker that misbehaves as jobs tell it."""
    alone.start_worker(stubbed=True)
    return alone


@pytest.fixture(scope="session")
def serving(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield one installation with one real worker, shared by every test that only asks it for plans."""
    with stack(tmp_path_factory.mktemp("serving") / "data") as running:
        running.start_worker()
        yield running
