"""Benchmark runs and laps: ``python -m tests.benchmarks.runs --houses 100 --seconds 10 --json outcomes.jsonl``.

With ``--terrace 40 30 --seconds 60`` it is one job of forty walls, thirty courses high.
"""

from __future__ import annotations

import json
import resource
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from statistics import median

import click

from solver.categories import LapEnds
from solver.job import Job
from solver.lp import mip
from solver.plan import MaterialPlan
from solver.planning import plan_job
from solver.runs import BreachCode
from tests.benchmarks.habit import habit
from tests.benchmarks.houses import house, terrace, without_placement

WALL_SECONDS = 20.0
"""A second of this process's own takes so long at the most, on a machine that is shared."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One house: costs and bounds in cost steps, seconds on this process's own processor clock.

    ``free`` is the cost without placement rules, ``renotched`` with field ends re-notched, None where they were not
    asked; ``longest`` is what one longest stick costs; ``broken`` counts declared breaches, and the last six are the
    plan's ``Looks``.
    """

    house: int
    lengths: int
    runs: int
    habit_sticks: int
    habit: int
    habit_broken: int
    sticks: int
    cost: int
    bound: int
    broken: int
    seconds: float
    longest: int
    free: int | None
    free_bound: int | None
    renotched: int | None
    renotched_bound: int | None
    laps: int
    near_lines: int
    staircases: int
    beside_openings: int
    put_aside: int
    for_other_walls: int

    @property
    def proven(self) -> bool:
        """Whether cost and bound meet."""
        return self.cost == self.bound


def outcome(number: int, seconds: float, *, once: bool) -> Outcome:
    """Plan one house ``once``, or three times, and as an installer would."""
    job = replace(house(number), seconds=seconds)
    (plan, broken), took = _timed(job)
    free = None if once else _timed(without_placement(job))[0][0]
    renotched = None if once else _timed(replace(house(number, LapEnds.RENOTCHED), seconds=seconds))[0][0]
    habit_sticks, habit_cost, habit_broken = habit(job)
    longest = max(job.materials[0].stock, key=lambda row: row.length)
    price = longest.length if longest.price is None else longest.price / plan.cost_step
    return Outcome(
        number,
        len(job.materials[0].stock),
        len(plan.runs),
        habit_sticks,
        habit_cost,
        habit_broken,
        plan.new_sticks,
        plan.cost,
        plan.bound,
        broken,
        took,
        int(price),
        free.cost if free else None,
        free.bound if free else None,
        renotched.cost if renotched else None,
        renotched.bound if renotched else None,
        **asdict(plan.looks) if plan.looks else {},
    )


def _timed(job: Job) -> tuple[tuple[MaterialPlan, int], float]:
    """Return the plan and its declared breaches; the checker has accepted it, and its time counts."""
    begun = time.process_time()
    plan = plan_job(job, time.process_time)
    broken = sum(notice.code in list(BreachCode) for notice in plan.warnings)
    return (plan.materials[0], broken), time.process_time() - begun


def report(outcomes: Sequence[Outcome]) -> str:
    """Return the table of one set of houses and the shares that the targets name."""
    sums = "\n".join(_sums(outcomes))
    return f"{_table(outcomes)}\n\n{sums}"


def _table(outcomes: Sequence[Outcome]) -> str:
    head = "house lengths runs  habit  plan  bound broken seconds"
    rows = (
        f"{o.house:5} {o.lengths:7} {o.runs:4} {o.habit / o.longest:6.2f} {o.cost / o.longest:6.2f} "
        f"{o.bound / o.longest:6.2f} {o.broken:6} {o.seconds:7.2f}"
        for o in outcomes
    )
    return "\n".join((head + "   (costs in longest sticks)", *rows))


def _sums(outcomes: Sequence[Outcome]) -> Iterator[str]:
    def share(holds: Callable[[Outcome], bool]) -> str:
        return f"{sum(map(holds, outcomes))} of {len(outcomes)}"

    saved = [(o.habit - o.cost) / o.longest for o in outcomes]
    yield f"within one longest stick of the bound: {share(lambda o: o.cost - o.bound <= o.longest)}"
    yield f"proven within 2 s: {share(lambda o: o.proven and o.seconds <= 2)}"
    yield f"proven within 10 s: {share(lambda o: o.proven)}"
    yield f"median seconds to the final plan: {median(o.seconds for o in outcomes):.2f}"
    yield from _others(outcomes)
    yield f"longest sticks the habit takes more: mean {sum(saved) / len(saved):.2f}, most {max(saved):.2f}"
    laps = sum(o.laps for o in outcomes)
    yield f"laps: {laps}, for 100 of them {100 * sum(o.near_lines for o in outcomes) / laps:.1f} near-lines"
    yield f"staircases: {sum(o.staircases for o in outcomes)}"
    yield f"beside openings: {sum(o.beside_openings for o in outcomes)}"
    yield f"broken rules: {sum(o.broken for o in outcomes)} in {sum(o.broken > 0 for o in outcomes)} houses"
    aside, others = ([getattr(o, name) for o in outcomes] for name in ("put_aside", "for_other_walls"))
    yield f"put aside at once: mean {sum(aside) / len(aside):.1f}, most {max(aside)}"
    yield f"for another wall: mean {sum(others) / len(others):.1f} pieces a house"
    for lengths in sorted({o.lengths for o in outcomes}):
        some = [o for o in outcomes if o.lengths == lengths]
        gaps = [(o.cost - o.bound) / o.longest for o in some]
        proven = sum(o.proven for o in some)
        yield f"{lengths} stock lengths: {proven} of {len(some)} proven, mean gap {sum(gaps) / len(gaps):.3f}"


def _others(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """Say what placement rules and factory ends cost, of the houses that were planned without them too."""
    free = [(o.cost, o.free, o.free_bound, o.longest) for o in outcomes if o.free is not None]
    none = sum(cost <= other or cost - bound < longest for cost, other, bound, longest in free if bound is not None)
    if free:
        yield f"placement rules cost no stick: {none} of {len(free)}"
        yield f"placement rules cost nothing: {sum(cost <= other for cost, other, _, _ in free)} of {len(free)}"
    saved = [(o.cost - o.renotched) / o.longest for o in outcomes if o.renotched is not None]
    if saved:
        yield f"longest sticks factory ends cost beside re-notched ones: mean {sum(saved) / len(saved):.2f}"


def _big(walls: int, courses: int, seconds: float) -> str:
    """Plan one large job, and say how near it comes and what it takes."""
    (plan, broken), took = _timed(replace(terrace(walls, courses), seconds=seconds))
    gap, mib = 100 * (plan.cost - plan.bound) / plan.cost, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{len(plan.runs)} runs, {plan.new_sticks} sticks, {gap:.2f} % above the bound, {broken} broken rules, "
        f"{took:.1f} s, {mib:.0f} MiB"
    )


@click.command()
@click.option("--houses", default=100, help="How many houses.")
@click.option("--first", default=0, help="The first one's number.")
@click.option("--every", default=1, help="Plan every so manieth.")
@click.option("--seconds", default=10.0, help="Limit for one plan.")
@click.option("--once", is_flag=True, help="Leave out the plans without placement rules and with re-notched ends.")
@click.option("--terrace", "big", type=(int, int), help="Plan one job of so many walls and courses instead.")
@click.option("--json", "lines", type=click.Path(path_type=Path), help="Keep outcomes here, and go on from them.")
def main(
    houses: int, first: int, every: int, seconds: float, once: bool, big: tuple[int, int] | None, lines: Path | None
) -> None:
    """Plan generated houses and print sticks by habit, plan and bound, with what the targets ask."""
    mip.ON_THE_WALL = WALL_SECONDS
    if big is not None:
        click.echo(_big(*big, seconds))
        return
    known: dict[int, Outcome] = {}
    if lines is not None and lines.exists():
        entries = (json.loads(line) for line in lines.read_text(encoding="utf-8").splitlines())
        known = {entry["house"]: Outcome(**entry) for entry in entries}
    numbers = range(first, first + houses, every)
    for number in numbers:
        if number not in known:
            known[number] = outcome(number, seconds, once=once)
            if lines is not None:
                with lines.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(asdict(known[number])) + "\n")
    click.echo(report([known[number] for number in numbers]))


if __name__ == "__main__":
    main()
