"""Plans in a list: what tells one from another, and where the list goes on."""

from __future__ import annotations

from operator import attrgetter

from service.wire.base import WireSchema
from service.wire.cut_plan import STATES, FailureSchema
from service.wire.fields import Choice, Json, Many, Moment, One, Words
from service.wire.particulars import ParticularsSchema
from workers.record import State
from workers.store import Listed

CURSOR = "[0-9]{12}-[0-9]{10}"
"""Pattern of the place where a page begins."""


class ListedPlanSchema(WireSchema):
    """A plan in a list, without its result."""

    id = Words("Its name in the address.")
    number = Words("The number that stands on its sheets.")
    name = Words("What the job is called.")
    state = Choice(STATES, State)
    created_at = Moment("When it was asked for.")
    finished_at = Moment("When it was over.", allow_none=True)
    expires_at = Moment("Until when it is kept.", allow_none=True)
    particulars = One("For whom and until when it is.", ParticularsSchema)
    made_from = Words("The number of the plan that it was made from; empty where it was made from none.")
    problem = One("Why there is no plan.", FailureSchema, of=attrgetter("failure"), sparse=True)


class PlanListSchema(WireSchema):
    """A page of the caller's own plans, newest first."""

    plans = Many("The plans of this page.", ListedPlanSchema, of=attrgetter("records"))
    next = Words(
        "What to send as `cursor` for the next page; null on the last. A page may be short and others follow it.",
        of=lambda listed: listed.following or None, allow_none=True,
    )  # fmt: skip


_SCHEMA = PlanListSchema()


def render_list(listed: Listed) -> Json:
    """Return a page of a list."""
    answer: Json = _SCHEMA.dump(listed)
    return answer
