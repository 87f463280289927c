"""Instances as files publish them: one JSON object a line, one stock length or several."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from solver.cutting import CuttingProblem, Piece, Stick


@dataclass(frozen=True, slots=True)
class Instance:
    """One problem with its least cost where that is known, else the best bounds published."""

    group: str
    name: str
    problem: CuttingProblem
    optimum: int | None = None


def published(folder: Path, group: str) -> Iterator[Instance]:
    """Yield the instances of ``folder/group.jsonl``; none where there is no such file.

    A line holds ``name``, ``lengths``, ``demands``, and either ``capacity`` (a stick then costs 1) or
    ``stocks`` with ``length``, ``cost`` and ``limit``; ``optimum`` may be missing or null.
    """
    path = folder / f"{group}.jsonl"
    if path.exists():
        with path.open(encoding="utf-8") as lines:
            for line in lines:
                yield _instance(group, json.loads(line))


def _instance(group: str, entry: dict[str, Any]) -> Instance:
    stocks = entry.get("stocks") or [{"length": entry["capacity"], "cost": 1, "limit": None}]
    sticks = tuple(Stick(stock["length"], stock["cost"], stock["limit"]) for stock in stocks)
    pieces = tuple(Piece(n, d) for n, d in zip(entry["lengths"], entry["demands"], strict=True))
    return Instance(group, entry["name"], CuttingProblem(sticks, pieces), entry.get("optimum"))
