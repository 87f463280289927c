"""Callbacks: an address that whoever asks for a plan gives, to be posted to once the plan is over.

They are signed as Standard Webhooks 1.0 has it (HMAC-SHA256 over id, time and body), with a secret of each client's
own. Only origins on a list are called, and none at a private address unless its network is on another: what a client
writes must not reach what only this machine can reach. The address that was looked at is the one that is called,
whatever its name leads to a moment later, and nobody is followed elsewhere.
"""

from __future__ import annotations

import hmac
import os
import re
import socket
import time
from base64 import b64encode
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network
from urllib.parse import urlsplit

from workers.process import BadSetting

LONGEST_ADDRESS = 1_000
SECONDS = 10.0
"""A call may take so long in all."""
_MOST_READ = 16 * 1024
"""So many bytes of an answer are read at most; what else there is of it is nobody's concern."""
_ADDRESS = re.compile(r"https?://[\x21-\x7e]+")
_PORTS = {"http": 80, "https": 443}
_STATUS = re.compile(rb"(?:\A|\r\n\r\n)HTTP/1\.[01] ([2-5][0-9][0-9])[ \r]")
"""The status line of an answer, behind interim ones."""
_NOT_GLOBAL = tuple(map(ip_network, ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16", "::/96", "::ffff:0:0:0/96",
                                     "fec0::/10")))  # fmt: skip
"""IPv6 networks that lead to IPv4 addresses (RFC 6052, 8215, 3056, 4291, 2765), and the site's own (RFC 3879)."""
Network = IPv4Network | IPv6Network


class Barred(Exception):
    """An address that must not be called."""


class Failed(Exception):
    """A call that brought no answer."""


class Silent(Failed):
    """A call that was not answered in the time that there was, or a name that no name server told of in theirs."""


@dataclass(frozen=True, slots=True)
class Rules:
    """Who may be called, and the secret from which each client's is made; by default nobody is called.

    ``origins`` are scheme, host and port (``https://tool.example:443``); ``networks`` are private ones that are
    allowed all the same.
    """

    origins: frozenset[str] = frozenset()
    networks: tuple[Network, ...] = ()
    secret: bytes = field(default=b"", repr=False)

    @classmethod
    def from_environment(cls) -> Rules:
        """Return the rules of the environment. Raises ``BadSetting``."""
        origins = os.environ.get("LAPSTOCK_CALLBACK_ORIGINS", "").split()
        secret = os.environ.get("LAPSTOCK_CALLBACK_SECRET", "").encode()
        if origins and len(secret) < 24:
            raise BadSetting("LAPSTOCK_CALLBACK_SECRET", "24 characters or longer where there are callbacks")
        try:
            allowed = frozenset(map(origin_of, origins))
        except Barred:
            raise BadSetting("LAPSTOCK_CALLBACK_ORIGINS", "as in https://tool.example, with spaces between") from None
        try:
            networks = tuple(map(ip_network, os.environ.get("LAPSTOCK_CALLBACK_NETWORKS", "").split()))
        except ValueError:
            raise BadSetting("LAPSTOCK_CALLBACK_NETWORKS", "as in 10.1.0.0/16, with spaces between") from None
        return cls(allowed, networks, secret)

    def require_allowed(self, address: str) -> None:
        """Raise ``Barred``, with words for its sender, where an address is none that is called."""
        if not self.origins:
            raise Barred("this server makes no callbacks")
        if origin_of(address) not in self.origins:
            raise Barred("is at no origin that this server calls; whoever runs it can add it")

    def secret_of(self, client: str) -> str:
        """Return a client's own secret, as receivers are given it."""
        return "whsec_" + b64encode(self._secret_of(client)).decode()

    def signed(self, client: str, name: str, moment: int, body: bytes) -> dict[str, str]:
        """Return the headers that sign a message; ``name`` is the same for each try of it."""
        given = hmac.digest(self._secret_of(client), f"{name}.{moment}.".encode() + body, "sha256")
        signature = f"v1,{b64encode(given).decode()}"
        return {"webhook-id": name, "webhook-timestamp": str(moment), "webhook-signature": signature}

    def looked_up(self, host: str, port: int) -> str:
        """Return an address that a name leads to. Raises ``Barred`` where any that it leads to is, and ``Failed``."""
        try:
            found = [str(entry[4][0]) for entry in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
        except OSError as error:
            kind = Silent if error.errno == socket.EAI_AGAIN else Failed
            raise kind(f"the name is not known: {error.strerror}") from None
        except UnicodeError:
            raise Failed("its name is none that can be looked up") from None
        for each in found:
            if not self._may_call(ip_address(each.partition("%")[0])):
                raise Barred("its name leads to a private address")
        return found[0]

    def _secret_of(self, client: str) -> bytes:
        return hmac.digest(self.secret, b"callbacks of " + client.encode(), "sha256")

    def _may_call(self, address: IPv4Address | IPv6Address) -> bool:
        if isinstance(address, IPv6Address):
            address = address.ipv4_mapped or address
        if any(address.version == network.version and address in network for network in self.networks):
            return True
        elsewhere = any(address.version == 6 and address in network for network in _NOT_GLOBAL)
        return address.is_global and not address.is_multicast and not elsewhere


def origin_of(address: str) -> str:
    """Return scheme, host and port of an address. Raises ``Barred`` where it is none that can be called."""
    wrong = Barred("must be an address as in https://tool.example/planned, in ASCII, without a name or a fragment")
    if not _ADDRESS.fullmatch(address) or len(address) > LONGEST_ADDRESS:
        raise wrong
    try:
        parts = urlsplit(address)
        port = parts.port or _PORTS[parts.scheme]
    except ValueError:
        raise wrong from None
    if not parts.hostname or "@" in parts.netloc or parts.fragment:
        raise wrong
    return f"{parts.scheme}://{parts.hostname}:{port}"


def call(rules: Rules, address: str, headers: Mapping[str, str], body: bytes, seconds: float = SECONDS) -> int:
    """Post a body to an address and return the status of the answer. Raises ``Barred`` and ``Failed``."""
    rules.require_allowed(address)
    until = time.monotonic() + seconds
    parts = urlsplit(address)
    host, port = parts.hostname or "", parts.port or _PORTS[parts.scheme]
    where = rules.looked_up(host, port)
    target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    told = {"Host": parts.netloc, "Content-Type": "application/json", "Content-Length": str(len(body)),
            "Connection": "close", "User-Agent": "lapstock", **headers}  # fmt: skip
    head = "".join([f"POST {target} HTTP/1.1\r\n", *(f"{name}: {value}\r\n" for name, value in told.items()), "\r\n"])
    try:
        with socket.create_connection((where, port), timeout=seconds) as plain:
            plain.settimeout(_left(until))
            if parts.scheme == "http":
                return _answered(plain, head.encode() + body, until)
            import ssl  # noqa: PLC0415 - takes long to load, and every request's address is read here

            with ssl.create_default_context().wrap_socket(plain, server_hostname=host) as sealed:
                return _answered(sealed, head.encode() + body, until)
    except TimeoutError:
        raise Silent(f"no answer within {seconds:.0f} seconds") from None
    except (OSError, ValueError) as error:
        raise Failed(f"it can't be reached: {type(error).__name__}") from None


def _answered(connection: socket.socket, request: bytes, until: float) -> int:
    connection.settimeout(_left(until))
    connection.sendall(request)
    read = b""
    while len(read) < _MOST_READ:
        if found := _STATUS.search(read):
            return int(found[1])
        connection.settimeout(_left(until))
        part = connection.recv(4096)
        if not part:
            break
        read += part
    raise Failed("the answer is no HTTP")


def _left(until: float) -> float:
    """Return the seconds that are left. Raises ``TimeoutError`` where there are none."""
    left = until - time.monotonic()
    if left <= 0:
        raise TimeoutError
    return left
