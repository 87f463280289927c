"""Random weeks of each kind, so small that a whole model closes them; the seed alone decides each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal
from random import Random

from solver.categories import LapEnds
from solver.materials import FactoryEnd, Material, Offcut, PriceBreak, StockLength
from solver.required import End, Meets, Required
from solver.weekly.moment import Moment
from solver.weekly.week import DatedJob, Delivery, Week, WeekLimits
from tests.scenario import PANEL, PANEL_12_6, PANEL_16_8, inches
from tests.support.short_weeks import short_week
from tests.support.weeks import BEFORE, MONDAY, week

LENGTHS = (
    PANEL_12_6,
    PANEL_16_8,
    StockLength("10-0", inches(120), price=Decimal("8.10")),
    StockLength("20-0", inches(240), price=Decimal("15.20")),
)
CLAY = replace(PANEL, id="panel-clay", stock=LENGTHS[1:2])


@dataclass(frozen=True)
class Asked:
    """A week, and when it is planned."""

    week: Week
    moment: Moment = BEFORE


def _of(
    dice: Random,
    materials: Sequence[Material],
    jobs: Sequence[DatedJob],
    carry: Sequence[int | None] = (None, 0, 1, 2),
    days: Sequence[int] = (0,),
    rack: Sequence[Offcut] = (),
) -> Week:
    return replace(
        week(), materials=tuple(materials), jobs=tuple(jobs), rack=tuple(rack),
        deliveries=tuple(Delivery(MONDAY + timedelta(days=day)) for day in days),
        limits=WeekLimits(carry=dice.choice(carry)),
    )  # fmt: skip


def _jobs(
    dice: Random, days: Sequence[int], lines: int = 3, shortest: int = 24, lapped: float = 0.0, of: Sequence[str] = ()
) -> list[DatedJob]:
    """Return a job for each day, its pieces of ``shortest`` to 118 in to the half inch."""
    return [
        DatedJob(
            f"job-{place}", MONDAY + timedelta(days=day),
            tuple(_line(dice, n, shortest, lapped, of or (PANEL.id,)) for n in range(dice.randint(1, lines))),
        )
        for place, day in enumerate(days)
    ]  # fmt: skip


def _line(dice: Random, place: int, shortest: int, lapped: float, of: Sequence[str]) -> Required:
    length = inches(dice.randint(2 * shortest, 2 * 117) / 2)
    ends = [Meets.PLAIN, Meets.PLAIN]
    if dice.random() < lapped:
        ends[dice.randrange(2)] = Meets.LAP
    return Required(f"P{place}", dice.choice(of), length, dice.choice([1, 1, 2, 3]), End(ends[0]), End(ends[1]))


def _days(dice: Random, count: int = 4) -> list[int]:
    return sorted(dice.choices(range(5), k=count))


def _short(seed: int) -> Asked:
    return Asked(short_week(seed, Random(seed).choice([4, 2, 1])))


def _long(seed: int) -> Asked:
    dice = Random(f"long {seed}")
    return Asked(_of(dice, [PANEL], _jobs(dice, _days(dice))))


def _lengths(seed: int) -> Asked:
    dice = Random(f"lengths {seed}")
    stock = tuple(dice.sample(LENGTHS, 3))
    return Asked(_of(dice, [replace(PANEL, stock=stock)], _jobs(dice, _days(dice))))


def _cartons(seed: int) -> Asked:
    dice = Random(f"cartons {seed}")
    stock = tuple(_ruled(dice, row) for row in dice.sample(LENGTHS, dice.choice([1, 2])))
    days = dice.choice([(0,), (0, 2), (0, 3)])
    return Asked(_of(dice, [replace(PANEL, stock=stock)], _jobs(dice, _days(dice)), days=days))


def _short_cartons(seed: int) -> Asked:
    """Short pieces, of which there are too many dated patterns to list them, out of one length by the carton or two."""
    dice, asked = Random(f"cartons {seed}"), _short(seed)
    sold = tuple(_ruled(dice, row) for row in dice.sample(asked.week.materials[0].stock, dice.choice([1, 2])))
    materials = (replace(asked.week.materials[0], stock=sold),)
    return replace(asked, week=replace(asked.week, materials=materials))


def _ruled(dice: Random, row: StockLength) -> StockLength:
    price = row.price or Decimal(0)
    at = dice.choice([3, 5, 8])
    breaks = (PriceBreak(at, (price * dice.choice([80, 90, 95]) / 100).quantize(Decimal("0.01"))),)
    carton = dice.choice([None, 2, 4])
    return replace(
        row, carton=carton, singles=carton is None or dice.random() < 0.5, breaks=breaks if dice.random() < 0.5 else (),
        fixed_cost=Decimal(dice.choice([0, 0, 4])),
    )  # fmt: skip


def _rack(seed: int) -> Asked:
    dice = Random(f"rack {seed}")
    rack = [
        Offcut(
            f"R-{n}", PANEL.id, inches(dice.randint(60, 220) / 2), dice.choice([1, 1, 2]), dice.choice(list(FactoryEnd))
        )
        for n in range(dice.randint(2, 4))
    ]
    few = replace(PANEL_12_6, available=dice.choice([None, 3, 5]))
    return Asked(_of(dice, [replace(PANEL, stock=(few, PANEL_16_8))], _jobs(dice, _days(dice), lapped=0.3), rack=rack))


def _kerf(seed: int) -> Asked:
    dice = Random(f"kerf {seed}")
    kerf, kept = inches(dice.choice([0.5, 1, 2])), inches(dice.choice([0, 12, 36]))
    panel = replace(PANEL, settings=replace(PANEL.settings, kerf=kerf, keep_offcuts_from=kept))
    stock = tuple(dice.sample(LENGTHS, dice.choice([1, 2])))
    return Asked(_of(dice, [replace(panel, stock=stock)], _jobs(dice, _days(dice), lapped=0.4)))


def _vans(seed: int) -> Asked:
    dice = Random(f"vans {seed}")
    return Asked(_of(dice, [PANEL, CLAY], _jobs(dice, _days(dice), of=(PANEL.id, CLAY.id)), carry=(0, 1, 2, 3)))


def _deliveries(seed: int) -> Asked:
    """Nothing can be ordered for the first days: an offcut for each of their pieces lies on the rack."""
    dice = Random(f"deliveries {seed}")
    first = dice.choice([1, 2])
    days = sorted({first, first + dice.choice([0, 1, 2])})
    jobs = _jobs(dice, [dice.randrange(first), *(dice.randrange(first, 5) for _ in range(3))])
    rack = [
        Offcut(f"R-{n}", PANEL.id, min(inches(146), line.length + inches(dice.choice([0, 10, 40]))), line.quantity)
        for n, line in enumerate(jobs[0].required)
    ]
    stock = tuple(dice.sample(LENGTHS, 2))
    if dice.random() < 0.5:
        return Asked(_of(dice, [replace(PANEL, stock=stock)], jobs, days=days, rack=rack))
    # a delivery that can't be ordered for any more brings nothing
    moment = replace(BEFORE, orders_from=MONDAY + timedelta(days=first))
    return Asked(_of(dice, [replace(PANEL, stock=stock)], jobs, days=[0, *days], rack=rack), moment)


def _runs(seed: int) -> Asked:
    """Each job has a run to be lapped, of two or three panels, and a few pieces."""
    dice = Random(f"runs {seed}")
    stock = dice.choice([(PANEL_12_6,), (PANEL_12_6,), (PANEL_12_6, PANEL_16_8)])
    ends, shortest = dice.choice([LapEnds.ANY, LapEnds.FACTORY]), dice.choice([None, inches(24)])
    loose = replace(PANEL.settings, lap_ends=ends, shortest_piece=shortest, lap_spacing=None, lap_repeat=None)
    jobs = [_with_run(dice, job) for job in _jobs(dice, sorted(dice.choices(range(4), k=dice.choice([2, 3]))), lines=2)]
    material = replace(PANEL, stock=stock, settings=replace(loose, in_line_within=None))
    return Asked(_of(dice, [material], jobs, carry=(None, None, 0, 1, 2)))


def _runs_with_rack(seed: int) -> Asked:
    """The same with offcuts on the rack."""
    asked, dice = _runs(seed), Random(f"rack of runs {seed}")
    rack = tuple(
        Offcut(f"R-{n}", PANEL.id, inches(dice.randint(60, 240) / 2), 1, dice.choice(list(FactoryEnd)))
        for n in range(dice.randint(1, 3))
    )
    return replace(asked, week=replace(asked.week, rack=rack))


def _runs_by_rules(seed: int) -> Asked:
    """The same without a rack, and its panels sold at breaks, by the carton, or with a fixed cost."""
    asked, dice = _runs(seed), Random(f"rules of runs {seed}")
    (material,) = asked.week.materials
    sold = tuple(_ruled(dice, row) for row in material.stock)
    return replace(asked, week=replace(asked.week, materials=(replace(material, stock=sold),)))


def _with_run(dice: Random, job: DatedJob) -> DatedJob:
    return replace(job, required=(Required("N", PANEL.id, inches(dice.randint(202, 420))), *job.required))


KINDS: Mapping[str, Callable[[int], Asked]] = {
    "short": _short,
    "long": _long,
    "lengths": _lengths,
    "cartons": _cartons,
    "short_cartons": _short_cartons,
    "rack": _rack,
    "kerf": _kerf,
    "vans": _vans,
    "deliveries": _deliveries,
    "runs": _runs,
    "runs_with_rack": _runs_with_rack,
    "runs_by_rules": _runs_by_rules,
}
