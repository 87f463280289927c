"""Runs of a whole week laid at once: where their laps fall, decided with the cutting of all jobs as if on one day.

Every plan of the week is a plan of that problem too, so its bound holds for the week, whatever is laid; but for plans
that break rules where this one breaks none. Its laying is one that the week can be cut from, for dates and the van are
heeded when the pieces are cut. Which laying is better, this or each job's own, the week's bill says.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.assignment import Filled, FilledStick
from solver.buying.billing import Cover
from solver.cutting import Pattern, solve
from solver.demand import Demand, Kind, Source, demand_of
from solver.laps.problem import LapRun
from solver.sticks import PlacedPiece
from solver.walls.runs import cover
from solver.watch import Watch
from solver.weekly.material_week import JobBaseline, MaterialWeek, announced_sticks, pieces_of
from solver.weekly.purchased import as_purchased, laid_by_bill
from solver.weekly.sheets import DayJob, one_job
from solver.weekly.state import WeekState


@dataclass(frozen=True, slots=True)
class Joint:
    """The jobs as one, what it asks of a material, and how that is laid and cut."""

    whole: DayJob
    demand: Demand
    filled: Filled

    def share(self, one: JobBaseline) -> JobBaseline:
        """Return a job's share: its runs as they are laid, and the pieces of them that each stick gives."""
        own = {self.whole.items[origin]: place for place, origin in enumerate(one.job.origins)}
        runs = {k: run for k, run in enumerate(self.filled.runs) if run.item in own}
        number = {k: place for place, k in enumerate(runs)}
        filled = replace(
            self.filled,
            runs=tuple(_of_job(run, own, one) for run in runs.values()),
            covers=tuple(replace(c, run=number[c.run]) for c in self.filled.covers if c.run in number),
            sticks=tuple(FilledStick(stick.source, self._cuts(stick, own)) for stick in self.filled.sticks),
        )
        return replace(one, filled=filled, places=())

    def _cuts(self, stick: FilledStick, own: dict[int, int]) -> tuple[tuple[Kind, PlacedPiece], ...]:
        mine = ((kind, piece) for kind, piece in stick.cuts if piece.item in self.demand.runs and piece.item in own)
        return tuple((kind, replace(piece, item=own[piece.item])) for kind, piece in mine)


def _of_job(run: LapRun, own: dict[int, int], one: JobBaseline) -> LapRun:
    item = own[run.item]
    return replace(run, item=item, wall=one.demand.job.required[item].wall)


def laid_together(state: WeekState, week: MaterialWeek, watch: Watch) -> tuple[MaterialWeek, MaterialWeek]:
    """Return a material's week with what no laying of it costs less than, and with its runs laid all at once.

    Both are as they were where its own layings are no drafts, or together a rule would be broken.
    """
    if not week.draft:
        return week, week
    joint = joint_of(state, week, week.baselines, week.hand.sources, watch, laid_by_bill)
    if joint.filled.notices or joint.filled.not_cut:
        return week, week
    week = replace(week, laid_bound=joint.filled.bound, laid_proof=joint.filled.proof)
    return week, week if week.fixed else _laid(state, week, joint, watch)


def joint_of(
    state: WeekState,
    week: MaterialWeek,
    ones: Sequence[JobBaseline],
    sources: tuple[Source, ...],
    watch: Watch,
    lay: Cover = cover,
) -> Joint:
    """Lay some of a material's jobs as one, out of these sources."""
    whole = one_job(state, tuple(one.job for one in ones), ())
    material = next(each for each in whole.job.materials if each.id == week.material.id)
    items = [item for item, required in enumerate(whole.job.required) if required.material == material.id]
    demand = replace(demand_of(whole.job, material, items), sources=sources)
    return Joint(whole, demand, lay(demand, watch))


def _laid(state: WeekState, week: MaterialWeek, joint: Joint, watch: Watch) -> MaterialWeek:
    laid = tuple(joint.share(one) for one in week.baselines)
    pieces = pieces_of(laid)
    settings = joint.demand.material.settings
    one_day = pieces.problem(week.hand, settings).relaxed()
    hand, bought = as_purchased(state, week.material, week.hand, one_day, watch.within(watch.left / 4))
    problem = pieces.problem(hand, settings)
    days = {place: job.day for job in joint.whole.jobs for place in map(joint.whole.items.__getitem__, job.origins)}
    index = {key: i for i, key in enumerate(pieces.kinds)}
    cut = Counter(
        Pattern(
            next(k for k, source in enumerate(joint.demand.sources) if source is stick.source),
            tuple(sorted(index[kind, days[piece.item]] for kind, piece in stick.cuts)),
        )
        for stick in joint.filled.sticks
    )
    return replace(
        week,
        hand=hand,
        bought=bought,
        laid=laid,
        pieces=pieces,
        problem=problem,
        start=Counter({pattern: times for pattern, times in cut.items() if problem.allowed(pattern)}),
        relaxed=solve(problem.relaxed(), watch.within(watch.left / 2)),
        announced=announced_sticks(state.moment, week.material.id, pieces),
    )
