"""Several requests to plan in one body, and one answer for each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from marshmallow import ValidationError

from service.http.problems import Problem, refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors
from service.wire.codes import ProblemSchema
from service.wire.fields import Described, Json, Many, One, Side, wrong
from service.wire.job import JobSchema
from service.wire.plans.cut_plan import ListedPlanSchema
from workers.plans.record import Record


class RequestField(Described):
    """A request, left unread: what is wrong with one is told in its own answer."""

    def _deserialize(self, value: object, *_: object, **__: object) -> Mapping[str, Any]:
        if not isinstance(value, Mapping):
            raise wrong("wrong_type", "must be an object")
        return value

    def shape(self, side: Side) -> Json:
        """A request, or an object that is none."""
        return {"anyOf": [side.ref(JobSchema), {"type": "object"}]}


class CutPlanBatchSchema(WireSchema):
    """Requests to plan, which have nothing to do with each other."""

    requests = Many(
        "Requests, each as `/v1/cut-plans` takes them. What is wrong with one is its answer, and stops no other.",
        RequestField("A request."), 1, limits.BATCH, what="requests", required=True,
    )  # fmt: skip


class BatchAnswerSchema(WireSchema):
    """The answer for one request of a batch."""

    plan = One("The plan that it is, accepted now or under its key before; else null.", ListedPlanSchema,
               allow_none=True)  # fmt: skip
    problem = One(
        "Why it was not accepted, its pointers into the request alone; null where it was.", ProblemSchema,
        allow_none=True,
    )  # fmt: skip


class CutPlanBatchAnswersSchema(WireSchema):
    """What became of the requests of a batch."""

    answers = Many("One for each request, in their order.", BatchAnswerSchema)


@dataclass(frozen=True, slots=True)
class Accepted:
    """A request of a batch: the plan that it is, or what is wrong with it."""

    plan: Record | None = None
    refusal: Problem | None = None

    @property
    def problem(self) -> Json | None:
        """What is wrong with it, as it is answered."""
        return self.refusal.body() if self.refusal else None


_BATCH, _ANSWERS = CutPlanBatchSchema(), CutPlanBatchAnswersSchema()


def read_batch(body: Mapping[str, Any]) -> Sequence[Mapping[str, Any]]:
    """Return the requests of a batch as they came. Raises ``Problem`` where it is none."""
    try:
        requests: Sequence[Mapping[str, Any]] = _BATCH.load(body)["requests"]
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None
    return requests


def render_answers(answers: Sequence[Accepted]) -> Json:
    """Return what is answered for the requests of a batch."""
    answer: Json = _ANSWERS.dump({"answers": answers})
    return answer
