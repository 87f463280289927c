"""Callbacks: whose addresses are called, what is signed, and how long a call may take."""

from __future__ import annotations

import hmac
import socket
from base64 import b64decode
from collections.abc import Iterator
from contextlib import contextmanager
from ipaddress import ip_network
from threading import Thread
from typing import Any

import pytest

from workers.callbacks import Barred, Failed, Rules, Silent, call, origin_of
from workers.process import BadSetting

HERE = (ip_network("127.0.0.0/8"),)
BODY = b'{"type":"cut_plan.over"}'


@contextmanager
def answering(*parts: bytes, keep: bool = False) -> Iterator[tuple[str, list[bytes]]]:
    """Yield the origin of a receiver that answers one call with these bytes, and what it was sent."""
    heard: list[bytes] = []
    with socket.create_server(("127.0.0.1", 0)) as listening:
        listening.settimeout(10)

        def answer() -> None:
            try:
                connection, _ = listening.accept()
            except OSError:
                return
            with connection:
                connection.settimeout(10)
                while not heard or not heard[0].endswith(BODY):
                    heard[:] = [b"".join([*heard, connection.recv(4096)])]
                for part in parts:
                    connection.sendall(part)
                if keep:
                    connection.recv(1)

        thread = Thread(target=answer)
        thread.start()
        yield f"http://127.0.0.1:{listening.getsockname()[1]}", heard
    thread.join()


def rules(*origins: str, networks: tuple[Any, ...] = HERE) -> Rules:
    """Return rules that allow these origins."""
    return Rules(frozenset(map(origin_of, origins)), networks, b"a secret of twenty-four or more")


def test_a_message_is_signed_as_the_standard_has_it() -> None:
    """Standard Webhooks 1.0: v1, and the HMAC-SHA256 of id, time and body under the secret behind whsec_.

    Each client's secret is its own, so that nobody who is told of his own plans can sign messages to others.
    """
    told = rules().signed("tool", "7f3a-over", 1_700_000_000, BODY)
    key = b64decode(rules().secret_of("tool").removeprefix("whsec_"))
    wanted = hmac.new(key, b"7f3a-over.1700000000." + BODY, "sha256").digest()
    assert (told["webhook-id"], told["webhook-timestamp"]) == ("7f3a-over", "1700000000")
    assert b64decode(told["webhook-signature"].removeprefix("v1,")) == wanted
    assert rules().secret_of("other") != rules().secret_of("tool")
    assert "twenty-four" not in repr(rules())


def test_an_address_is_called_with_what_was_signed() -> None:
    """Path and query as they were given; the answer's first line is all that is waited for."""
    with answering(b"HTTP/1.1 100 Continue\r\n\r\n", b"HTTP/1.1 204 No Content\r\n", keep=True) as (origin, heard):
        assert call(rules(origin), f"{origin}/planned?of=tern", {"webhook-id": "7f3a-over"}, BODY) == 204
        assert heard[0].startswith(b"POST /planned?of=tern HTTP/1.1\r\n")
        assert b"\r\nwebhook-id: 7f3a-over\r\n" in heard[0]


def test_nobody_is_followed_elsewhere() -> None:
    """A redirect is an answer like any other, and not a good one."""
    with answering(b"HTTP/1.1 307 Temporary Redirect\r\nLocation: http://127.0.0.1:1/\r\n\r\n") as (origin, _):
        assert call(rules(origin), f"{origin}/", {}, BODY) == 307


@pytest.mark.parametrize(("parts", "words"), [
    ((), "no answer within"),
    ((b"HTTP/1.1 2",), "no answer within"),
])  # fmt: skip
def test_a_call_takes_no_longer_than_it_may(parts: tuple[bytes, ...], words: str) -> None:
    """Whoever says nothing, or stops in the middle, is not waited for."""
    with answering(*parts, keep=True) as (origin, _), pytest.raises(Failed, match=words):
        call(rules(origin), f"{origin}/", {}, BODY, seconds=0.2)


def test_an_answer_is_read_no_further_than_it_must_be() -> None:
    """Whatever is no HTTP ends after 16 KiB, whoever is not there at once."""
    with answering(b"x" * 20_000) as (origin, _), pytest.raises(Failed, match="no HTTP"):
        call(rules(origin), f"{origin}/", {}, BODY)
    with pytest.raises(Failed, match="can't be reached"):
        call(rules(origin), f"{origin}/", {}, BODY)


@pytest.mark.parametrize("address", [
    "127.0.0.1", "10.1.2.3", "192.168.1.1", "172.16.0.1", "169.254.169.254", "0.0.0.0", "100.64.0.1", "224.0.0.1",
    "::1", "fe80::1", "fd00::1", "::ffff:127.0.0.1", "::ffff:10.1.2.3", "64:ff9b::7f00:1", "2002:7f00:1::", "ff02::1",
    "::7f00:1", "::ffff:0:7f00:1", "fec0::1",
])  # fmt: skip
def test_private_addresses_are_not_called(monkeypatch: pytest.MonkeyPatch, address: str) -> None:
    """Loopback, private, link-local, shared, multicast and translated ones (RFC 6890, 6598, 4193, 6052, 3056).

    Those too that are no longer given out, but may still be in use (RFC 4291, 2.5.5.1; RFC 2765; RFC 3879).

    That holds for a name too that leads there, and to a public address besides.
    """
    found = [(0, 0, 0, "", ("93.184.215.14", 443)), (0, 0, 0, "", (address, 443))]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: found)
    with pytest.raises(Barred, match="private"):
        call(rules("https://tool.example", networks=()), "https://tool.example/", {}, BODY)


def test_what_was_looked_at_is_what_is_called(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name is looked up once; that it leads elsewhere a moment later changes nothing."""
    answers = iter([[(0, 0, 0, "", ("93.184.215.14", 443))]])
    called: list[Any] = []

    def connect(where: Any, **_: Any) -> Any:  # noqa: ANN401
        called.append(where)
        raise ConnectionRefusedError

    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: next(answers))
    monkeypatch.setattr(socket, "create_connection", connect)
    with pytest.raises(Failed):
        call(rules("https://tool.example", networks=()), "https://tool.example/", {}, BODY)
    assert called == [("93.184.215.14", 443)]


@pytest.mark.parametrize(("wrong", "kind"), [
    (socket.gaierror(socket.EAI_NONAME, "Name or service not known"), Failed),
    (socket.gaierror(socket.EAI_AGAIN, "Temporary failure in name resolution"), Silent),
    (UnicodeError("label empty or too long"), Failed),
], ids=["unknown", "no answer", "none"])  # fmt: skip
def test_a_name_that_leads_nowhere_fails(monkeypatch: pytest.MonkeyPatch, wrong: Exception, kind: type) -> None:
    """So that it is tried again, and in the end given up; where name servers are silent that takes its time."""

    def find(*_: object, **__: object) -> None:
        raise wrong

    monkeypatch.setattr(socket, "getaddrinfo", find)
    with pytest.raises(Failed) as failed:
        call(rules("https://tool.example"), "https://tool.example/", {}, BODY)
    assert type(failed.value) is kind


@pytest.mark.parametrize("address", [
    "ftp://tool.example/", "https://", "https:///x", "https://a:b@tool.example/", "https://tool.example:0x/",
    "https://tool.example:99999/", "https://tool.example/#x", "https://tool.example/\r\nX: 1", "https://tööl.example/",
    "tool.example", "https://tool.example/" + "x" * 1000, "https://[::1/",
])  # fmt: skip
def test_what_is_no_address(address: str) -> None:
    """Nothing that could be read in two ways, carry a password, or end a line."""
    with pytest.raises(Barred, match="must be an address"):
        origin_of(address)


def test_an_origin_is_scheme_host_and_port() -> None:
    """In whatever letters, and with the scheme's own port where it has none."""
    assert origin_of("https://Tool.example/planned?of=1") == "https://tool.example:443"
    assert origin_of("http://tool.example") != origin_of("https://tool.example")
    for other in ("http://tool.example/", "https://tool.example:8443/", "https://tool.example.org/"):
        with pytest.raises(Barred, match="no origin"):
            rules("https://tool.example").require_allowed(other)
    with pytest.raises(Barred, match="makes no callbacks"):
        Rules().require_allowed("https://tool.example/")


@pytest.mark.parametrize(("name", "value", "words"), [
    ("LAPSTOCK_CALLBACK_ORIGINS", "tool.example", "LAPSTOCK_CALLBACK_ORIGINS must be"),
    ("LAPSTOCK_CALLBACK_NETWORKS", "10.1.2.3/8", "LAPSTOCK_CALLBACK_NETWORKS must be"),
    ("LAPSTOCK_CALLBACK_SECRET", "short", "LAPSTOCK_CALLBACK_SECRET must be"),
])  # fmt: skip
def test_settings_that_can_not_be(monkeypatch: pytest.MonkeyPatch, name: str, value: str, words: str) -> None:
    """Each is named."""
    monkeypatch.setenv("LAPSTOCK_CALLBACK_ORIGINS", "https://tool.example http://10.1.2.3:9000")
    monkeypatch.setenv("LAPSTOCK_CALLBACK_SECRET", "x" * 24)
    assert len(Rules.from_environment().origins) == 2
    monkeypatch.setenv(name, value)
    with pytest.raises(BadSetting, match=words):
        Rules.from_environment()
