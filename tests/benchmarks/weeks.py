"""``python -m tests.benchmarks.weeks``: many crews' weeks planned in one night, by real workers on one Redis.

Each crew has 12 jobs of 40 lines in four materials, invented by a generator whose seed is the crew's number, from 0
on. For each number of workers the ticker queues every week once, and the time is taken until the last has its plan.
With ``--here`` the weeks are planned one after the other in this process instead, and their CPU seconds are taken;
``--again`` plans each once more, as on a second night, and tells which are cheaper or cut otherwise then.
"""

from __future__ import annotations

import random
import statistics
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import click

from solver.categories import DEFAULTS, Category
from solver.lengths import Unit
from solver.materials import Material, PriceBreak, StockLength
from solver.proof import Basis
from solver.required import End, Meets, Required
from solver.weekly.moment import Moment
from solver.weekly.plan import WeekPlan
from solver.weekly.planning import plan_week
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.scenario import inches
from tests.support.stack import Stack, stack
from tests.support.weeks import monday_due
from workers.weeks.record import Outcome, Run, WeekKey
from workers.weeks.scheduler import schedule
from workers.weeks.store import WeekStore


def _material(name: str, category: Category, *stock: tuple[str, int, str]) -> Material:
    rows = tuple(StockLength(row, inches(length), price=Decimal(price)) for row, length, price in stock)
    return Material(name, category, rows, DEFAULTS[category])


MATERIALS = (
    _material("panel-sand", Category.SIDING, ("12-6", 150, "9.80")),
    _material("soffit-sand", Category.SOFFIT, ("12-0", 144, "11.20"), ("16-0", 192, "14.10")),
    _material("channel-sand", Category.CHANNEL, ("12-6", 150, "6.40")),
    _material("post-sand", Category.POST, ("10-0", 120, "18.00"), ("20-0", 240, "33.50")),
)
MONDAY = date(2026, 11, 30)
"""The week that is planned with ``--here``."""
CARTONS = (5, 8, 10, 4)
"""With ``--rules``: sticks in a carton, material by material and length by length."""
LONGEST = {"panel-sand": 146, "soffit-sand": 30, "channel-sand": 140, "post-sand": 118}
SHORTEST = {"panel-sand": 24, "soffit-sand": 12, "channel-sand": 24, "post-sand": 24}


def crew_week(seed: int, monday: date, jobs: int = 12, lines: int = 40, material: str | None = None) -> Week:
    """Return one crew's week: lines of 1 to 6 pieces to the quarter inch, half of them siding, lapped now and then.

    With ``material`` all of them are of that one.
    """
    chance = random.Random(seed)
    year, number, _ = monday.isocalendar()
    dated = tuple(
        DatedJob(f"job-{seed}-{n}", monday + timedelta(days=chance.randrange(5)), _lines(chance, lines, material))
        for n in range(jobs)
    )
    limits = WeekLimits(carry=12)
    return Week(f"crew-{seed}", year, number, Unit("in"), MATERIALS, dated, (Delivery(monday),), limits=limits)


def by_rules(week: Week) -> Week:
    """Return a week whose sticks come by the carton; every second one singly too and cheaper by the carton."""
    materials = (
        replace(material, stock=tuple(_by_rules(row, k + j) for j, row in enumerate(material.stock)))
        for k, material in enumerate(week.materials)
    )
    return replace(week, materials=tuple(materials))


def _by_rules(row: StockLength, place: int) -> StockLength:
    """Return a length by the carton; every third is cheaper from twenty sticks on."""
    size, price = CARTONS[place % 4], row.price or Decimal(0)
    singly = place % 2 == 0
    less, much_less, least = (round(price * Decimal(part), 2) for part in ("0.95", "0.90", "0.88"))
    cheaper = PriceBreak(20, much_less, least * size if singly else None)
    breaks = (cheaper,) if place % 3 == 0 else ()
    return replace(row, carton=size, singles=singly, carton_price=less * size if singly else None, breaks=breaks)


def _lines(chance: random.Random, count: int, material: str | None) -> tuple[Required, ...]:
    return tuple(_line(chance, str(place), material) for place in range(1, count + 1))


def _line(chance: random.Random, mark: str, material: str | None) -> Required:
    name = material or chance.choices([material.id for material in MATERIALS], (20, 8, 8, 4))[0]
    quarters = chance.randint(4 * SHORTEST[name], 4 * LONGEST[name])
    end = End(Meets.LAP) if name == "panel-sand" and chance.random() < 0.25 else End()
    return Required(mark, name, inches(quarters / 4), chance.choice([1, 1, 2, 2, 3, 4, 6]), left_end=end)


def run_night(workers: int, crews: int) -> tuple[float, list[Run], list[WeekPlan]]:
    """Plan so many crews' weeks with so many workers; return the seconds it took, every run, and the plans."""
    monday = monday_due()
    with tempfile.TemporaryDirectory() as folder, stack(Path(folder) / "data") as running:
        store = WeekStore(running.store.redis)
        keys = [WeekKey("anybody", f"crew-{n}", f"{monday:%G}-W{monday:%V}") for n in range(crews)]
        for n, key in enumerate(keys):
            store.change(key, lambda _, n=n: crew_week(n, monday))  # type: ignore[misc]
        began = time.monotonic()
        _start(running, workers)
        schedule(store)
        while any(not store.runs(key) for key in keys):
            time.sleep(0.2)
        spent = time.monotonic() - began
        kept = [store.fetch(key) for key in keys]
        plans = [week.plan for week in kept if week and week.plan]
        return spent, [run for key in keys for run in store.runs(key)], plans


def _start(running: Stack, workers: int) -> None:
    for _ in range(workers):
        running.start_worker()


@click.command()
@click.option("--crews", default=200, show_default=True)
@click.option("--workers", "numbers", multiple=True, type=int, default=(1, 2, 4), show_default=True)
@click.option("--here", is_flag=True, help="Plan them in this process, one after the other.")
@click.option("--jobs", default=12, show_default=True, help="Jobs in a week, with --here.")
@click.option("--lines", default=40, show_default=True, help="Lines in a job, with --here.")
@click.option("--rules", is_flag=True, help="By the carton and at price breaks, with --here.")
@click.option("--again", is_flag=True, help="Once more with what was announced, with --here.")
@click.option("--material", type=click.Choice(list(LONGEST)), help="Of this material alone, with --here.")
def main(
    crews: int,
    numbers: tuple[int, ...],
    jobs: int,
    lines: int,
    material: str | None,
    *,
    here: bool,
    rules: bool,
    again: bool,
) -> None:
    """Print seconds in all, seconds for each week, and how much faster more workers are."""
    if here:
        made = [crew_week(seed, MONDAY, jobs, lines, material) for seed in range(crews)]
        asked, plans = list(map(by_rules, made)) if rules else made, list[WeekPlan]()
        click.echo(_here(asked, plans))
        if again:
            click.echo(_again(asked, plans))
        return
    first = None
    for workers in numbers:
        spent, runs, plans = run_night(workers, crews)
        first = first or spent
        click.echo(f"{workers} workers: {_said(runs, spent)}; {_gaps(plans)}; {first / spent:.2f} times as fast")


def _planned(week: Week, announced: WeekPlan | None = None) -> WeekPlan:
    """Plan a week by a clock that stands still, so that the plan depends on counted work alone."""
    return plan_week(week, Moment(MONDAY - timedelta(days=1), MONDAY, announced), clock=lambda: 0.0)


def _again(weeks: Sequence[Week], plans: Sequence[WeekPlan]) -> str:
    """Plan weeks with what was announced of them, and return how many are better or other than that."""
    later = [_planned(week, plan) for week, plan in zip(weeks, plans, strict=True)]
    bills = [(before.bill, after.bill) for before, after in zip(plans, later, strict=True)]
    cheaper = sum(before is not None and after is not None and after < before for before, after in bills)
    return f"planned again: {cheaper} cheaper, {sum(plan.changes > 0 for plan in later)} with sticks cut otherwise"


def _here(weeks: Sequence[Week], plans: list[WeekPlan]) -> str:
    """Plan weeks one after the other and return what CPU time they took and how near they come to the bound."""
    spent = []
    for week in weeks:
        began = time.process_time()
        plans.append(_planned(week))
        spent.append(time.process_time() - began)
    proven, certified = (
        sum(plan.proven and plan.basis in bases for plan in plans) for bases in (list(Basis), [Basis.CERTIFIED])
    )
    return (
        f"{len(weeks)} weeks: {_gaps(plans)}; {proven} at their bound, {certified} certified; CPU seconds: "
        f"{statistics.mean(spent):.1f} in the mean, {max(spent):.1f} at most"
    )


def _said(runs: Sequence[Run], spent: float) -> str:
    each = sorted(run.seconds for run in runs)
    late = each[min(len(each) - 1, len(each) * 99 // 100)]
    failed = sum(run.outcome is not Outcome.PLANNED for run in runs)
    return (
        f"{len(runs)} weeks in {spent:.0f} s; each {statistics.mean(each):.1f} s in the mean, {late:.1f} s at the 99th "
        f"of a hundred, {each[-1]:.1f} s at most; {failed} without a plan"
    )


def _gaps(plans: Sequence[WeekPlan]) -> str:
    """Return how far the plans are above their bounds, in the mean and at most."""
    gaps = [float(plan.bill / plan.bound - 1) * 100 for plan in plans if plan.bill and plan.bound]
    return (
        f"{statistics.mean(gaps):.2f} % above the bound in the mean, {max(gaps):.2f} % at most" if gaps else "no bounds"
    )


if __name__ == "__main__":
    main()
