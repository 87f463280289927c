"""A client for other programs: requests in, plans, sheets and orders out.

    from service.client import Client

    client = Client("http://127.0.0.1:8080")
    plan = client.plan(request)
    plan["result"]["order_total"], client.sheet(plan["id"], "cut-sheet.pdf")

It needs ``requests`` and nothing else of this distribution. Bodies and answers are as ``/openapi.json`` has them.
"""

from __future__ import annotations

import secrets
import time
from base64 import b64encode
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Self
from urllib.parse import quote

from service.client.transport import Json, Refused, Resource, Transport, Unreachable, resource_of, seconds_asked

__all__ = ["OVER", "Client", "Json", "Refused", "Resource", "Unreachable"]

_HELD = 30.0
"""Seconds for which a server holds an answer at most."""
_BATCH = 100
"""Requests that a server takes in one batch."""
_FULL = (429, 503)
"""Statuses of a server that has no room for another who follows a plan."""
_COME_AGAIN = 0.5
"""Seconds after which a stream that ended before its plan did is asked for again."""
OVER = frozenset({"succeeded", "failed", "cancelled"})
"""States of a plan that it stays in."""


class Client:
    """One server's API, as one caller.

    ``address`` is the server's (``http://127.0.0.1:8080``), ``key`` an API key where it wants one. A call that is
    refused for being too much just then, or is lost on the way, is made ``tries`` times in all, after the pauses that
    the server asks for; an answer is awaited for ``seconds``. Use it as a context to close its connections.

    Every call may raise ``Refused``, which says what is wrong and where, and ``Unreachable``.
    """

    def __init__(
        self,
        address: str,
        key: str | None = None,
        *,
        tries: int = 5,
        seconds: float = 30,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._sleep = sleep
        self._transport = Transport(address, key, tries=tries, seconds=seconds, sleep=sleep)

    def __enter__(self) -> Self:
        """Return the client."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the connections."""
        self._transport.close()

    # plans

    def submit(self, request: Json, *, wait: float = 0, once: str | None = None) -> Resource:
        """Ask for a cut plan and return its resource, which holds the result if it was there within ``wait`` seconds.

        ``once`` is the caller's own word for this request, without spaces (an ``Idempotency-Key``): sent again with it,
        the request leads to the same plan. Without it one is made up, so that a retry plans nothing twice.
        """
        return self._asked("/v1/cut-plans", request, wait, once, {})

    def submit_all(self, requests: Sequence[Json], *, once: str | None = None) -> list[Json]:
        """Ask for many cut plans and return an answer for each, in their order: its ``plan``, or else its ``problem``.

        They are sent by the hundred. ``once`` is as for ``submit``, for all of them.
        """
        once, answers = once or secrets.token_hex(16), list[Json]()
        for first in range(0, len(requests), _BATCH):
            body = {"requests": requests[first : first + _BATCH]}
            headers = {"Idempotency-Key": f"{once}-{first}"}
            answers += self._transport.resource("POST", "/v1/cut-plan-batches", body, headers=headers)["answers"]
        return answers

    def submit_measured(self, measured: Json, *, wait: float = 0, once: str | None = None) -> Resource:
        """Take off what was measured and ask for its cut plan; the take-off stands in the resource."""
        return self._asked("/v1/takeoffs", measured, wait, once, {"plan": "true"})

    def check_request(self, request: Json) -> Resource:
        """Return a request as it is read, with everything it leaves out; nothing is planned or kept."""
        return self._transport.resource("POST", "/v1/cut-plans", request, query={"dry_run": "true"})

    def plan(self, request: Json, *, once: str | None = None) -> Resource:
        """Ask for a cut plan and return its resource once it is over."""
        submitted = self.submit(request, wait=_HELD, once=once)
        return self.wait(submitted["id"]) if submitted["state"] not in OVER else submitted

    def look(self, plan_id: str) -> Resource:
        """Return a plan's resource as it is now."""
        return self._transport.resource("GET", f"/v1/cut-plans/{plan_id}")

    def wait(self, plan_id: str) -> Resource:
        """Return a plan's resource once it is over: ``state`` says how it ended."""
        try:
            for _ in self.follow(plan_id):
                pass
            return self.look(plan_id)
        except Refused as refused:
            if refused.status not in _FULL:
                raise
        *_, last = self.progress(plan_id)
        return last

    def follow(self, plan_id: str) -> Iterator[Resource]:
        """Yield how a plan stands as soon as that changes, as the server sends it, until it is over.

        Each is its ``state``, its ``progress`` and, where it failed, the ``problem``: no result. Where as many follow
        plans as may, this is ``Refused`` with 429 or 503.
        """
        last = ""
        while True:
            for event in self._transport.events(f"/v1/cut-plans/{plan_id}/events", last):
                last = event.id
                yield event.data
                if event.data["state"] in OVER:
                    return
            self._sleep(_COME_AGAIN)

    def progress(self, plan_id: str) -> Iterator[Resource]:
        """Yield a plan's resource each time it is looked at and has changed, until it is over: the last is its end."""
        etag: str | None = None
        while True:
            known = {"If-None-Match": etag} if etag else {}
            answer = self._transport.call("GET", f"/v1/cut-plans/{plan_id}", headers=known)
            if answer.status_code == 200:
                resource = resource_of(answer)
                etag = resource.etag
                yield resource
                if resource["state"] in OVER:
                    return
            self._sleep(seconds_asked(answer, 1))

    def cancel(self, plan_id: str) -> Resource:
        """End a plan with the best that was found, and return its resource."""
        return self._transport.resource("POST", f"/v1/cut-plans/{plan_id}/cancel")

    def alternatives(self, plan_id: str) -> list[Resource]:
        """Have a finished plan's list planned other ways; return the plan and its alternatives once all are over."""
        address = f"/v1/cut-plans/{plan_id}/alternatives"
        answer = self._transport.call("POST", address)
        while answer.status_code == 202:
            self._sleep(seconds_asked(answer, 1))
            answer = self._transport.call("GET", address)
        return [Resource(row) for row in resource_of(answer)["alternatives"]]

    def forget(self, plan_id: str) -> None:
        """Forget a plan that is over, or is forgotten already: the answer to an earlier try may have been lost."""
        try:
            self._transport.call("DELETE", f"/v1/cut-plans/{plan_id}")
        except Refused as refused:
            if refused.kind != "not-found":
                raise

    def plans(self, **sought: str) -> Iterator[Resource]:
        """Yield the caller's plans, newest first: by number, customer, phone, purchase_order, ref, state and so on."""
        return self._transport.pages("/v1/cut-plans", "plans", sought)

    def sticks(self, plan_id: str) -> Iterator[Resource]:
        """Yield every stick of a plan."""
        return self._transport.pages(f"/v1/cut-plans/{plan_id}/sticks", "sticks", {"limit": "2000"})

    def sheet(self, plan_id: str, name: str) -> bytes:
        """Return a document of a plan: ``cut-sheet.pdf``, ``order.csv``, ``order.pdf``, ``labels.pdf`` and so on."""
        return self._transport.call("GET", f"/v1/cut-plans/{plan_id}/{name}").content

    def pieces(self, plan_id: str) -> Resource:
        """Return every piece of a plan by itself, with what has become of it."""
        return self._transport.resource("GET", f"/v1/cut-plans/{plan_id}/pieces")

    def amend(self, plan_id: str, particulars: Json, etag: str | None = None) -> Resource:
        """Keep other particulars with a plan: for whom and until when it is, called off or not."""
        return self._put(f"/v1/cut-plans/{plan_id}/particulars", particulars, etag)

    def go_on(self, plan_id: str, standing: Json, *, wait: float = 0, once: str | None = None) -> Resource:
        """Ask for a plan of the rest, from what is left: ``standing`` says what was cut, miscut or not delivered."""
        return self._asked(f"/v1/cut-plans/{plan_id}/continuation", standing, wait, once, {})

    def check_plan(self, request: Json, plan: Json) -> Resource:
        """Have a plan from anywhere checked as an answer to a request."""
        return self._transport.resource("POST", "/v1/plan-checks", {"request": request, "plan": plan})

    # lists and measurements

    def read_list(self, text: str, units: str, **answers: Any) -> Resource:  # noqa: ANN401
        """Return what a pasted list says, line by line, with what must be asked; bare numbers are in ``units``."""
        return self._transport.resource("POST", "/v1/cut-lists", {"text": text, "units": units, **answers})

    def take_off(self, measured: Json) -> Resource:
        """Return the request for a cut plan that measurements come to, each figure with its arithmetic."""
        return self._transport.resource("POST", "/v1/takeoffs", measured)

    # what is kept for many plans

    def week(self, crew: str, week: str) -> Resource:
        """Return a crew's week (``2026-W49``) with the plan made last."""
        return self._transport.resource("GET", _week(crew, week))

    def put_week(self, crew: str, week: str, body: Json, etag: str | None = None) -> Resource:
        """Set what a week is planned with. With ``etag`` only if nobody has changed it since (412 otherwise)."""
        return self._put(_week(crew, week), body, etag)

    def put_job(self, crew: str, week: str, job: str, body: Json, etag: str | None = None) -> Resource:
        """Put a job in a week, or change it."""
        return self._put(f"{_week(crew, week)}/jobs/{_part(job)}", body, etag)

    def withdraw(self, crew: str, week: str, job: str) -> None:
        """Take a job out of a week."""
        self._transport.call("DELETE", f"{_week(crew, week)}/jobs/{_part(job)}")

    def plan_week(self, crew: str, week: str, *, wait: float = 0) -> Resource:
        """Have a week planned ahead of the night, and return it as it is after ``wait`` seconds."""
        return self._transport.resource("POST", f"{_week(crew, week)}/plan", headers=_preferring(wait), held=wait)

    def drop_week(self, crew: str, week: str) -> None:
        """Forget a week with all its jobs."""
        self._transport.call("DELETE", _week(crew, week))

    def put_delivery(self, crew: str, week: str, day: str, body: Json, etag: str | None = None) -> Resource:
        """Say that sticks come on a day, or what came, and return the week."""
        return self._put(f"{_week(crew, week)}/deliveries/{day}", body, etag)

    def runs(self, crew: str, week: str) -> Resource:
        """Return when a week was planned, what had changed, and the bill before and after."""
        return self._transport.resource("GET", f"{_week(crew, week)}/runs")

    def report(self, crew: str, week: str, day: str, body: Json, etag: str | None = None) -> Resource:
        """Report what was really cut on a day (``2026-11-30``), and return the week."""
        return self._put(f"{_week(crew, week)}/reports/{day}", body, etag)

    def week_sheet(self, crew: str, week: str, name: str) -> bytes:
        """Return a document of a week: ``page.pdf``, ``days/2026-11-30/sheet.pdf``, ``deliveries/…/order.pdf``."""
        return self._transport.call("GET", f"{_week(crew, week)}/{name}").content

    def materials(self, **sought: str) -> Iterator[Resource]:
        """Yield the catalogue's materials; ``q`` are words to find, ``category`` is theirs."""
        return self._transport.pages("/v1/materials", "materials", sought)

    def put_material(self, material: str, body: Json, etag: str | None = None) -> Resource:
        """Keep a material in the catalogue, or change it."""
        return self._put(f"/v1/materials/{_part(material)}", body, etag)

    def material(self, material: str) -> Resource:
        """Return a material of the catalogue as it is now."""
        return self._transport.resource("GET", f"/v1/materials/{_part(material)}")

    def drop_material(self, material: str) -> None:
        """Take a material out of the catalogue."""
        self._transport.call("DELETE", f"/v1/materials/{_part(material)}")

    def price_list(self, form: str = "csv") -> bytes:
        """Return the catalogue as a table: ``csv`` or ``xlsx``."""
        return self._transport.call("GET", f"/v1/price-list.{form}").content

    def take_prices_in(self, table: bytes) -> Resource:
        """Keep what such a table says, all or none of it; materials that it does not name stay as they are."""
        return self._transport.resource("POST", "/v1/price-list", {"file": b64encode(table).decode()})

    def rack(self) -> Iterator[Resource]:
        """Yield what lies on the rack, by label."""
        return self._transport.pages("/v1/rack", "pieces")

    def put_on_rack(self, body: Json) -> Resource:
        """Put offcuts or whole sticks on the rack: ``units`` and ``pieces``."""
        return self._transport.resource("POST", "/v1/rack", body)

    def use_up(self, label: str, count: int = 1) -> None:
        """Say that so many of a label on the rack are used up."""
        self._transport.call("POST", f"/v1/rack/{_part(label)}/uses", {"count": count})

    def _put(self, path: str, body: Json, etag: str | None) -> Resource:
        return self._transport.resource("PUT", path, body, headers={"If-Match": etag} if etag else {})

    def _asked(self, path: str, body: Json, wait: float, once: str | None, query: Json) -> Resource:
        headers = {**_preferring(wait), "Idempotency-Key": once or secrets.token_hex(16)}
        return self._transport.resource("POST", path, body, query=query, headers=headers, held=wait)


def _week(crew: str, week: str) -> str:
    return f"/v1/crews/{_part(crew)}/weeks/{week}"


def _part(name: str) -> str:
    """Return a name as a part of an address: whatever stands in it belongs to it."""
    return quote(name, safe="")


def _preferring(wait: float) -> dict[str, str]:
    """Return the header that asks for an answer to be held (RFC 7240)."""
    return {"Prefer": f"wait={wait:.0f}"} if wait else {}
