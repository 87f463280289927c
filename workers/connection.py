"""Clients of Redis: an impatient one for whoever answers a person, a patient one for whoever holds a result."""

from __future__ import annotations

import os

from redis import Redis
from redis.backoff import ConstantBackoff, NoBackoff
from redis.exceptions import ConnectionError as RedisConnectionError
from redis.exceptions import RedisError
from redis.exceptions import TimeoutError as RedisTimeoutError
from redis.retry import Retry

URL_VARIABLE = "LAPSTOCK_REDIS_URL"
"""Environment variable that names the Redis to use."""
IMPATIENT_SECONDS = 0.4
"""An answer that takes Redis longer than this is not coming: the API says so within a second."""
PREFIX = "lapstock:"
"""How every key of ours begins."""
PATIENT_TRIES = 120
"""How often a worker knocks, one second apart, before it gives a finished plan up."""


UNREACHABLE = (RedisConnectionError, RedisTimeoutError)
"""What is raised where Redis does not answer, and not because of what is kept in it."""


class NoAddress(Exception):
    """Nobody said where Redis is."""


class NoAnswer(Exception):
    """The Redis that was named is not there, or does not let us in."""


def redis_url() -> str:
    """Return the address of Redis from the environment. Raises ``NoAddress`` where it is not set."""
    given = os.environ.get(URL_VARIABLE)
    if not given:
        raise NoAddress(f"set {URL_VARIABLE} to the Redis to use, or use: lapstock serve")
    return given


def require_answer(url: str) -> None:
    """Ask a Redis whether it is there. Raises ``NoAnswer``, naming it and what it said, where it is not."""
    try:
        client = impatient(url)
        client.ping()
        client.close()
    except (RedisError, ValueError) as error:
        raise NoAnswer(f"no Redis answers at {shown(url)}, which {URL_VARIABLE} names: {error}") from None


def shown(url: str) -> str:
    """Return an address without the name and password in it."""
    scheme, slashes, rest = url.rpartition("://")
    return f"{scheme}{slashes}{rest.rpartition('@')[2]}"


def impatient(url: str) -> Redis:
    """Return a client that gives up within half a second, trying a stale connection once more."""
    return Redis.from_url(
        url,
        socket_timeout=IMPATIENT_SECONDS,
        socket_connect_timeout=IMPATIENT_SECONDS,
        retry=Retry(NoBackoff(), 1, supported_errors=(RedisConnectionError,)),
    )


def patient(url: str) -> Redis:
    """Return a client that waits two minutes for a Redis that is restarting."""
    return Redis.from_url(
        url,
        socket_timeout=10,
        socket_connect_timeout=2,
        retry=Retry(ConstantBackoff(1), PATIENT_TRIES, supported_errors=UNREACHABLE),
    )
