"""The log: lines for people, or with ``LAPSTOCK_LOG=json`` a JSON object a line, for programs.

What a line is about, a request or a plan, is noted once where it begins and stands in every line until it is over.
Bodies and keys are nowhere in it.
"""

from __future__ import annotations

import json
import logging
import os
from collections.abc import Mapping
from contextvars import ContextVar
from datetime import UTC, datetime

from workers.process import BadSetting

LOG_VARIABLE = "LAPSTOCK_LOG"
"""Environment variable that says how the log is written."""
_TEXT = "%(asctime)s %(levelname)s %(name)s: %(message)s"
_ABOUT: ContextVar[Mapping[str, object]] = ContextVar("about", default={})  # noqa: B039 - nobody changes it


def set_up(level: int) -> None:
    """Write the log of this process to its standard error. Raises ``BadSetting``."""
    how = os.environ.get(LOG_VARIABLE) or "text"
    if how not in ("text", "json"):
        raise BadSetting(LOG_VARIABLE, f"text or json, not {how[:40]!r}")
    handler = logging.StreamHandler()
    handler.setFormatter(JsonLines() if how == "json" else logging.Formatter(_TEXT))
    logging.basicConfig(level=level, handlers=[handler])


def about(**ids: object) -> None:
    """Note what the lines of this thread are about from here on, in place of what they were about before."""
    _ABOUT.set(ids)


class JsonLines(logging.Formatter):
    """One JSON object a line: when, how bad, who says so, what, and what it is about."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        told: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            **_ABOUT.get(),
            **getattr(record, "figures", {}),
        }
        if record.exc_info:
            told["trace"] = self.formatException(record.exc_info)
        return json.dumps(told, default=str)
