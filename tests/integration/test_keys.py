"""API keys: made, listed and revoked while a server runs, each good for what its scopes say, and no way to others'."""

from __future__ import annotations

import json
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from service.cli import main
from service.wire.contract import EXAMPLES, PATHS
from service.wire.job import JobSchema
from tests.support.contract import contract
from tests.support.shed import SHED
from tests.support.stack import Stack, stack
from workers.connection import URL_VARIABLE
from workers.keys import KEYS, USED, Keys, NameTaken, Scope


@pytest.fixture(scope="module")
def doors(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stack]:
    """Yield an installation that has keys in its store."""
    with stack(tmp_path_factory.mktemp("doors") / "data", rate=10**6) as running:
        yield running


def of(running: Stack, name: str, *scopes: Scope) -> dict[str, str]:
    """Return the header that a new key comes with."""
    made = Keys(running.store.redis).add(name, name, scopes or tuple(Scope))
    return {"Authorization": f"Bearer {made}"}


def test_the_first_key_closes_the_door_and_no_revoking_opens_it(alone: Stack) -> None:
    """Without keys anybody may come in; with one only who has it, at once, and nobody once it is revoked."""
    client, keys = alone.client, Keys(alone.store.redis)
    assert client.get("/v1/company").status_code == 200
    made = {"Authorization": f"Bearer {keys.add('harbour', 'harbour', tuple(Scope))}"}
    assert [client.get("/v1/company", headers=headers).status_code for headers in ({}, made)] == [401, 200]
    assert keys.revoke("harbour")
    assert not keys.revoke("harbour")
    assert [client.get("/v1/company", headers=headers).status_code for headers in ({}, made)] == [401, 401]


def test_a_key_signs_in_until_it_is_revoked(doors: Stack) -> None:
    """A browser's session ends with the key that began it."""
    made = of(doors, "counter")["Authorization"].split()[1]
    browser = doors.client
    assert browser.post("/sign-in", data={"key": "wrong", "to": "/"}).status_code == 422
    assert browser.post("/sign-in", data={"key": made, "to": "/plans"}).headers["Location"] == "/plans"
    assert browser.get("/plans").status_code == 200
    Keys(doors.store.redis).revoke("counter")
    assert browser.get("/plans").status_code == 401


SCOPED = {
    ("get", "/v1/company"): Scope.READ,
    ("post", "/v1/cut-plans"): Scope.PLAN,
    ("post", "/v1/cut-lists"): Scope.PLAN,
    ("put", "/v1/company"): Scope.CATALOGUE,
    ("put", "/v1/materials/panel-sand"): Scope.CATALOGUE,
    ("post", "/v1/rack"): Scope.CATALOGUE,
    ("post", "/v1/price-list"): Scope.CATALOGUE,
    **{("post", page): Scope.CATALOGUE for page in ("/settings", "/materials", "/material", "/rack", "/rack/R-17")},
    ("delete", "/v1/crews/tern/weeks/2100-W10"): Scope.WEEKS,
    ("put", "/v1/crews/tern/weeks/2100-W10/jobs/x"): Scope.WEEKS,
    ("post", "/weeks/tern/2100-W10"): Scope.WEEKS,
}


def test_a_key_is_good_for_its_scopes_and_nothing_else(doors: Stack) -> None:
    """One key of each scope at one address of each: only what is in it is not 403."""
    keys = {scope: of(doors, f"only {scope}", scope) for scope in Scope}
    for (method, address), needed in SCOPED.items():
        for scope, headers in keys.items():
            answer = doors.client.open(address, method=method.upper(), json={}, headers=headers)
            assert (answer.status_code != 403) == (scope is needed), (method, address, scope)
            if scope is not needed and address.startswith("/v1/"):
                assert answer.json["type"] == "/problems/not-allowed"
                assert needed in answer.json["detail"]


def test_what_is_kept_of_a_key_is_no_way_to_it(doors: Stack) -> None:
    """A digest, a name, scopes, and when it was last used; the name of a key that is good is its own."""
    keys = Keys(doors.store.redis)
    made = keys.add("barn", "tern", (Scope.READ,))
    assert made.encode() not in (doors.store.redis.dump(KEYS) or made.encode())
    with pytest.raises(NameTaken):
        keys.add("barn", "wren", (Scope.READ,))
    assert [(key.client, used) for key, used in keys.listed() if key.name == "barn"] == [("tern", None)]
    doors.client.get("/v1/company", headers={"Authorization": f"Bearer {made}"})
    assert [used is not None for key, used in keys.listed() if key.name == "barn"] == [True]


def test_what_is_damaged_keeps_no_key_from_being_revoked(alone: Stack) -> None:
    """One entry can't be read: it is good for nothing, and the other keys are listed and revoked as ever."""
    keys = Keys(alone.store.redis)
    made = keys.add("harbour", "harbour", (Scope.READ,))
    alone.store.redis.hset(KEYS, "torn", b"{")
    alone.store.redis.hset(USED, "torn", b"soon")
    assert [key.name for key, _ in keys.listed()] == ["harbour"]
    assert keys.revoke("harbour")
    assert keys.look_for(made) == (True, None)


def fill(running: Stack, headers: dict[str, str]) -> dict[str, str]:
    """Keep one of everything for a client, and return what stands in its addresses."""
    posted = running.client.post("/v1/cut-plans", json=EXAMPLES[JobSchema], headers=headers)
    known = {name: str(value) for name, value in PATHS.items()} | {"plan_id": posted.json["id"]}
    for (method, path), operation in sorted(operations().items(), key=lambda known: known[0][1].count("/")):
        if method == "put" or path == "/v1/rack":
            running.client.open(address_of(path, known), method=method, json=body_of(operation), headers=headers)
    return known


def operations() -> dict[tuple[str, str], Any]:
    """Return every operation of the contract by method and path."""
    paths = contract().document["paths"]
    return {(method, path): told for path, methods in paths.items() for method, told in methods.items() if "{" in path
            or path == "/v1/rack"}  # fmt: skip


def address_of(path: str, known: dict[str, str]) -> str:
    """Return an address made of what is known."""
    for name, value in known.items():
        path = path.replace(f"{{{name}}}", value)
    return path


def body_of(operation: Any) -> Any:  # noqa: ANN401
    """Return the example of what an operation takes, None where it takes nothing."""
    return operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("example")


OWN = {"/v1/customers/{customer}/answers", "/v1/materials/{material}", "/v1/crews/{crew}/weeks/{week}", "/v1/rack"}
"""Addresses that are every client's own to put something at."""


def test_nobody_reaches_what_is_anothers_at_any_address(doors: Stack) -> None:
    """Every operation of the contract with another's ids: 404, or one's own; what is the other's stays as it was."""
    owner, other, nobody = (of(doors, name) for name in ("owner", "other", "nobody"))
    known = fill(doors, owner)

    def seen() -> dict[str, Any]:
        # a plan that waits is followed until it is over, and here nobody makes it
        reads = {path: address_of(path, known) for method, path in operations()
                 if method == "get" and not path.endswith("/events")}  # fmt: skip
        answers = {path: doors.client.get(address, headers=owner) for path, address in reads.items()}
        return {path: (answer.status_code, answer.get_data()) for path, answer in answers.items()
                if not path.endswith(".pdf")}  # fmt: skip

    before = seen()
    found = {path for path, (status, _) in before.items() if status == 200}
    assert {"/v1/cut-plans/{plan_id}", "/v1/crews/{crew}/weeks/{week}", "/v1/materials/{material}",
            "/v1/rack/{label}"} <= found  # fmt: skip
    # one's own things last: whoever has put a piece on a rack of his own finds that one
    for (method, path), operation in sorted(operations().items(), key=lambda known: known[0][1] in OWN):
        if operation["operationId"].startswith("problems"):
            continue
        answer = doors.client.open(address_of(path, known), method=method, json=body_of(operation), headers=other)
        if path in OWN:
            assert answer.status_code in (200, 201, 204, 404), (method, path, answer.text)
            if method == "get":
                assert answer.get_data() == doors.client.get(address_of(path, known), headers=nobody).get_data()
        else:
            assert answer.status_code == 404, (method, path, answer.status_code, answer.text[:200])
        if method == "put":
            doors.client.delete(address_of(path, known), headers=other)
    after = seen()
    assert {path for path in before if before[path] != after[path]} == set()


def run(*arguments: str, **environment: str) -> Any:  # noqa: ANN401
    """Run ``lapstock key``."""
    return CliRunner().invoke(main, ["key", *arguments], env={URL_VARIABLE: "", **environment})


def test_keys_are_made_listed_and_revoked_by_command(alone: Stack, tmp_path: Path) -> None:
    """With the server running, of the Redis that is named, and of a folder that nobody serves at the moment."""
    for where in ({"--data": alone.folder}, {"env": alone.redis.url}, {"--data": tmp_path / "quiet"}):
        options = [str(part) for pair in where.items() for part in pair] if "--data" in where else []
        named = {URL_VARIABLE: str(where["env"])} if "env" in where else {}
        name = f"k{len(options)}{len(named)}{'quiet' * ('quiet' in str(where))}"
        made = run("add", name, "--scope", "read", "--client", "tern", *options, **named)
        assert (made.exit_code, name in made.stdout) == (0, True), made.output
        again = run("add", name, *options, **named)
        assert (again.exit_code, "revoke it first" in again.stderr) == (1, True)
        told = next(line for line in run("list", *options, **named).stdout.splitlines() if line.startswith(name))
        assert "tern  read" in told
        assert "last used never" in told
        assert run("revoke", name, *options, **named).exit_code == 0
        assert run("revoke", name, *options, **named).exit_code == 1
        assert "revoked" in run("list", *options, **named).stdout
        (listed,) = [key for key in json.loads(run("list", "--json", *options, **named).stdout) if key["name"] == name]
        assert (listed["client"], listed["scopes"], listed["last_used_at"]) == ("tern", ["read"], None)
        assert listed["revoked_at"] >= listed["made_at"]


def test_what_is_kept_is_closed_to_others(tmp_path: Path) -> None:
    """A folder that was open before too: whoever is not its owner reads neither it nor a file in it."""
    folder = tmp_path / "data"
    (folder / "appendonlydir").mkdir(parents=True)
    folder.chmod(0o755)
    with stack(folder) as running:
        running.posted(SHED)
        modes = {path: stat.S_IMODE(path.stat().st_mode) for path in (folder, *folder.rglob("*"))}
    assert {path.name: oct(mode) for path, mode in modes.items() if mode & 0o077} == {}


def test_a_folder_with_others_things_keeps_its_mode(tmp_path: Path) -> None:
    """It may be one that others must get into; what is ours in it is closed all the same."""
    (tmp_path / "letter.txt").touch()
    tmp_path.chmod(0o755)
    with stack(tmp_path):
        assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o755
        assert stat.S_IMODE((tmp_path / "appendonlydir").stat().st_mode) == 0o700
