"""Runs of one day laid anew beside what the other days cut, one day after the other, as long as that is cheaper.

Laid all at once (``together``), runs use offcuts that their dates, or the van, allow to nobody. Here a day's jobs are
laid and cut together from sticks to be bought and from what the sticks of other days can still give on this one: what
they have left, where it is long enough to be carried and the van has room for it. So each laying is one that the week
can be cut from, and costs what it says. Begun with nothing laid, it is the week's first plan with dates heeded.

A day may have to be laid dearer than it could be, for another's sake. So a small week is asked for sets of sticks that
cost less (``Shares``): there every stick has its own variables for how often it gives each piece and how long a piece
of each run, as if runs had no rules but their laps. Each day is then laid from its shares of the sticks alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice

from solver.buying.billing import Cover
from solver.categories import LapEnds
from solver.cutting import Pattern, solve
from solver.cutting.problem import Stick
from solver.demand import Kind, Source
from solver.materials import FactoryEnd, Offcut
from solver.proof import SEARCHED
from solver.walls.runs import cover
from solver.watch import Watch
from solver.weekly.material_week import JobBaseline, MaterialWeek, announced_sticks, pieces_of
from solver.weekly.patterns.stick_by_stick import Shares, runs_of, single_pieces
from solver.weekly.patterns.stick_sets import STICKS, CheaperSets, Offered
from solver.weekly.pooling import Pooled
from solver.weekly.purchased import as_purchased, least_costs
from solver.weekly.state import WeekState
from solver.weekly.timed import TimedProblem, Van
from solver.weekly.together import joint_of

BESIDE = 12
"""Sticks of other days that a day is laid beside, at most: those with most left."""
SETS = 6
"""Such sets that are asked, at most."""


@dataclass(frozen=True, slots=True)
class _Cut:
    """One stick of the week, by its place in the hand, and its pieces with the day of each."""

    place: int
    pieces: tuple[tuple[Kind, int], ...]

    def without(self, day: int) -> _Cut:
        """Return it with what other days cut of it."""
        return replace(self, pieces=tuple(piece for piece in self.pieces if piece[1] != day))

    @property
    def days(self) -> list[int]:
        """The day of each piece."""
        return [day for _, day in self.pieces]


@dataclass(frozen=True, slots=True)
class _Laid:
    """The jobs as their runs are laid, and the sticks of the whole week."""

    jobs: tuple[JobBaseline, ...]
    sticks: tuple[_Cut, ...]
    bound: int = 0
    """What the days laid one after the other cost at least, each from all there is."""


class Relaying:
    """Lays the runs of one material's week; ``room`` is what the van has for it each night."""

    def __init__(self, state: WeekState, part: Pooled, room: Van, watch: Watch) -> None:
        self._state, self._week, self._room, self._watch = state, part.week, room, watch
        self._uses = part.uses
        free = sum(supply.limit or 0 for supply in self._week.hand.supplies if not supply.cost)
        # a stick that costs nothing counts less than any that is bought, but it counts
        self._weight = 1 + free

    def from_nothing(self) -> MaterialWeek | None:
        """Return the week laid day by day, each beside the days before it, and then bettered.

        None where that breaks rules or leaves anything uncut.
        """
        laid = _Laid(self._week.laid, ())
        for day in self._days:
            following = self._day(laid, day)
            if following is None:
                return None
            laid = following
        # of a stick that costs nothing the day's bound counts what it was made to cost
        bought = all(supply.limit is None and supply.cost for supply in self._week.hand.supplies)
        alone = bought and self._week.bought is None and self._state.week.limits.carry == 0
        return self._written(self._bettered(laid), laid.bound if alone else 0)

    def from_shares(self) -> MaterialWeek | None:
        """Return a small week laid from sticks that cost less than those it is cut from; None where none is found."""
        supplies, jobs = self._week.hand.supplies, self._week.laid
        free = [k for k, supply in enumerate(supplies) if not supply.cost for _ in range(supply.limit or 0)]
        bought = sum(times for pattern, times in self._uses.items() if supplies[pattern.stick].cost)
        apart = any(supply.opened is not None for supply in supplies) or max(bought, len(free)) > STICKS
        if apart or self._week.material.settings.lap_ends is not LapEnds.ANY:
            return None
        wanted = sum(run.length + run.lap * (run.fewest - 1) for run in runs_of(jobs))
        wanted += sum(kind.takes * count for kind, _, count in single_pieces(jobs))
        for places in self._cheaper(wanted - sum(supplies[k].length for k in free)):
            shares = Shares(self._week.problem, jobs, (*free, *places), self._room).found(self._watch)
            laid = shares and self._from(shares, (*free, *places))
            if laid and self._can_be_cut(laid):
                return self._written(laid, 0)
        return None

    def _cheaper(self, length: int) -> Iterator[tuple[int, ...]]:
        """Yield a few sets of sticks to buy that cost less than the plan's and are so long, the cheapest first."""
        supplies = self._week.hand.supplies
        least = least_costs(supplies, self._week.bought)
        offered = [Offered(k, s.length, least[k], s.limit) for k, s in enumerate(supplies) if s.cost]
        sets = CheaperSets(offered, self._comes_to, self._week.objective(self._uses)[1], length)
        known = (places for cost, places in sets.found(self._watch) if cost >= self._week.laid_bound)
        return islice(known, SETS)

    def _comes_to(self, places: Iterable[int]) -> int:
        """Return what sticks by their places come to, in cost steps: billed, where they are sold by rules."""
        return self._week.objective(Counter(Pattern(place, ()) for place in places))[1]

    def _from(self, shares: Sequence[Mapping[int, int]], places: Sequence[int]) -> _Laid | None:
        """Return the week with each day laid from its shares of sticks alone, by day, and what each is a share of."""
        pieces: list[list[tuple[Kind, int]]] = [[] for _ in places]
        jobs: dict[str, JobBaseline] = {}
        for day in self._days:
            given = [(self._share(n, places[n], share, day), n) for n, share in enumerate(shares) if day in share]
            todays = [one for one in self._week.laid if one.job.day == day]
            # of what can't be cut the engine makes little: it may buy sticks, but then it gives none of use
            sources = (*(source for source, _ in given), *self._to_order(day))
            rows = {id(source): n for source, n in given}
            joint = joint_of(self._state, self._week, todays, sources, self._watch)
            bought = any(id(filled.source) not in rows for filled in joint.filled.sticks)
            if joint.filled.notices or joint.filled.not_cut or bought:
                return None
            for filled in joint.filled.sticks:
                pieces[rows[id(filled.source)]] += [(kind, day) for kind, _ in filled.cuts]
            jobs |= {one.job.id: joint.share(one) for one in todays}
        cut = tuple(_Cut(place, tuple(each)) for place, each in zip(places, pieces, strict=True) if each)
        return _Laid(tuple(jobs[one.job.id] for one in self._week.laid), cut)

    def from_plan(self) -> MaterialWeek | None:
        """Return the week laid and cut cheaper than it is; None where no day's new laying makes it so."""
        kinds = self._week.pieces.kinds
        sticks = (_Cut(p.stick, tuple(kinds[i] for i in p.pieces)) for p, n in self._uses.items() for _ in range(n))
        before = _Laid(self._week.laid, tuple(sticks))
        after = self._bettered(before)
        return None if after is before else self._written(after, 0)

    @property
    def _days(self) -> list[int]:
        return sorted({one.job.day for one in self._week.baselines})

    def _bettered(self, laid: _Laid) -> _Laid:
        days, gained = self._days, True
        while gained and not self._watch.stopped:
            gained = False
            for day in days:
                draft = self._day(laid, day, partial(cover, draft=True))
                if draft is not None and self._cost(draft) < self._cost(laid):
                    made, gained = self._day(laid, day), True
                    laid = draft if made is None or self._cost(made) > self._cost(draft) else made
        return laid

    def _cost(self, laid: _Laid) -> tuple[int, int]:
        """Return what the week's sticks cost, and how many of them cost nothing: another day may save one by those."""
        places = [stick.place for stick in laid.sticks]
        return self._comes_to(places), sum(not self._week.hand.supplies[place].cost for place in places)

    def _day(self, laid: _Laid, day: int, lay: Cover = cover) -> _Laid | None:
        """Return the week with one day's jobs laid anew; None where that breaks rules or leaves pieces uncut."""
        rest = [stick for each in laid.sticks if (stick := each.without(day)).pieces]
        own = [one for one in laid.jobs if one.job.day == day]
        sources: list[tuple[Source, int | _Cut]] = [*self._whole(rest, day), *self._beside(rest, day)]
        rows = tuple(source for source, _ in sources)
        joint = joint_of(self._state, self._week, own, rows, self._watch, lay)
        if joint.filled.notices or joint.filled.not_cut:
            return None
        places = {id(source): place for source, place in sources}
        sticks = list(rest)
        for filled in joint.filled.sticks:
            place, pieces = places[id(filled.source)], tuple((kind, day) for kind, _ in filled.cuts)
            if isinstance(place, _Cut):
                sticks.remove(place)
                sticks.append(replace(place, pieces=(*place.pieces, *pieces)))
            else:
                sticks.append(_Cut(place, pieces))
        shares = {one.job.id: joint.share(one) for one in own}
        jobs = tuple(shares.get(one.job.id, one) for one in laid.jobs)
        after = _Laid(jobs, tuple(sticks), laid.bound + joint.filled.bound)
        return after if self._can_be_cut(after) else None

    def _whole(self, rest: Sequence[_Cut], day: int) -> Iterator[tuple[Source, int]]:
        """Yield what there is that no other day cuts."""
        used = Counter(stick.place for stick in rest)
        for place, (source, supply) in enumerate(zip(self._week.hand.sources, self._week.hand.supplies, strict=True)):
            limit = None if supply.limit is None else max(0, supply.limit - used[place])
            if supply.first > day:
                limit = 0
            cost = supply.cost * self._weight or 1
            yield replace(source, stick=replace(source.stick, cost=cost, limit=limit)), place

    def _share(self, number: int, place: int, share: Mapping[int, int], day: int) -> Source:
        supply = self._week.hand.supplies[place]
        left, right = supply.left and day == min(share), supply.right and day == max(share)
        ends = FactoryEnd.of(left=left, right=right)
        offcut = Offcut(f"share {number}", self._week.material.id, share[day], 1, ends)
        return Source(offcut, Stick(share[day], 0, 1, left, right))

    def _to_order(self, day: int) -> Iterator[Source]:
        return (source for source, place in self._whole((), day) if self._week.hand.orderable(place))

    def _beside(self, rest: Sequence[_Cut], day: int) -> Iterator[tuple[Source, _Cut]]:
        """Yield what other days' sticks can still give on this day, as offcuts that cost nothing."""
        nights = Counter(night for stick in rest for night in self._nights(stick))
        offered = sorted(((self._left(stick, day), n) for n, stick in enumerate(rest)), reverse=True)
        for length, n in offered[:BESIDE]:
            stick = rest[n]
            used = replace(stick, pieces=(*stick.pieces, (stick.pieces[0][0], day)))
            more = Counter(self._nights(used)) - Counter(self._nights(stick))
            if length <= 0 or any(nights[night] >= self._room.get(night, nights[night] + 1) for night in more):
                continue
            nights += more
            left, right = self._ends(stick, day, prefer_left=bool(n % 2))
            ends = FactoryEnd.of(left=left, right=right)
            offcut = Offcut(f"beside {n}", self._week.material.id, length, 1, ends)
            yield Source(offcut, Stick(length, 0, 1, left, right)), stick

    def _nights(self, stick: _Cut) -> range:
        opened = self._week.hand.supplies[stick.place].opened
        return range(min(stick.days) if opened is None else opened, max(stick.days))

    def _left(self, stick: _Cut, day: int) -> int:
        """Return how long a piece, with the kerfs between, a stick of other days can give on this day."""
        problem, supply = self._week.problem, self._week.hand.supplies[stick.place]
        if supply.first > day:
            return 0
        room, shortest = problem.taken(supply.length), problem.taken(problem.shortest)
        taken = {at: sum(problem.taken(k.takes) for k, d in stick.pieces if d == at) for at in stick.days}
        before = sum(takes for at, takes in taken.items() if at < day)
        if before and room - before < shortest:
            return 0
        free = room - sum(taken.values())
        for at in (at for at in taken if at > day):
            free = min(free, room - sum(takes for d, takes in taken.items() if d < at) - shortest)
        return free - problem.kerf

    def _ends(self, stick: _Cut, day: int, *, prefer_left: bool) -> tuple[bool, bool]:
        """Return which factory end a stick of other days has for this one; never both, for it is no whole stick."""
        supply = self._week.hand.supplies[stick.place]
        lefts, rights = ([d for k, d in stick.pieces if needs(k)] for needs in (_needs_left, _needs_right))
        first = min(*stick.days, day)
        left = supply.left and not lefts and (not rights or first in (day, rights[0]))
        right = supply.right and not rights and (not lefts or first in (day, lefts[0]))
        return left and (prefer_left or not right), right and not (left and prefer_left)

    def _can_be_cut(self, laid: _Laid) -> bool:
        problem, uses = self._stated(laid)
        nights = Counter(night for pattern, n in uses.items() for night in list(problem.nights(pattern)) * n)
        return all(map(problem.allowed, uses)) and all(n <= self._room.get(night, n) for night, n in nights.items())

    def _stated(self, laid: _Laid) -> tuple[TimedProblem, Counter[Pattern]]:
        pieces = pieces_of(laid.jobs)
        index = {key: i for i, key in enumerate(pieces.kinds)}
        uses = Counter(Pattern(s.place, tuple(sorted(index[piece] for piece in s.pieces))) for s in laid.sticks)
        return pieces.problem(self._week.hand, laid.jobs[0].demand.material.settings), uses

    def _written(self, laid: _Laid, bound: int) -> MaterialWeek:
        problem, uses = self._stated(laid)
        pieces, week, watch = pieces_of(laid.jobs), self._week, self._watch
        hand, bought = as_purchased(
            self._state, week.material, week.hand, problem.relaxed(), watch.within(watch.left / 4)
        )
        problem = replace(problem, supplies=hand.supplies)
        if bound > week.laid_bound:
            week = replace(week, laid_bound=bound, laid_proof=SEARCHED)
        return replace(
            week,
            hand=hand,
            bought=bought,
            laid=laid.jobs,
            pieces=pieces,
            problem=problem,
            start=uses,
            relaxed=solve(problem.relaxed(), watch.within(watch.left / 2)),
            announced=announced_sticks(self._state.moment, week.material.id, pieces),
        )


def _needs_left(kind: Kind) -> bool:
    return kind.needs_left


def _needs_right(kind: Kind) -> bool:
    return kind.needs_right
