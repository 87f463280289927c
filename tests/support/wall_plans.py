"""Right plans made by hand for the north wall: three lapped courses, and one variant for each rule that is broken.

Course 1 is 29 1/2 + 150 + 150 with laps at 28 3/4 and 177 3/4, course 2 is 65 + 150 + 114 1/2 with laps at
64 1/4 and 213 1/4, course 3 is 136 + 150 + 43 1/2 with laps at 135 1/4 and 284 1/4. A panel gives a last piece
from its left end and a first piece from its right end, so seven panels do.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from solver.categories import LapEnds, Settings
from solver.job import Job, Notice
from solver.materials import FactoryEnd
from solver.plan import Cut, CutEnd, CutPlan, LeftOver, PatternUse
from solver.proof import Proof
from solver.required import Side
from solver.runs import PieceCutOut, Run, RunPiece
from solver.sticks import PlacedPiece, StickUse
from tests import scenario
from tests.scenario import N, inches
from tests.support import plans

LENGTHS = {1: ("29.5", "150", "150"), 2: ("65", "150", "114.5"), 3: ("136", "150", "43.5")}
LAPS = {1: ("28.75", "177.75"), 2: ("64.25", "213.25"), 3: ("135.25", "284.25")}
STICKS = {
    1: (("S5", 2), ("S1", 1), ("S2", 1)),
    2: (("S6", 2), ("S3", 1), ("S5", 1)),
    3: (("S7", 1), ("S4", 1), ("S6", 1)),
}
"""Which stick each piece comes from, and which cut of it."""

CUT_OUTS = {
    1: (
        PieceCutOut(2, inches("141.25"), 0, N.cut_outs[1]),
        PieceCutOut(3, 0, inches("147.75"), N.cut_outs[1]),
    ),
    2: (PieceCutOut(1, inches("39.75"), inches("18.75"), N.cut_outs[0]),),
    3: (),
}
"""The hole at 40 to 46 1/2 in lies in the first piece (1/4 to 65 1/4); the notch at 170 to 180 spans a lap."""


class Slot(NamedTuple):
    """A piece of a run in a stick: its course and its number from the left."""

    course: int
    piece: int

    @property
    def length(self) -> int:
        """Its length in ticks."""
        return inches(LENGTHS[self.course][self.piece - 1])

    @property
    def placed(self) -> PlacedPiece:
        """Whom the stick says it is for."""
        return PlacedPiece(0, "N", self.course, self.piece)


def north_wall() -> CutPlan:
    """Seven panels: four whole, 114 1/2 + 29 1/2, 43 1/2 + 65, and 136 from the right end of the last."""
    patterns = (
        stick_of([Slot(1, 2), Slot(1, 3), Slot(2, 2), Slot(3, 2)]),
        two_ends("S5", Slot(2, 3), Slot(1, 1)),
        two_ends("S6", Slot(3, 3), Slot(2, 1)),
        from_right("S7", Slot(3, 1)),
    )
    order = [plans.line("12-6", inches(150), 7, "9.80", "68.60")]
    proof = Proof("search", text="988 1/2 in are seven panels")
    plan = plans.answer(scenario.north_wall(), patterns, order, 343, proof)
    return replace(plan, materials=(replace(plan.materials[0], runs=tuple(map(run_of, LENGTHS))),))


def stick_of(whole: Sequence[Slot]) -> PatternUse:
    """Whole panels, one piece each, from S1 on."""
    cuts = (Cut(inches(150), CutEnd.FACTORY, CutEnd.FACTORY),)
    sticks = tuple(StickUse(f"S{number}", None, (slot.placed,)) for number, slot in enumerate(whole, 1))
    return PatternUse("12-6", inches(150), FactoryEnd.BOTH, cuts, _left(0, FactoryEnd.NONE, 1), sticks)


def two_ends(stick: str, last: Slot, first: Slot) -> PatternUse:
    """A last piece from the left end and a first piece from the right end; what is left lies between them."""
    cuts = (
        Cut(last.length, CutEnd.FACTORY, CutEnd.FIELD),
        Cut(first.length, CutEnd.FIELD, CutEnd.FACTORY),
    )
    left = _left(inches(150) - last.length - first.length, FactoryEnd.NONE, 1)
    use = StickUse(stick, None, (last.placed, first.placed))
    return PatternUse("12-6", inches(150), FactoryEnd.BOTH, cuts, left, (use,))


def from_right(stick: str, first: Slot) -> PatternUse:
    """A first piece from the right end; what is left lies left of it."""
    cuts = (Cut(first.length, CutEnd.FIELD, CutEnd.FACTORY),)
    left = _left(inches(150) - first.length, FactoryEnd.LEFT, 0)
    return PatternUse("12-6", inches(150), FactoryEnd.BOTH, cuts, left, (StickUse(stick, None, (first.placed,)),))


def run_of(course: int) -> Run:
    """The run of one course; the wall is seen from the left, so the left panel of each lap is on top."""
    pieces = tuple(
        RunPiece(Slot(course, number).length, stick, cut) for number, (stick, cut) in enumerate(STICKS[course], 1)
    )
    laps = tuple(map(inches, LAPS[course]))
    return _run(course, pieces, laps, CUT_OUTS[course])


def _run(
    course: int, pieces: tuple[RunPiece, ...], laps: tuple[int, ...], cut_outs: tuple[PieceCutOut, ...] = ()
) -> Run:
    return Run(
        item=0,
        mark="N",
        wall="north",
        course=course,
        lap=inches(1),
        end_gap=inches("0.25"),
        starts_at=inches("0.25"),
        pieces=pieces,
        laps_at=laps,
        on_top=(Side.LEFT,) * len(laps),
        cut_outs=cut_outs,
    )


def _left(length: int, end: FactoryEnd, after: int) -> LeftOver:
    return LeftOver(length, length >= inches(36), end, after)


def breach(code: str, course: int, place: str, needed: int | None = None, got: int | None = None) -> Notice:
    """Return the warning that declares a broken rule on the north wall."""
    return Notice(code, "", None, "panel-sand", "north", course, inches(place), needed, got)


def broken(job: Job, *warnings: Notice) -> tuple[Job, CutPlan]:
    """Return the job, and the plan of the north wall with these breaches declared and the job's settings."""
    plan = north_wall()
    part = replace(plan.materials[0], settings=job.materials[0].settings)
    return job, replace(plan, materials=(part,), warnings=warnings)


def with_settings(**changes: object) -> Job:
    """Return the north wall with other rules."""
    settings: Settings = replace(scenario.PANEL.settings, **changes)  # type: ignore[arg-type]
    return replace(scenario.north_wall(), materials=(replace(scenario.PANEL, settings=settings),))


def spacing_of_40() -> tuple[Job, CutPlan]:
    """Laps of course 1 and 2 are 35 1/2 in apart, and of course 3 and 2 more than 40."""
    notices = [breach("lap_spacing", 2, place, inches(40), inches("35.5")) for place in LAPS[2]]
    return broken(with_settings(lap_spacing=inches(40)), *notices)


def in_line_within_43() -> tuple[Job, CutPlan]:
    """Laps are called in line within 43 in: 35 1/2 apart in course 2 twice, 42 1/2 (284.25 - 177.75 is more) in 3."""
    notices = [breach("lap_in_line", 2, place, inches(43), inches("35.5")) for place in LAPS[2]]
    notices.append(breach("lap_in_line", 3, "135.25", inches(43), inches("42.5")))
    return broken(with_settings(in_line_within=inches(43)), *notices)


def shortest_of_30() -> tuple[Job, CutPlan]:
    """The first piece of course 1, from 1/4 in on, is 29 1/2 in long."""
    notice = breach("short_piece", 1, "0.25", inches(30), inches("29.5"))
    return broken(with_settings(shortest_piece=inches(30)), notice)


def wider_window() -> tuple[Job, CutPlan]:
    """The window reaches to 136 in: over it lies the lap of course 3 from 135 1/4 to 136 1/4, clear of it at 136."""
    item = replace(N, keep_clear=(replace(N.keep_clear[0], end=inches(136)),))
    return broken(
        replace(scenario.north_wall(), required=(item,)),
        breach("lap_over_opening", 3, "135.25", inches(136), inches("135.25")),
    )


def field_end() -> tuple[Job, CutPlan]:
    """The first piece of course 3 is cut from the left end of its panel, so its lapped right end is a field end.

    A panel just as long as the piece would have its own end there.
    """
    job, plan = broken(scenario.north_wall(), breach("field_end_lapped", 3, "135.25", inches(136), inches(150)))
    *others, last = plan.materials[0].patterns
    cuts = (replace(last.cuts[0], left=CutEnd.FACTORY, right=CutEnd.FIELD),)
    last = replace(last, cuts=cuts, left_over=_left(inches(14), FactoryEnd.RIGHT, 1))
    return job, replace(plan, materials=(replace(plan.materials[0], patterns=(*others, last)),))


def two_in_one_place() -> tuple[Job, CutPlan]:
    """The north wall asked for twice over, and cut twice over."""
    job, plan = scenario.north_wall(), north_wall()
    part = plan.materials[0]
    runs = tuple(
        replace(run, item=1, pieces=tuple(replace(piece, stick=_other(piece.stick)) for piece in run.pieces))
        for run in part.runs
    )
    both = replace(
        part,
        cost=part.cost * 2,
        bound=part.bound * 2,
        patterns=(*part.patterns, *map(_again, part.patterns)),
        runs=(*part.runs, *runs),
    )
    order = (plans.line("12-6", inches(150), 14, "9.80", "137.20"),)
    return replace(job, required=(N, N)), replace(plan, materials=(both,), order=order)


def _again(use: PatternUse) -> PatternUse:
    def other(stick: StickUse) -> StickUse:
        return replace(stick, stick=_other(stick.stick), pieces=tuple(replace(p, item=1) for p in stick.pieces))

    return replace(use, sticks=tuple(map(other, use.sticks)))


def _other(stick: str) -> str:
    return f"S{int(stick[1:]) + 7}"


def four_pieces() -> tuple[Job, CutPlan]:
    """One course of 328 in as 60 + 150 + 60 + 60 1/2 in, lapped three times with any ends, where three pieces do."""
    settings = replace(scenario.PANEL.settings, lap_ends=LapEnds.ANY)
    item = replace(N, courses=1, keep_clear=(), cut_outs=())
    job = replace(scenario.north_wall(), required=(item,), materials=(replace(scenario.PANEL, settings=settings),))
    lengths = [inches(length) for length in (60, 150, 60, "60.5")]
    placed = tuple(PlacedPiece(0, "N", 1, number) for number in range(1, 5))
    ends = CutEnd.FACTORY, CutEnd.FIELD
    short = tuple(Cut(length, ends[index > 0], CutEnd.FIELD) for index, length in enumerate(lengths[2:]))
    pair = PatternUse(
        "12-6", inches(150), FactoryEnd.BOTH, short, _left(inches("29.5"), FactoryEnd.RIGHT, 2),
        (StickUse("S2", None, placed[2:]),),
    )  # fmt: skip
    alone = StickUse("S3", None, placed[:1])
    first = replace(pair, cuts=short[:1], left_over=_left(inches(90), FactoryEnd.RIGHT, 1), sticks=(alone,))
    whole = PatternUse(
        "12-6", inches(150), FactoryEnd.BOTH, (Cut(inches(150), *ends[:1] * 2),), _left(0, FactoryEnd.NONE, 1),
        (StickUse("S1", None, (placed[1],)),),
    )  # fmt: skip
    sticks = ("S3", 1), ("S1", 1), ("S2", 1), ("S2", 2)
    pieces = tuple(RunPiece(length, *stick) for length, stick in zip(lengths, sticks, strict=True))
    laps = tuple(map(inches, ("59.25", "208.25", "267.25")))
    run = _run(1, pieces, laps)
    order = [plans.line("12-6", inches(150), 3, "9.80", "29.40")]
    plan = plans.answer(job, (whole, pair, first), order, 147, Proof("search", text="330 1/2 in are three panels"))
    return job, replace(plan, materials=(replace(plan.materials[0], runs=(run,)),))
