"""What a plan declares of its runs: the placement rules it breaks, and its looks.

Every rule that the plan breaks is declared, and nothing is declared that it keeps. What is said of its looks is what
its runs and sticks show: near-lines, staircases, openings, pieces put aside, counted lap by lap and piece by piece from
the meanings in ``solver.runs``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from solver.categories import LapEnds, PanelsServe, Settings
from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.runs import Laid, laid_runs, most_pieces
from solver.job import Notice
from solver.plan import CutEnd, CutPlan
from solver.required import Meets
from solver.runs import BESIDE_OPENING, LONGEST_STEP, NEAR_LINE, STAIRCASE, BreachCode, Looks


class Breach(NamedTuple):
    """A broken rule as ``solver.runs`` says it is declared."""

    code: str
    wall: str | None
    course: int | None
    place: int | None
    needed: int | None = None
    got: int | None = None

    def in_words(self, bench: Bench) -> str:
        """Return the breach in words."""
        lengths = {"at": self.place, "needed": self.needed, "got": self.got}
        words = [f"{name} {bench.say(ticks)}" for name, ticks in lengths.items() if isinstance(ticks, int)]
        return f"a warning {self.code} for {', '.join([f'wall {self.wall}', f'course {self.course}', *words])}"


def check_breaches(bench: Bench) -> Iterator[Fault]:
    """Check the breaches declared for this material against those that its runs have."""
    declared = Counter(
        Breach(notice.code, notice.wall, notice.course, notice.place, notice.needed, notice.got)
        for notice in _declared(bench.whole)
        if notice.material == bench.material.id
    )
    broken = Counter(_broken(list(laid_runs(bench)), bench.material.settings))
    for breach in (broken - declared).elements():
        yield Fault("undeclared_breach", bench.place, mismatch(breach.in_words(bench), "no such warning"))
    for breach in (declared - broken).elements():
        yield Fault("false_breach", bench.place, mismatch("no such warning", breach.in_words(bench)))


def check_strays(plan: CutPlan) -> Iterator[Fault]:
    """Check that no breach is declared of a material that has no plan."""
    planned = {part.material for part in plan.materials}
    for notice in _declared(plan):
        if notice.material not in planned:
            yield Fault("false_breach", "#/warnings", mismatch("a material of the plan", notice.material))


def _declared(plan: CutPlan) -> Iterator[Notice]:
    return (notice for notice in plan.warnings if notice.code in list(BreachCode))


def _broken(runs: list[Laid], settings: Settings) -> Iterator[Breach]:
    for laid in runs:
        yield from _over_openings(laid)
        yield from _short_pieces(laid, settings.shortest_piece or 0)
        if settings.lap_ends is LapEnds.FACTORY:
            yield from _field_ends(laid)
    yield from _between_courses(runs, settings)


def _over_openings(laid: Laid) -> Iterator[Breach]:
    course = laid.run.course
    openings = [
        opening
        for opening in laid.wanted.required.keep_clear
        if course is None or opening.first <= course <= opening.last
    ]

    def clear(place: int) -> bool:
        start, end = sorted((place, place + laid.lap))
        return not any(start < opening.end and opening.start < end for opening in openings)

    over, under = max(laid.lap, 0), max(-laid.lap, 0)
    edges = [edge for opening in openings for edge in (opening.start - over, opening.end + under) if clear(edge)]
    for place in laid.lefts[1:]:
        if not clear(place):
            nearest = min(edges, key=lambda edge: (abs(edge - place), edge))
            yield Breach(BreachCode.LAP_OVER_OPENING, laid.run.wall, course, place, nearest, place)


def _short_pieces(laid: Laid, shortest: int) -> Iterator[Breach]:
    for left, piece in zip(laid.lefts, laid.run.pieces, strict=True):
        if len(laid.parts) > 1 and piece.length < shortest:
            yield Breach(BreachCode.SHORT_PIECE, laid.run.wall, laid.run.course, left, shortest, piece.length)


def _field_ends(laid: Laid) -> Iterator[Breach]:
    item, last = laid.wanted.required, len(laid.parts) - 1
    for index, part in enumerate(laid.parts):
        lapped_left = index > 0 or item.left_end.meets is Meets.LAP
        lapped_right = index < last or item.right_end.meets is Meets.LAP
        lapped = (
            (lapped_left and part.cut.left is CutEnd.FIELD, laid.lefts[index]),
            (lapped_right and part.cut.right is CutEnd.FIELD, laid.rights[index] - laid.lap),
        )
        for place in (place for field, place in lapped if field):
            wall, course, code = laid.run.wall, laid.run.course, BreachCode.FIELD_END_LAPPED
            yield Breach(code, wall, course, place, part.cut.length, part.use.stock_length)


def _between_courses(runs: Iterable[Laid], settings: Settings) -> Iterator[Breach]:
    laps: dict[tuple[str, int], list[int]] = defaultdict(list)
    for laid in runs:
        if laid.run.wall is not None and laid.run.course is not None:
            laps[laid.run.wall, laid.run.course] += laid.lefts[1:]
    courses = [course for _, course in laps]
    reach = min(max(1, settings.lap_repeat or 0), max(courses, default=0) - min(courses, default=0))
    for ((wall, course), places), apart in product(laps.items(), range(1, reach + 1)):
        for place, below in product(places, laps.get((wall, course - apart), ())):
            for code, needed in _pair_rules(abs(place - below), apart, settings):
                yield Breach(code, wall, course, place, needed, abs(place - below))


def _pair_rules(distance: int, courses: int, settings: Settings) -> Iterator[tuple[str, int]]:
    """Yield the rules, with what they ask for, that two laps so far apart and so many courses apart break."""
    spacing, line = settings.lap_spacing or 0, settings.in_line_within or 0
    if courses == 1 and distance < spacing:
        yield BreachCode.LAP_SPACING, spacing
    if courses <= (settings.lap_repeat or 0) and distance < line:
        yield BreachCode.LAP_IN_LINE, line


Courses = dict[int, list[int]]
"""Where laps lie along one wall, by course."""


def check_looks(bench: Bench) -> Iterator[Fault]:
    """Check what is said, where anything is said, and that each wall has sticks of its own where it is to have them."""
    if bench.material.settings.panels_serve is PanelsServe.WALL:
        for place, _, stick in bench.sticks():
            walls = {bench.job.required[piece.item].wall for piece in stick.pieces}
            if len(walls) > 1:
                words = " and ".join(sorted(f"wall {wall}" if wall else "no wall" for wall in walls))
                yield Fault("walls_apart", place, mismatch("pieces of one wall", words))
    if bench.plan.looks is not None and (found := looks(bench)) != bench.plan.looks:
        yield Fault("looks", f"{bench.place}/looks", mismatch(found, bench.plan.looks))


def check_fewest(bench: Bench) -> Iterator[Fault]:
    """Check that a plan of the fewest laps, if one is told of, has fewer, as few as can be, and is no better."""
    told, plan, settings = bench.plan.fewest, bench.plan, bench.material.settings
    if told is None:
        return
    have, place = sum(len(run.pieces) - 1 for run in plan.runs), f"{bench.place}/fewest_laps"
    most = sum(most_pieces(bench, one.wanted.required) - settings.most_extra_laps - 1 for one in laid_runs(bench))
    if told.laps > min(most, have - 1):
        yield Fault("fewest_laps", place, mismatch(f"{min(most, have - 1)} laps at most", told.laps))
    if told.cost is None or told.broken is None:
        return
    broken = sum(each.code in list(BreachCode) and each.material == plan.material for each in bench.whole.warnings)
    own, theirs = (_counted(bench, *figures) for figures in ((plan.cost, have), (told.cost, told.laps)))
    if (told.broken, theirs) <= (broken, own):
        words = f"more than {broken} rules broken or {bench.cost(own)}"
        yield Fault("fewest_laps", place, mismatch(words, f"{told.broken} and {bench.cost(theirs)}"))


def _counted(bench: Bench, cost: int, laps: int) -> Fraction:
    """Return what sticks and laps count together."""
    return cost * Fraction(bench.plan.cost_step) + laps * Fraction(bench.material.settings.lap_price)


def looks(bench: Bench) -> Looks:
    """Count the looks of a material's plan."""
    laid = list(laid_runs(bench))
    walls: dict[str, Courses] = defaultdict(lambda: defaultdict(list))
    for one in laid:
        if one.run.wall is not None and one.run.course is not None:
            walls[one.run.wall][one.run.course] += one.lefts[1:]
    repeat = bench.material.settings.lap_repeat or 0
    return Looks(
        laps=sum(len(one.lefts) - 1 for one in laid),
        near_lines=sum(_near(courses, upper, repeat) for courses in walls.values() for upper in courses),
        staircases=sum(_stairs((lap,), n, wall) for wall in walls.values() for n, laps in wall.items() for lap in laps),
        beside_openings=sum(_squeezed(one) for one in laid),
        put_aside=max(_waiting(bench), default=0),
        for_other_walls=_carried(bench),
    )


def _near(courses: Courses, upper: int, repeat: int) -> int:
    """Count the laps below one course that are nearly in line with one of its own."""
    lower = [lap for apart in range(1, repeat + 1) for lap in courses.get(upper - apart, ())]
    return sum(abs(above - below) < NEAR_LINE for above, below in product(courses[upper], lower))


def _stairs(climbed: tuple[int, ...], course: int, courses: Courses) -> int:
    """Count the staircases that begin with the laps climbed, the last of them in this course."""
    if len(climbed) == STAIRCASE:
        return 1
    above = courses.get(course + 1, ())
    return sum(_stairs((*climbed, lap), course + 1, courses) for lap in above if _goes_on(climbed, lap))


def _goes_on(climbed: tuple[int, ...], lap: int) -> bool:
    step = lap - climbed[-1]
    before = step if len(climbed) == 1 else climbed[-1] - climbed[-2]
    return step * before > 0 and abs(step) <= LONGEST_STEP and abs(step - before) < NEAR_LINE


def _squeezed(laid: Laid) -> int:
    course, count = laid.run.course, 0
    for place in laid.lefts[1:]:
        low, high = sorted((place, place + laid.lap))
        sides = (
            (opening.start, opening.end)
            for opening in laid.wanted.required.keep_clear
            if course is None or opening.first <= course <= opening.last
        )
        count += any(low - end < BESIDE_OPENING and start - high < BESIDE_OPENING for start, end in sides)
    return count


def _stretches(bench: Bench) -> list[list[tuple[int, int, int, int]]]:
    """Return for each stick when its pieces are hung: wall, course, place along it, item."""
    order = [wall.id for wall in bench.job.walls]

    def when(item: int, course: int | None) -> tuple[int, int, int, int]:
        wanted = bench.job.required[item]
        wall = order.index(wanted.wall) if wanted.wall in order else len(order)
        return wall, course or 0, wanted.start, item

    return [[when(p.item, p.course) for p in stick.pieces] for _, _, stick in bench.sticks()]


def _waiting(bench: Bench) -> Iterator[int]:
    """Yield how many pieces wait after each stretch is hung."""
    sticks = _stretches(bench)
    cut = sorted(min(turns) for turns in sticks for _ in turns)
    hung = sorted(turn for turns in sticks for turn in turns)
    for now in dict.fromkeys(hung):
        yield bisect_right(cut, now) - bisect_right(hung, now)


def _carried(bench: Bench) -> int:
    return sum(turn[0] > min(turns)[0] for turns in _stretches(bench) for turn in turns)
