"""The plan of a crew's week on the wire, and the records of the runs that made it."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from operator import attrgetter

from service.wire.base import WireSchema
from service.wire.fields import Choice, DateField, Flag, Id, Many, Moment, One, Text, Words
from service.wire.materials.material import FACTORY_END, OffcutSchema
from service.wire.numbers import UNITS, Count, LengthField, Money, Number, SaidLength
from service.wire.plans.cut_plan import ResultField
from service.wire.plans.cutting import ITEM, MARK, SAID
from service.wire.plans.plan import CostUnit, OrderLineSchema
from service.wire.plans.proof import DatedValuesSchema, ProofSchema
from solver.lengths import to_number
from solver.materials import FactoryEnd
from solver.plan import total_of, unpriced_in
from solver.proof import Proof
from solver.weekly.plan import Compared, DeliveryOrder, Figures, WeekPlan
from solver.weekly.summary import job_costs
from workers.weeks.record import Outcome, Why

JOB = "Which job, by its name in the address."


class OriginSchema(WireSchema):
    """Where an item of a day's sheet comes from."""

    job = Id(JOB)
    item = Count("Which item, by its place in the job's `required` from 0.")


class KeptOffcutSchema(WireSchema):
    """What a stick of a day leaves to keep."""

    sent_again = False

    label = Id("What to write on it; it is brought by this name.")
    material = Id("Which material, by id.")
    stick = Id("Which stick leaves it.")
    length = LengthField("How long it is.")
    text = SaidLength(SAID, of=attrgetter("length"))
    factory_end = Choice(FACTORY_END, FactoryEnd)
    wanted = DateField("The day on which it is cut; null where nothing is cut from it this week.", allow_none=True)


class DaySchema(WireSchema):
    """What is cut on one day."""

    date = DateField("The day.")
    frozen = Flag("Whether its sheet is final.")
    items = Many("Where each item of `result` comes from, in its order.", OriginSchema, of=attrgetter("origins"))
    bring = Many("Offcuts to bring, from the rack or an earlier day.", OffcutSchema, of=attrgetter("job.offcuts"))
    keep = Many("What is left to keep.", KeptOffcutSchema, of=attrgetter("kept"))
    result = ResultField("How it is cut, as of a job of its own.", of=attrgetter("plan"))


def _total(order: DeliveryOrder) -> Decimal | None:
    return total_of(order.lines) if order.lines else None


class DeliveryOrderSchema(WireSchema):
    """What one delivery is to bring."""

    date = DateField("Its day.")
    closed = Flag("Whether it can't be changed any more.")
    lines = Many("What is ordered.", OrderLineSchema)
    total = Money("What it comes to; null where anything ordered has no price.", of=_total, allow_none=True)
    unpriced = Many(
        "Materials, by id, that are ordered and have no price.", Id(), of=lambda order: unpriced_in(order.lines)
    )


class FiguresSchema(WireSchema):
    """Sticks bought, and what they cost."""

    sticks = Count("How many.")
    cost = Number("What they cost: money or length in the week's units, as `cost_unit` says.")


class ComparedSchema(WireSchema):
    """One material of the week planned job by job and planned together; sticks already delivered count nothing."""

    material = Id("Which material, by id.")
    cost_unit = Choice(
        "`money` where the stock has prices, else `length`.",
        CostUnit, of=CostUnit.of,
    )  # fmt: skip
    alone = One(
        "Each job planned by itself, and ordered for by itself where cartons, breaks or fixed costs make the bill.",
        FiguresSchema, of=lambda entry: _figures(entry, entry.alone),
    )  # fmt: skip
    pooled = One("The week planned as a whole.", FiguresSchema, of=lambda entry: _figures(entry, entry.pooled))
    bound = One(
        "Lower bound, the van its own; mostly as if all were cut on one day. Runs longer than a stick as if laid all "
        "together, or by their length. Of what is sold in whole cartons, at breaks or at fixed costs it bounds the "
        "bill, spares aside. Null where it is not known.",
        FiguresSchema, of=lambda entry: _figures(entry, entry.bound), allow_none=True,
    )  # fmt: skip
    proof = One("What the bound rests on; values are of pieces whatever day they are cut on.", ProofSchema)


class MissingSchema(WireSchema):
    """Pieces of a job that no stick is left for."""

    job = Id(JOB)
    item = Count(ITEM)
    mark = Text(MARK)
    quantity = Count("How many pieces.")
    detail = Words("Why, in words.")


class JobCostSchema(WireSchema):
    """What one job's share of the week's sticks costs."""

    job = Id(JOB)
    cost = Money("Its share of the sticks it is cut from, each at what it comes to in the week's orders and split by "
                 "the length that jobs have of it; spares aside. Null where one of them has no price.",
                 allow_none=True)  # fmt: skip


def _proof(plan: WeekPlan) -> Proof:
    valued = plan.dated is not None or all(entry.proof.kind == "duals" for entry in plan.compared)
    return Proof("duals" if valued else "search", basis=plan.basis)


class WeekPlanSchema(WireSchema):
    """The plan of a week."""

    days = Many("The days on which something is cut.", DaySchema)
    orders = Many("What each delivery is to bring.", DeliveryOrderSchema)
    bill = Money(
        "What the week's orders come to, with spares and whole cartons; null where anything ordered has no price.",
        allow_none=True,
    )
    unpriced = Many("Materials, by id, that are ordered and have no price.", Id())
    bound = Money(
        "Lower bound: no plan of the week has a lower `bill` at the van's limit, orders that are closed included. "
        "Null where it is not known, as with stock that has no price.",
        allow_none=True,
    )
    compared = Many("How it compares with job by job, by material.", ComparedSchema)
    proven = Flag("Whether no plan of the week costs less, and nothing is missing.")
    proof = One(
        "What the bound of the week, or without it those of its materials, rests on. Values are in `dated`, with each "
        "of `compared`, or with each day's plan.", ProofSchema, of=_proof,
    )  # fmt: skip
    dated = One(
        "Values that prove `bound` where the materials' own don't: a stick gives pieces of several days, and lies in "
        "the van from the first of them to the last. Count all materials, or only those whose own bound in `compared` "
        "is not certified. Take from `bound` what closed orders come to, the least spares of materials with certified "
        "bounds, and the bounds of materials not counted. Sticks of the others that cost less than what is left are "
        "worth less together, less their places in the van, than all their pieces are, less all places in the van. "
        "Null where none are needed.",
        DatedValuesSchema, allow_none=True,
    )  # fmt: skip
    jobs = Many("What each job costs; together, what the sticks cost that the sheets cut.", JobCostSchema, of=job_costs)
    missing = Many("What no stick is left for.", MissingSchema)
    to_buy = Many(
        "Sticks that would do for what is missing, cut by itself, whatever `available` says; give the week a delivery "
        "for them.", OrderLineSchema,
    )  # fmt: skip
    nights = Many("How many offcuts are in the van in the night after each day, from Monday.", Count())
    carried = Count("How many offcuts are taken along to a later day.")
    changes = Count("How many sticks of sheets already seen are cut otherwise now.")
    notes = Many("What else to know.", Words())


class WeekRunSchema(WireSchema):
    """The record of one run of the planning."""

    at = Moment("When it ended.")
    why = Choice("`night`, or `asked` for.", Why)
    night = DateField("Which night it was for; null where it was asked for.", allow_none=True)
    outcome = Choice("`planned`; `unplannable`, see `details`; or `failed`, a fault of this program.", Outcome)
    changes = Count("How many sticks of sheets already seen it cuts otherwise.")
    bill_before = Money("What the orders came to before.", allow_none=True)
    bill_after = Money("What they come to since.", allow_none=True)
    seconds = Number("How long it took.")
    because = Many("What had changed of the week since the plan before.", Words())
    details = Many("What else to know.", Words())


class WeekRunsSchema(WireSchema):
    """Every run of a week's planning."""

    runs = Many("The runs, oldest first.", WeekRunSchema)


def _figures(entry: Compared, found: Figures | None) -> Mapping[str, object] | None:
    if found is None:
        return None
    cost = float(found.cost) if entry.priced else to_number(int(found.cost), UNITS.get())
    return {"sticks": found.sticks, "cost": cost}
