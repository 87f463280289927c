"""What the request alone shows to be impossible, found before anything is queued or solved."""

from __future__ import annotations

from collections.abc import Iterator

from solver.demand import kind_of
from solver.errors import Problem
from solver.job import Job
from solver.lengths import say
from solver.materials import Material
from solver.required import Required


def find_problems(job: Job) -> tuple[Problem, ...]:
    """Return every item that no plan could cut, in the order of the request."""
    materials = {material.id: material for material in job.materials}
    return tuple(
        problem
        for index, required in enumerate(job.required)
        for problem in _problems_of(job, index, required, materials[required.material])
    )


def longest_stick(material: Material) -> int:
    """Return the longest stock length that can be had, in ticks; 0 where there is none."""
    return max((row.length for row in material.stock if row.available != 0), default=0)


def is_run(required: Required, material: Material) -> bool:
    """Whether the item is longer than the longest stick, so that it must be covered by several, lapped."""
    return kind_of(required, material).length > longest_stick(material) > 0


def _problems_of(job: Job, index: int, required: Required, material: Material) -> Iterator[Problem]:
    kind = kind_of(required, material)
    pointer = f"#/required/{index}/length"
    if kind.length <= 0:
        yield Problem(
            "nothing_left_to_cut",
            pointer,
            f"after its end gaps nothing is left to cut of {say(required.length, job.units)}; measure pocket to pocket",
        )
    elif kind.takes > _longest_at_hand(job, material) and material.settings.lap is None:
        yield Problem(
            "longer_than_stock",
            pointer,
            f"is cut at {say(kind.takes, job.units)}, longer than every stick of {material.id}, "
            "which may not be lapped; add a longer stock length or divide the stretch",
        )


def _longest_at_hand(job: Job, material: Material) -> int:
    offcuts = (cut.length for cut in job.offcuts if cut.material == material.id)
    return max(longest_stick(material), *offcuts, 0)
