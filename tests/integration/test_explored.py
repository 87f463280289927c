"""Every operation of the contract reached by its examples, and explored with requests made from its schemas."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from functools import cache
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from hypothesis.errors import Unsatisfiable
from schemathesis import Case, GenerationMode
from schemathesis.specs.openapi.checks import negative_data_rejection, positive_data_acceptance

from service import weeks
from service.wire.contract import EXAMPLES, PATHS
from service.wire.job import JobSchema
from service.wire.takeoffs.takeoff import TakeOffSchema
from tests.support.contract import contract
from tests.support.stack import Stack, stack

schemathesis.openapi.format("length", st.sampled_from(["4' 2\"", "34 1/2", "120", "9'-6\"", "12 ft", "3510 mm", "0.5"]))
EXAMPLES_EACH = 5
"""Requests made of each kind for each operation: enough to see that the contract holds, few enough for the suite."""
LARGE = {"/v1/plan-checks"}
"""A request and a plan are made slowly: one of each kind."""
UNSAID = (b"one a digit is wrong", b"do not fit side by side", b"300 millimetres")
"""Words of what is refused though the contract allows it."""
Address = tuple[str, str]


@pytest.fixture(scope="module")
def exploring(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation with a worker that takes as many requests as come and holds none for long."""
    dawn = datetime.fromisoformat(f"{PATHS['day']}T04:00Z")
    with (
        stack(tmp_path_factory.mktemp("explored") / "data", rate=10**6, longest_wait=10) as running,
        pytest.MonkeyPatch.context() as clock,
    ):
        # on the day of the examples before its sheet is frozen, so that it can be changed and reported
        clock.setattr(weeks, "now", lambda: dawn)
        running.start_worker()
        yield running


@pytest.fixture(scope="module")
def served(exploring: Stack) -> Any:  # noqa: ANN401
    """Return the served contract as a source of requests."""
    return schemathesis.openapi.from_wsgi("/openapi.json", exploring.app)


@pytest.fixture
def plan(exploring: Stack) -> str:
    """Return the id of a finished plan."""
    return exploring.posted(EXAMPLES[JobSchema], Prefer="wait=10")


@pytest.fixture
def measured_plan(exploring: Stack) -> str:
    """Return the id of a plan of what was measured."""
    answer = exploring.client.post("/v1/takeoffs?plan=true", json=EXAMPLES[TakeOffSchema])
    return str(answer.headers["Location"].rpartition("/")[2])


@cache
def operations() -> dict[Address, Any]:
    """Return every operation of the contract by method and path."""
    paths = contract().document["paths"]
    return {(method, path): operation for path, methods in paths.items() for method, operation in methods.items()}


def asked(running: Stack, address: Address, known: Mapping[str, str]) -> Any:  # noqa: ANN401
    """Ask an operation with its example, at an address made of what is known."""
    method, path = address
    for name, value in known.items():
        path = path.replace(f"{{{name}}}", value)
    content = operations()[address].get("requestBody", {}).get("content", {}).get("application/json", {})
    body = json.dumps(content.get("example")).replace("0" * 32, known["plan_id"])
    return running.client.open(path, method=method, json=json.loads(body), headers={"Prefer": "wait=10"})


def test_every_operation_is_reached(exploring: Stack, plan: str, measured_plan: str) -> None:
    """With the examples of the contract, and the id that the first answer gives, each operation answers with 2xx.

    By their addresses a week comes before its parts, and backwards its reports go before jobs and deliveries.
    """
    known, by_path = {**PATHS, "plan_id": plan}, sorted(operations(), key=lambda place: place[1])
    of_measured = {("get", "/v1/cut-plans/{plan_id}/measured"): {"plan_id": measured_plan}}
    made = [place for place in by_path if place[0] in ("post", "put")]
    looked = [place for place in by_path if place[0] == "get"]
    gone = [place for place in reversed(by_path) if place[0] == "delete"]
    answers = [(place, asked(exploring, place, of_measured.get(place, known))) for place in (*made, *looked, *gone)]
    assert [(place, answer.text[:300]) for place, answer in answers if not 200 <= answer.status_code < 300] == []
    assert len(answers) == len(operations())


def test_the_examples_are_of_a_week_to_come() -> None:
    """They can be sent as they stand: a week that is over takes no change. In that year they are moved on."""
    assert date.fromisoformat(PATHS["day"]) > date.today()  # noqa: DTZ011 - any zone will do


@pytest.mark.parametrize("address", list(operations()), ids=" ".join)
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=lambda mode: mode.value)
def test_requests_made_from_the_contract(served: Any, plan: str, address: Address, mode: GenerationMode) -> None:  # noqa: ANN401
    """What the contract allows is answered as it says, what it forbids is refused, and nothing is a fault."""
    method, path = address

    @settings(
        max_examples=1 if path in LARGE else EXAMPLES_EACH,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=served[path][method].as_strategy(generation_mode=mode), known=st.booleans())
    def explore(case: Case[Any], *, known: bool) -> None:
        if known and mode is GenerationMode.POSITIVE:
            case.path_parameters = {name: {**PATHS, "plan_id": plan}[name] for name in case.path_parameters or {}}
        if mode is GenerationMode.POSITIVE:
            case.body = consistent(case.body)
        answer = case.call()
        # which ids go together, how a thing is now, which number's digits agree, what fits a page: no schema can say
        unsaid = answer.status_code in (412, 422) or any(words in answer.content for words in UNSAID)
        accepted: list[Any] = [positive_data_acceptance] if unsaid else []
        # a text of a megabyte takes six as JSON if it is all control characters: refused before it is looked at
        accepted += [negative_data_rejection] if answer.status_code == 413 else []
        case.validate_response(answer, excluded_checks=accepted)

    try:
        explore()
    except Unsatisfiable:
        assert mode is GenerationMode.NEGATIVE, "nothing can be asked"


def consistent(body: Any) -> Any:  # noqa: ANN401
    """Return a body whose items are of its first material, so that more than its shape is looked at."""
    if not isinstance(body, dict) or not body.get("materials") or isinstance(body["materials"][0], str):
        return body
    first = body["materials"][0]
    only = first.get("id", first.get("catalogue", ""))
    lists = {name: [{**entry, "material": only} for entry in body.get(name) or ()] for name in ("required", "offcuts")}
    return {**body, "materials": body["materials"][:1], **{name: entries for name, entries in lists.items() if entries}}
