"""Problem details (RFC 9457) and health, on the wire."""

from __future__ import annotations

from service.problems import KINDS
from service.wire.base import WireSchema
from service.wire.codes import ERRORS
from service.wire.fields import Code, Described, Flag, Json, Many, One, Side, Words
from service.wire.numbers import Count


class KindField(Described):
    """The kind of a problem, as the address of its explanation."""

    def shape(self, side: Side) -> Json:
        """One of the addresses."""
        del side
        kinds = [*(f"/problems/{name}" for name in KINDS), "about:blank"]
        return {"type": "string", "format": "uri-reference", "enum": kinds}


_KINDS = "; ".join(f"`/problems/{name}`: {kind.title}" for name, kind in KINDS.items())


class ErrorSchema(WireSchema):
    """What is wrong with one place of a request."""

    pointer = Words("Which place, as a JSON pointer into the body; `#` is the whole.")
    detail = Words("What is wrong and what to do, in words.")
    code = Code("What is wrong, for programs to act on.", ERRORS)
    readings = Many("What an ambiguous length may mean.", Words(), sparse=True)


class ProblemSchema(WireSchema):
    """Why a request was not answered as asked (RFC 9457)."""

    type = KindField(f"Kind of the problem, as an address that explains it. {_KINDS}; `about:blank`: see the status.")
    title = Words("The kind in words.")
    status = Count("The HTTP status.", 400, 599)
    detail = Words("What went wrong this time.", sparse=True)
    errors = Many("Every fault of the request at once, 200 at most.", ErrorSchema, sparse=True)
    instance = Words("The address that was asked.", sparse=True)


class ChecksSchema(WireSchema):
    """What a plan needs."""

    redis = Flag("Whether the store answers.")
    workers = Flag("Whether a worker that takes any plan is alive.")
    solver = Flag("Whether a small plan comes out right.")


class HealthSchema(WireSchema):
    """Whether this process is alive, or ready to plan."""

    status = Words("`live`, `ready` or `not ready`.")
    checks = One("What was checked.", ChecksSchema, sparse=True)
