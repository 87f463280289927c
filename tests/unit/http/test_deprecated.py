"""What is deprecated says so: with each answer, and in the contract."""

from __future__ import annotations

import json
from datetime import date

import pytest

from service.app import create_app
from service.http.documented import DEPRECATED, Deprecation
from service.state import Config


def test_an_operation_that_is_to_go_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """RFC 9745, 2.1: a date as seconds since 1970 behind an @; RFC 8594, 3: an HTTP date. No other says anything."""
    app = create_app(Config("redis://127.0.0.1:1/0"))
    assert not any(app.test_client().get("/openapi.json").headers.get(name) for name in ("Deprecation", "Sunset"))
    monkeypatch.setitem(DEPRECATED, "openapi.document", Deprecation(date(2030, 2, 4), date(2031, 2, 3)))
    monkeypatch.setitem(DEPRECATED, "health.live", Deprecation(date(2030, 2, 4)))
    told = create_app(Config("redis://127.0.0.1:1/0")).test_client().get("/openapi.json")
    assert (told.headers["Deprecation"], told.headers["Sunset"]) == ("@1896393600", "Mon, 03 Feb 2031 00:00:00 GMT")
    assert told.headers["Link"] == '</docs/readme#changes>; rel="deprecation"; type="text/html"'
    paths = json.loads(told.text)["paths"]
    assert {path for path, methods in paths.items() if methods.get("get", {}).get("deprecated")} == {
        "/openapi.json", "/health/live",
    }  # fmt: skip
    assert {"Deprecation", "Sunset", "Link"} <= set(paths["/openapi.json"]["get"]["responses"]["200"]["headers"])
    assert "Sunset" not in paths["/health/live"]["get"]["responses"]["200"]["headers"]


def test_every_deprecation_is_of_an_operation_that_there_is() -> None:
    """An endpoint that was renamed would go on without its word."""
    rules = {rule.endpoint for rule in create_app(Config("redis://127.0.0.1:1/0")).url_map.iter_rules()}
    assert set(DEPRECATED) <= rules
