"""What has become of a plan: pieces cut and spoiled, sticks broken, sticks that did not come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Place = tuple[str, int]
"""A piece by its stick and which cut of it, from 1."""


@dataclass(frozen=True, slots=True)
class Report:
    """What has become of a plan; lengths are ticks.

    ``cut`` are pieces done, ``spoiled`` pieces that were cut wrongly, with what can be used of each; ``broken`` are
    sticks of which, beside the pieces done, only so much can be used. ``missing`` is how many sticks did not come, by
    material and stock. What is left over of the sticks ``promised`` is somebody else's.
    """

    cut: frozenset[Place] = frozenset()
    spoiled: Mapping[Place, tuple[int, ...]] = field(default_factory=dict)
    broken: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    missing: Mapping[tuple[str, str], int] = field(default_factory=dict)
    promised: frozenset[str] = frozenset()

    def begun(self, stick: str, cuts: int) -> bool:
        """Whether a stick of so many cuts is no longer as it came, or partly somebody else's."""
        touched = any((stick, cut) in self.cut or (stick, cut) in self.spoiled for cut in range(1, cuts + 1))
        return touched or stick in self.broken or stick in self.promised
