"""``/openapi.json``: the contract, made from what stands beside the endpoints and in the schemas."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from http import HTTPStatus

from flask import Blueprint, Response, current_app, jsonify
from marshmallow import Schema
from werkzeug.routing import Rule

from service.http.access import OPEN
from service.http.documented import DEPRECATED, Answer, Operation, Parameter, documented, operation_of
from service.http.problem_kinds import KINDS, Kind
from service.http.problems import CONTENT_TYPE
from service.http.rates import HEADERS, UNLIMITED
from service.spreadsheets.writing import XLSX
from service.state import service
from service.wire.codes import ProblemSchema
from service.wire.contract import ANSWER_HEADERS, EXAMPLES, PATH, QUERY, REQUEST_HEADERS, component_name, components
from service.wire.fields import Json
from service.wire.plans.cut_plan import CallbackSchema, CutPlanSchema
from service.wire.week import WeekSchema

blueprint = Blueprint("openapi", __name__)
_KEPT = "lapstock.contract"
_PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>")


@blueprint.get("/openapi.json")
@documented("This contract", answers=[Answer(200, "OpenAPI 3.1", media_type="application/json")])
def document() -> Response:
    """Return the OpenAPI document of everything this app answers; it is made once, which takes a tenth of a second."""
    made = current_app.extensions
    if _KEPT not in made:
        made[_KEPT] = jsonify(contract()).get_data()
    return Response(made[_KEPT], mimetype="application/json")


def contract() -> Json:
    """Return the OpenAPI document, made anew."""
    operations = list(_operations())
    paths: dict[str, Json] = {}
    for rule, method, operation in operations:
        paths.setdefault(_PARAMETER.sub(r"{\1}", rule.rule), {})[method] = _described(rule, method, operation)
    asked = [operation.body for _, _, operation in operations if operation.body]
    answers = [answer for _, _, operation in operations for answer in operation.answers if not answer.as_asked]
    answered = [schema for answer in answers for schema in answer.schemas]
    return {
        "openapi": "3.1.0",
        "info": {"title": "lapstock", "version": "1", "description": _ABOUT},
        "externalDocs": {"description": "Tutorial, recipes, glossary, reference", "url": "/docs"},
        "paths": paths,
        "webhooks": {"over": {"post": _over()}},
        "components": {
            "headers": ANSWER_HEADERS,
            "schemas": components(asked, [*answered, CallbackSchema, ProblemSchema]),
            "securitySchemes": {"key": {"type": "http", "scheme": "bearer"}},
        },
        "security": [{}, {"key": []}],
    }


_ABOUT = (
    "Cut plans and orders for siding, soffit and trim. This document names every field and status that there is; "
    "fields may be added to answers within v1, none is renamed, removed or given another meaning. Lengths are in the "
    "request's `units`, money in the currency of its prices, times in UTC. A key is good for what its scopes say: "
    "`read` for every GET, `weeks` for changing crews' weeks, `catalogue` for changing materials, rack, settings and "
    "customers' answers, `plan` for everything else."
)


def _over() -> Json:
    """Return what is posted to the address that a request gave as its callback."""
    names = {"webhook-id": "The same for each try: what came before is passed over.",
             "webhook-timestamp": "Seconds since 1970; an old one is refused.",
             "webhook-signature": "`v1,` and in base64 the HMAC-SHA256 of `ID.TIMESTAMP.BODY`."}  # fmt: skip
    return {
        "operationId": "over",
        "summary": "A plan whose request had a callback is over",
        "description": "Signed as Standard Webhooks 1.0 has it. Answer 2xx within 10 seconds, or 410 to hear no more "
        "of it; anything else is tried again, eight times within a day.",
        "parameters": [
            {"name": name, "in": "header", "required": True, "description": about, "schema": {"type": "string"}}
            for name, about in names.items()
        ],
        "requestBody": {"required": True, "content": {"application/json": {"schema": _ref("Callback")}}},
        "responses": {"2XX": {"description": "Heard"}, "410": {"description": "Not to be called again"}},
        "security": [],
    }


def _operations() -> Iterator[tuple[Rule, str, Operation]]:
    for rule in current_app.url_map.iter_rules():
        operation = operation_of(current_app.view_functions[rule.endpoint])
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            if operation:
                yield rule, method.lower(), operation


def _described(rule: Rule, method: str, operation: Operation) -> Json:
    told: Json = {"operationId": rule.endpoint.replace(".", "_"), "summary": operation.summary}
    parameters = [_path_parameter(name) for name in _PARAMETER.findall(rule.rule)]
    parameters += [_query_parameter(name, what) for name, what in operation.query.items()]
    parameters += [{"name": name, "in": "header", **REQUEST_HEADERS[name]} for name in operation.headers]
    if parameters:
        told["parameters"] = parameters
    if rule.endpoint in DEPRECATED:
        told["deprecated"] = True
    if operation.body:
        content: Json = {"schema": _ref(component_name(operation.body, asked=True))}
        if operation.body in EXAMPLES:
            content["example"] = EXAMPLES[operation.body]
        told["requestBody"] = {"required": True, "description": _body(), "content": {"application/json": content}}
    told["responses"] = _responses(rule, method, operation)
    return told


def _body() -> str:
    return f"UTF-8, not compressed, {service().config.most_bytes} bytes at most, sent with its Content-Length."


def _path_parameter(name: str) -> Json:
    return {"name": name, "in": "path", "required": True, **PATH.get(name, {"schema": {"type": "string"}})}


def _query_parameter(name: str, what: str | Parameter) -> Json:
    about, schema = what if isinstance(what, Parameter) else (what, QUERY.get(name, {"type": "string"}))
    return {"name": name, "in": "query", "description": about, "schema": schema}


def _responses(rule: Rule, method: str, operation: Operation) -> Json:
    told: Json = {str(answer.status): _answer(answer) for answer in operation.answers}
    if deprecation := DEPRECATED.get(rule.endpoint):
        for answered in told.values():
            answered["headers"] |= {name: {"$ref": f"#/components/headers/{name}"} for name in deprecation.headers}
    for answer in operation.answers:
        if method in ("post", "put") and (links := _links(rule, answer)):
            told[str(answer.status)]["links"] = links
    guarded = () if rule.endpoint in OPEN else ("key-missing", "not-allowed")
    counted = () if rule.endpoint in UNLIMITED else ("too-many",)
    kinds = sorted({*operation.problems, *guarded, *counted, "malformed-query", "fault", "store-away"})
    for status in sorted({KINDS[kind].status for kind in kinds}):
        told.setdefault(str(status), _problem([KINDS[kind] for kind in kinds if KINDS[kind].status == status]))
    return dict(sorted(told.items()))


def _answer(answer: Answer) -> Json:
    told: Json = {"description": answer.when, "headers": _headers(answer.headers)}
    refs = [_ref(component_name(schema, asked=answer.as_asked)) for schema in answer.schemas]
    if answer.media_type:
        shape = _event(refs[0]) if refs else _MEDIA.get(answer.media_type, {"type": "string"})
        told["content"] = {answer.media_type: {"schema": shape}}
    elif refs:
        told["content"] = {"application/json": {"schema": refs[0] if len(refs) == 1 else {"oneOf": refs}}}
    return told


def _event(data: Json) -> Json:
    """Return the shape of each event of a stream; its data is JSON in text."""
    text: Json = {"type": "string"}
    told = {**text, "contentMediaType": "application/json", "contentSchema": data}
    properties = {"event": text, "id": text, "retry": {"type": "integer"}, "data": told}
    return {"type": "object", "properties": properties, "required": ["event", "id", "data"]}


_MEDIA: Json = {"application/json": {"type": "object"}, "application/pdf": {}, XLSX: {}}
"""Shapes of bodies that have no schema of their own; others are text."""


_SAYS: Mapping[type[Schema], Mapping[str, str]] = {
    CutPlanSchema: {"plan_id": "id"},
    WeekSchema: {"crew": "crew", "week": "week", "day": "monday"},
}
"""Where the body of an answer has what other addresses are made of."""


def _links(rule: Rule, answer: Answer) -> Json:
    """Return the operations whose address can be made of an answer, and of the address that was asked."""
    says = next((_SAYS[known] for known in _SAYS for schema in answer.schemas if issubclass(schema, known)), {})
    known = {name: f"$response.body#/{field}" for name, field in says.items()}
    known |= {name: f"$request.path.{name}" for name in _PARAMETER.findall(rule.rule) if says}
    links: Json = {}
    for other, _, operation in _operations():
        names = _PARAMETER.findall(other.rule)
        if names and set(names) <= set(known):
            to = other.endpoint.replace(".", "_")
            about = {"operationId": to, "description": operation.summary}
            links[to] = {**about, "parameters": {name: known[name] for name in names}}
    return links


def _ref(component: str) -> Json:
    return {"$ref": f"#/components/schemas/{component}"}


def _problem(kinds: list[Kind]) -> Json:
    """Return an answer for problems of one status."""
    schema = _ref("Problem")
    description = "; ".join([HTTPStatus(kinds[0].status).phrase, *(kind.title.lower() for kind in kinds)])
    headers = sorted({kind.header for kind in kinds if kind.header})
    return {"description": description, "headers": _headers(headers), "content": {CONTENT_TYPE: {"schema": schema}}}


def _headers(names: Sequence[str]) -> Json:
    return {name: {"$ref": f"#/components/headers/{name}"} for name in (*names, *HEADERS, "Request-Id")}
