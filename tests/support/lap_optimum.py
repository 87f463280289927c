"""The least that sticks for a few runs and pieces can cost, by trying every stick's contents in every order.

Written from the meaning of ``LapProblem`` alone, without positions: no rule of placement counts here. Sticks are cut
one after the other; what is kept in mind is which plain pieces are left and, for each run, how many pieces of each
sort it has, their sum, and the largest of their laps and gaps. The cheapest states go first (Dijkstra), so the first
that has everything is a best plan. Two pieces of a run out of one stick are left out: one piece, shorter by the lap,
would do. Lengths must be tiny.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from heapq import heappop, heappush
from itertools import product
from typing import NamedTuple

from solver.buying.terms import Sold, Terms
from solver.categories import LapEnds
from solver.laps.problem import LapProblem, LapRun, LapStick
from solver.required import Meets
from tests.support.lap_plans import most_parts


class Course(NamedTuple):
    """A run in the making: pieces without factory ends, with the right one, the left one, both; and their sum."""

    free: int = 0
    firsts: int = 0
    lasts: int = 0
    wholes: int = 0
    length: int = 0
    lap: int = -99
    end_gap: int = -99

    @property
    def parts(self) -> int:
        """How many pieces it has."""
        return self.free + self.firsts + self.lasts + self.wholes


Courses = tuple[Course, ...]
State = tuple[tuple[int, ...], Courses, tuple[int, ...]]
"""What is left of each plain piece, the runs in the making, and how often each stick of which there are few was cut."""


def least_cost(problem: LapProblem, most: int) -> int:
    """Return the least cost, or bill, of all plans; ``most`` if none costs less."""
    return _least(_Search(problem), most) if problem.terms is None else _least_bill(problem, problem.terms, most)


def _least_bill(problem: LapProblem, terms: Terms, most: int) -> int:
    """Try what can be bought, the cheapest first, until its sticks suffice; breaks count each length by itself."""
    too_few: list[tuple[int, ...]] = []
    for bill, numbers in sorted(_purchases(terms.lengths, most)):
        if any(all(n <= more for n, more in zip(numbers, others, strict=True)) for others in too_few):
            continue
        sticks = problem.sticks
        bought = [replace(stick, cost=1, limit=n) for stick, n in zip(sticks, numbers, strict=False)]
        search = _Search(replace(problem, sticks=(*bought, *sticks[len(numbers) :])), problem)
        if _least(search, sum(numbers) + 1) <= sum(numbers):
            return bill
        too_few.append(numbers)
    return most


def _purchases(lengths: Sequence[Sold], most: int) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Yield the bill and the sticks of all that can be bought for less than ``most``."""
    if not lengths:
        yield 0, ()
        return
    sold = lengths[0]
    for rest, numbers in _purchases(lengths[1:], most):
        for cartons, singles in product(range(most), range(most)):
            sticks = cartons * sold.size + singles
            tier = max((tier for tier in sold.tiers if tier.at <= sticks), key=lambda tier: tier.at)
            if tier.single is None and singles:
                continue
            bill = rest + cartons * tier.carton + singles * (tier.single or 0) + sold.fixed * bool(sticks)
            if bill < most and (sold.limit is None or sticks <= sold.limit):
                yield bill, (sticks, *numbers)


def _least(search: _Search, most: int) -> int:
    problem = search.problem
    begin: State = (
        tuple(p.demand for p in problem.pieces),
        tuple(Course() for _ in problem.runs),
        tuple(0 for _ in problem.sticks),
    )
    known, queue = {begin: 0}, [(0, begin)]
    while queue:
        cost, state = heappop(queue)
        if cost > known[state]:
            continue
        if not any(state[0]) and all(map(search.covers, problem.runs, state[1])):
            return cost
        for more, following in search.cut_one(state, most - cost):
            if cost + more < known.get(following, most):
                known[following] = cost + more
                heappush(queue, (cost + more, following))
    return most


class _Search:
    def __init__(self, problem: LapProblem, asked: LapProblem | None = None) -> None:
        """``asked`` says what runs may be made of, where the sticks of ``problem`` are but some that may be bought."""
        if any(stick.lap < 0 or (stick.limit is None and stick.cost < 1) for stick in problem.sticks):
            raise ValueError("sticks are lapped or butted, and cost something or are few")
        self.problem, self._asked = problem, asked or problem
        self._free = sum(stick.length * (stick.limit or 0) for stick in problem.sticks if stick.cost == 0)
        self._factory = problem.rules.ends is LapEnds.FACTORY
        self._most = [most_parts(self._asked, run) for run in problem.runs]
        every = self if asked is None else _Search(asked)
        self._lapped_field_ends = [int(self._factory and not every._exact(run)) for run in problem.runs]

    @cache  # noqa: B019 (the search is over with the problem)
    def _sums(self, n: int, parts: int, lap: int) -> tuple[int, int]:
        """Return the least and the most that so many pieces of a run or more, lapped by so much or more, add up to."""
        sticks = self.problem.sticks
        laps = [s.lap for s in sticks if s.lap >= lap]
        numbers = range(max(1, parts), max(parts, self._most[n]) + 1)
        sums = [_together(self.problem.runs[n], p, x, s.end_gap) for p in numbers for x in laps for s in sticks]
        return min(sums), max(sums)

    def _exact(self, run: LapRun) -> bool:
        """Whether a run lapped at both outer ends can be made of uncut sticks."""
        if not run.left is run.right is Meets.LAP:
            return True
        rows = {(Course(), tuple(0 for _ in self.problem.sticks))}
        for _ in range(most_parts(self._asked, run)):
            rows = {
                (_taken(row, stick, stick.length, wholes=1), more)
                for row, used in rows
                for stick, more in self._sticks(used)
                if stick.left and stick.right
            }
            if any(self._adds_up(run, row) for row, _ in rows):
                return True
        return False

    def _sticks(self, used: tuple[int, ...]) -> Iterator[tuple[LapStick, tuple[int, ...]]]:
        """Yield the sticks that are left, and how many of each have been cut with one of them."""
        for kind, stick in enumerate(self.problem.sticks):
            if stick.limit is None:
                yield stick, used
            elif used[kind] < stick.limit:
                yield stick, (*used[:kind], used[kind] + 1, *used[kind + 1 :])

    def _adds_up(self, run: LapRun, course: Course) -> bool:
        sums = course.length == _together(run, course.parts, course.lap, course.end_gap)
        return sums and course.parts <= most_parts(self._asked, run)

    def covers(self, run: LapRun, course: Course) -> bool:
        """Whether the pieces so far are the whole run."""
        if not course.parts or not self._adds_up(run, course):
            return False
        if not self._factory:
            return True
        field = self._lapped_field_ends[self.problem.runs.index(run)]
        left, right = run.left is Meets.LAP, run.right is Meets.LAP
        if course.parts == 1:
            free, first, last = left + right == field, field or not left, field or not right
            return bool(course.wholes or (course.free and free) or (course.firsts and first) or (course.lasts and last))
        if course.free or field:
            return not course.free and course.firsts + course.lasts == 1
        return (course.firsts, course.lasts) == (not left, not right)

    def _missing(self, state: State) -> int:
        """Return what the pieces still to be cut take up together, at the least."""
        pieces = sum(p.length * n for p, n in zip(self.problem.pieces, state[0], strict=True))
        return pieces + sum(max(0, self._sums(n, c.parts, c.lap)[0] - c.length) for n, c in enumerate(state[1]))

    def _may_have(self, n: int, course: Course) -> int:
        """Return how long one more piece of a run may be."""
        return self._sums(n, 1, -99)[1] - course.length if course.parts < self._most[n] else 0

    def _needed(self, length: int) -> int:
        """Return what sticks of so much length together cost at the least."""
        paid = max(0, length - self._free)
        return min(-(-paid * s.cost // s.length) for s in self.problem.sticks if s.cost)

    def cut_one(self, state: State, below: int) -> Iterator[tuple[int, State]]:
        """Yield every way to cut one more stick, its cost and what then is so, that may lead to a cost below this."""
        left, courses, cut = state
        missing = self._missing(state)
        for stick, more in self._sticks(cut):
            # So little may go to waste that this much has to come out of the stick.
            used = next(n for n in range(missing + 1) if stick.cost + self._needed(missing - n) < below or n == missing)
            if self._factory and stick.left and stick.right:
                for n, course in enumerate(courses):
                    if stick.length <= self._may_have(n, course):
                        taken = _taken(course, stick, stick.length, wholes=1)
                        yield stick.cost, (left, (*courses[:n], taken, *courses[n + 1 :]), more)
            for plain in product(*(range(n + 1) for n in left)):
                rest = tuple(n - m for n, m in zip(left, plain, strict=True))
                pieces = sum(m * p.length for m, p in zip(plain, self.problem.pieces, strict=True))
                room = stick.length + self.problem.kerf - pieces - sum(plain) * self.problem.kerf
                if room >= 0:
                    cuts = self._cut_runs(stick, room, used - pieces, courses)
                    yield from ((stick.cost, (rest, following, more)) for following in cuts)

    def _cut_runs(self, stick: LapStick, room: int, used: int, courses: Courses) -> Iterator[Courses]:
        """Yield the courses after pieces of ``used`` or more are cut out of the room (kerfs included)."""
        if self._factory:
            return self._factory_ends(stick, room, used, courses)
        return self._any_ends(stick, room, used, courses)

    def _any_ends(self, stick: LapStick, room: int, used: int, courses: Courses) -> Iterator[Courses]:
        if not courses:
            yield ()
            return
        n = len(self.problem.runs) - len(courses)
        may_have = max(0, min(self._may_have(n, courses[0]), room - self.problem.kerf))
        for length in range(max(0, used if len(courses) == 1 else 0), may_have + 1):
            first = _taken(courses[0], stick, length, free=1) if length else courses[0]
            left = room - (length + self.problem.kerf if length else 0)
            for rest in self._any_ends(stick, left, used - length, courses[1:]):
                yield (first, *rest)

    def _factory_ends(self, stick: LapStick, room: int, used: int, courses: Courses) -> Iterator[Courses]:
        """Yield the courses with one first piece or none, one last piece or none, and pieces that are whole runs."""
        cuts = [(0, room, courses)]
        ends = [sort for sort, has in (("lasts", stick.left), ("firsts", stick.right)) if has]
        for sort in (*ends, *("free" for _ in courses)):
            cuts = [more for cut in cuts for more in self._one_more(stick, cut, sort)]
        yield from (cut for taken, _, cut in cuts if taken >= used)

    def _one_more(
        self, stick: LapStick, cut: tuple[int, int, Courses], sort: str
    ) -> Iterator[tuple[int, int, Courses]]:
        """Yield what is taken, the room left, and the courses, with one more piece of a sort or none."""
        yield cut
        taken, room, courses = cut
        for n, course in enumerate(courses):
            if not (course.parts if sort == "free" else getattr(course, sort)):
                for length in range(1, min(room - self.problem.kerf, self._may_have(n, course)) + 1):
                    more = _taken(course, stick, length, **{sort: 1})
                    yield taken + length, room - length - self.problem.kerf, (*courses[:n], more, *courses[n + 1 :])


def _taken(
    course: Course, stick: LapStick, length: int, *, free: int = 0, firsts: int = 0, lasts: int = 0, wholes: int = 0
) -> Course:
    return Course(
        course.free + free,
        course.firsts + firsts,
        course.lasts + lasts,
        course.wholes + wholes,
        course.length + length,
        max(course.lap, stick.lap),
        max(course.end_gap, stick.end_gap),
    )


def _together(run: LapRun, parts: int, lap: int, end_gap: int) -> int:
    ends = {Meets.LAP: lap, Meets.CHANNEL: -end_gap, Meets.PLAIN: 0}
    return run.length + ends[run.left] + ends[run.right] + lap * (parts - 1)
