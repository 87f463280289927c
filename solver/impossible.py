"""What the request alone shows to be impossible, found before anything is queued or solved."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from solver.allowances import has_laps
from solver.demand import is_run, kind_of, longest_stick
from solver.errors import Problem
from solver.impossible_runs import run_problems
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.required import Meets, Required


def find_problems(job: Job) -> tuple[Problem, ...]:
    """Return every item that no plan could cut, in the order of the request."""
    materials = {material.id: material for material in job.materials}
    found = (_problems_of(job, i, item, materials[item.material]) for i, item in enumerate(job.required))
    return (*chain.from_iterable(found), *run_problems(job, materials))


def _problems_of(job: Job, index: int, required: Required, material: Material) -> Iterator[Problem]:
    kind = kind_of(required, material)
    pointer = f"#/required/{index}/length"
    if not has_laps(material):
        yield from _lapped_ends(index, required, material)
    if kind.length <= 0:
        yield Problem(
            "nothing_left_to_cut",
            pointer,
            f"after its end gaps nothing is left to cut of {say(required.length, job.units)}; measure pocket to pocket",
        )
    elif kind.takes > _longest_at_hand(job, material) and not is_run(required, material):
        lapless = "" if has_laps(material) else ", which may not be lapped"
        yield Problem(
            "longer_than_stock",
            pointer,
            f"takes {say(kind.takes, job.units)}, longer than every stick of {material.id}{lapless}; "
            "add a longer stock length or divide the stretch",
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
