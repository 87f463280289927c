"""How sticks flow through the days: each stick that is cut on several days, or comes from the rack, as a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import groupby

from service.drawing.lettering import clean, fitted
from service.drawing.shapes import HIDDEN, OUTLINE, THIN, Anchor, Drawing, Line, Shape, Strokes, Text, box
from solver.lengths import Unit, say
from solver.materials import Material
from solver.weekly.plan import DayPlan, WeekPlan
from solver.weekly.week import Week

WIDTH = 180.0
MOST = 60
"""So many sticks are drawn of one material; the sheets of the days tell them all."""
_NAMES = 30.0
_ROW = 9.0
_HEAD = 10.0


@dataclass(frozen=True, slots=True)
class Step:
    """What is cut from a stick on one day, and what it leaves: its label and length, empty if nothing is kept."""

    date: date
    cuts: str
    left: str


@dataclass(slots=True)
class Chain:
    """One stick from its first to its last day."""

    material: str
    source: str
    steps: list[Step] = field(default_factory=list)


def chains_of(plan: WeekPlan, unit: Unit) -> list[Chain]:
    """Return every stick of the week with what is cut from it day by day."""
    found: list[Chain] = []
    open_ends: dict[str, Chain] = {}
    for day in plan.days:
        labels = {(kept.material, kept.stick): kept.label for kept in day.kept}
        for material, name, source, cuts, left in _uses(day, unit):
            chain = open_ends.pop(source, None)
            if chain is None:
                chain = Chain(material, source)
                found.append(chain)
            label = labels.get((material, name), "")
            chain.steps.append(Step(day.date, cuts, f"{label}, {left}" if label else ""))
            if label:
                open_ends[label] = chain
    return found


def _uses(day: DayPlan, unit: Unit) -> Iterator[tuple[str, str, str, str, str]]:
    for part in day.plan.materials:
        for use, stick in part.sticks():
            alike = groupby(say(cut.length, unit) for cut in use.cuts)
            cuts = " + ".join(_times(length, len(list(group))) for length, group in alike)
            source = stick.offcut_id or say(use.stock_length, unit)
            yield part.material, stick.stick, source, cuts, say(use.left_over.length, unit)


def flows_of(week: Week, plan: WeekPlan) -> Iterator[tuple[Material, Drawing]]:
    """Yield each material of which sticks are carried from day to day, with how they are."""
    chains = [chain for chain in chains_of(plan, week.units) if len(chain.steps) > 1]
    days = [day.date for day in plan.days]
    for material in week.materials:
        own = [chain for chain in chains if chain.material == material.id]
        if own:
            yield material, draw_flow(material.id, own, days)


def draw_flow(material: str, chains: Sequence[Chain], days: Sequence[date]) -> Drawing:
    """Return the sticks of one material that are carried from day to day, below the days."""
    shown = chains[:MOST]
    column = (WIDTH - _NAMES) / max(1, len(days))
    shapes: list[Shape] = []
    for place, day in enumerate(days):
        left = _NAMES + place * column
        shapes.append(Text(left + 2, 5, f"{day:%a} {day.day} {day:%b}", 3, Anchor.START, bold=True))
        shapes.append(Strokes((((left, 1), (left, _HEAD + _ROW * len(shown))),), THIN))
    for row, chain in enumerate(shown):
        shapes += _row(chain, list(days), column, _HEAD + row * _ROW)
    words = [f"From {chain.source}: " + "; ".join(_said(step) for step in chain.steps) + "." for chain in shown]
    title = f"{clean(material)}: sticks that are carried from day to day"
    return Drawing(title, " ".join(words) or "None.", WIDTH, _HEAD + _ROW * len(shown) + 2, tuple(shapes))


def _row(chain: Chain, days: list[date], column: float, top: float) -> Iterator[Shape]:
    yield Text(0, top + 5, fitted(clean(chain.source), 2.8, _NAMES - 2), 2.8, Anchor.START)
    for step, following in zip(chain.steps, [*chain.steps[1:], None], strict=True):
        left = _NAMES + days.index(step.date) * column + 1.5
        yield box(left, top + 1.5, column - 3, 5, OUTLINE)
        yield Text(left + 1, top + 5, fitted(step.cuts, 2.6, column - 5), 2.6, Anchor.START)
        if following is not None:
            end = _NAMES + days.index(following.date) * column + 1.5
            yield Line(((left + column - 3, top + 4), (end, top + 4)), HIDDEN)
            yield Text(left + 1, top + 9, fitted(step.left, 2.2, column - 2), 2.2, Anchor.START)


def _said(step: Step) -> str:
    return f"{step.date:%a} {step.cuts}" + (f", which leaves {step.left}" if step.left else "")


def _times(length: str, count: int) -> str:
    return length if count == 1 else f"{count} @ {length}"
