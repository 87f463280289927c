"""Which rules can't all be kept: how few are broken wall by wall, and where laps then may lie."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from solver.laps.fewest import Fewest, fewest_broken, fewest_own
from solver.laps.site import Layout, Site
from solver.laps.yard import Yard
from solver.watch import Watch


@dataclass(frozen=True, slots=True)
class Unavoidable:
    """``broken`` rules at least are broken by every plan.

    ``leeway[class]`` is how many more of its own rules than the fewest a run may break in a plan that breaks as few
    as can be. ``laid`` are layouts and lengths of walls where fewer are broken than in any plan met.
    """

    broken: int
    leeway: tuple[int, ...]
    laid: tuple[tuple[Layout, int], ...]


def unavoidable(site: Site, plans: Sequence[Yard], watch: Watch) -> Unavoidable:
    """Look at every wall where some plan breaks a rule that its runs alone need not break."""
    leeway = [0] * (max(site.alike, default=-1) + 1)
    broken, laid = 0, list[tuple[Layout, int]]()
    for wall in site.walls:
        met = min(plan.broken_about(set(wall)) for plan in plans)
        own = sum(fewest_own(site, run) for run in wall)
        fewest = fewest_broken(site, wall, watch) if met > own else Fewest(own, own, None)
        broken += fewest.at_least
        if fewest.at_most < met and fewest.laid is not None:
            laid += fewest.laid
        for alike, more in _leeway(site, wall, min(met, fewest.at_most) - own, watch):
            leeway[alike] = max(leeway[alike], more)
    return Unavoidable(broken, tuple(leeway), tuple(laid))


def _leeway(site: Site, wall: Sequence[int], beyond: int, watch: Watch) -> Iterator[tuple[int, int]]:
    """Yield for each class how many breaches ``beyond`` its runs' own ones the courses do not need between them."""
    if beyond > 0:
        between = fewest_broken(site, wall, watch, own_rules=False)
        yield from ((site.alike[run], max(0, beyond - between.at_least)) for run in wall)
