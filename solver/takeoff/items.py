"""From courses to items: courses that are alike and lie one above the other become one item of the cut list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import count

from solver.required import CutOut, KeepClear, Required
from solver.takeoff.answer import Course, RunOnWall


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
        upper = []
        for run in course.runs:
            stack = next((s for s in growing if _alike(s[-1][1], run)), [])
            upper.append([*stack, (course, run)])
        yield from (stack for stack in growing if not any(stack == grown[:-1] for grown in upper))
        growing = upper
    yield from growing


def _alike(one: RunOnWall, other: RunOnWall) -> bool:
    ends = one.left.end == other.left.end and one.right.end == other.right.end
    return (one.start, one.length) == (other.start, other.length) and ends


def _item(mark: str, wall: str, material: str, stack: Sequence[_Placed]) -> Required:
    first, run = stack[0]
    return Required(
        mark,
        material,
        run.length,
        left_end=run.left.end,
        right_end=run.right.end,
        wall=wall,
        start=run.start,
        first_course=first.band.number,
        courses=len(stack),
        keep_clear=tuple(merged(k for course, run in stack for k in course.keep_clear if _crosses(run, k))),
        cut_outs=tuple(cut_outs(run for _, run in stack)),
    )


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
