"""A plan sent to be checked, on the wire, and what the check answers."""

from __future__ import annotations

from service.wire.base import WireSchema
from service.wire.codes import FAULTS
from service.wire.fields import Code, Flag, Many, One, Words
from service.wire.job import JobSchema
from service.wire.numbers import Number
from service.wire.plan import ResultSchema

_POINTER = "Which part of the body, as a JSON pointer."


class PlanCheckSchema(WireSchema):
    """A request for a cut plan, and a plan for it."""

    request = One("The request.", JobSchema, required=True)
    plan = One(
        "The plan, in the shape of a result. Less than a result may be sent: what is stated is checked, what is left "
        "out is worked out.",
        ResultSchema, required=True,
    )  # fmt: skip


class FaultSchema(WireSchema):
    """One thing that is wrong with a plan."""

    code = Code("What it is.", FAULTS)
    pointer = Words(_POINTER)
    detail = Words("What was needed and what was found.")


class VerifiedSchema(WireSchema):
    """A part of a plan that was, or was not, verified."""

    pointer = Words(_POINTER)
    detail = Words("What of it, and how.")


class CheckedSchema(WireSchema):
    """What the checker finds of a plan."""

    right = Flag(
        "True where everything was verified, false where anything is wrong, null where nothing was found wrong but not "
        "everything could be verified.",
        allow_none=True,
    )
    faults = Many("Everything that is wrong.", FaultSchema)
    verified = Many("What was verified.", VerifiedSchema)
    unverified = Many("What could not be verified.", VerifiedSchema)
    waste_percent = Number("What its sticks waste, as in a result.")
