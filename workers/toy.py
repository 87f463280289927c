"""A small list whose plan is known: whether planning works at all, and what a process has done once does not wait."""

from __future__ import annotations

import time
from decimal import Decimal

import solver
from solver.categories import Category
from solver.job import Job
from solver.lengths import TICKS_PER_INCH, Unit
from solver.lp.lazily import load
from solver.materials import Material, StockLength
from solver.plan import CutPlan
from solver.required import Required
from workers.codec import pack, unpack


def toy() -> Job:
    """Return the list: 30 ft of pieces, which fill three sticks of 10 ft and no fewer."""
    pieces = {60: 2, 80: 1, 40: 2, 20: 4}
    stock = StockLength("10-0", 120 * TICKS_PER_INCH, price=Decimal(1))
    material = Material("toy", Category.OTHER, (stock,), Category.OTHER.kind.defaults)
    required = tuple(Required(f"T{n}", "toy", n * TICKS_PER_INCH, times) for n, times in pieces.items())
    return Job("toy", Unit.IN, (material,), required, seconds=1.0)


def plan_toy() -> bool:
    """Plan it as a worker would, and return whether it comes out right."""
    job = unpack(pack(toy()), Job)
    plan = unpack(pack(solver.plan_job(job, time.monotonic)), CutPlan)
    return plan.order_total == Decimal(3)


def warm_up() -> None:
    """Do once what each process that plans would do alone: load all solvers, and work out how jobs are kept.

    Raises ``SystemExit`` where planning does not work, so that no worker that lives is of no use.
    """
    load()
    if not plan_toy():
        raise SystemExit("Error: planning does not work here: a list whose plan is known comes out otherwise")
