"""Whatever JSON is sent: it is a job, or a problem that points into the body. Nothing else."""

from __future__ import annotations

import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.http.problem_kinds import KINDS
from service.http.problems import Problem
from service.http.strict_json import parse, require_object
from service.wire import read_job
from service.wire.codes import ERRORS
from solver.job import Job
from tests.unit.wire.test_schemas import EVERYTHING

SCALARS = (
    st.none()
    | st.booleans()
    | st.integers(-(10**40), 10**40)
    | st.floats()
    | st.text(max_size=90)
    | st.sampled_from(["10-1", "10.6", "12' 6\"", "1e9", "6/12", "left", "lap", "channel", "panel-sand", "north", "0"])
)
ANYTHING = st.recursive(
    SCALARS, lambda below: st.lists(below, max_size=3) | st.dictionaries(st.text(max_size=8), below, max_size=3),
    max_leaves=8,
)  # fmt: skip


def places(value: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:  # noqa: ANN401
    """Return the path of every value in some JSON, but the outermost."""
    below = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [found for name, inner in below for found in ((*path, name), *places(inner, (*path, name)))]


PLACES = places(EVERYTHING)


def put(body: Any, path: tuple[str | int, ...], value: object) -> None:  # noqa: ANN401
    """Replace the value at a path."""
    *above, last = path
    for step in above:
        body = body[step]
    body[last] = value


def outcome_of(attempt: Callable[[], object]) -> object:
    """Return what an attempt returns, or the problem it raises."""
    try:
        return attempt()
    except Problem as problem:
        return problem


def exists(body: Any, pointer: str) -> bool:  # noqa: ANN401
    """Whether a pointer leads into the body, or to a field that is missing from an object there."""
    *above, _ = steps = [step.replace("~1", "/").replace("~0", "~") for step in pointer.split("/")[1:]] or [""]
    for step in above if len(steps) > 1 else []:
        body = body[int(step)] if isinstance(body, list) else body[step]
    return isinstance(body, dict | list)


@settings(max_examples=400, deadline=None)
@given(changes=st.lists(st.tuples(st.sampled_from(PLACES), ANYTHING), min_size=1, max_size=3))
@example(changes=[(("materials", 0, "stock", 0, "breaks"), [False])])
def test_a_changed_request_is_a_job_or_a_problem(changes: list[tuple[tuple[str | int, ...], object]]) -> None:
    """Anything put anywhere in a request with every field gives a job, or faults that point into the body."""
    body = json.loads(json.dumps(EVERYTHING))
    for path, value in changes:
        try:
            put(body, path, value)
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took this place away
    outcome = outcome_of(lambda: read_job(body))
    if isinstance(outcome, Problem):
        assert outcome.kind == "unplannable"
        assert outcome.errors
        assert all(error.pointer.startswith("#") and error.detail for error in outcome.errors)
        assert all(exists(body, error.pointer) for error in outcome.errors)
        assert {error.code for error in outcome.errors} <= set(ERRORS)
    else:
        assert isinstance(outcome, Job)


@settings(max_examples=200, deadline=None)
@given(text=st.text(max_size=60) | ANYTHING.map(json.dumps) | st.text(alphabet='{}[]",:0189.eE-+ntf\\u', max_size=40))
def test_any_text_is_json_or_a_problem(text: str) -> None:
    """Bodies are read, or refused with 400 or 422."""
    outcome = outcome_of(lambda: require_object(parse(text.encode("utf-8", "surrogatepass"))))
    assert isinstance(outcome, dict) or (isinstance(outcome, Problem) and KINDS[outcome.kind].status in (400, 422))


@pytest.mark.parametrize("text", ["0.1", "9.80", "1e-3", "123456789.123456789"])
def test_decimals_are_kept_exactly(text: str) -> None:
    """A number with a point is the decimal that was written."""
    assert parse(text.encode()) == Decimal(text)
