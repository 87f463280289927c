"""``/openapi.json``: the contract, made from what stands beside the endpoints and in the schemas."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, current_app, jsonify
from werkzeug.routing import Rule

from service.contract.components import COMPONENTS
from service.contract.cut_list import CUT_LIST
from service.contract.parameters import ANSWER_HEADERS, QUERY, REQUEST_HEADERS
from service.contract.requests import component_name, request_components
from service.contract.takeoff import TAKE_OFF
from service.contract.week import WEEK
from service.documented import Answer, Operation, documented, operation_of
from service.problems import CONTENT_TYPE, KINDS, Kind

blueprint = Blueprint("openapi", __name__)
_PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>")
Json = dict[str, Any]


@blueprint.get("/openapi.json")
@documented("This contract", answers=[Answer(200, "OpenAPI 3.1")])
def document() -> Response:
    """Return the OpenAPI document of everything this app answers."""
    operations = list(_operations())
    paths: dict[str, Json] = {}
    for rule, method, operation in operations:
        paths.setdefault(_PARAMETER.sub(r"{\1}", rule.rule), {})[method] = _described(rule, operation)
    bodies = [operation.body for _, _, operation in operations if operation.body]
    return jsonify(
        {
            "openapi": "3.1.0",
            "info": {"title": "lapstock", "version": "1", "description": _ABOUT},
            "paths": paths,
            "components": {
                "headers": ANSWER_HEADERS,
                "schemas": COMPONENTS | CUT_LIST | TAKE_OFF | WEEK | request_components(bodies),
                "securitySchemes": {"key": {"type": "http", "scheme": "bearer"}},
            },
            "security": [{}, {"key": []}],
        }
    )


_ABOUT = (
    "Cut plans and orders for siding, soffit and trim. Fields may be added to answers within v1; none is renamed, "
    "removed or given another meaning."
)


def _operations() -> Iterator[tuple[Rule, str, Operation]]:
    for rule in current_app.url_map.iter_rules():
        operation = operation_of(current_app.view_functions[rule.endpoint])
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            if operation:
                yield rule, method.lower(), operation


def _described(rule: Rule, operation: Operation) -> Json:
    told: Json = {"operationId": rule.endpoint.replace(".", "_"), "summary": operation.summary}
    parameters = [_path_parameter(name) for name in _PARAMETER.findall(rule.rule)]
    parameters += [_query_parameter(name, what) for name, what in operation.query.items()]
    parameters += [{"name": name, "in": "header", **REQUEST_HEADERS[name]} for name in operation.headers]
    if parameters:
        told["parameters"] = parameters
    if operation.body:
        schema = {"$ref": f"#/components/schemas/{component_name(operation.body)}"}
        told["requestBody"] = {"required": True, "content": {"application/json": {"schema": schema}}}
    told["responses"] = _responses(rule, operation)
    return told


def _path_parameter(name: str) -> Json:
    return {"name": name, "in": "path", "required": True, "schema": {"type": "string"}}


def _query_parameter(name: str, what: str) -> Json:
    return {"name": name, "in": "query", "description": what, "schema": QUERY.get(name, {"type": "string"})}


def _responses(rule: Rule, operation: Operation) -> Json:
    told: Json = {str(answer.status): _answer(answer) for answer in operation.answers}
    under_v1 = ("malformed-query", "key-missing") if rule.rule.startswith("/v1/") else ()
    kinds = sorted({*operation.problems, *under_v1, "fault", "store-away"})
    for status in sorted({KINDS[kind].status for kind in kinds}):
        told.setdefault(str(status), _problem([KINDS[kind] for kind in kinds if KINDS[kind].status == status]))
    return told | {"default": _problem([])}


def _answer(answer: Answer) -> Json:
    told: Json = {"description": answer.when, "headers": _headers(answer.headers)}
    if answer.component:
        schema = {"$ref": f"#/components/schemas/{answer.component}"}
        told["content"] = {answer.media_type: {"schema": schema}}
    elif answer.media_type != "application/json":
        told["content"] = {answer.media_type: {}}
    return told


def _problem(kinds: list[Kind]) -> Json:
    """Return an answer for problems of one status, or for any other problem."""
    schema = {"$ref": "#/components/schemas/Problem"}
    description = HTTPStatus(kinds[0].status).phrase if kinds else "Any other problem"
    headers = sorted({kind.header for kind in kinds if kind.header})
    return {"description": description, "headers": _headers(headers), "content": {CONTENT_TYPE: {"schema": schema}}}


def _headers(names: Sequence[str]) -> Json:
    return {name: {"$ref": f"#/components/headers/{name}"} for name in (*names, "Request-Id")}
