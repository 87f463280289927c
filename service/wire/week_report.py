"""What a crew reports of a day, on the wire, and the way from it to the solver's ``Report``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

from marshmallow import ValidationError

from service.wire import limits
from service.wire.base import WireSchema
from service.wire.fields import DateField, Flag, Id, Json, Many, Text, wrong
from service.wire.materials.material import OffcutSchema, offcut_of
from service.wire.numbers import Count
from solver.weekly.plan import DayPlan
from solver.weekly.week import Done, Kept, Report, Sticks, Week


class SticksSchema(WireSchema):
    """Whole sticks of one stock length."""

    material = Id("Which material, by id.", required=True)
    stock = Id("Which of its stock lengths, by id.", required=True)
    count = Count("How many.", 1, limits.STICKS_AT_HAND, required=True)


class DoneSchema(WireSchema):
    """Pieces of one item of a job that were cut."""

    job = Id("Which job, by its name in the address.", required=True)
    mark = Text("Which item, by its mark; in the place of `item`, where only one item of the job has it.",
                load_only=True)  # fmt: skip
    item = Count("Which item, by its place in the job's `required` from 0.", 0, limits.LINES)
    quantity = Count("How many pieces.", 1, limits.PIECES, required=True)


class KeptSchema(OffcutSchema):
    """An offcut that was kept."""

    in_van = Flag("Whether it is carried on in the van; else it lies on the rack in the shop.", default=True)

    def get_attribute(self, obj: Any, attr: str, default: Any) -> Any:  # noqa: ANN401
        """Look for the offcut's own fields where a report keeps them."""
        return super().get_attribute(obj if attr == "in_van" else obj.offcut, attr, default)


class ReportSchema(WireSchema):
    """What was really cut on a day."""

    date = DateField("The day, which the address names.", dump_only=True)
    as_planned = Flag(
        "Everything was cut, used and kept as on the day's sheet, but for what else is said here. Where some of a "
        "stock length were not used, `kept` is needed if the sheet keeps any offcut of it.",
        default=False, load_only=True,
    )  # fmt: skip
    not_done = Many(
        "Pieces on the sheet that were not cut; goes with `as_planned`. Their sticks count as used all the same.",
        DoneSchema, 0, limits.LINES, default=[], load_only=True,
    )  # fmt: skip
    done = Many(
        "Pieces that were cut; with what was kept no more than can have come out of what was used by then.",
        DoneSchema, 0, limits.LINES, default=[],
    )  # fmt: skip
    sticks = Many(
        "Whole sticks that were used: no more than came, or are ordered where nobody has said what came.",
        SticksSchema, 0, limits.STOCK_ROWS, default=[],
    )  # fmt: skip
    used = Many("Offcuts that were used, by id, each once.", Id(), 0, limits.OFFCUTS, default=[])
    kept = Many("Offcuts that were kept.", KeptSchema, 0, limits.OFFCUTS, default=[])


def report_of(data: Mapping[str, Any], week: Week, sheet: DayPlan | None, day: date) -> Report:
    """Return the report that ``ReportSchema`` loaded, with the items that its marks name.

    ``sheet`` is the day's, for what was cut as planned. Raises ``ValidationError`` for every mark that names none or
    several, and for what the sheet has not.
    """
    marks = {job.id: [required.mark for required in job.required] for job in week.jobs}
    planned = sheet.as_planned() if data.get("as_planned") and sheet is not None else Report(day)
    with _gathered() as faults:
        if data.get("as_planned") and sheet is None:
            faults["as_planned"] = wrong("no_sheet", "the day has no sheet; plan the week first").messages
        not_done = _done_of(data, "not_done", marks, faults)
        done = _done_of(data, "done", marks, faults) if "done" in data else planned.done
        given: dict[str, Any] = {
            "done": _without(done, not_done, faults),
            "sticks": tuple(Sticks(**entry) for entry in data.get("sticks", ())),
            "used": tuple(data.get("used", ())),
            "kept": tuple(_kept(entry) for entry in data.get("kept", ())),
        }
        told = replace(planned, **{name: value for name, value in given.items() if name == "done" or name in data})
        if sheet is not None and planned.kept and "kept" not in data:
            told = replace(told, kept=tuple(_left_of(sheet, planned, told, faults)))
    return told


def labelled(pointer: str, labels: Sequence[str], name: str) -> str:
    """Return where in a body the last offcut of a label is that a pointer into the week speaks of; nothing else is."""
    for place, label in reversed(list(enumerate(labels))):
        head, found, below = pointer.partition(f"#/rack/{label}")
        if found and not head and (not below or below.startswith("/")):
            return f"#/{name}/{place}{below}"
    return ""


def place_in_report(pointer: str, body: Mapping[str, Any], report: Report) -> str:
    """Return where in the body of a report is what a pointer into the week speaks of; ``#`` where it is elsewhere."""
    own = f"#/reports/{report.date.isoformat()}"
    items = [f"#/jobs/{done.job}/required/{done.item}" for done in report.done]
    kept = [one.offcut.id for one in report.kept]
    if pointer in items:
        place = f"#/done/{items.index(pointer)}"
    elif pointer.startswith(own):
        place = "#" + pointer.removeprefix(own)
    else:
        place = labelled(pointer, report.used, "used") or labelled(pointer, kept, "kept") or "#"
    # what was taken from the sheet has no place of its own in the body
    return place if place == "#" or place.split("/")[1] in body else "#/as_planned"


def _left_of(sheet: DayPlan, planned: Report, told: Report, faults: Json) -> Iterator[Kept]:
    """Yield what the sheet keeps, but nothing of sticks and offcuts that were not used.

    Which of several whole sticks were not is for the report to say, where they leave anything.
    """
    used, expected = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    for counts, report in ((used, told), (expected, planned)):
        for entry in report.sticks:
            counts[entry.material, entry.stock] += entry.count
    cut = {(part.material, stick.stick): (use, stick) for part in sheet.plan.materials for use, stick in part.sticks()}
    for offcut, kept in zip(sheet.kept, planned.kept, strict=True):
        use, stick = cut[offcut.material, offcut.stick]
        source = (offcut.material, use.stock or "")
        count, of = used[source], expected[source]
        if stick.offcut_id in told.used or count >= of > 0:
            yield kept
        elif count:
            words = f"{count} of {of} {' '.join(source)} were used: say what was kept"
            faults["kept"] = wrong("missing", words).messages


@contextmanager
def _gathered() -> Iterator[dict[str, Any]]:
    """Yield where faults are gathered by field; raises ``ValidationError`` with all of them in the end."""
    faults: dict[str, Any] = {}
    yield faults
    if faults:
        raise ValidationError(faults)


def _done_of(data: Mapping[str, Any], name: str, marks: Mapping[str, Sequence[str]], faults: Json) -> tuple[Done, ...]:
    done = []
    for place, entry in enumerate(data.get(name, ())):
        try:
            done.append(Done(entry["job"], _item_of(entry, marks.get(entry["job"], [])), entry["quantity"]))
        except ValidationError as error:
            faults.setdefault(name, {})[place] = {error.field_name: error.messages}
    return tuple(done)


def _without(done: tuple[Done, ...], not_done: tuple[Done, ...], faults: Json) -> tuple[Done, ...]:
    left = {(entry.job, entry.item): entry for entry in done}
    for place, entry in enumerate(not_done):
        there = left.get((entry.job, entry.item))
        count = there.quantity - entry.quantity if there else -1
        if count < 0:
            words = f"the sheet has {there.quantity if there else 'none'} of it to cut"
            faults.setdefault("not_done", {})[place] = {"quantity": wrong("not_on_sheet", words).messages}
        elif count:
            left[entry.job, entry.item] = replace(entry, quantity=count)
        else:
            del left[entry.job, entry.item]
    return tuple(left.values()) if not_done else done


def _item_of(entry: Mapping[str, Any], marks: Sequence[str]) -> int:
    if ("mark" in entry) == ("item" in entry):
        raise wrong("missing", "say which item, either by its mark or by its place", "item")
    if "item" in entry:
        return int(entry["item"])
    mark = entry["mark"]
    if marks.count(mark) != 1:
        told = f"{marks.count(mark)} items of {entry['job']} have the mark {mark}"
        raise wrong("mark_unclear", f"{told}; give the place of the one meant as item", "mark")
    return marks.index(mark)


def _kept(data: Mapping[str, Any]) -> Kept:
    offcut = {name: value for name, value in data.items() if name != "in_van"}
    return Kept(offcut_of(offcut), data.get("in_van", True))
