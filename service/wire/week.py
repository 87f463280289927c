"""Schemas of a crew's week and its parts, and the way from them to the solver's ``Week``."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import time
from operator import attrgetter
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from marshmallow import ValidationError

from service.http.problems import FieldError, refused
from service.wire import limits
from service.wire.base import WireSchema, field_errors, told
from service.wire.fields import Choice, DateField, Described, Flag, Id, Json, Many, One, Side, Text, Words, wrong
from service.wire.job import UNITS_ABOUT, CrossedSchema
from service.wire.materials.material import MaterialSchema, OffcutSchema, material_of, offcut_of
from service.wire.numbers import STICK, Count, LengthField, in_units, plain
from service.wire.required import RequiredSchema, WallSchema, required_of, wall_of
from service.wire.week_plan import WeekPlanSchema, WeekRunsSchema
from service.wire.week_report import ReportSchema, SticksSchema, labelled
from solver.errors import Problem as SolverProblem
from solver.lengths import Unit
from solver.materials import Offcut
from solver.weekly.summary import whole_left
from solver.weekly.week import DatedJob, Delivery, Sticks, Week, WeekLimits
from workers.weeks.record import KeptWeek, Run

DELIVERIES = 14
Made = TypeVar("Made")


class HourField(Described):
    """A time of day, ``05:00``."""

    def _deserialize(self, value: object, *_: object, **__: object) -> time:
        try:
            found = time.fromisoformat(value if isinstance(value, str) and len(value) == 5 else "")
        except ValueError:
            raise wrong("wrong_form", 'must be a time of day, as in "05:00"') from None
        return found

    def _serialize(self, value: time | None, *_: object, **__: object) -> str | None:
        return None if value is None else value.isoformat(timespec="minutes")

    def shape(self, side: Side) -> Json:
        """Hours and minutes."""
        del side
        return {"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$"}


class ZoneField(Described):
    """A time zone by its name, ``America/Chicago``."""

    def _deserialize(self, value: object, *_: object, **__: object) -> str:
        try:
            return ZoneInfo(value if isinstance(value, str) else "").key
        except (KeyError, ValueError, OSError):
            raise wrong("wrong_form", 'must be a time zone, as in "America/Chicago"') from None

    def shape(self, side: Side) -> Json:
        """The name of a zone."""
        del side
        return {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_+/-]*$", "examples": ["America/Chicago"]}


class WeekLimitsSchema(WireSchema):
    """What the van takes, and until when a day's sheet and its delivery may change."""

    carry = Count(
        "How many offcuts the van carries in one night; null is as many as wanted.",
        0, 10_000, allow_none=True, default=None,
    )  # fmt: skip
    shortest_kept = LengthField(
        "The shortest offcut that is carried; null is each material's `keep_offcuts_from`.",
        least=1, most=STICK, allow_none=True, default=None,
    )  # fmt: skip
    freeze_at = HourField("Time of day, in `timezone`, at which a day's sheet is final.", default="05:00")
    freeze_days = Count("So many days before the day itself.", 0, 6, default=0)
    order_at = HourField(
        "Time of day at which what a day's delivery brings is final, unless sticks are reported used before; null is "
        "with the day's sheet.", allow_none=True, default=None,
    )  # fmt: skip
    order_days = Count("So many days before the delivery.", 0, 14, default=0)
    timezone = ZoneField("Time zone by its name in the IANA database.", default="UTC")


_RECEIVED = "What came; null as long as nobody knows, and what is ordered is reckoned with."


class DeliveryDateSchema(WireSchema):
    """A day on which sticks can come."""

    date = DateField("The day; one of the week, or before it.", required=True)
    received = Many(_RECEIVED, SticksSchema, 0, limits.STOCK_ROWS, allow_none=True, default=None)


class WeekJobSchema(CrossedSchema):
    """One job of the week, cut on its date."""

    id = Id("Its name in the address.", dump_only=True)
    name = Text("What it is called on sheets.", default="")
    date = DateField("The day on which all its pieces are cut.", required=True)
    required = Many("What is wanted.", RequiredSchema, 1, limits.LINES, required=True)
    walls = Many("The walls that items are on.", WallSchema, 0, limits.WALLS, default=[], sparse=True)


class DeliverySchema(WireSchema):
    """What a delivery brought."""

    received = Many(_RECEIVED, SticksSchema, 0, limits.STOCK_ROWS, allow_none=True, default=None)


class RackSchema(WireSchema):
    """The offcuts on the rack in the shop."""

    offcuts = Many("All that lie there at the week's beginning.", OffcutSchema, 0, limits.OFFCUTS, required=True)


def _sticks_left(kept: KeptWeek) -> Sequence[Sticks]:
    return whole_left(kept.week, kept.plan) if kept.plan else ()


class WeekSchema(CrossedSchema):
    """A crew's week: what it is planned with, its jobs and reports, and the plan made last."""

    crew = Words("The crew, as the address names it.", of=attrgetter("week.crew"), dump_only=True)
    week = Words("The week as ISO 8601 writes it, such as `2026-W48`.", of=attrgetter("week.name"), dump_only=True)
    monday = DateField("Its first day.", of=attrgetter("week.monday"), dump_only=True)
    version = Count("Grows with every change.", dump_only=True)
    planned_version = Count("The version that was planned last; 0 is none.", of=attrgetter("planned"), dump_only=True)
    up_to_date = Flag("Whether `plan` is of this version.", dump_only=True)
    planning = Flag("Whether it is being planned.", of=lambda kept: kept.asked > 0, dump_only=True)
    refusals = Many("Why the last run of this version came to no plan; empty where it did.", Words(), dump_only=True)
    units = Choice(UNITS_ABOUT, Unit, required=True)
    materials = Many("What is bought and cut.", MaterialSchema, 1, limits.MATERIALS, required=True)
    jobs = Many("The jobs, each put by itself.", WeekJobSchema, dump_only=True)
    deliveries = Many(
        "The days on which sticks can come. A day whose `received` is known stays, listed or not.",
        DeliveryDateSchema, 0, DELIVERIES, default=[],
    )  # fmt: skip
    rack = Many(
        "Offcuts on the crew's own rack at the week's beginning; left out, they stay as they are.",
        OffcutSchema, 0, limits.OFFCUTS, of=attrgetter("week.own_rack"),
    )  # fmt: skip
    use_rack = Flag(
        "Whether it may use what lies on the rack that all share (`/v1/rack`); left out, that stays as it is. What its "
        "sheets use is held for it.", default=False, of=attrgetter("week.use_rack"),
    )  # fmt: skip
    held = Many("What it holds of the rack that all share, with what it has used of that.", OffcutSchema,
                of=attrgetter("week.held"), dump_only=True)  # fmt: skip
    limits = One("What the van takes, and until when a day's sheet may change.", WeekLimitsSchema)
    reports = Many("What was really cut, each day put by itself.", ReportSchema, dump_only=True)
    sticks_left = Many(
        "Whole sticks that came or are ordered, and that by reports and sheets nobody cuts: to return, or for the "
        "next week.", SticksSchema, of=_sticks_left, dump_only=True,
    )  # fmt: skip
    plan = One("The plan made last; null before the first.", WeekPlanSchema, dump_only=True, allow_none=True)

    def get_attribute(self, obj: Any, attr: str, default: Any) -> Any:  # noqa: ANN401
        """Look for what was asked where a kept week keeps it."""
        return super().get_attribute(obj if hasattr(obj, attr) else obj.week, attr, default)


_WEEK = WeekSchema()
_RUNS = WeekRunsSchema()


def render_week(kept: KeptWeek) -> Json:
    """Return the resource of a week."""
    return told(_WEEK, kept, kept.week.units)


def render_runs(runs: Sequence[Run]) -> Json:
    """Return the records of a week's runs."""
    answer: Json = _RUNS.dump({"runs": runs})
    return answer


def loaded(schema: type[WireSchema], body: Mapping[str, Any], units: Unit, make: Callable[[Any], Made]) -> Made:
    """Return what a body says. Raises ``Problem`` naming every fault at once."""
    try:
        with in_units(units):
            return make(schema().load(body))
    except ValidationError as error:
        raise refused(field_errors(error.messages)) from None


Where = Callable[[str], str]
"""Returns where in a body is what a pointer into the week speaks of."""


def under(prefix: str) -> Where:
    """Return where things are in a body that stands for what is under ``prefix``; others are told as in the week."""

    def where(pointer: str) -> str:
        inside = pointer == prefix or pointer.startswith(f"{prefix}/")
        return "#" + pointer.removeprefix(prefix) if inside else pointer

    return where


def in_rack(offcuts: Sequence[Offcut], name: str) -> Where:
    """Return where things are in a body with offcuts that it calls ``name``: those of the week go by their labels."""
    labels = [offcut.id for offcut in offcuts]

    def where(pointer: str) -> str:
        return labelled(pointer, labels, name) or pointer

    return where


def misplaced(problems: Sequence[SolverProblem], where: Where) -> Iterator[FieldError]:
    """Yield the solver's problems as faults of a body."""
    for problem in problems:
        yield FieldError(where(problem.pointer), problem.detail, problem.code)


def week_of(data: Mapping[str, Any], crew: str, year: int, number: int, before: Week | None) -> Week:
    """Return the week that ``WeekSchema`` loaded; jobs, reports and what came stay as they were ``before``."""
    given = tuple(Delivery(entry["date"], received_of(entry)) for entry in data.get("deliveries", ()))
    before = before or Week(crew=crew, year=year, number=number, units=data["units"], materials=())
    rack = (*map(offcut_of, data["rack"]), *before.held) if "rack" in data else before.rack
    return Week(
        crew=crew, year=year, number=number, units=data["units"], materials=tuple(map(material_of, data["materials"])),
        jobs=before.jobs,
        deliveries=_with_received(given, before.deliveries),
        rack=rack,
        limits=WeekLimits(**plain(data.get("limits") or {})),
        reports=before.reports,
        use_rack=data.get("use_rack", before.use_rack),
        given_back=before.given_back,
        given_sticks=before.given_sticks,
    )  # fmt: skip


def _with_received(given: Sequence[Delivery], before: Sequence[Delivery]) -> tuple[Delivery, ...]:
    """Return the deliveries given; what is known to have come is not lost because a body does not repeat it."""
    said = {delivery.date for delivery in given if delivery.received is not None}
    known = {day.date: day for day in before if day.received is not None and day.date not in said}
    dates = {delivery.date for delivery in given}
    lost = (delivery for day, delivery in known.items() if day not in dates)
    return (*(known.get(delivery.date, delivery) for delivery in given), *lost)


def received_of(data: Mapping[str, Any]) -> tuple[Sticks, ...] | None:
    """Return what a delivery brought, None where nobody said."""
    received = data.get("received")
    return None if received is None else tuple(Sticks(**entry) for entry in received)


def dated_job_of(data: Mapping[str, Any], job: str) -> DatedJob:
    """Return the job that ``WeekJobSchema`` loaded."""
    required = tuple(required_of(item, place) for place, item in enumerate(data["required"], start=1))
    return DatedJob(job, data["date"], required, data.get("name", ""), tuple(map(wall_of, data.get("walls", ()))))
