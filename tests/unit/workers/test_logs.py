"""The log as JSON: a line is an object that says what it is about, and nothing that somebody sent."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Iterator

import pytest

from service.app import create_app
from service.state import Config
from workers.logs import JsonLines, about


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """Yield what the log says meanwhile."""
    written, root = io.StringIO(), logging.getLogger()
    handler = logging.StreamHandler(written)
    handler.setFormatter(JsonLines())
    root.addHandler(handler)
    yield written
    root.removeHandler(handler)
    about()


def test_a_line_says_which_plan_it_is_about(lines: io.StringIO) -> None:
    """With its level, its logger, its words and where it went wrong."""
    about(plan_id="a" * 32)
    try:
        int("odd")
    except ValueError:
        logging.getLogger("workers").exception("planning %s", "failed")
    told = json.loads(lines.getvalue())
    assert (told["plan_id"], told["level"], told["logger"]) == ("a" * 32, "ERROR", "workers")
    assert told["message"] == "planning failed"
    assert "ValueError: invalid literal" in told["trace"]


def test_a_request_is_one_line_with_its_id_and_no_body_or_key(lines: io.StringIO) -> None:
    """Whatever comes of it: here there is no store, so that it is 503."""
    client = create_app(Config("redis://127.0.0.1:1/0")).test_client()
    logging.getLogger("service").setLevel(logging.INFO)
    plan_id = "b" * 32
    answer = client.post(
        f"/v1/cut-plans/{plan_id}/cancel", json={"customer": "Ada Heron"}, headers={"Authorization": "Bearer sesame"}
    )
    told = [json.loads(line) for line in lines.getvalue().splitlines()]
    (line,) = [line for line in told if "status" in line]
    assert (line["request_id"], line["plan_id"]) == (answer.headers["Request-Id"], plan_id)
    assert (line["method"], line["path"], line["status"]) == ("POST", f"/v1/cut-plans/{plan_id}/cancel", 503)
    assert {line["request_id"] for line in told} == {answer.headers["Request-Id"]}
    assert not any(word in lines.getvalue() for word in ("Ada", "Heron", "sesame"))
