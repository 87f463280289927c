"""Which rules can't all be kept: how few are broken wall by wall, and where laps then may lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.laps.fewest import UNKNOWN, Fewest, fewest_broken, fewest_own
from solver.laps.site import Layout, Site
from solver.laps.yard import Yard
from solver.watch import Watch


@dataclass(frozen=True, slots=True)
class Wall:
    """How many rules the ``runs`` of a wall break.

    Each by itself ``own`` at least; all together ``at_least`` in every plan, ``at_most`` in the best laps known.
    """

    runs: tuple[int, ...]
    own: int
    at_least: int
    at_most: int


@dataclass(frozen=True, slots=True)
class Unavoidable:
    """Broken rules by wall; ``laid`` are layouts and lengths of walls where fewer are broken than in any plan met."""

    walls: tuple[Wall, ...]
    laid: tuple[tuple[Layout, int], ...]

    @property
    def broken(self) -> int:
        """So many rules at least are broken by every plan."""
        return sum(wall.at_least for wall in self.walls)


def unavoidable(site: Site, plans: Sequence[Yard], watch: Watch) -> Unavoidable:
    """Look at every wall where each plan breaks a rule that its runs alone need not break."""
    walls, laid = list[Wall](), list[tuple[Layout, int]]()
    for runs in site.walls:
        met = min((plan.broken_about(set(runs)) for plan in plans if _laid_in(plan, runs)), default=UNKNOWN)
        own = sum(fewest_own(site, run) for run in runs)
        fewest = fewest_broken(site, runs, watch) if met > own else Fewest(own, own, None)
        walls.append(Wall(runs, own, fewest.at_least, min(met, fewest.at_most)))
        if fewest.at_most < met and fewest.laid is not None:
            laid += fewest.laid
    return Unavoidable(tuple(walls), tuple(laid))


def _laid_in(plan: Yard, runs: Sequence[int]) -> bool:
    """Whether the plan covers the wall: a run left uncovered for want of sticks breaks no rule."""
    return all(plan.placed[run] is not None for run in runs)


def leeway(site: Site, found: Unavoidable, broken: int, watch: Watch) -> tuple[int, ...]:
    """Return how many more of its own rules than the fewest a run of each class may break.

    In a plan, that is, that breaks as few rules as can be. Some plan is known to break ``broken`` of them.
    Where sticks are limited no wall need come down to the fewest that it breaks in some plan, because another may
    have its sticks: then all that is known is that the other walls break what they must.
    """
    limited = any(stick.limit for stick in site.problem.sticks)
    most = [0] * (max(site.alike, default=-1) + 1)
    for wall in found.walls:
        at_most = broken - (found.broken - wall.at_least) if limited else wall.at_most
        more = _more(site, wall, at_most - wall.own, watch)
        for run in wall.runs:
            most[site.alike[run]] = max(most[site.alike[run]], more)
    return tuple(most)


def _more(site: Site, wall: Wall, beyond: int, watch: Watch) -> int:
    """Return how many breaches ``beyond`` its runs' own ones the courses of a wall do not need between them."""
    if beyond <= 0:
        return 0
    return max(0, beyond - fewest_broken(site, wall.runs, watch, own_rules=False).at_least)
