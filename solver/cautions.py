"""The usual cautions for the work a plan leads to. They defer to the maker, local code and licensed practice."""

from __future__ import annotations

from collections.abc import Iterable

from solver.materials import Material

CUTTING = "Wear eye protection and keep hands clear of the blade; unplug a saw before changing its blade."
COLD = "Cold vinyl is brittle and chips or cracks when cut: fine-tooth blade reversed, slow feed, panel well supported."
LADDERS = (
    "Set ladders on firm ground, 1 ft out for every 4 ft up, 3 ft past the landing and tied off; keep off them in wind."
)
LEAD = "Paint from before 1978 may hold lead: have it tested first, and leave work on it to a certified renovator."
HEAT = "Grills, heaters and sunlight reflected by windows distort vinyl: keep panels and offcuts away from them."
AUTHORITY = "Follow the maker's instructions and local code; they take precedence over this sheet."

_ANY = (CUTTING, AUTHORITY)
_VINYL = (CUTTING, COLD, LADDERS, LEAD, HEAT, AUTHORITY)


def cautions_for(materials: Iterable[Material]) -> tuple[str, ...]:
    """Return what applies to these materials, most urgent first."""
    vinyl = any(material.category.kind.is_vinyl for material in materials)
    return _VINYL if vinyl else _ANY
