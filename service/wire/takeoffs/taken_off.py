"""What a take-off answers on the wire: a request for a cut plan, and beside it how every figure came about."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from operator import attrgetter
from typing import Any

from service.drawing.elevation import draw_elevation, draw_story_pole
from service.drawing.svg import svg
from service.http.strict_json import plain
from service.wire import limits
from service.wire.base import AnsweredSchema, told
from service.wire.fields import Choice, Flag, Id, Json, Many, One, Text, Words
from service.wire.job import JobSchema, LimitsSchema, RackField
from service.wire.materials.material import OffcutSchema
from service.wire.numbers import UNITS, Count, LengthField, Number, SaidLength
from service.wire.particulars import ParticularsSchema
from service.wire.plans.cut_plan import CutPlanSchema
from service.wire.plans.cutting import SAID
from service.wire.plans.plan import NoticeSchema
from service.wire.required import EDGE, KEEPS
from service.wire.takeoffs.measured import FINISH
from service.wire.takeoffs.story_pole import HousePoleSchema
from service.wire.takeoffs.takeoff import NEED_ABOUT
from solver.categories import Hangs
from solver.job import Job
from solver.lengths import to_number
from solver.required import Edge, Keeps
from solver.takeoff import TakeOff
from solver.takeoff.answer import Figure, NotedCutOut, RunEnd, RunOnWall, WallTakeOff, square_feet
from solver.takeoff.goods import Need
from solver.takeoff.measured import Finish, Role
from solver.takeoff.rules import SQUARE_METRES
from workers.callbacks import LONGEST_ADDRESS

ENDS_HERE = "Joints of upright panels one above the other are not taken off: measure such a wall as two."
_ALONG = "along the wall from its zero."
_SUM = "The sum behind it, in words."
_SOURCE = "Who prints the rule; null where it is plain arithmetic."


def _value(figure: Figure) -> int | float:
    return to_number(round(figure.value), UNITS.get()) if figure.length else round(float(figure.value), 6)


def _own_pole(wall: WallTakeOff) -> str | None:
    return svg(draw_story_pole(wall, UNITS.get())) if wall.hangs is Hangs.COURSES else None


def _area(wall: WallTakeOff) -> float:
    area = square_feet(wall.net_area)
    return round(float(area * SQUARE_METRES if UNITS.get().metric else area), 2)


def _gap(end: RunEnd) -> int | Fraction:
    return round(end.extra) + end.gap


class FigureSchema(AnsweredSchema):
    """A figure with its arithmetic."""

    name = Words("What it is.")
    value = Number("Its value: a length in the request's units, or a number.", of=_value)
    arithmetic = Words(_SUM, of=attrgetter("text"))
    source = Words(_SOURCE, of=lambda figure: figure.source or None, allow_none=True)


class StretchSchema(AnsweredSchema):
    """A stretch of a wall without laps."""

    start = LengthField(f"Where it begins, {_ALONG}", data_key="from")
    end = LengthField(f"Where it ends, {_ALONG}", data_key="to")


class CutLengthSchema(AnsweredSchema):
    """A length to cut."""

    length = LengthField("How long.", of=lambda length: length)
    text = SaidLength(SAID, of=lambda length: length)


class RunEndSchema(AnsweredSchema):
    """One end of a run: where it was measured, and what comes off."""

    meets = Words("What it meets, in words.", of=attrgetter("what"))
    measured = LengthField(f"The measured line, {_ALONG}")
    takes_up = LengthField("From there to the back of the trim's pocket.")
    gap = LengthField("The gap in all that is left, along the panel.", of=_gap)


class NotedCutOutSchema(AnsweredSchema):
    """One cut-out, along the wall and from both ends of the run as if it were cut in one piece."""

    opening = Words("Which opening, by id.")
    start = LengthField(f"Where it begins, {_ALONG}", of=attrgetter("noted.cut_out.start"), data_key="from")
    end = LengthField(f"Where it ends, {_ALONG}", of=attrgetter("noted.cut_out.end"), data_key="to")
    from_left = SaidLength("From the run's left end to its left side.", of=lambda at: at.from_left)
    from_right = SaidLength("From the run's right end to its right side.", of=lambda at: at.from_right)
    edge = Choice(EDGE, Edge, of=attrgetter("noted.cut_out.edge"))
    height_left = SaidLength("Its height at its left.", of=attrgetter("noted.height_left"))
    height_right = SaidLength("Its height at its right.", of=attrgetter("noted.height_right"))
    upper_edge = SaidLength("Upper edge of a hole; null for a notch.", of=attrgetter("noted.top"), allow_none=True)
    notes = Many("What to watch for.", Words(), of=attrgetter("noted.notes"))


class RipSchema(AnsweredSchema):
    """A panel ripped lengthwise."""

    left = SaidLength("What is left of its height at its left end.", of=attrgetter("left"))
    right = SaidLength("What is left of its height at its right end.", of=attrgetter("right"))
    keeps = Choice(KEEPS, Keeps)
    arithmetic = Words(_SUM, of=attrgetter("text"))


class RunOnWallSchema(AnsweredSchema):
    """One run of one course, from the back of one pocket to the back of the other."""

    start = LengthField(f"Where it begins, {_ALONG}")
    length = LengthField("How long it is, pocket to pocket.")
    text = SaidLength(SAID, of=attrgetter("length"))
    cut = One("What is cut, if it were one piece.", CutLengthSchema)
    arithmetic = Words(_SUM, of=attrgetter("text"))
    left = One("Its left end.", RunEndSchema)
    right = One("Its right end.", RunEndSchema)
    pattern = Flag("Whether a sloping cut needs a pattern cut on site.")
    cut_outs = Many(
        "What is taken out of it.", NotedCutOutSchema, of=lambda run: [_CutOutAt(run, cut) for cut in run.cut_outs]
    )
    rips = Many("Where it is ripped.", RipSchema)


class CourseSchema(AnsweredSchema):
    """One course of a wall."""

    course = Count("Its number; 1 is in the starter.", of=attrgetter("band.number"))
    bottom = LengthField("Its lower edge, above the wall's zero.", of=attrgetter("band.bottom"))
    top = LengthField("Its upper edge, above the wall's zero.", of=attrgetter("band.top"))
    text = SaidLength("Its lower edge as a person would say it.", of=attrgetter("band.bottom"))
    runs = Many("Its runs, from the left.", RunOnWallSchema)
    keep_clear = Many("Where it may have no lap.", StretchSchema)


class FloorFinishSchema(AnsweredSchema):
    """One way to close the strip over a floor."""

    finish = Choice(FINISH, Finish)
    left = SaidLength("Height of the strip at its left.", of=attrgetter("left"))
    right = SaidLength("Height of the strip at its right.", of=attrgetter("right"))
    consequence = Words("What follows from it.")
    source = Words("Who recommends it.")


class WallTakeOffSchema(AnsweredSchema):
    """One wall taken off."""

    id = Id("Which wall.", of=attrgetter("wall.id"))
    hangs = Choice(
        "How its panels hang: `courses`, level, from the bottom; `columns`, upright, from the left. Of columns, "
        "`bottom` and `top` are an upright panel's left and right edge along the wall, and places along it are "
        "measured down from the wall's highest point: its left end is its head.",
        Hangs,
    )  # fmt: skip
    courses = Many("Its courses, from the bottom; of upright panels its columns, from the left.", CourseSchema)
    figures = Many("How its courses were worked out.", FigureSchema)
    finishes = Many("The ways to close strips over its floors.", FloorFinishSchema)
    elevation = Words("Its elevation, as SVG.", of=lambda wall: svg(draw_elevation(wall, UNITS.get())))
    story_pole = Words(
        "The heights of its courses, as SVG; null where its panels hang upright.", of=_own_pole, allow_none=True
    )
    net_area = Number("What shows of its siding: square feet, in a metric job square metres, to 2 decimals.", of=_area)
    net_square_feet = Number(
        "The same in square feet, to 2 decimals; not in a metric job.",
        of=lambda wall: None if UNITS.get().metric else _area(wall), sparse=True,
    )  # fmt: skip


class SoffitRowSchema(AnsweredSchema):
    """A row of soffit panels of one length."""

    place = Words("Where.")
    quantity = Count("How many panels.")
    length = LengthField("Clear length, pocket to pocket.", of=attrgetter("span"))
    text = SaidLength(SAID, of=attrgetter("span"))
    parts = Count("Into how many lengths the span is divided.")
    figures = Many("How they were worked out.", FigureSchema)


class TrimSchema(AnsweredSchema):
    """Pieces of trim of one length."""

    use = Choice(f"What they serve for: {', '.join(f'`{role}`' for role in Role)}.", Role, of=attrgetter("role"))
    place = Words("Where.")
    quantity = Count("How many pieces.")
    length = LengthField("How long each is.")
    text = SaidLength(SAID, of=attrgetter("length"))
    arithmetic = Words(_SUM, of=attrgetter("figure.text"))
    source = Words(_SOURCE, of=lambda piece: piece.figure.source or None, allow_none=True)


class NeedSchema(AnsweredSchema):
    """Something that the house needs besides panels and trim."""

    need = Choice(f"What. {NEED_ABOUT}.", Need)
    quantity = Number("How much, to 2 decimals.", of=lambda needed: round(float(needed.quantity), 2))
    unit = Words("What it is counted in.")
    arithmetic = Words(_SUM, of=attrgetter("text"))
    source = Words("Who prints the rule, or that nobody was found.")
    product = Id("What it is bought as; null where nothing was named for it.", allow_none=True)
    packs = Count("How many packs of that; null where nothing was named.", allow_none=True)


class StripSchema(AnsweredSchema):
    """What is left of a panel at one place."""

    wall = Words("On which wall, by id.")
    place = Words("Where.")
    height = SaidLength("How high it is; 0 where a course line falls there.", of=attrgetter("height"))


class StarterHeightSchema(AnsweredSchema):
    """What a course line higher or lower would leave."""

    shift = SaidLength("How much higher than asked; negative is lower.", of=attrgetter("shift"))
    strips = Many("What would be left at each place.", StripSchema)
    slivers = Many("Which of these would be too low.", StripSchema)


class RuleSchema(AnsweredSchema):
    """A number of the trade that was used."""

    rule = Words("What it is for.", of=attrgetter("name"))
    value = Words("The value used.")
    source = Words("Who prints it.")
    conflicts = Words("Who prints another; null is nobody.", of=lambda rule: rule.conflicts or None, allow_none=True)


class TakenOffSchema(AnsweredSchema):
    """How every item and figure of a take-off came about."""

    walls = Many("The walls, course by course.", WallTakeOffSchema, of=attrgetter("walls"))
    soffits = Many("Soffit panels.", SoffitRowSchema, of=attrgetter("soffits"))
    trim = Many("Trim, piece by piece.", TrimSchema, of=attrgetter("trim"))
    starter_heights = Many(
        "What other heights of the course line would leave.",
        StarterHeightSchema,
        of=attrgetter("starter_heights"),
    )
    story_pole = One(
        "The house's one story pole; null where no wall was measured.", HousePoleSchema, of=attrgetter("pole"),
        allow_none=True,
    )  # fmt: skip
    figures = Many("Nails, starter, area and estimates.", FigureSchema, of=attrgetter("figures"))
    needs = Many("What the house needs besides panels and trim.", NeedSchema, of=attrgetter("needs"))
    warnings = Many("What to know before ordering.", NoticeSchema, of=attrgetter("notices"))
    rules = Many("The rules of the trade that were used.", RuleSchema, of=attrgetter("rules"))
    cautions = Many("Safety, for the work measured and the materials named.", Words(), of=attrgetter("cautions"))
    ends_here = Words("What is not taken off.", of=lambda _: ENDS_HERE)


class TakeOffAnswerSchema(JobSchema):
    """A take-off: it can be posted as it is as a request for a cut plan."""

    takeoff = One("How every item and figure came about.", TakenOffSchema)
    offcuts = Many("Handed on from the request.", OffcutSchema, 0, limits.OFFCUTS, sparse=True)
    rack = RackField("Handed on from the request.", sparse=True)
    limits = One("Handed on from the request.", LimitsSchema, sparse=True)
    particulars = One("Handed on from the request.", ParticularsSchema, sparse=True)
    callback = Text("Handed on from the request.", 1, LONGEST_ADDRESS, sparse=True)


class PlannedTakeOffSchema(CutPlanSchema):
    """The plan that was made of a take-off, with the take-off beside it."""

    takeoff = One("How every item and figure came about.", TakenOffSchema)


@dataclass(frozen=True, slots=True)
class _CutOutAt:
    """A cut-out on the run that carries it."""

    run: RunOnWall
    noted: NotedCutOut

    @property
    def opening(self) -> str:
        """The name of the opening it is for."""
        return self.noted.opening

    @property
    def from_left(self) -> int:
        """From the left end of the run as cut, in ticks."""
        return self.noted.cut_out.start - self.run.start - self.run.left.gap

    @property
    def from_right(self) -> int:
        """From the right end of the run as cut, in ticks."""
        return self.run.end - self.run.right.gap - self.noted.cut_out.end


_HANDED_ON = ("offcuts", "rack", "limits", "particulars", "callback")
"""What a take-off takes only to hand it on to the plan; where it says nothing of one, neither does its answer."""
_TERMS = ("minimum_order", "suppliers", "within_days")
"""The same of what is ordered; of these the answer says too that there is nothing."""
_JOB = JobSchema(exclude=_HANDED_ON)
_TAKEN = TakenOffSchema()


def cut_plan_request(found: TakeOff, asked: Mapping[str, Any]) -> Json:
    """Return the request for a cut plan of what was taken off, with what its own request hands on."""
    house = found.house
    job = Job(house.name, house.unit, house.materials, found.required, walls=found.planned_walls, goods=found.goods)
    handed_on = {name: plain(asked[name]) for name in (*_HANDED_ON, *_TERMS) if name in asked}
    return told(_JOB, job, house.unit) | handed_on


def render_take_off(found: TakeOff, asked: Mapping[str, Any]) -> Json:
    """Return the answer: the request for a cut plan, which may keep ``takeoff`` too, and how it came about."""
    return cut_plan_request(found, asked) | {"takeoff": told(_TAKEN, found, found.house.unit)}
