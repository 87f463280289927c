"""From POST to the answer through the real queue, a real worker process and a real Redis."""

from __future__ import annotations

import pytest

from tests.support.shed import SHED, shed_with
from tests.support.stack import Stack


def test_the_shed_is_planned_and_proven(serving: Stack) -> None:
    """The contract's own example comes back with the contract's own figures."""
    answer = serving.post(SHED, Prefer="wait=30")
    assert answer.status_code == 200
    assert answer.headers["Preference-Applied"] == "wait=30"
    result = answer.json["result"]
    panel = result["materials"][0]
    assert (result["status"], result["stopped_by"], result["waste_percent"]) == ("optimal", "proof", 0.22)
    assert (panel["sticks"], panel["cost"], panel["bound"], panel["proven"]) == (6, 58.8, 58.8, True)
    assert (panel["bought_length"], panel["used_length"], panel["lap_length"]) == (900, 898, 4)
    assert (panel["kept_length"], panel["scrap_length"], panel["offcut_length"]) == (0, 2, 0)
    assert result["order_total"] == "58.80"
    assert answer.json["progress"] == {
        "cost": 58.8, "bound": 58.8, "phase": None, "cost_unit": "money", "left_out": [],
    }  # fmt: skip


def test_the_shed_is_cut_as_in_the_contract(serving: Stack) -> None:
    """Four panels give 9'-7" and 34 1/2", the lapped piece at the left factory end; two give 3 x 4'-2"."""
    patterns = serving.post(SHED, Prefer="wait=30").json["result"]["materials"][0]["patterns"]
    assert [use["count"] for use in patterns] == [4, 2]
    assert [cut["text"] for cut in patterns[0]["cuts"]] == ["9'-7\"", '34 1/2"']
    assert patterns[0]["cuts"][0]["left"] == "factory"
    assert patterns[0]["offcut"] == {"length": 0.5, "text": '1/2"', "keep": False, "factory_end": "right", "after": 2}
    assert [cut["length"] for cut in patterns[1]["cuts"]] == [50, 50, 50]
    stick = patterns[0]["sticks"][0]
    assert stick["pieces"][0] == {"item": 0, "mark": "A", "course": None, "piece": 1}


def test_without_waiting_the_address_leads_to_the_result(serving: Stack) -> None:
    """202 carries Location and Retry-After, and GET there ends with the result."""
    answer = serving.post(SHED)
    assert answer.status_code == 202
    assert answer.json["state"] in {"queued", "running"}
    assert answer.headers["Retry-After"] == "1"
    serving.settled(answer.json["id"])
    result = serving.client.get(answer.headers["Location"])
    assert (result.status_code, result.json["state"]) == (200, "succeeded")
    assert result.json["queue_ms"] >= 0
    assert result.json["expires_at"] > result.json["finished_at"] > result.json["created_at"]


def test_an_unchanged_plan_costs_no_bytes(serving: Stack) -> None:
    """GET with the ETag of what is known answers 304 without a body, weak or not: compressing proxies weaken it."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    etag = serving.client.get(f"/v1/cut-plans/{plan_id}").headers["ETag"]
    for known in (etag, f"W/{etag}", f'"other", W/{etag}', "*"):
        again = serving.client.get(f"/v1/cut-plans/{plan_id}", headers={"If-None-Match": known})
        assert (again.status_code, again.data) == (304, b"")
    assert serving.client.get(f"/v1/cut-plans/{plan_id}", headers={"If-None-Match": 'W/"other"'}).status_code == 200


def test_the_same_request_gives_the_same_plan(serving: Stack) -> None:
    """Two requests alike are answered alike, to the last stick."""
    first, second = (serving.post(SHED, Prefer="wait=30").json["result"] for _ in range(2))
    assert first == second


def test_a_finished_plan_is_forgotten_on_delete(serving: Stack) -> None:
    """DELETE of a finished plan answers 204 with no body and no type of one, and then nothing is there."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    answer = serving.client.delete(f"/v1/cut-plans/{plan_id}")
    assert (answer.status_code, answer.data, answer.headers.get("Content-Type")) == (204, b"", None)
    assert serving.client.get(f"/v1/cut-plans/{plan_id}").status_code == 404


def test_sticks_come_in_pages(serving: Stack) -> None:
    """The six panels come four and two, and Link leads from one page to the next."""
    plan_id = serving.posted(SHED, Prefer="wait=30")
    first = serving.client.get(f"/v1/cut-plans/{plan_id}/sticks?limit=4")
    assert [stick["stick"] for stick in first.json["sticks"]] == ["S1", "S2", "S3", "S4"]
    following = first.headers["Link"].split(">")[0].strip("<")
    second = serving.client.get(following)
    assert [stick["stick"] for stick in second.json["sticks"]] == ["S5", "S6"]
    assert "Link" not in second.headers
    assert second.json["sticks"][0]["material"] == "panel-sand"


def test_the_callers_reference_comes_back(serving: Stack) -> None:
    """``ref`` of an item stands on every piece cut for it."""
    answer = serving.post(shed_with("required/2/ref", "row 7"), Prefer="wait=30")
    sticks = answer.json["result"]["materials"][0]["patterns"][0]["sticks"]
    assert sticks[0]["pieces"][1]["ref"] == "row 7"


@pytest.mark.parametrize("length", [28.1, "28 1/3", 28.123456789])
def test_no_warning_speaks_of_what_no_saw_shows(serving: Stack, length: object) -> None:
    """Lengths are kept to 1/8128 in: what is finer goes without a word, so that a warning is one that matters."""
    assert serving.post(shed_with("required/2/length", length), Prefer="wait=30").json["result"]["warnings"] == []


def test_millimetres_in_millimetres_out(serving: Stack) -> None:
    """A request in millimetres is answered in millimetres."""
    body = shed_with("units", "mm")
    body["materials"][0]["stock"][0]["length"] = 3810
    body["required"] = [{"material": "panel-sand", "length": 1270, "quantity": 3}]
    panel = serving.post(body, Prefer="wait=30").json["result"]["materials"][0]
    assert (panel["bought_length"], panel["patterns"][0]["cuts"][0]["text"]) == (3810, "1270 mm")


def test_a_plan_says_what_it_is_of_and_who_made_it(serving: Stack) -> None:
    """Equal requests have one digest, however they are written; a name makes another. A version is said of a plan."""
    bodies = (SHED, dict(reversed(SHED.items())), shed_with("name", "b"))
    plans = [serving.post(body, Prefer="wait=30").json for body in bodies]
    first, same, other = (plan["digest"] for plan in plans)
    assert (first == same, first == other, len(first)) == (True, False, 64)
    assert all(plan["planned_by"] for plan in plans)


def test_a_plan_that_waits_is_of_no_version(alone: Stack) -> None:
    """Nobody has made it yet; what it is of is known."""
    waiting = alone.post(SHED).json
    assert (waiting["planned_by"], len(waiting["digest"])) == ("", 64)
