"""Problem details (RFC 9457): one shape for everything that can be wrong with a request or with this server."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import islice

from service.http.problem_kinds import KINDS

CONTENT_TYPE = "application/problem+json"
MOST_ERRORS = 200
"""A body with more faults than this is told of the first ones."""


@dataclass(frozen=True, slots=True)
class FieldError:
    """One fault in a body: where (a JSON pointer), what, and the readings of what is ambiguous."""

    pointer: str
    detail: str
    code: str | None = None
    readings: tuple[str, ...] = ()

    def told(self) -> dict[str, object]:
        """Return it as a member of ``errors``."""
        told: dict[str, object] = {"pointer": self.pointer, "detail": self.detail}
        if self.code:
            told["code"] = self.code
        if self.readings:
            told["readings"] = list(self.readings)
        return told


class Problem(Exception):
    """A request that is answered with problem details of ``kind``."""

    def __init__(
        self,
        kind: str,
        detail: str,
        errors: Iterable[FieldError] = (),
        headers: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(detail)
        self.kind = kind
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})

    def body(self) -> dict[str, object]:
        """Return the members of the problem document, but its instance."""
        kind = KINDS[self.kind]
        told: dict[str, object] = {
            "type": f"/problems/{self.kind}",
            "title": kind.title,
            "status": kind.status,
            "detail": self._full_detail(),
        }
        if self.errors:
            told["errors"] = [error.told() for error in self.errors[:MOST_ERRORS]]
        return told

    def _full_detail(self) -> str:
        if len(self.errors) <= MOST_ERRORS:
            return self.detail
        return f"{self.detail} The first {MOST_ERRORS} are listed."


def refused(errors: Iterable[FieldError]) -> Problem:
    """Return the problem of a body with these faults; no more are taken than show that there are too many to tell."""
    errors = tuple(islice(errors, MOST_ERRORS + 1))
    count = f"more than {MOST_ERRORS}" if len(errors) > MOST_ERRORS else str(len(errors))
    return Problem("unplannable", f"The request has {count} error{'s' * (len(errors) > 1)}.", errors)


def not_found(detail: str = "There is nothing under this address.") -> Problem:
    """Return the one answer for ids that are unknown and for ids that are another client's."""
    return Problem("not-found", detail)


def too_large(most_bytes: int) -> Problem:
    """Return the one answer for bodies beyond the limit, wherever they are stopped."""
    return Problem("too-large", f"A body may have {most_bytes} bytes at most.")
