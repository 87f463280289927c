"""What was answered of a finished plan is answered again without reading the plan, as long as nothing has changed."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from flask import Response, request

import solver
from service.finished import apart
from service.http.waiting import DESK
from tests import scenario
from tests.support.measured import MEASURED
from tests.support.stack import Stack
from workers.plans.record import State
from workers.plans.store import Ask, Store

PLAN = "a" * 32
ADDRESS = f"/v1/cut-plans/{PLAN}"
ADDRESSES = (
    ADDRESS, f"{ADDRESS}/sticks", f"{ADDRESS}/sticks?limit=2", f"{ADDRESS}/order.csv", f"{ADDRESS}/cut-sheet.pdf",
    f"{ADDRESS}/cut-sheet.html", f"{ADDRESS}/cut-sheet.html?paper=a4", f"{ADDRESS}/order.html",
    f"{ADDRESS}/labels.pdf", f"{ADDRESS}/drawing.svg",
)  # fmt: skip


@pytest.fixture
def shed(alone: Stack) -> Stack:
    """Return an installation that keeps the finished plan of the shed."""
    job = scenario.shed()
    alone.store.create(PLAN, Ask("anybody", "batch", job))
    alone.store.start(PLAN, 1)
    alone.store.finish(PLAN, 1, State.SUCCEEDED, solver.plan_job(job, time.monotonic), 5)
    return alone


def told(answer: Any) -> tuple[int, bytes, dict[str, str]]:  # noqa: ANN401
    """Return an answer without what tells one request from another."""
    own = {"Request-Id", "RateLimit", "Date"}
    return answer.status_code, answer.data, {name: value for name, value in answer.headers if name not in own}


def unread(patch: pytest.MonkeyPatch) -> None:
    """Have nobody read a job or a plan any more."""

    def read(*_: object) -> None:
        raise AssertionError("it was read again")

    patch.setattr(Store, "job", read)
    patch.setattr(Store, "plan", read)


def test_it_is_made_once(shed: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each address answers byte for byte what it did, and 304 to whoever has it, from what is kept."""
    before = {address: told(shed.client.get(address)) for address in ADDRESSES}
    assert {status for status, _, _ in before.values()} == {200}
    assert len({body for _, body, _ in before.values()}) == len(ADDRESSES)
    unread(monkeypatch)
    assert {address: told(shed.client.get(address)) for address in ADDRESSES} == before
    for address, (_, _, headers) in before.items():
        if "ETag" in headers:
            assert shed.client.get(address, headers={"If-None-Match": headers["ETag"]}).status_code == 304


def test_who_has_it_already_has_it_made_for_the_next(shed: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """A service begun anew is asked with the tag of a sheet: it makes it to compare it, and once only."""
    etag = shed.client.get(f"{ADDRESS}/cut-sheet.pdf").headers["ETag"]
    shed.app.extensions.pop("lapstock.finished")
    for _ in range(2):
        answer = shed.client.get(f"{ADDRESS}/cut-sheet.pdf", headers={"If-None-Match": etag})
        assert (answer.status_code, answer.data) == (304, b"")
        unread(monkeypatch)


def test_a_change_is_seen_at_once(shed: Stack) -> None:
    """Another customer on order and resource, another company on the sheet."""
    for address in ADDRESSES:
        shed.client.get(address)
    assert shed.client.put(f"{ADDRESS}/particulars", json={"customer": "A. Marsh"}).status_code == 200
    assert shed.client.get(ADDRESS).json["particulars"]["customer"] == "A. Marsh"
    for document in ("order.csv", "cut-sheet.html"):
        assert "A. Marsh" in shed.client.get(f"{ADDRESS}/{document}").text
    assert shed.client.put("/v1/company", json={"name": "Tern Yard"}).status_code == 200
    assert "Tern Yard" in shed.client.get(f"{ADDRESS}/order.html").text


def test_what_is_forgotten_is_gone(shed: Stack) -> None:
    """No address of a forgotten plan answers from before."""
    for address in ADDRESSES:
        shed.client.get(address)
    assert shed.client.delete(ADDRESS).status_code == 204
    assert {shed.client.get(address).status_code for address in ADDRESSES} == {404}


def test_a_refusal_is_not_kept(shed: Stack) -> None:
    """A paper that there is not is refused each time, in words."""
    for _ in range(2):
        answer = shed.client.get(f"{ADDRESS}/cut-sheet.pdf?paper=vellum")
        assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-query")


class FullDesk:
    """A desk at which there is no place."""

    def take(self) -> bool:
        """Give none."""
        return False


def test_without_a_place_at_the_desk_or_a_seat_it_is_made_here(shed: Stack) -> None:
    """Whoever is held may wait for a place; a thread does not, for there are few."""
    answer = shed.app.test_client().get(f"{ADDRESS}/cut-sheet.pdf", environ_base={DESK: FullDesk()})
    assert (answer.status_code, answer.data[:5]) == (200, b"%PDF-")


class Asked:
    """A desk that is no more, and what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, bytes]] = []

    def take(self) -> bool:
        """Give a place."""
        return True

    def answer(self, environ: dict[str, Any], body: bytes = b"") -> None:
        """Note what is asked, and do nothing."""
        self.asked.append((environ["PATH_INFO"], body))


def test_what_is_asked_of_a_large_plan_is_made_at_the_desk(shed: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a small one only what takes long by its kind; answers are the same, and another's plan is not known there."""
    pages = [f"/plans/{PLAN}", f"/plans/{PLAN}/list", f"/plans/{PLAN}/pieces/S1-1"]
    addresses = [ADDRESS, f"{ADDRESS}/pieces", f"{ADDRESS}/sticks", f"{ADDRESS}/drawing.svg", f"{ADDRESS}/alternatives"]
    found = []
    for large in (10**6, 0):
        monkeypatch.setattr("service.finished.LARGE", large)
        shed.app.extensions.pop("lapstock.finished", None)
        desk = Asked()
        client = shed.app.test_client()
        found.append([told(client.get(address, environ_base={DESK: desk})) for address in [*addresses, *pages]])
        assert [path for path, _ in desk.asked] == ([] if large else [*addresses, *pages])
    assert found[0] == found[1]
    assert client.get(f"/v1/cut-plans/{'b' * 32}/pieces", environ_base={DESK: desk}).status_code == 404
    assert len(desk.asked) == len(addresses) + len(pages)


def test_a_take_off_is_drawn_at_the_desk(shed: Stack) -> None:
    """It is asked for with the body, and where that was read before, it is there again; so is what is long to read."""
    desk, body = Asked(), json.dumps(MEASURED).encode()
    short, long = (json.dumps({"text": "4 @ 30\n" * lines, "units": "in"}).encode() for lines in (2, 3_000))
    given = ("/v1/takeoffs/sheet.html", body), ("/v1/takeoffs", body), ("/v1/cut-lists", short), ("/v1/cut-lists", long)
    for address, data in (*given, ("/v1/takeoffs", body + b" " * 17_000)):
        answer = shed.app.test_client().post(
            address, data=data, content_type="application/json", environ_base={DESK: desk}
        )
        assert answer.status_code == 200
    assert desk.asked == [given[0], given[3], ("/v1/takeoffs", body + b" " * 17_000)]
    length = {"CONTENT_LENGTH": str(len(body))}
    with shed.app.test_request_context("/v1/takeoffs/sheet.html", method="POST", environ_overrides=length):
        assert apart(lambda: Response(request.get_data()), body).get_data() == body
