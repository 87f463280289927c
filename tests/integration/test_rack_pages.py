"""The rack and the rest of a plan on pages that work without a script: what is typed there, and what is refused."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

from tests.support.shed import SHED
from tests.support.stack import Stack

FORM = {"units": "in", "count": "1", "factory_end": "none", "do": "put"}


def put(serving: Stack, **typed: str) -> Any:  # noqa: ANN401 - answers are pages
    """Return the page after something was put on the rack by hand."""
    return serving.client.post("/rack", data=FORM | typed, follow_redirects=True)


def words(page: Any) -> str:  # noqa: ANN401
    """Return what a page says, without its tags."""
    text = unescape(re.sub(r"<[^>]+>", " ", page.text)).replace("\N{NO-BREAK SPACE}", " ")
    return " ".join(text.split())


def test_what_is_put_there_is_listed_with_its_page_and_label(serving: Stack) -> None:
    """By hand, with a note; its label's code leads to its own page, where it is used up."""
    page = put(serving, material="page-1", length="61 1/2", label="P 1", note="by the door", count="2")
    assert page.status_code == 200
    assert "5'-1 1/2\" × 2 P 1 put there by hand" in words(page)
    one = serving.client.get("/rack/P%201")
    assert "by the door" in words(one)
    assert serving.client.get("/v1/rack/labels.pdf?material=page-1").content_type == "application/pdf"
    refused = serving.client.post("/rack/P%201", data={"count": "3"})
    assert (refused.status_code, "of P 1 there are 2; 3 can't be taken" in words(refused)) == (422, True)
    assert serving.client.post("/rack/P%201", data={"count": "2"}).status_code == 303
    assert serving.client.get("/rack/P%201").status_code == 404


def test_what_can_t_be_is_said_beside_its_field(serving: Stack) -> None:
    """A length that is none, and a label that something has; what was typed stands there still."""
    page = put(serving, material="page-2", length="long", label="P2")
    assert page.status_code == 422
    assert "Length: " in words(page)
    assert 'value="long"' in page.text
    put(serving, material="page-2", length="60", label="P2")
    again = put(serving, material="page-2", length="60", label="P2")
    assert "Label: P2 lies on the rack already" in words(again)
    assert "is no plan" in words(put(serving, **{"do": "keep", "from": "x/y/z"}))


def test_a_plan_gives_what_it_keeps_from_its_page(serving: Stack) -> None:
    """Two B leave 50 in: the button puts it there once."""
    panel = SHED["materials"][0] | {"id": "page-3"}
    body = {"units": "in", "materials": [panel],
            "required": [{"material": "page-3", "length": "4' 2\"", "quantity": 2}]}  # fmt: skip
    plan_id = serving.posted(body, Prefer="wait=30")
    assert "Put it on the rack" in serving.client.get(f"/plans/{plan_id}").text
    for said in ("It lies there now.", "it lies there already"):
        page = serving.client.post("/rack", data={"do": "keep", "from": plan_id}, follow_redirects=True)
        assert said in words(page)
    assert serving.client.get("/v1/rack?material=page-3").json["count"] == 1


def test_a_list_may_use_the_rack_and_a_change_of_it_takes_its_place(serving: Stack) -> None:
    """Ticked on the page it holds the offcut; the list changed, the new plan has it and the old one says so."""
    put(serving, material="siding panel", length="61 1/2", label="P4")
    typed = {"text": "1 @ 4' 2\"", "units": "in", "m0-name": "siding panel", "m0-category": "siding", "rack": "1",
             "m0-s0-length": "12' 6\"", "m0-s0-price": "9.80", "token": "a-token-of-ours", "do": "plan"}  # fmt: skip
    first = serving.client.post("/", data=typed)
    assert first.status_code == 303, words(first)
    plan_id = first.headers["Location"].rpartition("/")[2]
    serving.settled(plan_id)
    assert 'id="rack" name="rack" value="1" checked' in serving.client.get(f"/?plan={plan_id}").text
    second = serving.client.post("/", data=typed | {"text": "1 @ 4'", "plan": plan_id})
    other = second.headers["Location"].rpartition("/")[2]
    serving.settled(other)
    number = serving.client.get(f"/v1/cut-plans/{other}").json["number"]
    (piece,) = serving.client.get("/v1/rack/P4").json["pieces"]
    assert [hold["by"] for hold in piece["held"]] == [f"plan {number}"]
    assert f"Plan {number} took the place of this one" in words(serving.client.get(f"/plans/{plan_id}"))


def test_the_rest_of_a_plan_is_planned_from_its_page(serving: Stack) -> None:
    """Of six panels one broke, with 100 in left of it, and one did not come: 700 in are there and 898 are wanted."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    page = serving.client.get(f"/plans/{plan_id}/continue")
    assert "Ticked so far, of 14 pieces: 0 cut." in words(page)
    refused = serving.client.post(f"/plans/{plan_id}/continue", data={"missing-0": "7", "broken": "S9\nS5 13'"})
    assert refused.status_code == 422
    said = words(refused)
    assert "S9 is no stick of this plan" in said
    assert "7 of 12-6 of panel-sand can't be missing: 5 are neither cut nor broken" in said
    assert "S5 13'" in said
    gone_on = serving.client.post(f"/plans/{plan_id}/continue", data={"missing-0": "1", "broken": "s5: 100"})
    assert gone_on.status_code == 303, words(gone_on)
    rest = gone_on.headers["Location"].rpartition("/")[2]
    serving.settled(rest)
    assert serving.client.get(f"/v1/cut-plans/{rest}").json["result"]["order_total"] == "19.60"
    assert "The rest of plan" in words(serving.client.get(f"/plans/{rest}"))
    assert "took the place of this one" in words(serving.client.get(f"/plans/{plan_id}/list"))
