"""The crew whose week several files put, plan and report."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta

import pytest

from service import weeks
from tests.support.crews import MONDAY, Crew, job, setup
from tests.support.stack import Stack


@pytest.fixture
def crew(serving: Stack, request: pytest.FixtureRequest) -> Crew:
    """Return a crew of the test's own with the week by hand: see ``tests.support.weeks``."""
    made = Crew(serving, f"crew-{abs(hash(request.node.name))}")
    assert made.put("", setup()).status_code == 201
    assert made.put("/jobs/north-wall", job(0, "100", 3)).status_code == 200
    assert made.put("/jobs/boat-shed", job(3, "50", 3)).status_code == 200
    return made


@pytest.fixture
def thursday(crew: Crew, monkeypatch: pytest.MonkeyPatch) -> Crew:
    """Return the crew when the service's clock says noon of the week's Thursday."""
    noon = datetime.combine(MONDAY + timedelta(days=3), time(12), UTC)
    monkeypatch.setattr(weeks, "now", lambda: noon)
    return crew
