"""What the request alone shows to be impossible, found before anything is queued or solved."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import chain

from solver.allowances import has_laps, longest_lapped, of_pieces
from solver.categories import LapEnds
from solver.demand import is_run, kind_of, longest_stick
from solver.errors import Problem
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.required import Meets, Required

MOST_PIECES = 60
"""No run is planned of more pieces than this: 750 ft of 12'-6" panels."""
Stretch = tuple[int, int, int]
"""From where to where along the wall, and the item's place in the request."""


def find_problems(job: Job) -> tuple[Problem, ...]:
    """Return every item that no plan could cut, in the order of the request."""
    job = job.in_time
    materials = {material.id: material for material in job.materials}
    found = (_problems_of(job, i, item, materials[item.material]) for i, item in enumerate(job.required))
    return (*chain.from_iterable(found), *run_problems(job, materials))


def _problems_of(job: Job, index: int, required: Required, material: Material) -> Iterator[Problem]:
    kind = kind_of(required, material)
    pointer = f"#/required/{index}/length"
    if not has_laps(material):
        yield from _lapped_ends(index, required, material)
    if kind.length > 0:
        yield from _outside(job, index, required, material)
    if kind.length <= 0:
        yield Problem(
            "nothing_left_to_cut",
            pointer,
            f"after its end gaps nothing is left to cut of {say(required.length, job.units)}; measure pocket to pocket",
        )
    elif kind.takes > _longest_at_hand(job, material) and not is_run(required, material):
        lapless = "" if has_laps(material) else ", which may not be lapped"
        late = any(job.too_late(row) and (has_laps(material) or row.length >= kind.takes) for row in material.stock)
        which, wait = (" that comes in time", "raise within_days, ") if late else ("", "")
        yield Problem(
            "longer_than_stock",
            pointer,
            f"takes {say(kind.takes, job.units)}, longer than every stick of {material.id}{which}{lapless}; "
            f"{wait}add a longer stock length or divide the stretch",
        )


def _lapped_ends(index: int, required: Required, material: Material) -> Iterator[Problem]:
    for side, end in (("left_end", required.left_end), ("right_end", required.right_end)):
        if end.meets is Meets.LAP:
            detail = f"{material.id} may not be lapped; give the material a lap, or say plain or channel here"
            yield Problem("may_not_be_lapped", f"#/required/{index}/{side}", detail)


def _longest_at_hand(job: Job, material: Material) -> int:
    """Return the longest stick or offcut; where no stock can be had, rows sold out count, as the piece fits in kind."""
    rows = longest_stick(material) or max(row.length for row in material.stock)
    return max(rows, *(cut.length for cut in job.offcuts if cut.material == material.id), 0)


def run_problems(job: Job, materials: Mapping[str, Material]) -> Iterator[Problem]:
    """Yield what is wrong with the runs of a job, naming the item."""
    runs = {i: item for i, item in enumerate(job.required) if is_run(item, materials[item.material])}
    for index, run in runs.items():
        yield from _settings(job, index, materials[run.material])
    yield from _overlaps(job, runs)


def _settings(job: Job, index: int, material: Material) -> Iterator[Problem]:
    settings, pointer = material.settings, f"#/required/{index}/material"
    if job.required[index].length > MOST_PIECES * longest_lapped(material):
        detail = f"takes more than {MOST_PIECES} pieces of {material.id} in one run; divide it"
        yield Problem("run_too_long", f"#/required/{index}/length", detail)
    if job.required[index].room:
        detail = "is for a piece that comes out of one stick, and this one takes several; add it to the length"
        yield Problem("room_in_run", f"#/required/{index}/room", detail)
    if (settings.shortest_piece or 0) > longest_lapped(material):
        shortest = say(settings.shortest_piece or 0, job.units)
        detail = f"no piece of {material.id} may be shorter than {shortest}, but every stick is; lower shortest_piece"
        yield Problem("shortest_piece_too_long", pointer, detail)
    if of_pieces(material).lap < 0 and settings.lap_ends is LapEnds.FACTORY:
        detail = f"{material.id} is butted with a gap, which needs no factory ends; say lap_ends any, or give a lap"
        yield Problem("gap_between_factory_ends", pointer, detail)


def _overlaps(job: Job, runs: Mapping[int, Required]) -> Iterator[Problem]:
    beside: dict[tuple[str, str, int | None], list[Stretch]] = defaultdict(list)
    for index, item in enumerate(job.required):
        if item.wall is not None:
            for course in item.course_numbers:
                stretch = (item.start, item.start + item.length, index)
                beside[item.wall, item.material, course].extend([stretch] * min(item.quantity, 2))
    named: set[tuple[int, int]] = set()
    for (wall, _, course), stretches in beside.items():
        for one, other, by in _covered_twice(sorted(stretches), runs):
            if course is not None and (one, other) not in named:
                named.add((one, other))
                detail = f"overlaps item {one} on wall {wall}, course {course}, by {say(by, job.units)}"
                yield Problem("runs_overlap", f"#/required/{other}", detail + "; correct start, length or quantity")


def _covered_twice(stretches: Sequence[Stretch], runs: Container[int]) -> Iterator[tuple[int, int, int]]:
    """Yield two items that lie over one another, of which one is a run, and by how much; single pieces may."""
    before: list[Stretch] = []
    for start, end, index in stretches:
        met = [one for one in before if start < one[1] and (index in runs or one[2] in runs)]
        if met:
            reach, one = max((reach, one) for _, reach, one in met)
            yield one, index, reach - start
        before = [*(one for one in before if one[1] > start), (start, end, index)]


def _outside(job: Job, index: int, required: Required, material: Material) -> Iterator[Problem]:
    """Yield each cut-out and rip that no piece of the item could carry."""
    here, numbers = f"#/required/{index}", required.course_numbers
    kind = kind_of(required, material)
    first = of_pieces(material).starts_at(required.start, required.left_end.meets)
    for place, cut_out in enumerate(required.cut_outs):
        if cut_out.end <= first or cut_out.start >= first + kind.length:
            spans = (cut_out.start, cut_out.end), (first, first + kind.length)
            own, panels = (f"from {say(start, job.units)} to {say(end, job.units)}" for start, end in spans)
            words = f"lies {own}, the panels {panels}: correct it, or the stretch"
            yield Problem("cut_out_outside", f"{here}/cut_outs/{place}", words)
    for name in ("cut_outs", "rips"):
        for place, entry in enumerate(getattr(required, name)):
            if entry.course not in (None, *numbers):
                words = f"is in course {entry.course}, which this item has not"
                yield Problem("cut_out_outside", f"{here}/{name}/{place}/course", words)
