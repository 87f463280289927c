"""Weeks of short pieces, many to a stick: soffit of two lengths, four or five days, two or three lines a day."""

from __future__ import annotations

import random
from datetime import timedelta

from solver.required import Required
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.benchmarks.weeks import MATERIALS
from tests.scenario import inches
from tests.support.weeks import MONDAY, week

SOFFIT = next(material for material in MATERIALS if material.id == "soffit-sand")
"""12'-0" at 11.20, 16'-0" at 14.10."""
PIECES = range(20, 41)
"""How many pieces a week has."""


def short_week(seed: int, carry: int | None = 4) -> Week:
    """Return a week of 20 to 40 pieces of 12 to 30 in, to the quarter inch, which the seed alone decides."""
    chance = random.Random(seed)
    while True:
        jobs = _jobs(chance)
        if sum(required.quantity for job in jobs for required in job.required) in PIECES:
            break
    asked = week()
    return Week(
        asked.crew, asked.year, asked.number, asked.units, (SOFFIT,), jobs, (Delivery(MONDAY),),
        limits=WeekLimits(carry=carry),
    )  # fmt: skip


def _jobs(chance: random.Random) -> tuple[DatedJob, ...]:
    days = sorted(chance.sample(range(5), chance.choice([4, 5])))
    return tuple(DatedJob(f"job-{day}", MONDAY + timedelta(days=day), _lines(chance)) for day in days)


def _lines(chance: random.Random) -> tuple[Required, ...]:
    return tuple(
        Required(f"S{n}", SOFFIT.id, inches(chance.randint(48, 120) / 4), chance.randint(1, 4))
        for n in range(chance.choice([2, 3]))
    )
