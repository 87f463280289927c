"""``/v1/customers/{customer}/answers``: what was answered for one list of a customer holds for the next."""

from __future__ import annotations

from typing import Any

from tests.support.stack import Stack

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
