"""Who may see what: API keys, other clients' plans, and shares of this server."""

from __future__ import annotations

import re
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import pytest

from service.http.access import OPEN
from service.http.rates import UNLIMITED
from tests.support.shed import SHED
from tests.support.stack import Stack, stack

KEYS = {sha256(f"{name}-key".encode()).hexdigest(): name for name in ("harbour", "quarry")}
HARBOUR = {"Authorization": "Bearer harbour-key"}
QUARRY = {"Authorization": "Bearer quarry-key"}


@pytest.fixture(scope="module")
def locked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation that two clients have keys for."""
    with stack(tmp_path_factory.mktemp("locked") / "data", api_keys=KEYS) as running:
        yield running


def test_every_address_but_the_open_ones_asks_for_a_key(locked: Stack) -> None:
    """Without a key every endpoint answers 401, but for health, the contract, the problems and the page."""
    for rule in locked.app.url_map.iter_rules():
        address = rule.rule.replace("<plan_id>", "0" * 32).replace("<path:filename>", "x").replace("<name>", "gone")
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            answer = locked.client.open(address, method=method)
            assert (answer.status_code == 401) == (rule.endpoint not in OPEN), (method, rule.rule)


@pytest.mark.parametrize("header", ["", "Bearer", "Bearer wrong", "Basic harbour-key", "harbour-key"])
def test_a_wrong_key_is_no_key(locked: Stack, header: str) -> None:
    """Anything but Bearer and a known key is 401 with a challenge."""
    answer = locked.client.post("/v1/cut-plans", json=SHED, headers={"Authorization": header})
    assert (answer.status_code, answer.json["type"]) == (401, "/problems/key-missing")
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_whoever_guesses_keys_is_slowed_down_and_nobody_else(tmp_path: Path) -> None:
    """A tenth of what a client may ask, from an address; who comes from there with a good one is served."""
    with stack(tmp_path / "data", api_keys=KEYS, rate=100) as running:
        answers = [running.client.get("/v1/company", headers={"Authorization": f"Bearer {n}"}) for n in range(12)]
        assert [answer.status_code for answer in answers] == [401] * 10 + [429] * 2
        assert int(answers[-1].headers["Retry-After"]) > 0
        assert running.client.get("/v1/company", headers=HARBOUR).status_code == 200


@pytest.mark.parametrize(("method", "below"), [("GET", ""), ("DELETE", ""), ("GET", "/sticks")])
def test_anothers_plan_is_as_unknown_as_any(locked: Stack, method: str, below: str) -> None:
    """Another client's id and an id that never was get the same answer."""
    own = locked.posted(SHED, **HARBOUR)
    theirs = locked.client.open(f"/v1/cut-plans/{own}{below}", method=method, headers=QUARRY)
    never = locked.client.open(f"/v1/cut-plans/{'0' * 32}{below}", method=method, headers=QUARRY)
    assert theirs.status_code == never.status_code == 404
    assert {**theirs.json, "instance": ""} == {**never.json, "instance": ""}
    assert locked.client.get(f"/v1/cut-plans/{own}", headers=HARBOUR).status_code == 200


def test_anothers_expired_plan_is_unknown_too(locked: Stack) -> None:
    """An expired plan is 410 to its owner and 404 to everybody else."""
    own = locked.posted(SHED, **HARBOUR)
    locked.store.redis.delete(f"lapstock:plan:{own}")
    assert locked.client.get(f"/v1/cut-plans/{own}", headers=HARBOUR).status_code == 410
    assert locked.client.get(f"/v1/cut-plans/{own}", headers=QUARRY).status_code == 404


def test_two_clients_may_use_the_same_idempotency_key(locked: Stack) -> None:
    """Keys are each client's own."""
    ids = {locked.posted(SHED, Idempotency_Key="1", **who) for who in (HARBOUR, QUARRY)}
    assert len(ids) == 2


def test_ids_can_not_be_guessed(locked: Stack) -> None:
    """An id is 128 random bits."""
    assert len(bytes.fromhex(locked.posted(SHED, **HARBOUR))) == 16


def test_a_client_beyond_its_share_is_told_when_to_come_back(tmp_path: Path) -> None:
    """Past its requests for this minute a client gets 429 with Retry-After, another does not."""
    with stack(tmp_path / "data", api_keys=KEYS, rate=3) as running:
        # a minute may end in between, so more are posted than two minutes' shares
        answers = [running.post(SHED, **HARBOUR) for _ in range(7)]
        refused = next(answer for answer in answers if answer.status_code == 429)
        assert 0 < int(refused.headers["Retry-After"]) <= 60
        assert refused.json["type"] == "/problems/too-many"
        assert running.post(SHED, **QUARRY).status_code == 202


def test_a_clients_share_is_the_whole_of_what_is_said(tmp_path: Path) -> None:
    """With a rate of three the third request within a minute is taken and the fourth is not; each answer says so."""
    with stack(tmp_path / "data", rate=3) as running:
        answers = [running.post(SHED) for _ in range(4)]
        assert [answer.status_code for answer in answers] == [202, 202, 202, 429]
        left = [answer.headers["RateLimit"].split(";")[:2] for answer in answers]
        assert left == [['"plans"', f"r={number}"] for number in (2, 1, 0, 0)]
        assert {answer.headers["RateLimit-Policy"] for answer in answers} == {'"plans";q=3;w=60'}


def test_every_address_but_health_counts_against_a_limit(tmp_path: Path) -> None:
    """Without a single request allowed each answers 429 and when to come back, whatever its method."""
    with stack(tmp_path / "data", rate=0) as running:
        for rule in running.app.url_map.iter_rules():
            address = re.sub(r"<(\w+:)?\w+>", "x", rule.rule)
            for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
                answer = running.app.test_client().open(address, method=method)
                assert (answer.status_code == 429) == (rule.endpoint not in UNLIMITED), (method, rule.rule)
                assert (answer.status_code == 429) == ("Retry-After" in answer.headers) or rule.endpoint in UNLIMITED


def test_reading_lists_takes_nothing_from_the_share_of_plans(tmp_path: Path) -> None:
    """Lists are read as often as plans are asked for, each counted by itself, and each refusal says of what."""
    with stack(tmp_path / "data", rate=2) as running:
        pasted = {"text": "4 @ 10'", "units": "in"}
        # a minute may end in between, so more are sent than two minutes' shares
        answers = [running.client.post("/v1/cut-lists", json=pasted) for _ in range(5)]
        refused = next(answer for answer in answers if answer.status_code == 429)
        assert refused.json["detail"] == "A client may ask for 2 readings of lists a minute."
        assert running.post(SHED).status_code == 202


def test_a_full_house_turns_new_plans_away(tmp_path: Path) -> None:
    """With as many waiting as may wait, the next is refused and told when to come back."""
    with stack(tmp_path / "data", most_waiting=2) as running:
        for _ in range(2):
            running.posted(SHED)
        refused = running.post(SHED)
        assert (refused.status_code, refused.json["type"]) == (503, "/problems/busy")
        assert "Retry-After" in refused.headers


def test_a_server_for_this_machine_answers_to_its_own_names_alone(tmp_path: Path) -> None:
    """A page whose name is made to lead to this machine can't use the server through it."""
    with stack(tmp_path / "data", hosts=("localhost",)) as running:
        strange = running.client.get("/health/live", headers={"Host": "elsewhere.example"})
        assert (strange.status_code, strange.content_type) == (400, "application/problem+json")
        assert running.client.get("/health/live").status_code == 200


def test_a_fault_of_the_server_is_logged_under_the_number_it_answers(
    locked: Stack, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """An unexpected error is 500 with the number it is logged under, and nothing else about it."""
    monkeypatch.setattr("service.routes.cut_plans.read_job", lambda *_: 1 // 0)
    answer = locked.post(SHED, **HARBOUR)
    assert (answer.status_code, answer.json["type"]) == (500, "/problems/fault")
    assert answer.headers["Request-Id"] in answer.json["detail"]
    assert "ZeroDivisionError" not in answer.text
    logged = [entry for entry in caplog.text.split("\nERROR") if answer.headers["Request-Id"] in entry]
    assert any("ZeroDivisionError" in entry for entry in logged)


def test_what_is_not_here_is_said_in_words_of_our_own(locked: Stack) -> None:
    """An unknown address and a method that an address does not take are problems like any other."""
    nowhere = locked.client.get("/v1/nowhere", headers=HARBOUR)
    assert (nowhere.status_code, nowhere.json["type"]) == (404, "/problems/not-found")
    assert nowhere.json["detail"].startswith("There is nothing under this address")
    put = locked.client.put("/v1/cut-plans", headers=HARBOUR)
    assert (put.status_code, set(put.headers["Allow"].split(", "))) == (405, {"GET", "HEAD", "POST", "OPTIONS"})
    assert put.json["detail"].startswith("This address does not take this method")


def test_nothing_in_an_answer_helps_an_attacker(locked: Stack) -> None:
    """Answers can't be sniffed, framed or read across origins, and say nothing of versions or code."""
    answer = locked.client.get("/v1/nowhere", headers=HARBOUR)
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "default-src 'self'" in answer.headers["Content-Security-Policy"]
    assert "Access-Control-Allow-Origin" not in answer.headers
    assert not any(word in answer.text for word in ("Traceback", "Werkzeug", "Python", ".py"))


@pytest.mark.parametrize("address", ["/v1/plan-checks", "/v1/cut-lists", "/v1/takeoffs", "/v1/takeoffs/sheet.pdf"])
def test_whatever_costs_work_has_its_share(tmp_path: Path, address: str) -> None:
    """Checks, lists and take-offs are counted too, each kind by itself, before a body is read."""
    with stack(tmp_path / "data", rate=2) as running:
        assert [running.client.post(address, json={}).status_code for _ in range(3)] == [422, 422, 429]
