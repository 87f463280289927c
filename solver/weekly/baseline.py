"""The jobs planned one by one in date order, the rack served first come first served: what pooling is held against.

It also gives every piece its length: runs longer than a stick are laid here, on their own day, and keep their laps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from solver.assignment import Filled, FilledStick, fill
from solver.cutting import solve
from solver.demand import Demand, Source, demand_of
from solver.materials import Material
from solver.runs import cover
from solver.watch import Watch
from solver.weekly.state import Hand, OpenJob


@dataclass(frozen=True, slots=True)
class JobBaseline:
    """One job's share of a material planned by itself: its demand, the answer, and each stick's place in the hand."""

    job: OpenJob
    demand: Demand
    filled: Filled
    places: tuple[int, ...]

    @property
    def hurried(self) -> bool:
        """Whether the clock cut the search for it short, so that more time may find another."""
        proven = self.filled.least_uncut and self.filled.cost == self.filled.bound
        return not (proven or self.filled.exhausted)


def plan_baselines(jobs: Sequence[OpenJob], material: Material, hand: Hand, watch: Watch) -> tuple[JobBaseline, ...]:
    """Plan each job that needs the material by itself, with what those before it have left."""
    limits = [supply.limit for supply in hand.supplies]
    wanting = [(job, items) for job in jobs if (items := _items(job, material))]
    return tuple(
        _alone(job, items, material, hand, limits, watch.within(watch.left / (len(wanting) - place)))
        for place, (job, items) in enumerate(wanting)
    )


def _items(job: OpenJob, material: Material) -> list[int]:
    return [i for i, required in enumerate(job.job.required) if required.material == material.id]


def _alone(
    job: OpenJob, items: Sequence[int], material: Material, hand: Hand, limits: list[int | None], watch: Watch
) -> JobBaseline:
    own = next(m for m in job.job.materials if m.id == material.id)
    sources = tuple(_sources(hand, limits, job.day))
    demand = replace(demand_of(job.job, own, items), sources=sources)
    filled = cover(demand, watch) if demand.runs else fill(demand, solve(demand.problem(), watch))
    places = tuple(_place(sources, stick) for stick in filled.sticks)
    for place in places:
        if (limit := limits[place]) is not None:
            limits[place] = limit - 1
    return JobBaseline(job, demand, filled, places)


def _sources(hand: Hand, limits: Sequence[int | None], day: int) -> Iterator[Source]:
    """Yield what is there on a day; a stick that has lain in the van is left to the pooled plan."""
    for source, supply, limit in zip(hand.sources, hand.supplies, limits, strict=True):
        there = supply.first <= day and supply.opened is None
        yield replace(source, stick=replace(source.stick, limit=limit if there else 0))


def _place(sources: Sequence[Source], stick: FilledStick) -> int:
    return next(k for k, source in enumerate(sources) if source is stick.source)
