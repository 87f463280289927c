"""How a client calls: one session, retries that respect ``Retry-After``, problem details as exceptions."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from typing import Any, NamedTuple

import requests

Json = Mapping[str, Any]
"""A JSON object as ``/openapi.json`` describes it."""
_AGAIN = frozenset({429, 503})
"""Statuses that say: later. Nothing was done."""
_LONGEST_PAUSE = 60.0
_FIRST_PAUSE = 0.25
_RESTS = ("GET", "PUT", "DELETE")
"""Methods that may be sent twice to the same effect (RFC 9110, 9.2.2)."""


class Resource(dict[str, Any]):
    """An answer's JSON object. ``etag`` is its entity tag, to be sent when it is changed; None where it has none."""

    etag: str | None = None


class Event(NamedTuple):
    """A server-sent event: its name, its id, and its data as a JSON object."""

    name: str
    id: str
    data: Resource


class Unreachable(Exception):
    """The server did not answer, however often it was tried."""


class Refused(Exception):
    """A problem that the server answered (RFC 9457).

    ``status`` is that of HTTP, ``kind`` the last part of the problem's type (``/problems/KIND`` tells what can be
    done about it), and ``errors`` one entry for each faulty field: ``pointer``, ``detail``, ``code``.
    """

    def __init__(self, status: int, problem: Json) -> None:
        faults = [f"{error.get('pointer')}: {error.get('detail')}" for error in problem.get("errors", [])]
        words = str(problem.get("detail") or problem.get("title") or "refused")
        super().__init__("\n".join([f"{status}: {words}", *faults]))
        self.status = status
        self.kind = str(problem.get("type", "")).rpartition("/")[2]
        self.detail = str(problem.get("detail", ""))
        self.errors: list[Json] = list(problem.get("errors", []))


class Transport:
    """Calls to one server: each is made ``tries`` times at most and may take ``seconds``."""

    def __init__(
        self, address: str, key: str | None, *, tries: int, seconds: float, sleep: Callable[[float], None] = time.sleep
    ) -> None:
        self._address = address.rstrip("/")
        self._tries, self._seconds, self._sleep = tries, seconds, sleep
        self._session = requests.Session()
        if key:
            self._session.headers["Authorization"] = f"Bearer {key}"

    def call(
        self,
        method: str,
        path: str,
        body: Json | None = None,
        *,
        query: Json | None = None,
        headers: Mapping[str, str] | None = None,
        held: float = 0,
        stream: bool = False,
    ) -> requests.Response:
        """Return an answer that is no problem; ``held`` seconds more are granted to one that waits for its plan.

        With ``stream`` it is returned as soon as its headers are there, and is to be closed.

        Raises ``Refused`` for any other, and ``Unreachable``. A POST is sent twice only where it has an
        ``Idempotency-Key``, or where the server said that it did nothing.
        """
        safe = method in _RESTS or "Idempotency-Key" in (headers or {})
        for pause in self._pauses():
            try:
                answer = self._session.request(
                    method, self._address + path, params=query, json=body, headers=headers,
                    timeout=self._seconds + held, stream=stream,
                )  # fmt: skip
            except (requests.ConnectionError, requests.Timeout) as error:
                if pause is None or not safe:
                    raise Unreachable(f"{self._address} does not answer: {error}") from error
                self._sleep(pause)
                continue
            if answer.status_code in _AGAIN and pause is not None:
                self._sleep(min(seconds_asked(answer, pause), _LONGEST_PAUSE))
                continue
            if answer.status_code >= 400:
                raise Refused(answer.status_code, _problem(answer))
            return answer
        raise AssertionError("the last try has no pause after it")

    def resource(self, method: str, path: str, body: Json | None = None, **how: Any) -> Resource:  # noqa: ANN401
        """Return the JSON object of an answer, with its entity tag."""
        return resource_of(self.call(method, path, body, **how))

    def pages(self, path: str, rows: str, query: Json | None = None) -> Iterator[Resource]:
        """Yield the ``rows`` of a list, page after page as ``Link`` leads (RFC 8288)."""
        answer = self.call("GET", path, query=query)
        while True:
            yield from map(Resource, answer.json()[rows])
            following = answer.links.get("next", {}).get("url")
            if not following:
                return
            answer = self.call("GET", following)

    def events(self, path: str, last: str) -> Iterator[Event]:
        """Yield the events of a stream after the one with the id ``last``, until it ends or breaks off."""
        with closing(self.call("GET", path, headers={"Last-Event-ID": last} if last else {}, stream=True)) as answer:
            if answer.status_code == 204:
                return
            try:
                yield from _events(answer.iter_lines(decode_unicode=True))
            except requests.RequestException:
                return

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def _pauses(self) -> Iterator[float | None]:
        yield from (_FIRST_PAUSE * 2**tried for tried in range(self._tries - 1))
        yield None


def resource_of(answer: requests.Response) -> Resource:
    """Return the JSON object of an answer, with its entity tag."""
    resource = Resource(answer.json())
    resource.etag = answer.headers.get("ETag")
    return resource


def seconds_asked(answer: requests.Response, otherwise: float) -> float:
    """Return after how many seconds an answer says that it is worth asking again."""
    told = answer.headers.get("Retry-After", "")
    return float(told) if told.isdecimal() else otherwise


def _events(lines: Iterator[str]) -> Iterator[Event]:
    """Yield the events that lines are (WHATWG HTML, 9.2.6), less those that carry nothing."""
    told: dict[str, str] = {}
    for line in lines:
        name, _, value = line.partition(":")
        if name in ("event", "id", "data"):
            told[name] = value.removeprefix(" ")
        elif not line and "data" in told:
            yield Event(told.get("event", "message"), told.get("id", ""), Resource(json.loads(told["data"])))
            told = {}


def _problem(answer: requests.Response) -> Json:
    try:
        told = answer.json()
    except ValueError:
        return {"detail": answer.text[:200]}
    return told if isinstance(told, dict) else {}
