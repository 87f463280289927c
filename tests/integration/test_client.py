"""The client for other programs, against a served app with a real Redis and real workers."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import requests
from click.testing import CliRunner

from service.cli import main
from service.client import Client, Refused, Unreachable
from tests.support.chromium import served
from tests.support.measured import MEASURED
from tests.support.shed import SHED
from tests.support.stack import Stack, stack


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation with one worker."""
    with stack(tmp_path_factory.mktemp("client")) as running:
        running.start_worker()
        yield running


@pytest.fixture(scope="module")
def address(installed: Stack) -> Iterator[str]:
    """Yield its address."""
    with served(installed.app) as where:
        yield where


@pytest.fixture
def client(address: str) -> Iterator[Client]:
    """Yield a client of it."""
    with Client(address) as caller:
        yield caller


def test_from_request_to_order(client: Client) -> None:
    """The shed takes six panels, 58.80; its sheets and sticks are there, and its plan is found again."""
    plan = client.plan({**SHED, "particulars": {"customer": "Tern Boats"}})
    assert plan["result"]["order_total"] == "58.80"
    assert [stick["stick"] for stick in client.sticks(plan["id"])] == ["S1", "S2", "S3", "S4", "S5", "S6"]
    assert client.sheet(plan["id"], "cut-sheet.pdf").startswith(b"%PDF")
    assert b"58.80" in client.sheet(plan["id"], "order.csv")
    assert [found["id"] for found in client.plans(customer="Tern Boats")] == [plan["id"]]
    assert client.check_plan(SHED, plan["result"])["right"] is True
    client.forget(plan["id"])
    client.forget(plan["id"])
    with pytest.raises(Refused, match="404") as caught:
        client.look(plan["id"])
    assert caught.value.kind == "not-found"


def test_many_at_once(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """More than go into one batch: an answer for each, in their order; sent again they are the same plans."""
    monkeypatch.setattr("service.client._BATCH", 3)
    answers = client.submit_all([SHED, {}, *[SHED] * 5], once="all-of-today")
    assert [bool(answer["plan"]) for answer in answers] == [True, False, *[True] * 5]
    again = client.submit_all([SHED, {}, *[SHED] * 5], once="all-of-today")
    ids = [answer["plan"]["id"] for answer in answers if answer["plan"]]
    assert [answer["plan"]["id"] for answer in again if answer["plan"]] == ids
    assert len(set(ids)) == 6
    assert client.wait(answers[6]["plan"]["id"])["result"]["order_total"] == "58.80"


def test_a_list_planned_other_ways(client: Client) -> None:
    """The shed from panels of 150 in and of 200 in, and from either alone: six short ones, or five long ones.

    With few ways to cut them it takes four long ones and a short one more: 57.80.
    """
    short, long = SHED["materials"][0]["stock"][0], {"id": "16-8", "length": 200, "price": "12.00"}
    plan = client.plan({**SHED, "materials": [{**SHED["materials"][0], "stock": [short, long]}]})
    bills = [one["order_total"] for one in client.alternatives(plan["id"])]
    assert bills == ["55.60", "58.80", "60.00", "57.80"]


def test_progress_ends_with_the_plan(client: Client) -> None:
    """Each change is told of once; the last is how it ended, and stopping what is over changes nothing."""
    submitted = client.submit(SHED, once="shed-of-today")
    assert client.submit(SHED, once="shed-of-today")["id"] == submitted["id"]
    changes = list(client.progress(submitted["id"]))
    assert changes[-1]["state"] == "succeeded"
    assert len({change.etag for change in changes}) == len(changes)
    assert client.cancel(submitted["id"])["state"] == "succeeded"


def test_measured_and_pasted(client: Client) -> None:
    """Measurements come to a plan or to a request; a list to its items."""
    quickly = {**MEASURED, "limits": {"seconds": 1}}
    assert client.wait(client.submit_measured(quickly)["id"])["state"] == "succeeded"
    assert client.take_off(MEASURED)["required"]
    assert client.read_list("4 @ 9' 6\"", "in")["required"][0]["quantity"] == 4


def test_a_request_is_checked_and_not_planned(client: Client) -> None:
    """What it leaves out is answered with it, every fault at once; no plan is made of it."""
    before = len(list(client.plans()))
    checked = client.check_request(SHED)
    assert checked["materials"][0]["lap"] == 1
    assert client.check_request(checked) == checked
    with pytest.raises(Refused) as caught:
        client.check_request({**SHED, "untis": "in", "name": 3})
    assert {error["pointer"] for error in caught.value.errors} == {"#/untis", "#/name"}
    assert len(list(client.plans())) == before
    with pytest.raises(Refused, match="dry_run is true or false"):
        client._transport.resource("POST", "/v1/cut-plans", SHED, query={"dry_run": "maybe"})


def test_a_week(client: Client) -> None:
    """A week changed by somebody else meanwhile is not written over."""
    materials = SHED["materials"]
    body = {"units": "in", "materials": materials, "deliveries": [{"date": "2100-03-15"}], "limits": {"carry": 4}}
    first = client.put_week("terns", "2100-W11", body)
    job = {"date": "2100-03-15", "name": "shed", "required": SHED["required"]}
    assert client.put_job("terns", "2100-W11", "shed", job)["jobs"][0]["name"] == "shed"
    with pytest.raises(Refused, match="412"):
        client.put_week("terns", "2100-W11", body, etag=first.etag)
    assert client.plan_week("terns", "2100-W11", wait=30)["week"] == client.week("terns", "2100-W11")["week"]
    assert len(client.runs("terns", "2100-W11")["runs"]) == 1
    delivered = client.put_delivery("terns", "2100-W11", "2100-03-16", {})
    assert [day["date"] for day in delivered["deliveries"]] == ["2100-03-15", "2100-03-16"]
    client.withdraw("terns", "2100-W11", "shed")
    assert client.week("terns", "2100-W11")["jobs"] == []
    client.drop_week("terns", "2100-W11")
    with pytest.raises(Refused, match="404"):
        client.week("terns", "2100-W11")
    client.put_week("terns & sons?", "2100-W11", body)
    assert client.week("terns & sons?", "2100-W11")["crew"] == "terns & sons?"


def test_the_catalogue_and_the_rack(client: Client) -> None:
    """What is kept is found, given out as a table, taken in again and dropped; a stick on the rack is used up."""
    client.put_material("panel-sand", {**SHED["materials"][0], "units": "in"})
    assert [found["id"] for found in client.materials(q="sand")] == ["panel-sand"]
    table = client.price_list().replace(b"9.80", b"9.90")
    assert client.take_prices_in(table)
    assert client.material("panel-sand")["stock"][0]["price"] == "9.90"
    client.drop_material("panel-sand")
    assert list(client.materials(q="sand")) == []
    piece = {"label": "R 18", "material": "panel-sand", "length": 61.5, "count": 3}
    client.put_on_rack({"units": "in", "pieces": [piece]})
    assert [(one["label"], one["count"]) for one in client.rack()] == [("R 18", 3)]
    client.use_up("R 18", 2)
    assert [one["count"] for one in client.rack()] == [1]


def test_a_plan_gone_on_with(client: Client) -> None:
    """Of the shed the first stick is cut; the rest is a plan of its own, out of the five panels that are there."""
    plan = client.plan(SHED)
    assert client.amend(plan["id"], {"customer": "Tern Cottage"})["particulars"]["customer"] == "Tern Cottage"
    labels = [piece["piece"] for piece in client.pieces(plan["id"])["pieces"] if piece["piece"].startswith("S1-")]
    rest = client.wait(client.go_on(plan["id"], {"cut": labels})["id"])
    assert (rest["made_from"], rest["result"]["order_total"]) == (plan["number"], "0.00")


class Late(requests.adapters.BaseAdapter):
    """A server that is busy twice, then gone once, then answers."""

    def __init__(self) -> None:
        super().__init__()
        self.answers: list[tuple[int, Mapping[str, str]] | None] = [(429, {"Retry-After": "7"}), (503, {}), None]
        self.keys: list[str | None] = []

    def send(self, request: requests.PreparedRequest, *_: Any, **__: Any) -> requests.Response:  # noqa: ANN401
        """Answer in turn."""
        self.keys.append(request.headers.get("Idempotency-Key"))
        answer = requests.Response()
        answer.status_code, headers, answer._content = 202, {}, b'{"id": "1"}'
        if self.answers:
            planned = self.answers.pop(0)
            if planned is None:
                raise requests.ConnectionError("gone")
            answer.status_code, headers = planned[0], dict(planned[1])
        answer.headers.update(headers)
        return answer

    def close(self) -> None:
        """Have nothing to close."""


def test_retries_wait_as_they_are_asked_to() -> None:
    """Seven seconds as Retry-After says, else a quarter, half and whole second; one key for all tries."""
    pauses: list[float] = []
    late = Late()
    client = Client("http://busy", sleep=pauses.append)
    client._transport._session.mount("http://busy", late)
    assert client.submit(SHED)["id"] == "1"
    assert pauses == [7, 0.5, 1]
    assert len(set(late.keys)) == 1
    late.answers = [None] * 5
    with pytest.raises(Unreachable, match="http://busy does not answer"):
        client.look("1")
    late.answers = [None]
    with pytest.raises(Unreachable):
        client.take_off(MEASURED)


def test_from_the_shell(address: str, tmp_path: Path) -> None:
    """Submit, status and fetch; bad input, an id that is none and a server that is none end with their codes."""
    shell = CliRunner()
    request = tmp_path / "shed.json"
    request.write_text(json.dumps(SHED))
    there = ["--server", address]
    waited = shell.invoke(main, ["submit", str(request), "--wait", *there])
    assert waited.exit_code == 0
    plan = json.loads(waited.stdout)
    assert shell.invoke(main, ["status", plan["id"], *there]).stdout == f"{plan['number']}\tsucceeded\t58.8\t58.8\n"
    told = json.loads(shell.invoke(main, ["status", plan["id"], "--json", *there]).stdout)
    assert (told["number"], told["state"], told["progress"]["cost"]) == (plan["number"], "succeeded", 58.8)
    assert "58.80" in shell.invoke(main, ["fetch", plan["id"], "order.csv", *there]).stdout
    assert json.loads(shell.invoke(main, ["fetch", plan["id"], *there]).stdout)["id"] == plan["id"]
    piped = shell.invoke(main, ["submit", "-", *there], input=json.dumps({**SHED, "untis": "in"}))
    assert (piped.exit_code, "#/untis: unknown field; did you mean units?" in piped.stderr) == (2, True)
    assert shell.invoke(main, ["submit", "-", *there], input="4 @ 60").exit_code == 2
    assert shell.invoke(main, ["status", "no-plan", *there]).exit_code == 2
    assert shell.invoke(main, ["status", "1", "--server", "http://127.0.0.1:1"]).exit_code == 1
