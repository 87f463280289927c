"""A requested plan on the wire: its state, its progress, and the result once there is one; and plans in a list."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from service.views.written import beside
from service.wire.base import WireSchema
from service.wire.codes import FAILURES
from service.wire.fields import Choice, Code, Described, Flag, Id, Json, Many, Moment, One, Side, Text, Words
from service.wire.materials.material import OffcutSchema
from service.wire.numbers import Count, Number, in_units
from service.wire.particulars import DeedSchema, ParticularsSchema
from service.wire.plans.cutting import OneStickSchema, answering, render_alike
from service.wire.plans.plan import CostUnit, ResultSchema, render_result
from solver.job import Job
from solver.lengths import Unit, to_number
from solver.plan import CutPlan
from solver.progress import Phase
from workers.plans.record import Record, State

if TYPE_CHECKING:
    from workers.plans.store import Listed

STATES = (
    "`queued`, it waits for a worker; `running`; `succeeded`, there is a result; `failed`, see `problem`; "
    "`cancelled`, it was stopped, with the best plan so far if there was one."
)
PRICED = "Money or length, as `cost_unit` says; null as long as it is not known."
CURSOR = "[0-9]{12}-[0-9]{10}"
"""Pattern of the place where a page begins."""


@dataclass(frozen=True, slots=True)
class Resource:
    """What is known of one requested plan, to be answered; ``job`` is None where what was kept of it can't be read."""

    record: Record
    job: Job | None
    plan: CutPlan | None
    all_sticks: bool = False

    @property
    def progress(self) -> Json:
        """Cost and bound so far."""
        if self.job is None:
            return {"cost": None, "bound": None, "phase": None, "cost_unit": CostUnit.LENGTH, "left_out": []}
        if self.plan:
            return progress_of(self.job, self.plan)
        phase = self.record.phase if self.record.state is State.RUNNING else None
        return _progress(self.job, self.record.cost, self.record.bound, phase)


class ProgressSchema(WireSchema):
    """How far the planning is."""

    cost = Number(f"Cost of the best plan so far. {PRICED}", allow_none=True)
    bound = Number(f"What no plan costs less than, by what is known so far. {PRICED}", allow_none=True)
    phase = Choice(
        "`searching`, for the least cost; `tidying`, the cost is settled and only plans that cost as little are gone "
        "through, for less scrap and fewer patterns; null unless it is running.",
        Phase, allow_none=True,
    )  # fmt: skip
    cost_unit = Choice("`money` where anything has a price, else `length` in the request's units.", CostUnit)
    left_out = Many("Materials, by id, that count nothing: they have no price and others have.", Id())


class FailureSchema(WireSchema):
    """Why there is no plan."""

    code = Code("What went wrong.", FAILURES)
    detail = Words("The same in words.")


class ResultField(Described):
    """The result of a job, null as long as there is none."""

    def _serialize(self, value: object, attr: str | None, obj: Any, **_: object) -> Json | None:  # noqa: ANN401
        del value, attr
        if obj.job is None or obj.plan is None:
            return None
        return render_result(obj.job, obj.plan, all_sticks=getattr(obj, "all_sticks", False))

    def shape(self, side: Side) -> Json:
        """A result."""
        return side.ref(ResultSchema)


class WrittenLineSchema(WireSchema):
    """A line that the customer wrote, beside what was read of it."""

    words = Words("The line as it was written.")
    read = Words("What was read of it.")
    items = Many("Which items of the request these are, by place from 0.", Count())


class CutPlanSchema(WireSchema):
    """A requested plan."""

    id = Words("Its name in the address.", of=attrgetter("record.id"))
    number = Words(
        "The number that stands on its sheets, to be said and searched: digits, of which the last checks the others. "
        "No two plans of a server have the same.",
        of=attrgetter("record.number"),
    )  # fmt: skip
    name = Text("What the job is called.", of=lambda plan: plan.job.name if plan.job else "")
    state = Choice(STATES, State, of=attrgetter("record.state"))
    created_at = Moment("When it was asked for.", of=attrgetter("record.created_at"))
    started_at = Moment("When a worker began.", of=attrgetter("record.started_at"), allow_none=True)
    finished_at = Moment("When it was over.", of=attrgetter("record.finished_at"), allow_none=True)
    expires_at = Moment("Until when the result is kept.", of=attrgetter("record.expires_at"), allow_none=True)
    queue_ms = Count("Milliseconds it waited for a worker.", of=attrgetter("record.queue_ms"), allow_none=True)
    solve_ms = Count("Milliseconds it was planned.", of=attrgetter("record.solve_ms"), allow_none=True)
    digest = Words(
        "SHA-256 of the request as it was read, with everything filled in that it left out, and without its "
        "particulars. Plans of one digest and one `planned_by` are the same, unless time ran out or something else lay "
        "on the rack; `materials` has the settings that held. Empty where it is not known.",
        of=attrgetter("record.digest"),
    )  # fmt: skip
    planned_by = Words(
        "Version of the program that made the plan, and behind `+` the commit that it was built of where that is "
        "known; empty where there is none.",
        of=attrgetter("record.planned_by"),
    )  # fmt: skip
    is_measured = Flag(
        "Whether it was taken off from measurements, which `/v1/cut-plans/{id}/measured` then gives back.",
        of=attrgetter("record.is_measured"),
    )
    progress = One("How far the planning is.", ProgressSchema)
    result = ResultField("The plan; null as long as there is none.", of=attrgetter("plan"), allow_none=True)
    problem = One("Why there is no plan.", FailureSchema, of=attrgetter("record.failure"), sparse=True)
    particulars = One("For whom and until when it is.", ParticularsSchema, of=attrgetter("record.particulars"))
    written = Many(
        "The customer's own words, where the request gave any beside its items.", WrittenLineSchema,
        of=lambda plan: list(beside(plan.job)) if plan.job else [],
    )  # fmt: skip
    made_from = Words(
        "The number of the plan that it was made from; empty where it was made from none.",
        of=attrgetter("record.made_from"),
    )  # fmt: skip
    replaced_by = Words(
        "The number of the plan that took its place, and with it what this one held on the rack; empty where none did.",
        of=attrgetter("record.replaced_by"),
    )  # fmt: skip
    callback = Words(
        "The address to be told at that it is over, where one was given; `history` says what became of that.",
        of=lambda plan: plan.record.callback or None, sparse=True,
    )  # fmt: skip
    from_rack = Many(
        "What there was on the rack for it when it was planned; the plan holds of it what its sticks name as "
        "`offcut_id`. Add it to the request's `offcuts` to have the plan checked.",
        OffcutSchema, of=lambda plan: [cut for cut in plan.job.offcuts if cut.on_rack] if plan.job else [], sparse=True,
    )  # fmt: skip
    history = Many("Who did what to it, oldest first.", DeedSchema, of=attrgetter("record.history"))


class PlanEventSchema(WireSchema):
    """How a plan stands: what the data of each event says, as JSON on one line."""

    id = Words("The plan, by its name in the address.", of=attrgetter("record.id"))
    state = Choice(STATES, State, of=attrgetter("record.state"))
    progress = One("How far the planning is.", ProgressSchema)
    problem = One("Why there is no plan.", FailureSchema, of=attrgetter("record.failure"), sparse=True)


class OverSchema(WireSchema):
    """What a callback says of a plan: which it is and how it ended."""

    id = Words("Its name in the address.")
    number = Words("The number that stands on its sheets.")
    state = Choice("How it ended: `succeeded`, `failed` or `cancelled`.", State, without=(State.QUEUED, State.RUNNING))
    ref = Words("The caller's own reference, from its particulars.")


class CallbackSchema(WireSchema):
    """A message to a caller's own address."""

    type = Words("`cut_plan.over`. Others may come to be; pass over what you don't know.")
    timestamp = Moment("When it was over.")
    data = One("What it is about.", OverSchema)


class SticksPageSchema(WireSchema):
    """One page of a plan's sticks."""

    count = Count("How many sticks the plan has.")
    sticks = Many("The sticks of this page.", OneStickSchema)


_SCHEMA = CutPlanSchema()
_EVENT = PlanEventSchema()


def render(record: Record, job: Job | None, plan: CutPlan | None, *, all_sticks: bool = False) -> Json:
    """Return the resource; sticks are left out of large results unless ``all_sticks``."""
    with in_units(job.units if job else Unit.IN):
        answer: Json = _SCHEMA.dump(Resource(record, job, plan, all_sticks))
    return answer


def render_event(record: Record, job: Job | None, plan: CutPlan | None) -> Json:
    """Return how a plan stands."""
    with in_units(job.units if job else Unit.IN):
        answer: Json = _EVENT.dump(Resource(record, job, plan))
    return answer


def render_sticks(job: Job, plan: CutPlan, after: int, limit: int) -> Json:
    """Return the page of sticks that begins after so many."""
    page: list[Json] = []
    before = 0
    for part in plan.materials:
        for use in part.patterns:
            # a plan may have very many sticks, of which none but those of the page are made
            first = max(0, after - before)
            shown = use.sticks[first : first + limit - len(page)]
            with answering(job):
                page += render_alike(part.material, use, shown)
            before += use.count
    return {"count": before, "sticks": page}


def progress_of(job: Job, plan: CutPlan) -> Json:
    """Return the cost and the bound that a plan came to."""
    counted = [part for part in plan.materials if part.priced is job.priced]
    cost = sum((part.cost * part.cost_step for part in counted), Decimal(0))
    bound = sum((part.bound * part.cost_step for part in counted), Decimal(0))
    return _progress(job, cost, bound)


def _progress(job: Job, cost: Decimal | None, bound: Decimal | None, phase: Phase | None = None) -> Json:
    wanted = {item.material for item in job.required}
    left_out = [each.id for each in job.materials if job.priced and not each.priced and each.id in wanted]
    return {
        "cost": _figure(cost, job),
        "bound": _figure(bound, job),
        "phase": phase,
        "cost_unit": CostUnit.of(job),
        "left_out": left_out,
    }


def _figure(value: Decimal | None, job: Job) -> float | None:
    if value is None:
        return None
    return float(value) if job.priced else to_number(int(value), job.units)


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


_LIST = PlanListSchema()


def render_list(listed: Listed) -> Json:
    """Return a page of a list."""
    answer: Json = _LIST.dump(listed)
    return answer
