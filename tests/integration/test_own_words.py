"""The customer's own words: kept with the plan, opened again as they were written, shown beside what was read."""

from __future__ import annotations

from html import unescape
from typing import Any

import pytest

from service.counter.form import mended, now_of, written_of
from tests.support.forms import fields_of
from tests.support.stack import Stack

LIST = """Hi Dana,
could you cut these for the boat shed:
4 @ 9'6" lap left, A
six of four foot two B
(4) 34 1/2 C
thanks, Robin"""
WORDS = ["4 @ 9'6\" lap left, A", "six of four foot two B", "(4) 34 1/2 C"]
STOCK = {"m0-name": "panel-sand", "m0-s0-length": "12'6", "m0-s0-price": "9.80", "customer": "Robin Tern"}


def planned(running: Stack, fields: dict[str, str]) -> str:
    """Send the page's form and return the plan it leads to, finished."""
    answer = running.client.post("/", data={**fields, "do": "plan"})
    assert answer.status_code == 303, answer.text
    plan = str(answer.location.split("?")[0].rpartition("/")[2])
    running.settled(plan)
    return plan


def typed(running: Stack, text: str, **more: str) -> dict[str, str]:
    """Return the page's form with a list and its stock typed in."""
    return {**fields_of(running.client.get("/").text), **STOCK, "text": text, **more}


def test_a_list_opens_again_as_it_was_written(serving: Stack) -> None:
    """With its greeting, and with the answer by which it was read; what is planned of it untouched is the same."""
    text = LIST.replace("thanks", "2 @ 10.5\nthanks")
    plan = planned(serving, typed(serving, text, **{"answer:n.n": "decimal"}))
    fields = fields_of(serving.client.get(f"/?plan={plan}").text)
    assert fields["text"] == text
    assert fields["answer:n.n"] == "decimal"
    again = planned(serving, fields)
    assert serving.store.job(again) == serving.store.job(plan)
    assert fields_of(serving.client.get(f"/?plan={again}").text)["text"] == text


def test_the_words_stand_beside_what_was_read(serving: Stack) -> None:
    """On the plan's page, on the customer's copy, and in the record."""
    plan = planned(serving, typed(serving, LIST))
    record = serving.client.get(f"/v1/cut-plans/{plan}").json
    assert [line["words"] for line in record["written"]] == WORDS
    assert record["written"][0] == {
        "words": WORDS[0], "read": "4 × 9'-6\", mark A, lapped at the left", "items": [0],
    }  # fmt: skip
    page = serving.client.get(f"/plans/{plan}").text
    copy = serving.client.get(f"/v1/cut-plans/{plan}/customer-copy.html").text
    for shown in map(unescape, (page, copy)):
        assert "six of four foot two B" in shown
        assert "6 × 4'-2" in shown
    assert "Hi Dana," in page


def test_a_line_put_right_keeps_what_the_customer_wrote(serving: Stack) -> None:
    """The mended line is planned; the words are those of the customer, wherever they are shown."""
    fields = typed(serving, "4 @ 9' or so")
    fields = fields_of(serving.client.post("/", data={**fields, "do": "read"}).text)
    assert fields["fix:1"] == "4 @ 9' or so"
    fields = fields_of(serving.client.post("/", data={**fields, "fix:1": "4 @ 9'2", "do": "read"}).text)
    assert fields["text"] == "4 @ 9'2 ⟵ 4 @ 9' or so"
    plan = planned(serving, fields)
    (line,) = serving.client.get(f"/v1/cut-plans/{plan}").json["written"]
    assert (line["words"], line["read"]) == ("4 @ 9' or so", "4 × 9'-2\", mark 1")
    assert fields_of(serving.client.get(f"/?plan={plan}").text)["text"] == fields["text"]


def test_a_list_planned_twice_over_keeps_the_words(serving: Stack) -> None:
    """It opens as it is planned by now, with what was written behind each line."""
    plan = planned(serving, typed(serving, LIST))
    answer = serving.client.post(f"/plans/{plan}", data={"do": "copy", "times": "2"})
    twice = answer.location.split("?")[0].rpartition("/")[2]
    serving.settled(twice)
    text = fields_of(serving.client.get(f"/?plan={twice}").text)["text"]
    assert "12 @ 4'-2\" [B] ⟵ six of four foot two B" in text
    assert [line["words"] for line in serving.client.get(f"/v1/cut-plans/{twice}").json["written"]] == WORDS


def test_the_words_travel_from_the_list_to_the_plan(serving: Stack) -> None:
    """What ``/v1/cut-lists`` answers can be posted as it is, rows of a spreadsheet with their tabs too."""
    text = "Qty\tLength\tMark\n4\t9'6\"\tA\n6\t4'2\"\tB"
    read: Any = serving.client.post("/v1/cut-lists", json={"text": text, "units": "in", "materials": ["sand"]}).json
    assert [item["words"] for item in read["required"]] == ["4\t9'6\"\tA", "6\t4'2\"\tB"]
    material = {"id": "sand", "category": "siding", "stock": [{"id": "12-6", "length": 150}]}
    plan = serving.posted({"units": "in", "materials": [material], "required": read["required"]})
    written = serving.client.get(f"/v1/cut-plans/{plan}").json["written"]
    assert [(line["words"], line["read"]) for line in written] == [
        ("4 9'6\" A", "4 × 9'-6\", mark A"), ("6 4'2\" B", "6 × 4'-2\", mark B"),
    ]  # fmt: skip
    job = serving.store.job(plan)
    assert job is not None
    assert job.required[0].words == "4\t9'6\"\tA"


@pytest.mark.parametrize(("line", "now", "after"), [
    ("4 @ 9' or so", "4 @ 9'2", "4 @ 9'2 ⟵ 4 @ 9' or so"),
    ("4 @ 9'2 ⟵ 4 @ 9' or so", "4 @ 9'4", "4 @ 9'4 ⟵ 4 @ 9' or so"),
    ("4 @ 9'2 ⟵ 4 @ 9' or so", "4 @ 9' or so", "4 @ 9' or so"),
    ("", "4 @ 9'2", "4 @ 9'2"),
])  # fmt: skip
def test_a_line_is_put_right_beside_what_was_written(line: str, now: str, after: str) -> None:
    """However often it is put right, what the customer wrote is what stood there first."""
    assert mended(line, now) == after
    assert (now_of(after), written_of(after)) == (now, written_of(line) or now)
