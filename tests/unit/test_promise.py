"""Version 1 of the contract keeps what it has promised: no field disappears, changes its type or its default."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.contract import contract
from tests.support.promise import broken, held_out, promised

OPERATION, SENT, TOLD = "GET /v1/x", "XRequest.a", "X.a"
BEFORE: dict[str, Any] = {
    OPERATION: {"statuses": ["200"]},
    SENT: {"required": False, "types": ["integer", "null"], "enum": ["a", "b"], "default": None},
    TOLD: {"required": True, "types": ["integer", "null"], "enum": ["a", "b"]},
}


def test_every_promise_is_kept_and_everything_is_promised() -> None:
    """What is new is promised with ``python -m tests.support.promise``."""
    before, now = promised(), held_out(contract().document)
    assert list(broken(before, now)) == []
    assert sorted(set(now) - set(before)) == []


@pytest.mark.parametrize(("name", "change", "words"), [
    (OPERATION, {"statuses": ["200", "201"]}, []),
    (OPERATION, {"statuses": ["201"]}, ["answers ['201'], not ['200']"]),
    (SENT, {"types": ["integer", "null", "string"]}, []),
    (SENT, {"types": ["integer"]}, ["is ['integer'], not ['integer', 'null']"]),
    (SENT, {"required": True}, ["is now required"]),
    (SENT, {"enum": ["a", "b", "c"]}, []),
    (SENT, {"enum": ["a"]}, ["takes ['a'], not ['a', 'b']"]),
    (SENT, {"default": 0}, ["is 0 where it is left out, not None"]),
    (TOLD, {"types": ["integer"]}, []),
    (TOLD, {"types": ["integer", "null", "string"]}, ["is ['integer', 'null', 'string'], not ['integer', 'null']"]),
    (TOLD, {"required": False}, ["is no longer required"]),
    (TOLD, {"enum": ["a", "b", "c"]}, []),
])  # fmt: skip
def test_what_breaks_a_promise(name: str, change: dict[str, Any], words: list[str]) -> None:
    """Requests may allow more, answers may say more."""
    assert list(broken(BEFORE, {**BEFORE, name: {**BEFORE[name], **change}})) == [f"{name} {told}" for told in words]


def test_what_is_gone_is_missed() -> None:
    """And what is new is no matter."""
    assert list(broken(BEFORE, {})) == [f"{name} is gone" for name in BEFORE]
    assert list(broken({}, BEFORE)) == []
