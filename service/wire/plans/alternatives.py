"""A plan's alternatives on the wire: what each changes, and what it comes to."""

from __future__ import annotations

from collections.abc import Iterable

from service.alternatives import MOST_LENGTHS, Change, Row
from service.views.facts import bought_length, bought_sticks, broken_rules, laps_in, patterns_in
from service.views.waste import waste_percent
from service.wire.base import AnsweredSchema, told
from service.wire.fields import Choice, Id, Json, Many, Words
from service.wire.numbers import Count, LengthField, Money, Number
from service.wire.plans.cut_plan import STATES
from service.wire.plans.plan import ORDER_TOTAL, STATUS, Status, status
from solver.lengths import Unit
from solver.plan import CutPlan
from workers.plans.record import State

_AS_LONG = "Null as long as there is no plan."


class AlternativeSchema(AnsweredSchema):
    """A plan beside others for the same list, which has everything else under its own `id`."""

    id = Words("Its name in the address.")
    number = Words("The number that stands on its sheets.")
    change = Choice(
        "What it changes. `as_asked`: nothing, it is the plan itself; `cheapest`: `lap_price` and `extra_laps` of 0 "
        f"don't hold; `one_length`: one material comes in one length only, for the first {MOST_LENGTHS} lengths; "
        "`fewest_laps`: `extra_laps` is 0; `fewest_patterns`: each way to cut sticks counts as much as the dearest of "
        "them, by `pattern_price`; `in_stock`: nothing is ordered that has `wait_days`; `no_limit`: no length has an "
        "`available`; `no_rack`: nothing is taken from the rack, nor in any of the others.",
        Change,
    )  # fmt: skip
    words = Words("The same in words; and where it came out worse by what it is named for than `as_asked`, that too.")
    material = Id("Which material comes in one length only, by id; null where that is not what is changed.",
                  allow_none=True)  # fmt: skip
    stock = Id("In which length, by id; null likewise.", allow_none=True)
    state = Choice(STATES, State)
    status = Choice(f"{STATUS} {_AS_LONG}", Status, allow_none=True)
    order_total = Money(f"{ORDER_TOTAL} {_AS_LONG}", allow_none=True)
    bought_length = LengthField(f"Length of all new sticks that it cuts. {_AS_LONG}", allow_none=True)
    waste_percent = Number(f"As in the plan's result. {_AS_LONG}", allow_none=True)
    sticks = Count(f"How many sticks the order buys, spares included. {_AS_LONG}", allow_none=True)
    laps = Count(f"How many laps its runs have. {_AS_LONG}", allow_none=True)
    patterns = Count(f"How many ways there are in which its sticks are cut. {_AS_LONG}", allow_none=True)
    broken_rules = Count(f"How many rules of lap placement it breaks. {_AS_LONG}", allow_none=True)


class AlternativesSchema(AnsweredSchema):
    """The alternatives of a plan that were asked for."""

    alternatives = Many("The plan itself, then each of its alternatives.", AlternativeSchema)


_SCHEMA = AlternativesSchema()


def render_alternatives(units: Unit, rows: Iterable[Row]) -> Json:
    """Return a plan and its alternatives beside each other."""
    return told(_SCHEMA, {"alternatives": [_row(row) for row in rows]}, units)


def _row(row: Row) -> Json:
    it, record = row.alternative, row.record
    return {
        "id": record.id, "number": record.number, "change": it.change, "words": it.words, "material": it.material,
        "stock": it.stock, "state": record.state, **_figures(row.plan),
    }  # fmt: skip


def _figures(plan: CutPlan | None) -> Json:
    names = ("status", "order_total", "bought_length", "waste_percent", "sticks", "laps", "patterns", "broken_rules")
    if plan is None:
        return dict.fromkeys(names)
    figures = (
        status(plan), plan.order_total, bought_length(plan), waste_percent(plan.materials), bought_sticks(plan),
        laps_in(plan.materials), patterns_in(plan.materials), broken_rules(plan),
    )  # fmt: skip
    return dict(zip(names, figures, strict=True))
