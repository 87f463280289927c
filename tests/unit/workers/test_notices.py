"""Notices while Redis is away."""

from __future__ import annotations

import pytest
from redis import Redis
from redis.backoff import NoBackoff
from redis.retry import Retry

from tests.support.stack import eventually
from workers.notices import Notices


def test_redis_away_is_a_line_of_the_log_and_no_trace(caplog: pytest.LogCaptureFixture) -> None:
    """It is away at every stop of ``lapstock serve``, and nobody has to look into why. No such socket is there."""
    nowhere = Redis(unix_socket_path="/nowhere/redis.sock", retry=Retry(NoBackoff(), 0))
    with Notices(nowhere).of("a plan"):
        eventually(lambda: bool(caplog.records))
    assert caplog.messages[0].startswith("no notices are heard: ")
    assert not caplog.records[0].exc_info
