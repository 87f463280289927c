"""``/v1/cut-lists``: every line of a pasted list comes back read, or with a reason; nothing is guessed or dropped."""

from __future__ import annotations

from base64 import b64encode
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.support.files import workbook
from tests.support.shed import SHED
from tests.support.stack import Stack

EMAIL = (Path(__file__).parent.parent / "data" / "cutlist" / "whole_email.txt").read_text("utf-8")


def read(running: Stack, text: object, **fields: object) -> Any:  # noqa: ANN401
    """Post a list, in inches unless told otherwise."""
    return post(running, text=text, **fields)


def post(running: Stack, **fields: object) -> Any:  # noqa: ANN401
    """Post a request as it is, in inches unless told otherwise."""
    return running.client.post("/v1/cut-lists", json={"units": "in", **fields})


def test_a_line_as_the_contract_has_it(alone: Stack) -> None:
    """``14 @ 9'7"`` is fourteen of 115 in; what it does not say is null."""
    answer = read(alone, "14 @ 9'7\"").json
    found = {"item": 0, "quantity": 14, "length": 115, "text": "9'-7\"", "exact": True, "material": None, "mark": None}
    line = {"line": 1, "kind": "item", "text": "14 @ 9'7\"", "read": found, "also": [], "problem": None}
    assert answer["lines"] == [line]
    assert answer["questions"] == []
    assert answer["required"] == [
        {"mark": "1", "words": "14 @ 9'7\"", "length": 115, "quantity": 14, "left_end": "plain", "right_end": "plain"}
    ]


def test_what_is_ambiguous_throughout_is_asked_once(alone: Stack) -> None:
    """``9-7`` has two readings; the answer in ``assume`` settles every such line."""
    text = "9-7\n6-10\n"
    asked = read(alone, text).json
    assert asked["required"] == []
    assert asked["lines"][0]["read"] is None
    assert asked["lines"][0]["problem"]["readings"] == ["9'-7\"", '9 of 7"']
    assert [(q["notation"], q["lines"]) for q in asked["questions"]] == [("n-n", [1, 2])]
    settled = read(alone, text, assume={"n-n": "feet-inches"}).json
    assert settled["questions"] == []
    assert [(item["quantity"], item["length"]) for item in settled["required"]] == [(1, 115), (1, 82)]


def test_several_pieces_on_one_line(alone: Stack) -> None:
    """The first is ``read``, the others are ``also``, and each knows its place in ``required``."""
    answer = read(alone, "2 @ 8', 3 @ 9' 6\"\n1 @ 34 1/2").json
    first, second = answer["lines"]
    assert [first["read"]["item"], *(item["item"] for item in first["also"]), second["read"]["item"]] == [0, 1, 2]
    assert [item["length"] for item in answer["required"]] == [96, 114, 34.5]


def test_what_was_read_can_be_planned(serving: Stack) -> None:
    """With a material named, ``required`` goes into a request for a cut plan unchanged, ends and room included."""
    text = "4 @ 9' 6\" lap left [A]\n6 @ 4' 2\" [B]\n4 @ 34 1/2 [C], room to 35"
    required = read(serving, text, materials=["panel-sand"]).json["required"]
    assert required[0]["left_end"] == "lap"
    assert required[2]["room"] == 0.5
    answer = serving.post({**SHED, "required": required}, Prefer="wait=30").json
    assert answer["result"]["order_total"] == "58.80"


def test_a_list_may_come_to_more_than_any_one_length(alone: Stack) -> None:
    """Seven thousand pieces of 12 ft are 1,008,000 in."""
    answer = alone.client.post("/v1/cut-lists", json={"text": "7000 @ 12'", "units": "in"})
    assert (answer.status_code, answer.json["account"]["length"]) == (200, 1_008_000)


def test_a_whole_email(alone: Stack) -> None:
    """Every line of it comes back, in order and as it came, and the answer is as documented."""
    answer = read(alone, EMAIL, materials=["panel sand"]).json
    assert [line["text"] for line in answer["lines"]] == EMAIL.split("\n")
    contract = alone.client.get("/openapi.json").json
    schema = {"$ref": "#/components/schemas/CutList", "components": contract["components"]}
    assert list(Draft202012Validator(schema).iter_errors(answer)) == []


@pytest.mark.parametrize(("fields", "pointer", "words"), [
    ({"text": 5}, "#/text", "must be text"),
    ({"text": "\n" * 10_000}, "#/text", "must have 10000 lines at most"),
    ({"text": "1 @ 10'\n" * 5_001}, "#/text", "has 5001 items; one plan takes 5000"),
    ({"units": "hand"}, "#/units", "must be one of"),
    ({"materials": [""]}, "#/materials/0", "characters"),
    ({"assume": "n-n"}, "#/assume", "must be an object"),
    ({"assume": {"n-n": "cubits"}}, "#/assume/n-n", "must be one of: feet-inches"),
    ({"assume": {"n+n": "feet-inches"}}, "#/assume/n+n", "is no notation"),
    ({"colour": "sand"}, "#/colour", "unknown field"),
])  # fmt: skip
def test_a_wrong_request_is_refused(alone: Stack, fields: dict[str, object], pointer: str, words: str) -> None:
    """What is wrong with the request itself is 422 with a pointer."""
    answer = read(alone, **{"text": "4 @ 8'", **fields})
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == [pointer]
    assert words in answer.json["errors"][0]["detail"]


@pytest.mark.parametrize("text", [
    "<script>alert(1)</script>", '=HYPERLINK("http://shop.example","4 @ 8")', "\u202e4 @ 8'\u202c",
    "\x00\x01\x1b[31m 4 @ 8'", "prose without any number " * 30_000, "\N{THUMBS UP SIGN}", "",
])  # fmt: skip
def test_hostile_text_is_only_text(alone: Stack, text: str) -> None:
    """Script, formulas, marks of direction, control characters and prose come back as they were."""
    answer = read(alone, text)
    assert answer.status_code == 200, answer.text
    assert [line["text"] for line in answer.json["lines"]] == [text]


def test_a_list_of_too_many_characters(alone: Stack) -> None:
    """A million characters are a hundred in each line there may be; beyond that the text itself is the fault."""
    (error,) = read(alone, "4 @ 8'" + " " * 1_000_000).json["errors"]
    assert (error["pointer"], error["detail"]) == ("#/text", "must have 1000000 characters at most")


def test_a_list_beyond_the_limit_of_a_body(alone: Stack) -> None:
    """More than four mebibytes are 413, with the limit named."""
    answer = read(alone, "4 @ 8'\n" * 800_000)
    assert answer.status_code == 413
    assert "4194304 bytes" in answer.json["detail"]


def test_a_workbook_is_read_row_by_row(alone: Stack) -> None:
    """A file comes in base64; each line says its sheet and row, a problem its cell, and the account their sum."""
    rows = [["Qty", "Length", "Color"], ["4", "115", "sand"], ["6", "error:#REF!", "sand"], ["10", "", "total"]]
    data = b64encode(workbook({"North": rows, "Notes": [["call first"]]})).decode()
    answer = post(alone, file=data, materials=["sand"]).json
    assert [line.get("place") for line in answer["lines"]] == [
        None,
        {"sheet": "North", "row": 1, "cell": None},
        {"sheet": "North", "row": 2, "cell": None},
        {"sheet": "North", "row": 3, "cell": "B3"},
        {"sheet": "North", "row": 4, "cell": None},
        None,
        {"sheet": "Notes", "row": 1, "cell": None},
    ]
    assert [(item["quantity"], item["length"]) for item in answer["required"]] == [(4, 115)]
    account = answer["account"]
    assert (account["lines"], account["read"], account["refused"], account["pieces"], account["length"]) == (
        7, 1, 1, 4, 460,
    )  # fmt: skip


def test_a_file_that_is_no_list_is_refused(alone: Stack) -> None:
    """With its field, a code and what to do; both or neither of text and file are an error too."""
    refused = post(alone, file=b64encode(bytes(range(256))).decode())
    (error,) = refused.json["errors"]
    assert (refused.status_code, error["pointer"], error["code"]) == (422, "#/file", "unreadable_file")
    for both in ({}, {"text": "4 @ 10'", "file": ""}):
        assert post(alone, **both).json["errors"][0]["pointer"] == "#/text"


def test_courses_can_be_planned_with_their_wall(serving: Stack) -> None:
    """``required`` and ``walls`` go into a request together: the laps of six courses keep their distance."""
    answer = read(serving, "N wall\n6 courses of 27'4 between channels", materials=["panel-sand"]).json
    body = {**SHED, "required": answer["required"], "walls": answer["walls"]}
    plan = serving.post(body, Prefer="wait=30").json
    runs = plan["result"]["materials"][0]["runs"]
    assert [(run["wall"], run["course"]) for run in runs] == [("N wall", course) for course in range(1, 7)]
    assert plan["result"]["warnings"] == []
