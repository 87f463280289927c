"""What of the week's sticks each job answers for, and which sticks no sheet cuts."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from fractions import Fraction

from solver.materials import Material
from solver.plan import StickUse
from solver.weekly.plan import DayPlan, WeekPlan
from solver.weekly.week import Sticks, Week

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class JobCost:
    """What the sticks cost that a job is cut from, its share of each by length; None where one has no price."""

    job: str
    cost: Decimal | None


def job_costs(plan: WeekPlan) -> tuple[JobCost, ...]:
    """Return the jobs' shares of the sticks that the sheets cut; together they are what those sticks cost.

    A stick is split among the jobs of all its days by the length that each has of it, so that what is left over is
    paid for by whom it was cut for. Offcuts of the rack cost nothing.
    """
    shares: dict[str, Fraction] = defaultdict(Fraction)
    unpriced: set[str] = set()
    for price, lengths in _sticks(plan):
        whole = sum(lengths.values())
        for job, length in lengths.items():
            if price is None:
                unpriced.add(job)
            shares[job] += Fraction(price or 0) * length / whole
    rounded = _rounded({job: share for job, share in shares.items() if job not in unpriced})
    return tuple(JobCost(job, rounded.get(job)) for job in sorted(shares))


def _rounded(shares: Mapping[str, Fraction]) -> dict[str, Decimal]:
    """Return shares in whole cents that add up: the cents lost by rounding down go to the largest remainders."""
    down = {job: (Decimal(s.numerator) / s.denominator).quantize(_CENT, ROUND_FLOOR) for job, s in shares.items()}
    lost = round((sum(shares.values(), Fraction()) - sum(map(Fraction, down.values()), Fraction())) * 100)
    by_remainder = sorted(shares, key=lambda job: (Fraction(down[job]) - shares[job], job))
    return down | {job: down[job] + _CENT for job in by_remainder[:lost]}


def _sticks(plan: WeekPlan) -> list[tuple[Decimal | None, Counter[str]]]:
    """Return each stick's price, with the length that each job has of it over all the week."""
    found: list[tuple[Decimal | None, Counter[str]]] = []
    going_on: dict[str, Counter[str]] = {}
    for day in plan.days:
        labels = {(kept.material, kept.stick): kept.label for kept in day.kept}
        materials = {material.id: material for material in day.job.materials}
        for part in day.plan.materials:
            for use, stick in part.sticks():
                lengths = going_on.pop(stick.offcut_id or "", None)
                if lengths is None:
                    lengths = Counter[str]()
                    found.append((_price(materials[part.material], use.stock), lengths))
                for cut, job in zip(use.cuts, _jobs(day, stick), strict=True):
                    lengths[job] += cut.length
                if label := labels.get((part.material, stick.stick)):
                    going_on[label] = lengths
    return found


def _price(material: Material, stock: str | None) -> Decimal | None:
    return next((row.price for row in material.stock if row.id == stock), None) if stock is not None else Decimal(0)


def _jobs(day: DayPlan, stick: StickUse) -> list[str]:
    return [day.origins[piece.item].job for piece in stick.pieces]


def whole_left(week: Week, plan: WeekPlan) -> tuple[Sticks, ...]:
    """Return the whole sticks that came or are ordered, and that by reports and sheets nobody cuts.

    They can go back to the yard, or be there for the next week.
    """
    left = Counter[tuple[str, str]]()
    for order in plan.orders:
        left.update({(line.material, line.stock): line.sticks + line.spares for line in order.lines})
    reported = {report.date for report in week.reports}
    unreported = [day.as_planned() for day in plan.days if day.date not in reported]
    used = [*week.given_sticks, *(one for report in (*week.reports, *unreported) for one in report.sticks)]
    for entry in used:
        left[entry.material, entry.stock] -= entry.count
    return tuple(Sticks(material, stock, count) for (material, stock), count in sorted(left.items()) if count > 0)
