"""``/v1/customers/{customer}/answers``: what was answered for one list of a customer holds for the next."""

from __future__ import annotations

from typing import Any

import pytest

from tests.support.stack import Stack
from workers.orders import company

ANSWERS = {"answers": {"n-n": "feet-inches"}}


def read(running: Stack, customer: str, **fields: object) -> Any:  # noqa: ANN401
    """Have ``9-7`` read for a customer."""
    body = {"text": "9-7", "units": "in", "customer": customer, **fields}
    return running.client.post("/v1/cut-lists", json=body).json


def test_kept_answers_settle_the_next_list(alone: Stack) -> None:
    """One of 9'-7" for whoever writes feet and inches so, by any spelling of the name; others are asked."""
    assert read(alone, "Dana Whitlock")["questions"] != []
    assert alone.client.put("/v1/customers/Dana Whitlock/answers", json=ANSWERS).json == ANSWERS
    settled = read(alone, " dana  whitlock")
    assert [(item["quantity"], item["length"]) for item in settled["required"]] == [(1, 115)]
    assert settled["kept"] == [{"notation": "n-n", "answer": "feet-inches"}]
    assert read(alone, "Rob Tern")["questions"] != []
    alone.client.delete("/v1/customers/Dana Whitlock/answers")
    assert read(alone, "Dana Whitlock")["questions"] != []


def test_an_answer_of_the_list_goes_before_one_that_is_kept(alone: Stack) -> None:
    """This once 9-7 is nine of seven."""
    alone.client.put("/v1/customers/Ann/answers", json=ANSWERS)
    once = read(alone, "Ann", assume={"n-n": "quantity-length"})
    assert [(item["quantity"], item["length"]) for item in once["required"]] == [(9, 7)]
    assert once["kept"] == []


def test_what_is_about_one_list_is_not_kept(alone: Stack) -> None:
    """Whether quoted pieces were wanted says nothing of the next letter."""
    (error,) = alone.client.put("/v1/customers/Ann/answers", json={"answers": {"quoted": "wanted"}}).json["errors"]
    assert (error["pointer"], error["code"]) == ("#/answers/quoted", "not_a_choice")


def test_only_so_many_customers_are_kept(alone: Stack, monkeypatch: pytest.MonkeyPatch) -> None:
    """The one whose answers were put longest ago is forgotten for a new one."""
    monkeypatch.setattr(company, "MOST_CUSTOMERS", 2)
    for name in ("Ann", "Rob", "ann", "Pat"):
        alone.client.put(f"/v1/customers/{name}/answers", json=ANSWERS)
    kept = [alone.client.get(f"/v1/customers/{name}/answers").json["answers"] for name in ("Ann", "Rob", "Pat")]
    assert kept == [ANSWERS["answers"], {}, ANSWERS["answers"]]


FORM = {"text": "9-7\n6-10", "units": "in", "m0-name": "", "m0-category": "siding", "m0-s0-length": "12' 6\""}
ANSWERED = {**FORM, "answer:n-n": "feet-inches"}


def test_the_page_keeps_answers_if_that_is_asked_for(serving: Stack) -> None:
    """Ticked, the answer holds for the customer's next list; it can be answered otherwise, and forgotten."""
    post = serving.client.post
    assert "Keep these answers" not in post("/", data={**FORM, "do": "read"}).text
    assert "Keep these answers for" in post("/", data={**ANSWERED, "do": "read"}).text
    nobody = post("/", data={**ANSWERED, "keep_answers": "1", "do": "plan"})
    assert (nobody.status_code, "Say whose answers" in nobody.text) == (422, True)
    named = {**ANSWERED, "customer": "Pat Fern"}
    assert post("/", data={**named, "do": "plan"}).status_code == 303
    assert serving.client.get("/v1/customers/Pat Fern/answers").json == {"answers": {}}
    assert post("/", data={**named, "keep_answers": "1", "do": "plan"}).status_code == 303
    assert serving.client.get("/v1/customers/Pat Fern/answers").json == ANSWERS
    next_list = post("/", data={**FORM, "customer": "Pat Fern", "do": "read"}).text
    assert "Read as <b>feet and inches</b>, as kept for <bdi>Pat Fern</bdi>" in next_list
    assert "2 pieces read, every line clear." in next_list
    forgotten = post("/", data={**FORM, "customer": "Pat Fern", "do": "forget-answers"}).text
    assert "0 pieces read; 2 lines need a look." in forgotten
