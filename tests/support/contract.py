"""Every answer that the suite sees, held to ``/openapi.json``: its status, its headers, its type and its body.

Requests that are answered with 2xx are held to it too: what is accepted must be what the contract allows.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any
from urllib.parse import urlsplit

import jsonschema_rs
import requests
from flask.testing import FlaskClient
from werkzeug.exceptions import HTTPException, MethodNotAllowed
from werkzeug.routing import RequestRedirect

from service.app import create_app
from service.http.problems import CONTENT_TYPE
from service.state import Config

OURS = {
    "Accept-Encoding", "ETag", "Link", "Location", "Preference-Applied", "Request-Id", "Retry-After",
    "WWW-Authenticate", "RateLimit", "RateLimit-Policy",
}  # fmt: skip
"""Headers that an answer may only have where the contract says so."""


class Departure(AssertionError):
    """An answer, or an accepted request, that is not as the contract has it."""


class Contract:
    """The document of an app, and the way from an address to what it says of it."""

    def __init__(self) -> None:
        app = create_app(Config("redis://127.0.0.1:1/0"))
        self.document: Any = json.loads(app.test_client().get("/openapi.json").get_data())
        self._routes = app.url_map.bind("localhost")
        self._operations: dict[str, Any] = {
            operation["operationId"]: operation
            for methods in self.document["paths"].values()
            for operation in methods.values()
        }
        self._validators: dict[str, Any] = {}

    def operation(self, method: str, path: str) -> Any:  # noqa: ANN401
        """Return what the document says of an address, {} where it has none, None where nothing is to be said."""
        try:
            endpoint, _ = self._routes.match(path, method="GET" if method == "HEAD" else method)
        except (MethodNotAllowed, RequestRedirect):
            return {}
        except HTTPException:
            return {} if path.startswith("/v1/") else None
        return self._operations.get(str(endpoint).replace(".", "_"))

    def faults(self, schema: Any, value: object) -> list[str]:  # noqa: ANN401
        """Return where a value departs from a schema of the document."""
        key = json.dumps(schema, sort_keys=True)
        if key not in self._validators:
            whole = {**schema, "components": self.document["components"]}
            self._validators[key] = jsonschema_rs.Draft202012Validator(whole, validate_formats=True)
        return [f"{list(error.instance_path)}: {error.message}" for error in self._validators[key].iter_errors(value)]

    def hold_answer(self, method: str, path: str, status: int, headers: Mapping[str, str], body: bytes) -> None:
        """Raise ``Departure`` unless the answer is as the document has it."""
        operation = self.operation(method, path)
        if operation is None or method == "OPTIONS" or status < 200:
            return
        where = f"{method} {path} {status}"
        if not operation:
            self._hold_body(where, {CONTENT_TYPE: {"schema": PROBLEM}}, headers, b"" if method == "HEAD" else body)
            return
        told = operation["responses"].get(str(status))
        if told is None:
            raise Departure(f"{where}: no such status in the contract: {body[:300]!r}")
        strangers = {name for name in OURS if name in headers} - set(told.get("headers", {}))
        if strangers:
            raise Departure(f"{where}: headers that the contract does not name: {strangers}")
        if method != "HEAD":
            self._hold_body(where, told.get("content", {}), headers, body)

    def _hold_body(self, where: str, content: Any, headers: Mapping[str, str], body: bytes) -> None:  # noqa: ANN401
        kind = headers.get("Content-Type", "").partition(";")[0]
        if not content:
            if body:
                raise Departure(f"{where}: a body where the contract has none: {body[:100]!r}")
            return
        if kind not in content:
            raise Departure(f"{where}: {kind or 'no type'} where the contract has {', '.join(content)}")
        if kind in ("application/json", CONTENT_TYPE) and body:
            faults = self.faults(content[kind].get("schema", {}), json.loads(body))
            if faults:
                raise Departure(f"{where}: {'; '.join(faults[:5])}")

    def hold_request(self, method: str, path: str, status: int, body: object) -> None:
        """Raise ``Departure`` where a body was accepted that the document does not allow."""
        operation = self.operation(method, path)
        if not operation or "requestBody" not in operation or not 200 <= status < 300 or body is None:
            return
        faults = self.faults(operation["requestBody"]["content"]["application/json"]["schema"], body)
        if faults:
            raise Departure(f"{method} {path}: accepted against the contract: {'; '.join(faults[:5])}")


PROBLEM = {"$ref": "#/components/schemas/Problem"}


@cache
def contract() -> Contract:
    """Return the contract of the app as it is."""
    return Contract()


class HeldClient(FlaskClient):
    """A test client whose every answer is held to the contract."""

    def open(self, *arguments: Any, **settings: Any) -> Any:  # noqa: ANN401
        """Ask, and hold the answer to the contract."""
        answer = super().open(*arguments, **settings)
        asked = answer.request
        headers = {name: answer.headers[name] for name in answer.headers.keys()}  # noqa: SIM118 - a list of pairs
        contract().hold_answer(asked.method, asked.path, answer.status_code, headers, answer.get_data())
        contract().hold_request(asked.method, asked.path, answer.status_code, settings.get("json"))
        return answer


def held_session() -> Iterator[None]:
    """Hold every answer that comes by way of ``requests`` from this machine to the contract, until resumed."""
    send = requests.Session.send

    def held(session: requests.Session, asked: requests.PreparedRequest, **settings: Any) -> requests.Response:  # noqa: ANN401
        answer = send(session, asked, **settings)
        address = urlsplit(asked.url or "")
        if address.hostname in ("127.0.0.1", "localhost") and not settings.get("stream"):
            contract().hold_answer(
                asked.method or "", address.path, answer.status_code, answer.headers, answer.content
            )
        return answer

    requests.Session.send = held  # type: ignore[method-assign, assignment]
    yield
    requests.Session.send = send  # type: ignore[method-assign]
