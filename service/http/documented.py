"""What an endpoint takes and answers, written beside it, from which the OpenAPI document is made."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

from flask import Flask, Response, request
from marshmallow import Schema
from werkzeug.http import http_date

View = TypeVar("View", bound=Callable[..., Response])


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer of an endpoint: its status, when it is given, its body by schema or media type, its headers.

    ``as_asked`` says that its body is a request that was sent before.
    """

    status: int
    when: str
    component: type[Schema] | tuple[type[Schema], ...] | None = None
    media_type: str | None = None
    headers: Sequence[str] = ()
    as_asked: bool = False

    @property
    def schemas(self) -> tuple[type[Schema], ...]:
        """The schemas that its body may have."""
        if self.component is None:
            return ()
        return self.component if isinstance(self.component, tuple) else (self.component,)


class Parameter(NamedTuple):
    """A query parameter: what it asks for, and its JSON Schema where the name alone does not say it."""

    about: str
    schema: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """An endpoint as the contract has it: ``problems`` by kind, ``query`` by parameter, ``headers`` that it heeds."""

    summary: str
    body: type[Schema] | None
    answers: Sequence[Answer]
    problems: Sequence[str]
    query: Mapping[str, str | Parameter]
    headers: Sequence[str]


@dataclass(frozen=True, slots=True)
class Deprecation:
    """Since when an operation has something better in its place, and from when it may be gone, if ever."""

    since: date
    sunset: date | None = None

    @property
    def headers(self) -> dict[str, str]:
        """What says so with each answer (RFC 9745, RFC 8594)."""
        told = {"Deprecation": f"@{_midnight(self.since).timestamp():.0f}"}
        told |= {"Sunset": http_date(_midnight(self.sunset))} if self.sunset else {}
        return {**told, "Link": '</docs/readme#changes>; rel="deprecation"; type="text/html"'}


DEPRECATED: dict[str, Deprecation] = {}
"""What is to be used no more, by endpoint; README's Changes says what is in its place. Nothing is, now."""


def install(app: Flask) -> None:
    """Say with each answer of what is deprecated that it is."""

    def tell(response: Response) -> Response:
        if deprecation := DEPRECATED.get(request.endpoint or ""):
            response.headers.extend(deprecation.headers)
        return response

    app.after_request(tell)


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)


OPERATIONS: dict[str, Operation] = {}
"""Every documented endpoint by module and name of its view function."""


def documented(
    summary: str,
    *,
    body: type[Schema] | None = None,
    answers: Sequence[Answer] = (),
    problems: Sequence[str] = (),
    query: Mapping[str, str | Parameter] = MappingProxyType({}),
    headers: Sequence[str] = (),
) -> Callable[[View], View]:
    """Document a view."""

    def note(view: View) -> View:
        operation = Operation(
            summary=summary, body=body, answers=answers, problems=problems, query=query, headers=headers
        )
        OPERATIONS[f"{view.__module__}.{view.__qualname__}"] = operation
        return view

    return note


def operation_of(view: Callable[..., object]) -> Operation | None:
    """Return what was documented of a view, or None."""
    return OPERATIONS.get(f"{view.__module__}.{view.__qualname__}")
