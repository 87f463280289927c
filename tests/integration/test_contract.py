"""The served OpenAPI document is valid, and what the service answers is what it says."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from tests.support.contract import OURS, Departure
from tests.support.contract import contract as contract_of_the_app
from tests.support.measured import EXAMPLES
from tests.support.shed import SHED, WALL, shed, shed_with
from tests.support.stack import Stack


@pytest.fixture(scope="module")
def contract(serving: Stack) -> Any:  # noqa: ANN401
    """Return the served document."""
    return serving.client.get("/openapi.json").json


def faults(contract: Any, component: str, value: object) -> list[str]:  # noqa: ANN401
    """Return where a value departs from a component of the contract."""
    schema = {"$ref": f"#/components/schemas/{component}", "components": contract["components"]}
    return [f"{list(error.path)}: {error.message}" for error in Draft202012Validator(schema).iter_errors(value)]


def test_the_document_is_openapi(contract: Any) -> None:  # noqa: ANN401
    """It is valid by the standard's own schema (OpenAPI 3.1.0)."""
    assert contract["openapi"] == "3.1.0"
    assert list(OpenAPIV31SpecValidator(contract).iter_errors()) == []


def test_every_address_is_in_the_document(serving: Stack, contract: Any) -> None:  # noqa: ANN401
    """Whatever the app answers under /v1 or /health is documented."""
    served = {rule.rule.replace("<", "{").replace(">", "}") for rule in serving.app.url_map.iter_rules()}
    assert {rule for rule in served if rule.startswith(("/v1", "/health"))} <= set(contract["paths"])


def test_every_problem_is_explained_at_its_address(serving: Stack) -> None:
    """The type of a problem leads to a page that says what to do."""
    answer = serving.post(shed(units="hand"))
    explained = serving.client.get(answer.json["type"])
    assert (explained.status_code, explained.mimetype) == (200, "text/plain")
    assert "errors" in explained.text


@pytest.mark.parametrize("change", ["name", "required/0/left_end", "materials/0/stock/0/available"])
def test_what_the_contract_allows_is_accepted(serving: Stack, contract: Any, change: str) -> None:  # noqa: ANN401
    """Requests that fit the schema of the document are accepted."""
    values: dict[str, object] = {"name": "", "required/0/left_end": "channel", "materials/0/stock/0/available": None}
    body = shed_with(change, values[change])
    assert faults(contract, "JobRequest", body) == []
    assert serving.post(body).status_code == 202


@pytest.mark.parametrize(("path", "value"), [
    ("units", "hand"), ("required/0/quantity", 0), ("required/0/length", None), ("materials/0/stock", []),
    ("colour", "sand"), ("required/0/left_end", {"meets": "channel"}), ("limits", {"seconds": 0}),
])  # fmt: skip
def test_what_the_contract_forbids_is_refused(serving: Stack, contract: Any, path: str, value: object) -> None:  # noqa: ANN401
    """Requests that do not fit the schema of the document are refused."""
    body = shed_with(path, value)
    assert faults(contract, "JobRequest", body) != []
    assert serving.post(body).status_code == 422


@pytest.mark.parametrize(("path", "value"), [
    ("required/0/length", 0), ("required/0/length", -1), ("materials/0/stock/0/length", 0),
    ("materials/0/id", "a\u0007"), ("required/0/mark", "a\nb"), ("materials/0/stock/0/price", "9,80"),
    ("required/0/left_end", {"meets": "lap", "pitch": "6/12", "leans": "left", "long_edge": "hole"}),
    ("required/0/left_end", {"meets": "lap", "pitch": "6 in 12", "leans": "left", "long_edge": "top"}),
])  # fmt: skip
def test_values_that_are_refused_are_forbidden(serving: Stack, contract: Any, path: str, value: object) -> None:  # noqa: ANN401
    """Lengths of nothing, control characters, and words that a field does not take stand in no valid request."""
    body = shed_with(path, value)
    assert faults(contract, "JobRequest", body) != []
    assert serving.post(body).status_code == 422


@pytest.mark.parametrize(("file", "component"), [("wall.json", "JobRequest"), ("measured.json", "TakeOffRequest")])
def test_the_examples_fit_the_contract(contract: Any, file: str, component: str) -> None:  # noqa: ANN401
    """The files that the README speaks of are what the document allows."""
    assert faults(contract, component, json.loads((EXAMPLES / file).read_text(encoding="utf-8"))) == []


def components(contract: Any) -> dict[str, Any]:  # noqa: ANN401
    """Return the components that are objects."""
    return {name: schema for name, schema in contract["components"]["schemas"].items() if "properties" in schema}


def test_every_field_says_what_it_is(contract: Any) -> None:  # noqa: ANN401
    """No property of the document, asked or answered, is without words of its own; nor is an object."""
    silent = [
        (name, field)
        for name, schema in components(contract).items()
        for field, described in schema["properties"].items()
        if not described.get("description")
    ]
    assert silent == []
    assert [name for name, schema in components(contract).items() if not schema["description"]] == []


def test_figures_of_answers_claim_no_limits(contract: Any) -> None:  # noqa: ANN401
    """What may be sent is at most so long; what a plan buys in all, or where a course begins, may be any length."""
    fields = [
        field
        for schema in contract["components"]["schemas"].values()
        for field in schema.get("properties", {}).values()
    ]
    limited = [json.dumps(field) for field in fields if ", at most" in field.get("description", "")]
    assert limited
    assert [field for field in limited if "schemas/Measure" in field] == []
    assert [field for field in limited if "From 0 ft" in field] == []


def test_answers_are_closed(contract: Any) -> None:  # noqa: ANN401
    """An answer holds what the document says of it and nothing else; no object in it is left open."""
    described = {name: schema for name, schema in components(contract).items() if not name.endswith("Request")}
    assert [name for name, schema in described.items() if schema["additionalProperties"] is not False] == []
    bare = [name for name, schema in contract["components"]["schemas"].items() if schema == {"type": "object"}]
    assert bare == []


def test_every_word_of_a_choice_is_explained(contract: Any) -> None:  # noqa: ANN401
    """Where a field takes one of several words, its description has each of them."""
    unexplained = {
        (name, field, word)
        for name, schema in components(contract).items()
        for field, described in schema["properties"].items()
        for word in described.get("enum", ())
        if f"`{word}`" not in described["description"]
    }
    assert unexplained == set()


def test_answers_are_as_documented(serving: Stack, contract: Any) -> None:  # noqa: ANN401
    """A queued plan, a finished one, its sticks, a check of it, a problem and health fit their schemas."""
    queued = serving.post(SHED).json
    finished = serving.post(SHED, Prefer="wait=30").json
    sticks = serving.client.get(f"/v1/cut-plans/{finished['id']}/sticks").json
    check = serving.client.post("/v1/plan-checks", json={"request": SHED, "plan": finished["result"]}).json
    problem = serving.post(shed_with("required/0/length", "9-7")).json
    ready = serving.client.get("/health/ready").json
    found = {
        "CutPlan": faults(contract, "CutPlan", queued) + faults(contract, "CutPlan", finished),
        "SticksPage": faults(contract, "SticksPage", sticks),
        "Checked": faults(contract, "Checked", check),
        "Problem": faults(contract, "Problem", problem),
        "Health": faults(contract, "Health", ready),
    }
    assert found == {name: [] for name in found}


def test_a_wall_is_as_documented(serving: Stack, contract: Any) -> None:  # noqa: ANN401
    """Runs, laps and cut-outs fit their schemas, and so does the request for them."""
    assert faults(contract, "JobRequest", WALL) == []
    assert faults(contract, "CutPlan", serving.post(WALL, Prefer="wait=30").json) == []


def test_a_result_with_an_offcut_and_uncut_pieces_is_as_documented(serving: Stack, contract: Any) -> None:  # noqa: ANN401
    """Offcuts on hand, limited stock, spares and pieces that stay uncut fit the schema too."""
    body = shed_with("materials/0/stock/0/available", 4)
    body["materials"][0] |= {"spare_percent": 5, "kerf": "1/8"}
    body["offcuts"] = [{"id": "R-17", "material": "panel-sand", "length": "61 1/2", "factory_end": "left"}]
    answer = serving.post(body, Prefer="wait=30").json
    assert answer["result"]["status"] == "partial"
    assert faults(contract, "CutPlan", answer) == []


def declared(contract: Any, path: str, method: str) -> Any:  # noqa: ANN401
    """Return an operation of the contract."""
    return contract["paths"][path][method]


def test_headers_and_parameters_that_are_heeded_are_declared(contract: Any) -> None:  # noqa: ANN401
    """A client made from the document knows of Prefer, Idempotency-Key, If-None-Match, limit and after."""
    found = {
        (path, method): {entry["name"] for entry in declared(contract, path, method).get("parameters", [])}
        for path in (
            "/v1/cut-plans",
            "/v1/cut-plans/{plan_id}",
            "/v1/cut-plans/{plan_id}/sticks",
            "/v1/takeoffs",
            "/v1/crews/{crew}/weeks/{week}/plan",
        )
        for method in contract["paths"][path]
    }
    assert found["/v1/cut-plans", "post"] == {"Prefer", "Idempotency-Key", "dry_run"}
    assert found["/v1/cut-plans/{plan_id}", "get"] == {"plan_id", "If-None-Match"}
    assert found["/v1/cut-plans/{plan_id}/sticks", "get"] == {"plan_id", "limit", "after"}
    assert found["/v1/crews/{crew}/weeks/{week}/plan", "post"] == {"crew", "week", "Prefer"}
    assert found["/v1/takeoffs", "post"] == {"Prefer", "Idempotency-Key", "plan", "dry_run"}


def test_headers_of_answers_are_declared(serving: Stack, contract: Any) -> None:  # noqa: ANN401
    """Every header of ours in a real answer stands under its status in the document."""
    waited, queued = serving.post(SHED, Prefer="wait=30"), serving.post(SHED)
    where = waited.headers["Location"]
    etag = {"If-None-Match": waited.headers["ETag"]}
    plan = "/v1/cut-plans/{plan_id}"
    answers = [
        ("/v1/cut-plans", "post", waited),
        ("/v1/cut-plans", "post", queued),
        ("/v1/cut-plans", "post", serving.post({})),
        (plan, "get", serving.client.get(where)),
        (plan, "get", serving.client.get(where, headers=etag)),
        (plan, "get", serving.client.get("/v1/cut-plans/none")),
        (f"{plan}/sticks", "get", serving.client.get(f"{where}/sticks?limit=2")),
        (f"{plan}/sticks", "get", serving.client.get(f"{where}/sticks?limit=0")),
    ]
    for path, method, answer in answers:
        told = declared(contract, path, method)["responses"][str(answer.status_code)]
        assert OURS & set(answer.headers.keys()) <= set(told["headers"]), (path, answer.status_code)


@pytest.mark.parametrize(("address", "named"), [
    ("/v1/cut-plans/{id}/sticks?page=2", "page"), ("/v1/cut-plans/{id}?verbose=1&x=2", "verbose, x"),
    ("/v1/cut-plans/{id}/order.csv?format=csv", "format"),
])  # fmt: skip
def test_an_unknown_parameter_is_refused_by_name(serving: Stack, address: str, named: str) -> None:
    """``?page=2`` would be page one again and again: it is 400, and the parameters that there are are told."""
    plan_id = serving.post(SHED, Prefer="wait=30").json["id"]
    answer = serving.client.get(address.format(id=plan_id))
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-query")
    assert answer.json["detail"].startswith(f"{named}: no parameter of this address; there are")


WELL = b'{"status":"live"}'


@pytest.mark.parametrize(("status", "headers", "body"), [
    (201, {}, WELL), (200, {"ETag": "1"}, WELL), (200, {"Content-Type": "text/html"}, WELL),
    (200, {}, b'{"status":"live","since":"monday"}'), (200, {}, b'{"status":1}'), (200, {}, b"{}"),
])  # fmt: skip
def test_the_suite_sees_answers_that_depart(status: int, headers: dict[str, str], body: bytes) -> None:
    """A status, header, type, field or value that is in no contract fails the test that meets it."""
    told = {"Content-Type": "application/json", **headers}
    contract_of_the_app().hold_answer("GET", "/health/live", 200, {"Content-Type": "application/json"}, WELL)
    with pytest.raises(Departure):
        contract_of_the_app().hold_answer("GET", "/health/live", status, told, body)


def test_the_suite_sees_requests_that_are_accepted_against_the_contract() -> None:
    """What is answered with 2xx must be what the contract allows."""
    contract_of_the_app().hold_request("POST", "/v1/cut-plans", 202, SHED)
    contract_of_the_app().hold_request("POST", "/v1/cut-plans", 422, {})
    with pytest.raises(Departure):
        contract_of_the_app().hold_request("POST", "/v1/cut-plans", 202, shed_with("required/0/length", 0))


def test_no_operation_answers_by_default(contract: Any) -> None:  # noqa: ANN401
    """Each lists its statuses one by one, so that none goes undocumented."""
    loose = [
        (path, method)
        for path, methods in contract["paths"].items()
        for method, operation in methods.items()
        if "default" in operation["responses"]
    ]
    assert loose == []
