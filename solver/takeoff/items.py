"""From courses to items: courses that are alike and lie one above the other become one item of the cut list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count
from math import ceil

from solver.allowances import of_pieces
from solver.demand import longest_stick
from solver.materials import Material
from solver.required import CutOut, End, KeepClear, Keeps, Meets, Required, Ripped
from solver.takeoff.answer import Course, RunOnWall, SoffitRow, Trim
from solver.takeoff.measured import House, Role


def panel_items(wall: str, material: str, courses: Sequence[Course]) -> tuple[Required, ...]:
    """Return the items of one wall, from the lowest course and the left; marks are the wall's name and a number."""
    numbers = count(1)
    return tuple(
        _item(f"{wall}-{next(numbers)}", wall, material, stack) for stack in sorted(_stacks(courses), key=_place)
    )


_Placed = tuple[Course, RunOnWall]


def _place(stack: Sequence[_Placed]) -> tuple[int, int]:
    course, run = stack[0]
    return course.band.number, run.start


def _stacks(courses: Sequence[Course]) -> Iterator[list[_Placed]]:
    growing: list[list[_Placed]] = []
    for course in courses:
        upper: list[list[_Placed]] = []
        for run in course.runs:
            stack = next((s for s in growing if _continues(s[-1], (course, run))), [])
            upper.append([*stack, (course, run)])
        yield from (stack for stack in growing if not any(stack == grown[:-1] for grown in upper))
        growing = upper
    yield from growing


def _continues(below: _Placed, above: _Placed) -> bool:
    """Whether a run is like the one below it, in the next course."""
    (course, one), (following, other) = below, above
    ends = one.left.end == other.left.end and one.right.end == other.right.end
    alike = (one.start, one.length) == (other.start, other.length) and ends
    return alike and course.band.number + 1 == following.band.number and not _lies_above(above)


def _lies_above(placed: _Placed) -> bool:
    """Whether a run lies above another in its own course, over a low opening as wide as both."""
    course, run = placed
    beside = (other for other in course.runs if other.start < run.end and run.start < other.end)
    return any(other.bottom < run.bottom for other in beside)


def _item(mark: str, wall: str, material: str, stack: Sequence[_Placed]) -> Required:
    first, run = stack[0]
    item = Required(mark, material, run.length, left_end=run.left.end, right_end=run.right.end, start=run.start)
    if _lies_above(stack[0]):
        # one course of a wall holds one run in one place, so this one is planned off the wall
        return replace(
            item,
            ref=f"{wall}, course {first.band.number}, upper",
            cut_outs=tuple(replace(cut_out, course=None) for cut_out in cut_outs([run])),
            rips=tuple(rip.on(None) for rip in run.rips),
        )
    return replace(
        item,
        wall=wall,
        first_course=first.band.number,
        courses=len(stack),
        keep_clear=tuple(merged(k for course, run in stack for k in course.keep_clear if _crosses(run, k))),
        cut_outs=tuple(cut_outs(run for _, run in stack)),
        rips=tuple(rip.on(course.band.number) for course, run in stack for rip in run.rips),
    )


def column_items(wall: str, material: str, columns: Sequence[Course]) -> tuple[Required, ...]:
    """Return the items of upright panels, from the left; those alike side by side are one.

    They are planned off the wall, for they have no laps, and say where they go.
    """
    placed = [(column, run) for column in columns for run in column.runs]
    stacks: list[list[_Placed]] = []
    for column, run in placed:
        stack = next((s for s in stacks if _beside(s[-1], (column, run))), None)
        if stack:
            stack.append((column, run))
        else:
            stacks.append([(column, run)])
    return tuple(_upright(f"{wall}-{number}", wall, material, stack) for number, stack in enumerate(stacks, 1))


def _beside(before: _Placed, now: _Placed) -> bool:
    (column, one), (following, other) = before, now
    plain = not (one.cut_outs or other.cut_outs or one.rips or other.rips)
    ends = one.left.end == other.left.end and one.right.end == other.right.end
    alike = plain and ends and (one.start, one.length) == (other.start, other.length)
    return alike and column.band.number + 1 == following.band.number


def _upright(mark: str, wall: str, material: str, stack: Sequence[_Placed]) -> Required:
    (first, run), (last, _) = stack[0], stack[-1]
    numbers = f"panel {first.band.number}"
    if last is not first:
        numbers = f"panels {first.band.number} to {last.band.number}"
    return Required(
        mark,
        material,
        run.length,
        len(stack),
        run.left.end,
        run.right.end,
        ref=f"{wall}, {numbers} from the left",
        start=run.start,
        cut_outs=tuple(replace(cut_out, course=None) for cut_out in cut_outs([run])),
        rips=tuple(rip.on(None) for rip in run.rips),
    )


MARKS: Mapping[Role, str] = {
    Role.SOFFIT: "C",
    Role.STARTER: "ST",
    Role.CHANNEL: "J",
    Role.UTILITY: "U",
    Role.OUTSIDE_POST: "P",
    Role.INSIDE_POST: "I",
    Role.DRIP_CAP: "D",
    Role.CLOSURE: "K",
    Role.SOFFIT_CHANNEL: "F",
    Role.FASCIA: "A",
}
"""First letter of the marks of trim and soffit; panels are marked by their wall."""


def soffit_items(house: House, rows: Sequence[SoffitRow]) -> Iterator[Required]:
    """Yield the soffit panels that have a material, vented ones of their own material where there is one."""
    vented_material, plain = house.uses.get(Role.SOFFIT_VENTED), house.uses.get(Role.SOFFIT)
    for number, row in enumerate(rows, 1):
        whole = row.quantity - row.ripped
        vented = min(whole, ceil(row.quantity * house.settings.vented)) if vented_material else 0
        last = (Ripped(row.ripped_to, row.ripped_to, Keeps.LIP),) if row.ripped else ()
        parts = ((plain, whole - vented, "", ()), (vented_material, vented, "V", ()), (plain, row.ripped, "R", last))
        for material, quantity, letter, rips in parts:
            if material and quantity:
                mark = f"{MARKS[Role.SOFFIT]}{number}{letter}"
                yield Required(mark, material, row.span, quantity, *row.ends, ref=row.ref, rips=rips)


def trim_items(house: House, trim: Sequence[Trim]) -> Iterator[Required]:
    """Yield the pieces of trim that have a material; starter strip keeps its gap to flanges and doors at both ends."""
    numbers = {role: count(1) for role in MARKS}
    for piece in trim:
        if material := material_of(house, piece):
            parts = butted(piece, material)
            end = End(Meets.CHANNEL) if piece.role is Role.STARTER else End()
            mark = f"{MARKS[piece.role]}{next(numbers[piece.role])}"
            length = -(-piece.length // parts)
            item = Required(mark, material.id, length, parts * piece.quantity, end, end, ref=piece.place)
            if of_pieces(material).cut_length(item) > 0:
                yield item


def material_of(house: House, piece: Trim) -> Material | None:
    """Return the material of a piece of trim: its own, else the one that serves for its role."""
    return house.material(piece.material) if piece.material else house.material_for(piece.role)


def butted(piece: Trim, material: Material) -> int:
    """Return into how many equal parts a piece is divided: more than one where it is over the stick and has no lap."""
    stick = longest_stick(material)
    return -(-piece.length // stick) if stick and material.settings.lap is None else 1


def _crosses(run: RunOnWall, clear: KeepClear) -> bool:
    return clear.start < run.end and run.start < clear.end


def cut_outs(runs: Iterable[RunOnWall]) -> Iterator[CutOut]:
    """Yield the cut-outs of the runs, from the lowest."""
    return (noted.cut_out for run in runs for noted in run.cut_outs)


def merged(clears: Iterable[KeepClear]) -> Iterator[KeepClear]:
    """Yield the stretches with those alike in successive courses made one."""
    waiting: dict[tuple[int, int], KeepClear] = {}
    for clear in clears:
        place = clear.start, clear.end
        before = waiting.get(place)
        if before and before.last + 1 == clear.first:
            waiting[place] = KeepClear(*place, before.first, clear.last)
        else:
            if before:
                yield before
            waiting[place] = clear
    yield from waiting.values()
