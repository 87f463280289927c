"""Every placement rule that the plan breaks is declared, and nothing is declared that it keeps."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import product
from typing import NamedTuple

from solver.categories import LapEnds, Settings
from solver.checking.bench import Bench, Fault, mismatch
from solver.checking.runs import Laid, laid_runs
from solver.job import Notice
from solver.plan import CutEnd, CutPlan
from solver.required import Meets
from solver.rules import BreachCode


class Breach(NamedTuple):
    """A broken rule as ``solver.rules`` says it is declared."""

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
