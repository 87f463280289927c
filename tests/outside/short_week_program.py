"""A week of short pieces stick by stick, for CP-SAT, which is asked of one set of sticks after the other (tests only).

Sets of sticks are asked in the order of their cost, so the first that does is the least bill. Nothing is known of
patterns. For one material without kerf, lapped ends or a rack, as ``tests.support.short_weeks`` has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import combinations

from ortools.sat.python import cp_model

from solver.required import Required
from solver.weekly.week import DAYS, Week

SECONDS = 120.0


def least_bill(week: Week) -> Decimal:
    """Return the least bill; ``TimeoutError`` if CP-SAT can't say of some set of sticks whether it does."""
    return next(cost for cost, sticks in _sets(week) if _can_be_cut(week, sticks))


def _sets(week: Week) -> Iterator[tuple[Decimal, list[int]]]:
    (material,) = week.materials
    short, long = sorted(material.stock, key=lambda row: row.length)
    wanted = sum(item.length * item.quantity for job in week.jobs for item in job.required)
    most = 2 * wanted // short.length + 2
    sets = (
        (a * (short.price or 0) + b * (long.price or 0), [long.length] * b + [short.length] * a)
        for a in range(most)
        for b in range(most)
    )
    return iter(sorted((Decimal(cost), sticks) for cost, sticks in sets if sum(sticks) >= wanted))


def _can_be_cut(week: Week, sticks: list[int]) -> bool:
    model = cp_model.CpModel()
    lines = [(week.day(job.date), item) for job in week.jobs for item in job.required]
    cut = [[model.new_int_var(0, item.quantity, "") for _, item in lines] for _ in sticks]
    for place, (_, item) in enumerate(lines):
        model.add(sum(row[place] for row in cut) == item.quantity)
    nights = [_nights(model, week, lines, length, row) for length, row in zip(sticks, cut, strict=True)]
    if week.limits.carry is not None:
        for night in range(DAYS - 1):
            model.add(sum(kept[night] for kept in nights) <= week.limits.carry)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = SECONDS
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE):
        raise TimeoutError
    return status != cp_model.INFEASIBLE


def _nights(
    model: cp_model.CpModel, week: Week, lines: list[tuple[int, Required]], length: int, row: list[cp_model.IntVar]
) -> list[cp_model.IntVar]:
    """State what one stick can give, and return the nights in which it lies in the van."""
    keep = week.materials[0].settings.keep_offcuts_from
    model.add(sum(v * item.length for v, (_, item) in zip(row, lines, strict=True)) <= length)
    on = [model.new_bool_var("") for _ in range(DAYS)]
    for variable, (day, item) in zip(row, lines, strict=True):
        model.add(variable <= item.quantity * on[day])
    nights = [model.new_bool_var("") for _ in range(DAYS - 1)]
    for early, late in combinations(range(DAYS), 2):
        for night in range(early, late):
            model.add_bool_or(on[early].negated(), on[late].negated(), nights[night])
    for night, kept in enumerate(nights):
        by_then = sum(v * item.length for v, (day, item) in zip(row, lines, strict=True) if day <= night)
        model.add(by_then <= length - keep).only_enforce_if(kept)
    return nights
