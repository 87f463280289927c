"""The codes that the contract lists are those that the program gives, no more and no fewer."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

from service.wire import codes
from solver.runs import BreachCode

ROOT = Path(__file__).parents[3]
OF_WEEKS = {"carried", "compared", "day", "delivery", "job", "kept", "label", "missing", "week"}
"""What the checker may find wrong with the plan of a week, which nobody can send."""


def modules(*places: str) -> Iterator[ast.Module]:
    """Yield the modules at these places, folders or files, but for the lists themselves."""
    for place in (ROOT / place for place in places):
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            if path.suffix == ".py" and path.name != "codes.py":
                yield parsed(path)


@cache
def parsed(path: Path) -> ast.Module:
    """Return a module."""
    return ast.parse(path.read_text(encoding="utf-8"))


def given(name: str, *places: str) -> set[str]:
    """Return the words that calls of ``name`` are given as their code."""
    found = set()
    for module in modules(*places):
        for call in (node for node in ast.walk(module) if isinstance(node, ast.Call)):
            if isinstance(call.func, ast.Name) and call.func.id == name:
                words = [argument.value for argument in call.args[:4] if isinstance(argument, ast.Constant)]
                found |= {word for word in words if isinstance(word, str) and word.isidentifier() and word.islower()}
    return found


@cache
def written(*places: str) -> set[str]:
    """Return every text that stands in the code at these places."""
    nodes = (node for module in modules(*places) for node in ast.walk(module))
    return {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}


REQUESTS = [f"solver/{place.name}" for place in (ROOT / "solver").iterdir() if place.name != "cutlist"]
"""Everything but the reading of lists, whose problems are of lines."""
GIVEN: list[tuple[Mapping[str, str], set[str]]] = [
    (codes.NOT_CUT, given("NotCut", "solver")),
    (codes.NOTICES, given("Notice", "solver", "service") | {str(code) for code in BreachCode}),
    (codes.FAILURES, given("Failure", "workers")),
    (codes.LINES, given("Problem", "solver/cutlist") | given("LengthError", "solver")),
    (codes.FAULTS, given("Fault", "solver/checking") - OF_WEEKS),
    (codes.ERRORS, given("Problem", *REQUESTS) | given("LengthError", "solver") | given("FieldError", "service")),
]


@pytest.mark.parametrize(("listed", "given"), GIVEN)
def test_every_code_that_is_given_is_listed(listed: Mapping[str, str], given: set[str]) -> None:
    """A program that branches on codes finds each of them in the contract."""
    assert given
    assert given - set(listed) == set()


@pytest.mark.parametrize("listed", [listed for listed, _ in GIVEN])
def test_every_code_that_is_listed_is_given(listed: Mapping[str, str]) -> None:
    """No code is listed that nothing gives any more."""
    assert set(listed) - written("solver", "service", "workers") == set()
