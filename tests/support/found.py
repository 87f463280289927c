"""Answers held against what is shown of them."""

from __future__ import annotations

from typing import Any


def found_in(answer: Any, shown: Any) -> bool:  # noqa: ANN401
    """Whether ``answer`` has everything that is ``shown``, which may leave fields out."""
    if isinstance(shown, dict):
        return all(key in answer and found_in(answer[key], value) for key, value in shown.items())
    if isinstance(shown, list):
        return len(answer) == len(shown) and all(map(found_in, answer, shown))
    return bool(answer == shown)
