"""A plan on the wire: the result of a job, written in full and read, with less, when somebody wants one checked."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum
from operator import attrgetter
from typing import Any

from service.views.facts import material_of
from service.views.waste import lap_length, waste_percent
from service.wire import limits
from service.wire.codes import NOT_CUT, NOTICES
from service.wire.fields import Choice, Code, Flag, Id, Json, Many, One, Side, Text, Words
from service.wire.job import GoodSchema
from service.wire.materials.copied_from import CopiedFromSchema
from service.wire.materials.material import SettingsSchema
from service.wire.numbers import MONEY, PLACE, UNITS, Amount, Count, LengthField, Money, Number, SaidLength, money
from service.wire.plans.cutting import ITEM, JOB, MARK, REF, PatternSchema, PlanPartSchema, RunSchema, answering, ref_of
from service.wire.plans.proof import ProofSchema
from solver.job import Job
from solver.lengths import to_number
from solver.plan import CutPlan, MaterialPlan, StoppedBy

_MOST_COST = 10**12
MOST_STICKS = 2_000
"""A result with more sticks leaves them out; they are always under ``/sticks``."""
STOPPED_BY = (
    "What ended the planning: `proof`, cost and bound are equal; `time`, the time allowed was up; "
    "`effort`, everything was tried that is tried on such a list, and more time would not help; `cancel`, it was asked "
    "to stop."
)
ORDER_TOTAL = "What the order comes to; null where anything ordered has no price."
STATUS = (
    "`optimal`: everything is cut and no plan costs less; `feasible`: everything is cut; `partial`: some pieces are "
    "not, see the plan's `not_cut`."
)


class CostField(Amount):
    """A cost of a material: money where its stock has prices, else length in the request's units."""

    def __init__(self, about: str, **settings: Any) -> None:  # noqa: ANN401
        super().__init__(f"{about} Money or length, as `cost_unit` says.", _MOST_COST, 6, **settings)

    def _serialize(  # type: ignore[override]
        self, value: int | None, attr: str | None, obj: MaterialPlan, **_: object
    ) -> float | None:
        del attr
        if value is None:
            return None
        return float(value * obj.cost_step) if obj.priced else to_number(value * int(obj.cost_step), UNITS.get())


class OrderedField(Amount):
    """Money that is written with at least two decimals."""

    def _serialize(self, value: Decimal | None, *_: object, **__: object) -> str | None:
        return money(value)

    def shape(self, side: Side) -> Json:
        """A number or decimal text where it is asked, decimal text where it is answered."""
        return super().shape(side) if side.asked else MONEY


class CostUnit(StrEnum):
    """What a cost is counted in."""

    MONEY = "money"
    LENGTH = "length"

    @classmethod
    def of(cls, told: Any) -> CostUnit:  # noqa: ANN401
        """Return what is counted in of whatever says by ``priced`` whether it has prices."""
        return cls.MONEY if told.priced else cls.LENGTH


class Status(StrEnum):
    """How good a plan is."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    PARTIAL = "partial"


class UsedSettingsSchema(SettingsSchema):
    """The allowances and rules that were used for a material."""

    sent_again = False


class LooksSchema(PlanPartSchema):
    """What is counted of how laps look and how many pieces lie about.

    Pieces are hung wall by wall as the request lists them, and each wall course by course from the lowest.
    """

    laps = Count("How many laps the runs have.", dump_only=True)
    near_lines = Count(
        "Pairs of laps nearer than 6 in to one another along the wall, in courses `lap_repeat` or fewer apart.",
        dump_only=True,
    )
    staircases = Count(
        "Laps in four successive courses that step the same way: by 60 in at most, and by steps that differ by less "
        "than 6 in.",
        dump_only=True,
    )  # fmt: skip
    beside_openings = Count("Laps within 12 in of a stretch to be kept clear in their course.", dump_only=True)
    put_aside = Count("The most pieces that are cut and not yet hung at any time.", dump_only=True)
    for_other_walls = Count("Pieces that are cut on one wall and hung on a later one.", dump_only=True)


class FewestLapsSchema(PlanPartSchema):
    """The best plan found of no run with more laps than it needs, of which the plan itself has more.

    It was sought with less effort than the plan. What it takes is stated, and not checked.
    """

    laps = Count(
        "How many laps it has; where none was found, how many it may have.",
        of=attrgetter("fewest.laps"), dump_only=True,
    )  # fmt: skip
    sticks = Count(
        "How many sticks it buys; null where none was found that cuts as much.",
        of=attrgetter("fewest.sticks"), allow_none=True, dump_only=True,
    )  # fmt: skip
    cost = CostField("What they cost; null likewise.", of=attrgetter("fewest.cost"), allow_none=True, dump_only=True)
    broken_rules = Count(
        "How many rules of placement it breaks; null likewise.",
        of=attrgetter("fewest.broken"), allow_none=True, dump_only=True,
    )  # fmt: skip
    stopped_by = Choice(
        f"As in the plan: only after `proof` does none cost less, or break fewer rules. {STOPPED_BY}",
        StoppedBy, of=attrgetter("fewest.stopped_by"), dump_only=True,
    )  # fmt: skip


class ReckoningSchema(PlanPartSchema):
    """What counts beside the order of a material, your own reckoning: nobody charges it.

    `cost` is what its order comes to and `total` together.
    """

    cuts = Count("How many cuts its sticks take.", dump_only=True)
    patterns = Count("How many patterns the saw is set up for.", dump_only=True)
    cut_cost = Money("What the cuts count by `cut_price`.", dump_only=True)
    pattern_cost = Money("What the patterns count by `pattern_price`.", dump_only=True)
    kept_value = Money(
        "What is kept is worth by `offcut_value`: offcuts and spare sticks, less what was on hand and is used up.",
        dump_only=True,
    )  # fmt: skip
    total = Money("Cuts and patterns, less what is kept is worth.", dump_only=True)


class MaterialPlanSchema(PlanPartSchema):
    """The plan of one material. Sent to be checked, without `cost` it is what the sticks cost."""

    material = Id("Which material, by id.", required=True)
    catalogue = One(
        "The material of the catalogue that it is a copy of; not there where it is none.", CopiedFromSchema,
        of=lambda plan: material_of(JOB.get(), plan.material).origin, dump_only=True, sparse=True,
    )  # fmt: skip
    settings = One("The settings used, with the defaults of its category.", UsedSettingsSchema, dump_only=True)
    sticks = Count("How many sticks are bought.", of=attrgetter("new_sticks"), dump_only=True)
    cost = CostField(
        "What the new sticks cost; where cartons, breaks or fixed costs are to be heeded, what its order comes to, "
        "spares and all; with `reckoning`, that and its `total`."
    )
    cost_unit = Choice(
        "`money` where the stock has prices, in their currency; else `length`.",
        CostUnit, of=CostUnit.of, dump_only=True,
    )  # fmt: skip
    lap_cost = Money(
        "What its laps count by `lap_price`, your own reckoning: the plan keeps `cost` and this together as low as it "
        "can. It is in no other figure, and `bound` is that of `cost` alone.",
        dump_only=True,
    )  # fmt: skip
    bound = CostField("Lower bound: no plan costs less; `proof` says what that rests on.")
    proven = Flag("Whether cost equals bound, so that no plan costs less.", dump_only=True)
    proof = One("What the bound rests on.", ProofSchema)
    stopped_by = Choice(STOPPED_BY, StoppedBy)
    bought_length = LengthField("Length of all new sticks.", dump_only=True)
    offcut_length = LengthField("Length of all offcuts on hand that are used.", dump_only=True)
    used_length = LengthField("Length of all pieces, with what lies in laps.", dump_only=True)
    lap_length = LengthField(
        "Length of the pieces that lies under other panels.",
        of=lambda plan: lap_length(JOB.get(), plan), dump_only=True,
    )  # fmt: skip
    kept_length = LengthField("Length of all that is left and kept.", dump_only=True)
    scrap_length = LengthField("Length that is neither in pieces nor kept.", dump_only=True)
    waste_percent = Number(
        "What is bought and used up and not in pieces, in percent of what is bought and used up, to 2 decimals; what "
        "is kept counts as waste.",
        of=lambda plan: waste_percent([plan]), dump_only=True,
    )  # fmt: skip
    patterns = Many("How its sticks are cut.", PatternSchema, 0, limits.PIECES, required=True)
    runs = Many("How what is longer than a stick is covered.", RunSchema, 0, limits.PIECES)
    fewest_laps = One(
        "What it would take to have no more laps than runs need; null where the plan has none more, and in a week.",
        FewestLapsSchema, of=lambda plan: plan if plan.fewest else None, dump_only=True, allow_none=True,
    )  # fmt: skip
    reckoning = One(
        "What counts beside its order, which `cost` and `bound` are of too; null where nothing does.", ReckoningSchema,
        dump_only=True, allow_none=True,
    )  # fmt: skip
    looks = One(
        "How its laps look; null where nothing of it is for a wall, and in a week.", LooksSchema,
        dump_only=True, allow_none=True,
    )  # fmt: skip


class EnoughSchema(PlanPartSchema):
    """Stock that would be enough for pieces that stay uncut."""

    stock = Id("Which stock length, by id: that of which the fewest would do, and then the cheapest.", dump_only=True)
    sticks = Count("How many more of it.", dump_only=True)


class NotCutSchema(PlanPartSchema):
    """Pieces of an item that stay uncut."""

    item = Count(ITEM, 0, limits.LINES, required=True)
    mark = Text(MARK, dump_only=True)
    quantity = Count("How many pieces.", 1, limits.PIECES, required=True)
    code = Code("Why.", NOT_CUT, required=True)
    detail = Text("Why, in words, and what to do.", 0, 2_000)
    enough = One(
        "What more stock would give these pieces, were there nothing else to cut; null where no stick would, or it is "
        "not known.", EnoughSchema, dump_only=True, allow_none=True,
    )  # fmt: skip
    ref = Text(REF, of=ref_of, dump_only=True, sparse=True)


class OrderLineSchema(PlanPartSchema):
    """What is ordered of one stock length."""

    material = Id("Which material, by id.", required=True)
    stock = Id("Which stock length, by id.", required=True)
    supplier = Text("Who sells it; nothing where nobody says.", dump_only=True)
    text = SaidLength("How long it is, as a person would say it.", of=attrgetter("length"))
    code = Text("The supplier's code; null where there is none.", dump_only=True, allow_none=True)
    sticks = Count("Sticks that the plan cuts.", 0, limits.STICKS_AT_HAND, required=True)
    spares = Count(
        "Sticks bought beside them: spares asked for, and what full cartons or a price break bring.",
        0, limits.STICKS_AT_HAND, required=True,
    )  # fmt: skip
    cartons = Count("Whole cartons to order.", 0, limits.STICKS_AT_HAND, required=True)
    loose = Count("Single sticks to order beside the cartons.", 0, limits.STICKS_AT_HAND, required=True)
    unit_price = Money(
        "Price of one stick when so many are bought; null where it has none.", dump_only=True, allow_none=True
    )
    carton_price = Money(
        "Price of one carton when so many are bought; null where none is bought, or nothing has a price.",
        dump_only=True, allow_none=True,
    )  # fmt: skip
    amount = OrderedField(
        "What `cartons` at `carton_price` and `loose` at `unit_price` come to; null without prices.",
        _MOST_COST, 6, allow_none=True,
    )  # fmt: skip
    fixed_cost = Money("What is charged once for this length, on top of `amount`.", dump_only=True)
    wait_days = Count("Special order: days until it comes; 0 is what is there at once.", dump_only=True)


class NoticeSchema(PlanPartSchema):
    """Something to know before cutting, such as a rule of lap placement that is broken."""

    code = Code("What it is.", NOTICES, required=True)
    detail = Text("What it means, in words.", 0, 2_000)
    pointer = Text("Which part of the request it is about, as a JSON pointer.", allow_none=True, sparse=True)
    material = Text("Which material, by id.", allow_none=True, sparse=True)
    wall = Text("On which wall, by id.", allow_none=True, sparse=True)
    course = Count("In which course.", 1, limits.COURSES, allow_none=True, sparse=True)
    place = LengthField("Where along the wall, from its zero.", least=-PLACE, allow_none=True, sparse=True)
    needed = LengthField(
        "The length that the rule asks for; of a lap over an opening, the nearest place clear of it.",
        least=-PLACE, allow_none=True, sparse=True,
    )  # fmt: skip
    got = LengthField("The length or place that there is.", least=-PLACE, allow_none=True, sparse=True)


def status(plan: CutPlan) -> Status:
    """Return ``partial`` where something could not be cut, else ``optimal`` if all is proven, else ``feasible``."""
    if plan.not_cut:
        return Status.PARTIAL
    alone = (part for part in plan.materials if plan.bill is None or not part.priced)
    proven = (plan.bill is None or plan.bill.proven) and all(part.proven for part in alone)
    return Status.OPTIMAL if proven else Status.FEASIBLE


class BillSchema(PlanPartSchema):
    """What an order of priced materials comes to."""

    supplier = Text("Of whom it is; nothing where nobody says, or it is all orders together.", default="")
    goods = Money("What sticks and cartons cost.", dump_only=True)
    fixed_costs = Money("What is charged once for each length.", dump_only=True)
    small_order = Money("What is charged because the goods are below the minimum order.", dump_only=True)
    order_cost = Money("What is charged once with each order.", dump_only=True)
    delivery = Money("What is charged for bringing it.", dump_only=True)
    total = Money("What the supplier charges.", dump_only=True)
    own = Money("What counts beside it: the sum of `reckoning` over the materials.", dump_only=True)
    bound = OrderedField("Lower bound: no order that supplies the job comes to less, with `own`.", _MOST_COST, 6)
    proven = Flag("Whether total and `own` equal bound.", dump_only=True)


class ResultSchema(PlanPartSchema):
    """A plan: what to cut from what, what to order, what it costs and how good it is."""

    status = Choice(STATUS, Status, of=status, dump_only=True)
    stopped_by = Choice(STOPPED_BY, StoppedBy)
    waste_percent = Number(
        "As in `materials`, over all of them.", of=lambda plan: waste_percent(plan.materials), dump_only=True
    )
    materials = Many("The plan of each material.", MaterialPlanSchema, 0, limits.MATERIALS, required=True)
    order = Many("What to order.", OrderLineSchema, 0, limits.LINES, allow_none=True)
    order_total = Money(ORDER_TOTAL, dump_only=True, allow_none=True)
    bill = One(
        "What all orders come to together where one has a minimum, an order cost or delivery; else null.", BillSchema,
        allow_none=True,
    )  # fmt: skip
    bills = Many("What the order of each supplier comes to then, where materials name any.", BillSchema, 0,
                 limits.SUPPLIERS + 1)  # fmt: skip
    unpriced = Many("Materials, by id, that are ordered and have no price.", Id(), dump_only=True)
    goods = Many(
        "What the job needs besides what is cut, as it was asked for; not ordered where it has no product.", GoodSchema,
        of=lambda _: JOB.get().goods, dump_only=True,
    )  # fmt: skip
    not_cut = Many("What could not be cut.", NotCutSchema, 0, limits.LINES)
    warnings = Many("What to know before cutting.", NoticeSchema, 0, limits.PIECES)
    cautions = Many("Safety, for the materials used.", Words(), dump_only=True)


_FULL = ResultSchema()
_BRIEF = ResultSchema(exclude=("materials.patterns.sticks",))


def render_result(job: Job, plan: CutPlan, *, all_sticks: bool = False) -> Json:
    """Return the result of a job; sticks are left out of large ones unless ``all_sticks``."""
    sticks = sum(use.count for part in plan.materials for use in part.patterns)
    with answering(job):
        answer: Json = (_FULL if all_sticks or sticks <= MOST_STICKS else _BRIEF).dump(plan)
    return answer
