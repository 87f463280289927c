"""Every way to break one field of a plan: what a checker must catch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from solver.plan import CutPlan

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

FREE = {
    "detail": "words for people",
    "pointer": "material, wall, course and place say where",
    "text": "words for people",
    "cautions": "words for people",
    "stopped_by": "only the clock knows",
    "basis": "the checker's word, whatever the plan says",
    "scale": "the bound does not depend on it",
    "further": "more values prove no less; tested apart",
    "fewest": "figures of another plan, which this one does not give; tested apart",
    "values": "another certificate may prove the same bound; tested apart",
}
"""Fields that the request alone says nothing about, and why."""


@dataclass(frozen=True)
class Mutant:
    """A plan with one thing changed, and where."""

    path: str
    plan: CutPlan


def mutants_of(plan: CutPlan, step: int = 1) -> list[Mutant]:
    """Return every plan that differs from ``plan`` in one checkable field; numbers by ``step`` either way."""
    return [Mutant(path, changed) for path, changed in _changed("", plan, step) if changed != plan]


def _changed(path: str, value: object, step: int) -> Iterator[tuple[str, Any]]:
    if is_dataclass(value) and not isinstance(value, type):
        yield from _changed_fields(path, value, step)
    elif isinstance(value, tuple):
        yield from _changed_tuple(path, value, step)
    else:
        yield from ((path, other) for other in _other_leaves(value, step))


def _changed_fields(path: str, value: DataclassInstance, step: int) -> Iterator[tuple[str, Any]]:
    for field in fields(value):
        if field.name not in FREE:
            for where, other in _changed(f"{path}/{field.name}", getattr(value, field.name), step):
                yield where, replace(value, **{field.name: other})


def _changed_tuple(path: str, value: tuple[Any, ...], step: int) -> Iterator[tuple[str, Any]]:
    for index, part in enumerate(value):
        head, tail = value[:index], value[index + 1 :]
        yield f"{path}/{index} dropped", head + tail
        yield f"{path}/{index} doubled", (*head, part, part, *tail)
        for where, other in _changed(f"{path}/{index}", part, step):
            yield where, (*head, other, *tail)


def _other_leaves(value: object, step: int) -> Iterator[object]:
    if value is None:
        yield from (step, "S1", Decimal(step))
    elif isinstance(value, bool):
        yield not value
    elif isinstance(value, StrEnum):
        yield from (member for member in type(value) if member is not value)
    elif isinstance(value, str):
        yield f"{value}x"
    elif isinstance(value, int | Decimal):
        yield from (value + step, value - step)
