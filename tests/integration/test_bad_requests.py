"""Every file in ``tests/data/bad_requests`` is a request with the defect it is named after.

A file says what is sent (``raw`` text, ``hex`` bytes, or the shed request with values ``set`` at paths or
its text patched) and what must be answered. No defect may reach the queue.
"""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from service.wire.codes import ERRORS
from tests.support.shed import SHED, shed, shed_with
from tests.support.stack import Stack, stack
from workers.queues import depths

FOLDER = Path(__file__).parent.parent / "data" / "bad_requests"


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation without workers, so that whatever reached the queue would still be there."""
    with stack(tmp_path_factory.mktemp("desk") / "data") as running:
        yield running


def body_of(case: dict[str, Any]) -> bytes:
    """Return the bytes a case sends."""
    if "raw" in case:
        return str(case["raw"]).encode("utf-8")
    if "hex" in case:
        return bytes.fromhex(case["hex"])
    if "repeat" in case:
        text, times = case["repeat"]
        return str(text * times).encode()
    if "repeat_number" in case:
        path, digits = case["repeat_number"]
        return json.dumps(shed_with(path, "DIGITS")).replace('"DIGITS"', "9" * digits).encode()
    if "patch" in case:
        text = json.dumps(SHED)
        for before, after in case["patch"].items():
            assert before in text
            text = text.replace(before, after, 1)
        return text.encode()
    return json.dumps(_changed(case["set"])).encode()


def _changed(changes: dict[str, Any]) -> Any:  # noqa: ANN401
    request: Any = json.loads(json.dumps(SHED))
    for path, value in changes.items():
        *above, last = (int(step) if step.isdigit() else step for step in path.split("/"))
        place = request
        for step in above:
            place = place[step]
        place[last] = value
    return request


@pytest.mark.parametrize("file", sorted(FOLDER.glob("*.json")), ids=lambda file: file.stem)
def test_the_defect_is_named_and_nothing_is_queued(desk: Stack, file: Path) -> None:
    """The answer has the status and the pointers that the file expects, in problem details."""
    case = json.loads(file.read_text(encoding="utf-8"))
    body = body_of(case)
    headers = {"Content-Type": "application/json", "Content-Length": str(len(body))}
    answer = desk.client.post("/v1/cut-plans", data=body, headers=headers)
    assert (answer.status_code, answer.content_type) == (case["status"], "application/problem+json")
    if "pointers" in case:
        assert sorted({error["pointer"] for error in answer.json["errors"]}) == sorted(case["pointers"])
        assert {error["code"] for error in answer.json["errors"]} <= set(ERRORS)
    assert sum(depths(desk.store.redis).values()) == 0
    assert desk.store.counts() == (0, 0)


def test_an_ambiguous_length_names_both_readings(desk: Stack) -> None:
    """9-7 may be nine feet seven or nine of seven inches; the error says so and guesses nothing."""
    (error,) = desk.post(shed_with("required/0/length", "9-7")).json["errors"]
    assert (error["code"], error["readings"]) == ("ambiguous_length", ["9'-7\"", '9 of 7"'])


@pytest.mark.parametrize("media_type", ["text/plain", "application/x-www-form-urlencoded", "text/json", ""])
def test_another_media_type_is_refused(desk: Stack, media_type: str) -> None:
    """Only application/json is read."""
    answer = desk.client.post("/v1/cut-plans", data=json.dumps(SHED), content_type=media_type)
    assert (answer.status_code, answer.json["type"]) == (415, "/problems/not-accepted")


@pytest.mark.parametrize("charset", ["utf-8", "UTF-8", '"utf-8"', "us-ascii"])
def test_a_charset_that_is_so_does_not_matter(desk: Stack, charset: str) -> None:
    """application/json with a charset that UTF-8 has in it is application/json."""
    kind = f"application/json; charset={charset}"
    answer = desk.client.post("/v1/cut-plans", data=json.dumps(SHED), content_type=kind)
    assert answer.status_code == 202
    desk.client.post(answer.headers["Location"] + "/cancel")


@pytest.mark.parametrize("charset", ["latin-1", "iso-8859-1", "utf-16", "windows-1252"])
def test_another_charset_is_refused(desk: Stack, charset: str) -> None:
    """A body that says it is Latin-1 must not be read as UTF-8: its inch marks would be others."""
    kind = f"application/json; charset={charset}"
    answer = desk.client.post("/v1/cut-plans", data=json.dumps(SHED), content_type=kind)
    assert (answer.status_code, answer.json["type"]) == (415, "/problems/not-accepted")
    assert "utf-8" in answer.json["detail"]


@pytest.mark.parametrize("coding", ["gzip", "br", "gzip, identity"])
def test_a_compressed_body_is_refused_with_what_is_taken(desk: Stack, coding: str) -> None:
    """RFC 9110, 15.5.16: 415, and Accept-Encoding says which coding is taken."""
    headers = {"Content-Encoding": coding, "Content-Type": "application/json"}
    answer = desk.client.post("/v1/cut-plans", data=gzip.compress(json.dumps(SHED).encode()), headers=headers)
    assert (answer.status_code, answer.headers["Accept-Encoding"]) == (415, "identity")
    assert "content coding" in answer.json["detail"]


def test_a_body_in_the_coding_identity_is_as_it_is(desk: Stack) -> None:
    """Identity is no coding."""
    answer = desk.post(SHED, Content_Encoding="identity")
    assert answer.status_code == 202
    desk.client.post(answer.headers["Location"] + "/cancel")


def test_a_body_without_its_length_is_refused(desk: Stack) -> None:
    """Without Content-Length, as some servers hand on chunked bodies, it is not known where a body ends."""
    answer = desk.client.post("/v1/cut-plans", content_type="application/json")
    assert (answer.status_code, answer.json["type"]) == (411, "/problems/length-required")


def test_a_large_body_is_refused_with_the_limit(desk: Stack) -> None:
    """Beyond four MiB the answer is 413 and names the limit, and so does the contract."""
    answer = desk.client.post("/v1/cut-plans", data=b" " * (2**22 + 1), content_type="application/json")
    assert (answer.status_code, answer.json["type"]) == (413, "/problems/too-large")
    assert "4194304" in answer.json["detail"]
    contract = desk.client.get("/openapi.json").json
    assert "4194304 bytes at most" in contract["paths"]["/v1/cut-plans"]["post"]["requestBody"]["description"]


def test_as_many_lines_as_are_allowed_fit_into_a_body(desk: Stack) -> None:
    """5,000 lines with everything a line mostly has, written with the spaces that people want, are accepted."""
    line = {
        "mark": "A-0001", "ref": "row 1 of the estimate, north side", "material": "panel-sand", "length": "9' 7 1/2\"",
        "quantity": 1, "left_end": "channel", "right_end": "channel", "wall": "north", "start": 0, "first_course": 1,
        "courses": 1, "keep_clear": [{"from": "8' 2\"", "to": "9' 2\"", "first": 2, "last": 2}],
    }  # fmt: skip
    body = json.dumps(shed(walls=[{"id": "north"}], required=[line] * 5_000), indent=1).encode()
    assert len(body) > 1.4 * 2**20
    answer = desk.client.post("/v1/cut-plans", data=body, content_type="application/json")
    assert answer.status_code == 202, answer.text[:300]
    desk.client.post(answer.headers["Location"] + "/cancel")


@pytest.mark.parametrize(("list_", "pointer"), [
    (b'{"required":[' + b"{}," * 1_000_000 + b"{}]}", "#/required"),
    (b'{"materials":[{"stock":[' + b"1," * 1_500_000 + b"1]}]}", "#/materials/0/stock"),
    (b'{"required":[{"keep_clear":[' + b"{}," * 1_000_000 + b"{}]}]}", "#/required/0/keep_clear"),
])  # fmt: skip
@pytest.mark.timeout(60)
def test_nobody_looks_into_a_list_that_is_too_long(desk: Stack, list_: bytes, pointer: str) -> None:
    """Three bytes an entry: each would cost a schema, a million of them minutes. The list itself is the fault."""
    answer = desk.client.post("/v1/cut-plans", data=list_, content_type="application/json")
    assert answer.status_code == 422
    assert pointer in [error["pointer"] for error in answer.json["errors"]]
    assert not any(error["pointer"].startswith(f"{pointer}/") for error in answer.json["errors"])


@pytest.mark.timeout(60)
def test_nobody_looks_further_than_enough_entries_are_faulty(desk: Stack) -> None:
    """5,000 lines with 200 empty stretches each: a million faults, of which the first are sought and told."""
    body = b'{"required":[' + b",".join([b'{"keep_clear":[' + b",".join([b"{}"] * 200) + b"]}"] * 5_000) + b"]}"
    answer = desk.client.post("/v1/cut-plans", data=body, content_type="application/json")
    assert (answer.status_code, len(answer.json["errors"])) == (422, 200)


def test_thousands_of_faults_are_cut_short(desk: Stack) -> None:
    """A body with five thousand faults is told of the first ones, and that there are more."""
    lines = [{"material": "panel-sand", "length": -1} for _ in range(5000)]
    answer = desk.post(shed_with("required", lines)).json
    assert len(answer["errors"]) == 200
    assert answer["detail"] == "The request has more than 200 errors. The first 200 are listed."


@pytest.mark.parametrize(("method", "address", "status"), [
    ("PUT", "/v1/cut-plans/0", 405), ("GET", "/nowhere", 404),
    ("GET", "/v1/cut-plans/none", 404), ("GET", "/v1/cut-plans/%00", 404), ("GET", "/problems/none", 404),
])  # fmt: skip
def test_wrong_addresses_are_problems_too(desk: Stack, method: str, address: str, status: int) -> None:
    """Whatever goes wrong outside a body has the same shape."""
    answer = desk.client.open(address, method=method)
    assert (answer.status_code, answer.content_type) == (status, "application/problem+json")
    assert answer.json["status"] == status


@pytest.mark.parametrize("query", ["limit=0", "limit=x", "limit=-1", "after=-1", "limit=9999999999999999", "limit=²"])
def test_a_query_string_that_can_not_be_read(serving: Stack, query: str) -> None:
    """Paging parameters are whole numbers within limits."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    answer = serving.client.get(f"/v1/cut-plans/{plan_id}/sticks?{query}")
    assert (answer.status_code, answer.json["type"]) == (400, "/problems/malformed-query")
